"""From the lines to the pieces: the split, the cut and its proof."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from mockup.files import split_file, svg
from mockup.files.reading import Said, read
from mockup.garment.scale import from_top
from mockup.journey.design import panels_of
from mockup.journey.known import Source, find
from mockup.journey.prints import prints_of
from mockup.pattern.apply_split import CutSet, apply_split
from mockup.pattern.piece import Piece
from mockup.project import Project
from mockup.split.split import Split
from mockup.stylelines.to_split import make_split
from swatches.errors import ProjectError, ProofError
from swatches.job import QUIET, Job
from swatches.safe_write import write_whole
from swatches.units import Length, length


def put_pieces(
    folder: Path, project: Project, source: Source, said: Said | None = None, *, job: Job = QUIET
) -> tuple[Project, tuple[Piece, ...]]:
    """Take pattern pieces into the project: SVG, DXF, vector PDF, or a photo or scan of the paper.

    Args:
        folder: the project's folder; the pieces are kept there as SVG, under a name of their content.
        project: the project.
        source: the file, or its bytes.
        said: what the person says of it; see :class:`mockup.files.reading.Said`.
        job: progress.

    Raises:
        FileFormatError, PictureError: the file holds no pieces that can be read.
    """
    return keep_pieces(folder, project, read(source, said, job=job).pieces)


def keep_pieces(folder: Path, project: Project, pieces: Sequence[Piece]) -> tuple[Project, tuple[Piece, ...]]:
    """Write pieces into the project; what was there before stays, so that a step back finds it."""
    data = svg.write_pieces(pieces).encode()
    name = f"pieces-{hashlib.sha256(data).hexdigest()[:12]}.svg"
    target = write_whole(folder / "pieces" / name, data, what="pattern pieces")
    return replace(project, pieces=target.name), tuple(pieces)


def pieces_of(project: Project, folder: Path) -> tuple[Piece, ...]:
    """Give the project's pattern pieces.

    Raises:
        ProjectError: there are none.
    """
    if not project.pieces:
        raise ProjectError(
            "pattern pieces",
            expected="pieces in the project",
            got="none",
            next_step="Add them as an SVG file with named edges",
        )
    file = folder / "pieces" / project.pieces
    try:
        known = file.stat()
    except OSError:
        return svg.read_pieces(file)  # which says what is wrong
    return _read(file, known.st_mtime_ns, known.st_size)


@lru_cache(maxsize=16)
def _read(file: Path, _changed_ns: int, _size: int) -> tuple[Piece, ...]:
    """Pieces of a project's file, read once as long as it stays as it is: every look at the lines on them asks."""
    return svg.read_pieces(file)


def split_of(project: Project, letter: str = "") -> Split:
    """Give the split: the lines in mm, and the fabrics of one choice.

    Raises:
        ProjectError: no scale is known, so there are no mm.
    """
    unmeasured = next((v for v in project.views if v.kind == "drawing" and not v.scale_measured), None)
    if unmeasured is not None:
        raise ProjectError(
            f"size of the {unmeasured.name}",
            expected="one length measured on the garment",
            got="none yet",
            next_step=f"Give one that you know, such as its centre {unmeasured.side} from {from_top(unmeasured)}",
        )
    choice = find(project, "colourway", letter) if letter else None
    panels = panels_of(project)
    seen = [p for found in panels.values() for p in found]
    prints = {} if choice is None else prints_of(project, choice, seen)
    return make_split(project.views, project.lines, panels, choice, prints)


def write_split(project: Project, letter: str = "") -> str:
    """Give the split file's text."""
    return split_file.write_split(split_of(project, letter))


def cut(
    project: Project, folder: Path, letter: str = "", *, allowance: Length | float | str = 15.0, job: Job = QUIET
) -> CutSet:
    """Cut the project's pieces by its lines, with the fabrics of one choice.

    Raises:
        ProofError: the proof failed, so nothing may be printed.
    """
    typed = length(allowance, what="allowance", minimum_mm=0.0)
    found = apply_split(
        pieces_of(project, folder),
        split_of(project, letter),
        allowance_mm=typed.mm,
        allowance_text=str(typed),
        job=job,
    )
    if not found.proof.ok:
        raise ProofError(found.proof.sentence)
    return found
