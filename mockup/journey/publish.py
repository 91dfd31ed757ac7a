"""Everything that leaves: split file, pieces as SVG, DXF and paper, cutting list, proof, and how much cloth."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from mockup.files import dxf, svg
from mockup.journey.cloths import fabric_names
from mockup.journey.cutting import cut, split_of, write_split
from mockup.journey.joining import Join, with_joins
from mockup.journey.painting import cloth_of
from mockup.journey.to_print import ToPrint
from mockup.lay.grain import lies_one_way, taken_one_way
from mockup.lay.need import USUAL_WIDTH_MM, Need, needs
from mockup.pattern.apply_split import CutSet
from mockup.pattern.piece import Piece
from mockup.pattern.proof import Proof
from mockup.project import Project
from mockup.sheets.cutting_list import csv_text, cutting_rows
from mockup.sheets.handout import handout_pdf
from swatches.cloth import Cloth
from swatches.colour import lab_to_hex
from swatches.errors import ProofError
from swatches.fabric import Kind
from swatches.job import QUIET, Job, Part, check
from swatches.units import Length, length

_PATTERNED = (Kind.STRIPE, Kind.CHECK, Kind.PRINT)


@dataclass(frozen=True, slots=True, eq=False)
class Published:
    """What was written.

    Attributes:
        files: paths, in the order of writing.
        cut: the pieces with their proof.
        needs: how much of each fabric.
        to_print: what the prints were made from, for those on other papers.
    """

    files: tuple[Path, ...]
    cut: CutSet
    needs: tuple[Need, ...]
    to_print: ToPrint


def publish(
    project: Project,
    folder: Path,
    letter: str,
    out: Path,
    *,
    allowance: Length | float | str = 15.0,
    paper: str | Sequence[str] = "A4",
    joins: Sequence[Join] = (),
    own_pattern: bool = False,
    note: str = "",
    job: Job = QUIET,
) -> Published:
    """Write split, pieces, print, lists and proof of one choice into a folder.

    Args:
        project: the project, with pieces.
        folder: its folder.
        letter: the choice; empty: no fabrics.
        out: folder to write into; made if missing.
        allowance: of every new edge.
        paper: paper of the print; several papers give a print each.
        joins: seams that go after the cut.
        own_pattern: the person says that the pattern is theirs to pass on: the handout then shows its outlines.
        note: one more line under the title of the print.
        job: progress and cancellation.

    Raises:
        ProofError: the proof failed; only ``proof.json`` is written then.
    """
    out.mkdir(parents=True, exist_ok=True)
    job.step("Cutting the pieces", 0.0)
    made = with_joins(cut(project, folder, letter, allowance=allowance, job=Part(job, 0.0, 0.3)), joins)
    names = fabric_names(project)
    files: list[Path] = []

    def put(name: str, content: str | bytes) -> None:
        target = out / name
        target.parent.mkdir(exist_ok=True)
        target.write_bytes(content if isinstance(content, bytes) else content.encode())
        files.append(target)

    put("proof.json", proof_json(made.proof))
    if not made.proof.ok:
        raise ProofError(made.proof.sentence)
    put("split.json", write_split(project, letter))
    for piece, name in zip(made.pieces, file_names(made.pieces), strict=True):
        put(f"pieces/{name}", svg.write_pieces([piece], fabric_names=names))
    job.step("Writing the drawing files", 0.35)
    put("pieces.dxf", dxf.write_pieces(made.pieces, fabric_names=names, date=project.date))
    put("cutting-list.csv", csv_text(cutting_rows(made.pieces, names)))
    papers = [paper] if isinstance(paper, str) else list(paper)
    to_print = ToPrint(made.pieces, made.proof, project.name, project.date, note, names, one_way(project))
    for k, sheet in enumerate(papers):
        check(job)
        begin, end = (0.4 + 0.35 * (k + i) / len(papers) for i in (0, 1))
        put(f"pieces-{sheet.lower()}.pdf", to_print.pdf(sheet, job=Part(job, begin, end)))
    if project.lines:
        own = handout(
            project, folder, letter, allowance=allowance, pieces=made.pieces, own_pattern=own_pattern, note=note,
            paper="Letter" if papers[:1] == ["Letter"] else "A4", job=Part(job, 0.75, 0.8),
        )  # fmt: skip
        put("handout.pdf", own)
    return Published(tuple(files), made, need_of(project, made.pieces, job=Part(job, 0.8, 1.0)), to_print)


def handout(
    project: Project,
    folder: Path | None,
    letter: str = "",
    *,
    allowance: Length | float | str = 15.0,
    pieces: Sequence[Piece] = (),
    own_pattern: bool = False,
    note: str = "",
    paper: str = "A4",
    job: Job = QUIET,
) -> bytes:
    """Tell others how to make the same lines on their own copy of the pattern; needs no pattern pieces.

    Args:
        project: the project, with at least one line and a measured scale.
        folder: its folder, where the tiles of its cloths are; None: prints are drawn in their main colour.
        letter: the choice whose cloth is shown; empty: none.
        allowance: of every new edge.
        pieces: what came of the cut, for its list and the order of sewing.
        own_pattern: the person says that the pattern is theirs to pass on: then its outlines are shown, small.
        note: one more line under the title.
        paper: 'A4' or 'Letter'.
        job: progress.

    Raises:
        ProjectError: no scale is known.
        InputError: there is no line.
    """
    typed = length(allowance, what="allowance", minimum_mm=0.0)
    return handout_pdf(
        split_of(project, letter),
        title=project.name,
        date=project.date,
        note=note,
        allowance=str(typed),
        pieces=pieces,
        fabric_names=fabric_names(project),
        colours={f.id: _rgb(f.colour.lab) for f in project.fabrics},
        prints={} if folder is None else _prints(project, folder),
        lightness=lightness(project),
        own_pattern=own_pattern,
        paper=paper,
        job=job,
    )


def _prints(project: Project, folder: Path) -> dict[str, Cloth]:
    """The cloths of a project that are no plain ones, with their tiles."""
    patterned = [f for f in project.fabrics if f.kind in _PATTERNED and f.texture is not None and f.texture.file]
    return {f.id: cloth_of(f, folder) for f in patterned}


def lightness(project: Project) -> dict[str, float]:
    """Fabric id → how light its main colour is, 0 black to 100 white: for pressing toward the darker cloth."""
    return {f.id: f.colour.lab[0] for f in project.fabrics}


def _rgb(lab: Sequence[float]) -> tuple[int, int, int]:
    text = lab_to_hex(lab)
    return int(text[1:3], 16), int(text[3:5], 16), int(text[5:7], 16)


def need_of(
    project: Project, pieces: Sequence[Piece], *, usual_mm: float = USUAL_WIDTH_MM, job: Job = QUIET
) -> tuple[Need, ...]:
    """How much of each fabric the pieces need, by what the project knows of its cloth.

    Args:
        project: the project.
        pieces: with their fabric.
        usual_mm: width that is taken where a cloth has neither a usable nor a listed one.
        job: progress and cancellation.
    """
    known = {f.id: f for f in project.fabrics}
    wide = {f.id: f.usable_width.value or f.listed_width.value for f in known.values()}
    widths = {fabric: width for fabric, width in wide.items() if width is not None}
    shrinkage = {f.id: f.shrinkage_length.value for f in known.values() if f.shrinkage_length.value is not None}
    for fabric in known.values():
        if fabric.prewashed.value:
            shrinkage.pop(fabric.id, None)
    found = needs(
        pieces, widths_mm=widths, usual_mm=usual_mm, one_way=one_way(project), shrinkage_percent=shrinkage, job=job
    )
    return tuple(replace(n, note=taken_one_way(known[n.fabric])) if n.fabric in known else n for n in found)


def proof_json(proof: Proof) -> str:
    """Give the proof as ``proof.json``: three figures, whether it holds, and every row."""
    record = {
        "format": "garment proof",
        "version": 1,
        "ok": proof.ok,
        "area_error_mm2": proof.area_error_mm2,
        "stitch_difference_mm": proof.stitch_difference_mm,
        "rejoin_error_mm": proof.rejoin_error_mm,
        "rows": [
            {"what": r.what, "figure": r.figure, "limit": r.limit, "unit": r.unit, "ok": r.ok} for r in proof.rows
        ],
    }
    return json.dumps(record, indent=2, ensure_ascii=False) + "\n"


def file_names(pieces: Sequence[Piece]) -> list[str]:
    """Name an SVG file for every piece: its number and name, in letters that every system takes."""
    names: list[str] = []
    for index, piece in enumerate(pieces, 1):
        text = unicodedata.normalize("NFKD", f"{piece.name} {piece.side}").encode("ascii", "ignore").decode().lower()
        plain = re.sub(r"[^a-z0-9]+", "-", text).strip("-")[:60] or "piece"
        name = f"{piece.number or index:02d}-{plain}.svg"
        names.append(name if name not in names else f"{piece.number or index:02d}-{plain}-{index}.svg")
    return names


def one_way(project: Project) -> tuple[str, ...]:
    """Ids of the fabrics whose pieces must all point one way, or may have to: nobody knows whether they have a nap."""
    return tuple(f.id for f in project.fabrics if lies_one_way(f))
