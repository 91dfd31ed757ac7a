"""Cutting from the page: the trial that answers 'will it sew?', and the files to print and cut from."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from mockup import journey
from mockup.lay.need import Need
from mockup.pattern.apply_split import CutSet
from mockup.project import Project
from ui.parts.words import capital, counted

Facts = tuple[dict[str, Any], ...]
"""What a trial says, most serious first: each {grade, text, about, view, point, flag}, as JSON takes it."""
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)


def _fact(grade: str, text: str, about: str = "") -> dict[str, Any]:
    return {"grade": grade, "text": text, "about": about, "view": "", "point": None}


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
