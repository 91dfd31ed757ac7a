"""Cutting from the page: the trial that answers 'will it sew?', and the files to print and cut from."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from mockup import journey
from mockup.checks.finding import Finding
from mockup.colourways.colourway import Colourway
from mockup.journey.checking import findings
from mockup.lay.need import Need, needs
from mockup.pattern.apply_split import CutSet
from mockup.project import Project
from swatches.job import Job, Part, check
from swatches.units import length
from ui.parts.session import State
from ui.parts.words import capital, counted

Facts = tuple[dict[str, Any], ...]
"""What a trial says, most serious first: each {grade, text, about, view, point, flag}, as JSON takes it."""
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)


def trial(project: Project, folder: Path, state: State, *, width: str, job: Job) -> Facts:
    """Judge the choice that is shown, cut the pieces on trial, and say what comes of it.

    Raises:
        InputError: the width is no length.
    """
    usable = length(width, what="usable width", minimum_mm=100.0, bare=state.unit)
    letter = state.choice
    if all(c.letter != letter for c in project.colourways):
        project = project.put_colourway(Colourway(letter))
    job.step("Looking at cloth and lines", 0.05)
    judged = [
        _judged(f) for f in findings(project, folder, letter, allowance=state.allowance, job=Part(job, 0.05, 0.4))
    ]
    check(job)
    if not project.pieces or any(not v.scale_measured for v in project.views if v.kind == "drawing"):
        return _with_flags((*judged, *_without_pieces(project)))
    job.step("Cutting the pieces on trial", 0.4)
    cut = journey.cut(project, folder, letter, allowance=state.allowance, job=Part(job, 0.4, 0.6))
    check(job)
    job.step("Laying the pieces on the cloth", 0.6)
    one_width = {p.fabric: usable.mm for p in cut.pieces}
    found = needs(cut.pieces, widths_mm=one_width, job=Part(job, 0.6, 1.0))
    return _with_flags((*_proof_facts(cut, project), *judged, *_need_facts(found, project)))


def _with_flags(facts: Facts) -> Facts:
    """Number the places in the picture, one number a place, so that a sentence can be found there."""
    places: dict[tuple[str, float, float], int] = {}
    out = []
    for fact in facts:
        if fact["point"] is not None:
            place = (fact["view"], *(round(v) for v in fact["point"]))
            fact = fact | {"flag": places.setdefault(place, len(places) + 1)}
        out.append(fact)
    return tuple(out)


def _fact(grade: str, text: str, about: str = "") -> dict[str, Any]:
    return {"grade": grade, "text": text, "about": about, "view": "", "point": None}


def _judged(finding: Finding) -> dict[str, Any]:
    place = finding.place
    figure = capital(finding.figure or f"{place.words}: cannot tell").rstrip(".")
    limit = f"{finding.limit}; {finding.source}" if finding.limit else finding.source
    fact = _fact(finding.grade.value, f"{figure}. {finding.advice}", f"{capital(place.words)}. Held against: {limit}.")
    if place.point is not None:
        fact |= {"view": place.view, "point": [round(v, 1) for v in place.point]}
    return fact


def cut_facts(cut: CutSet, found: Sequence[Need], project: Project) -> Facts:
    """What a cut proves, and how much cloth it needs."""
    return (*_proof_facts(cut, project), *_need_facts(found, project))


def zipped(files: Sequence[Path]) -> bytes:
    """Put files into one zip; the same files give the same bytes."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in files:
            info = zipfile.ZipInfo(file.name, _ZIP_DATE)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, file.read_bytes())
    return packed.getvalue()


def _without_pieces(project: Project) -> Facts:
    facts = []
    if not project.pieces:
        text = "There are no pattern pieces yet, so seams cannot be walked. Add them under 'Print and cut'."
        facts.append(_fact("cannot tell", text))
    for view in project.views:
        if view.kind == "drawing" and not view.scale_measured:
            text = f"No length is known on the {view.name}, so its mm are guesses. Give one under 'What garment?'."
            facts.append(_fact("cannot tell", text))
    return tuple(facts)


def _proof_facts(cut: CutSet, project: Project) -> Facts:
    proof = cut.proof
    seam, whole = _small(proof.stitch_difference_mm), _small(proof.rejoin_error_mm)
    counts = f"{counted(len(cut.pieces), 'piece')} to cut for {counted(len(project.lines), 'line')}"
    return (
        _fact("fine", f"The seams match: the two sides of every new seam are equally long, within {seam} mm."),
        _fact("fine", f"Sewn together, the pieces are the ones you started from, within {whole} mm. {counts}."),
        *(_fact("warn", str(w)) for w in cut.warnings),
    )


def _need_facts(found: Sequence[Need], project: Project) -> Facts:
    names = journey.fabric_names(project)
    return tuple(
        _fact(
            "note",
            f"{capital(names.get(need.fabric, 'cloth that is not chosen yet'))}: {counted(need.count, 'piece')}, "
            f"{_metres(need.buy_mm)} on a usable width of {need.width_mm / 10:g} cm, in a single layer.",
        )
        for need in found
    )


def _small(mm: float) -> str:
    return "0.001" if mm < 0.001 else f"{mm:.3f}"


def _metres(mm: float) -> str:
    return f"{mm / 1000:.1f} m" if mm >= 1000 else f"{mm / 10:.0f} cm"
