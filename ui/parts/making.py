"""Cutting from the page: the trial that answers 'will it sew?', and the files to print and cut from."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from pathlib import Path

from mockup import journey
from mockup.files import dxf, svg_writer
from mockup.lay.need import needs
from mockup.pattern.apply_split import CutSet
from mockup.pattern.cutting_list import cutting_list
from mockup.pattern.piece import Piece
from mockup.project import Project
from mockup.sheets.cutting_list import csv_text
from mockup.sheets.printed_pieces import pieces_pdf
from swatches.errors import InputError
from swatches.job import Job, Part, check
from swatches.safe_write import write_whole
from swatches.units import length
from ui.parts.session import State
from ui.parts.words import counted

Facts = tuple[tuple[str, str], ...]
PAPERS = ("A4", "Letter")
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)


def trial(project: Project, folder: Path, state: State, *, width: str, job: Job) -> Facts:
    """Cut the pieces on trial and say what comes of it.

    Raises:
        InputError: the width is no length.
    """
    usable = length(width, what="usable width", minimum_mm=100.0)
    if not project.pieces:
        return _without_pieces(project)
    job.step("Cutting the pieces on trial", 0.1)
    cut = journey.cut(project, folder, _letter(project, state), allowance=state.allowance)
    check(job)
    facts = [*_proof_facts(cut, project)]
    job.step("Laying the pieces on the cloth", 0.4)
    names = journey.fabric_names(project)
    pieces = cut.pieces
    found = needs(pieces, widths_mm={p.fabric: usable.mm for p in pieces}, time_s=1.0, job=Part(job, 0.4, 1.0))
    for need in found:
        of = names.get(need.fabric, "cloth that is not chosen yet")
        facts.append(
            (
                "note",
                f"{of}: {counted(need.count, 'piece')}, {_metres(need.buy_mm)} on a usable width of {usable}, laid flat.",
            )
        )
    for fabric in project.fabrics:
        if any(p.fabric == fabric.id for p in pieces) and not fabric.shrinkage_length:
            facts.append(
                ("cannot tell", f"{fabric.name}: nobody has said how much it shrinks. Wash it before you cut.")
            )
    return tuple(facts)


def publish(
    project: Project, folder: Path, out: Path, state: State, allowance: str, paper: str, job: Job
) -> tuple[list[str], Facts]:
    """Cut the pieces and write every file to download.

    Returns:
        File names in ``out``, and the facts of the cut.

    Raises:
        InputError: allowance or paper cannot be used, or there is no scale.
        ProofError: the proof failed; nothing is written.
    """
    if paper not in PAPERS:
        raise InputError("paper", expected="A4 or Letter", got=paper, next_step="Choose one of the two")
    typed = length(allowance, what="seam allowance", minimum_mm=0.0)
    letter = _letter(project, state)
    files: dict[str, bytes] = {}
    facts: Facts = ()
    if project.pieces:
        job.step("Cutting the pieces", 0.05)
        cut = journey.cut(project, folder, letter, allowance=typed)
        check(job)
        names = journey.fabric_names(project)
        files[f"pieces-{paper.lower()}.pdf"] = pieces_pdf(
            cut.pieces,
            paper=paper,
            title=project.name,
            date=project.date,
            fabric_names=names,
            one_way=[f.id for f in project.fabrics if f.nap.value],
            job=Part(job, 0.1, 0.8),
        )
        job.step("Writing the files", 0.85)
        files["pieces-svg.zip"] = svg_zip(cut.pieces, names)
        files["pieces.dxf"] = dxf.write_pieces(cut.pieces, fabric_names=names, date=project.date)
        files["cutting-list.csv"] = csv_text(cutting_list(cut.pieces, names)).encode()
        facts = tuple(_proof_facts(cut, project))
    files["split.json"] = journey.write_split(project, letter).encode()
    check(job)
    for name, data in files.items():
        write_whole(out / name, data, what=name)
    return list(files), facts


def svg_zip(pieces: Sequence[Piece], names: dict[str, str]) -> bytes:
    """Every piece as an SVG of its own, in one zip; the same pieces give the same bytes."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for at, piece in enumerate(pieces, 1):
            plain = (
                "".join(c if c.isascii() and (c.isalnum() or c in "- ") else "-" for c in piece.name).strip() or "piece"
            )
            info = zipfile.ZipInfo(f"{at:02d} {plain}.svg".replace(" ", "-"), _ZIP_DATE)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, svg_writer.write_pieces([piece], fabric_names=names))
    return packed.getvalue()


def _letter(project: Project, state: State) -> str:
    return state.choice if any(c.letter == state.choice for c in project.colourways) else ""


def _without_pieces(project: Project) -> Facts:
    facts = [
        ("cannot tell", "There are no pattern pieces yet, so seams cannot be walked. Add them under 'Print and cut'."),
    ]
    facts += [("cannot tell", f"The {v.name} has no known length yet, so its millimetres are guesses. Give one under 'What garment?'.")
              for v in project.views if v.kind == "drawing" and not v.scale_measured]  # fmt: skip
    facts.append(("note", f"{counted(len(project.lines), 'line')} drawn: each is one more seam to sew."))
    return tuple(facts)


def _proof_facts(cut: CutSet, project: Project) -> list[tuple[str, str]]:
    proof = cut.proof
    facts = [
        (
            "fine",
            f"The seams match: the two sides of every new seam differ by at most {_small(proof.stitch_difference_mm)} mm.",
        ),
        (
            "fine",
            f"No cloth is lost: the pieces, sewn together, are the ones you started from, within {_small(proof.rejoin_error_mm)} mm.",
        ),
        ("note", f"{counted(len(cut.pieces), 'piece')} to cut for {counted(len(project.lines), 'line')}."),
    ]
    facts += [("warn", str(w)) for w in cut.warnings]
    return facts


def _small(mm: float) -> str:
    return "0.001" if mm < 0.001 else f"{mm:.3f}"


def _metres(mm: float) -> str:
    return f"{mm / 1000:.1f} m" if mm >= 1000 else f"{mm / 10:.0f} cm"
