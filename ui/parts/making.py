"""Cutting from the page: the trial that answers 'will it sew?', and the files to print and cut from."""

from __future__ import annotations

import io
import tempfile
import zipfile
from collections.abc import Sequence
from pathlib import Path

from mockup import journey
from mockup.lay.need import Need, needs
from mockup.pattern.apply_split import CutSet
from mockup.project import Project
from swatches.errors import InputError
from swatches.job import Job, Part, check
from swatches.safe_write import write_whole
from swatches.units import length
from ui.parts.session import State
from ui.parts.words import capital, counted

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
    pieces = cut.pieces
    one_width = {p.fabric: usable.mm for p in pieces}
    facts += _need_facts(needs(pieces, widths_mm=one_width, time_s=1.0, job=Part(job, 0.4, 1.0)), project)
    for fabric in project.fabrics:
        if any(p.fabric == fabric.id for p in pieces) and not fabric.shrinkage_length:
            facts.append(
                ("cannot tell", f"{capital(fabric.name)}: nobody has said how much it shrinks. Wash it before you cut.")
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
        ProofError: the proof failed; nothing is given out.
    """
    if paper not in PAPERS:
        raise InputError("paper", expected="A4 or Letter", got=paper, next_step="Choose one of the two")
    typed = length(allowance, what="seam allowance", minimum_mm=0.0)
    letter = _letter(project, state)
    with tempfile.TemporaryDirectory(prefix="mockup-cut-") as name:
        work = Path(name)
        if not project.pieces:
            (work / "split.json").write_text(journey.write_split(project, letter), "utf-8")
            return _taken(work, out, ["split.json"]), ()
        published = journey.publish(project, folder, letter, work, allowance=typed, paper=paper, job=job)
        check(job)
        (work / "pieces-svg.zip").write_bytes(zipped(sorted((work / "pieces").glob("*.svg"))))
        names = [
            f"pieces-{paper.lower()}.pdf",
            "pieces-svg.zip",
            "pieces.dxf",
            "cutting-list.csv",
            "split.json",
            "proof.json",
        ]
        facts = (*_proof_facts(published.cut, project), *_need_facts(published.needs, project))
        return _taken(work, out, names), facts


def _taken(work: Path, out: Path, names: Sequence[str]) -> list[str]:
    for name in names:
        write_whole(out / name, (work / name).read_bytes(), what=name)
    return list(names)


def zipped(files: Sequence[Path]) -> bytes:
    """Put files into one zip; the same files give the same bytes."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in files:
            info = zipfile.ZipInfo(file.name, _ZIP_DATE)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, file.read_bytes())
    return packed.getvalue()


def _letter(project: Project, state: State) -> str:
    return state.choice if any(c.letter == state.choice for c in project.colourways) else ""


def _without_pieces(project: Project) -> Facts:
    facts = [
        ("cannot tell", "There are no pattern pieces yet, so seams cannot be walked. Add them under 'Print and cut'.")
    ]
    for view in project.views:
        if view.kind == "drawing" and not view.scale_measured:
            text = f"No length is known on the {view.name}, so its mm are guesses. Give one under 'What garment?'."
            facts.append(("cannot tell", text))
    facts.append(("note", f"{counted(len(project.lines), 'line')} drawn: each is one more seam to sew."))
    return tuple(facts)


def _proof_facts(cut: CutSet, project: Project) -> list[tuple[str, str]]:
    proof = cut.proof
    seam, whole = _small(proof.stitch_difference_mm), _small(proof.rejoin_error_mm)
    facts = [
        ("fine", f"The seams match: the two sides of every new seam are equally long, within {seam} mm."),
        ("fine", f"Sewn together, the pieces are the ones you started from, within {whole} mm."),
        ("note", f"{counted(len(cut.pieces), 'piece')} to cut for {counted(len(project.lines), 'line')}."),
    ]
    facts += [("warn", str(w)) for w in cut.warnings]
    return facts


def _need_facts(found: Sequence[Need], project: Project) -> list[tuple[str, str]]:
    names = journey.fabric_names(project)
    return [
        (
            "note",
            f"{capital(names.get(need.fabric, 'cloth that is not chosen yet'))}: {counted(need.count, 'piece')}, "
            f"{_metres(need.buy_mm)} on a usable width of {need.width_mm / 10:g} cm, in a single layer.",
        )
        for need in found
    ]


def _small(mm: float) -> str:
    return "0.001" if mm < 0.001 else f"{mm:.3f}"


def _metres(mm: float) -> str:
    return f"{mm / 1000:.1f} m" if mm >= 1000 else f"{mm / 10:.0f} cm"
