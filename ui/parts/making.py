"""Cutting from the page: the trial that answers 'will it sew?', and the files to print and cut from."""

from __future__ import annotations

import io
import math
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from mockup import journey
from mockup.checks.in_unit import in_unit
from mockup.lay.need import EIGHTH_YARD_MM, Need
from mockup.lay.widths import eighths
from mockup.pattern.apply_split import CutSet
from mockup.project import Project
from swatches.units import MM_PER_INCH
from ui.parts.words import capital, counted

Facts = tuple[dict[str, Any], ...]
"""What a trial says, most serious first: each {grade, text, about, view, point, flag}, as JSON takes it."""
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)


def _fact(grade: str, text: str, about: str = "") -> dict[str, Any]:
    return {"grade": grade, "text": text, "about": about, "view": "", "point": None}


def cut_facts(cut: CutSet, found: Sequence[Need], project: Project, unit: str = "mm") -> Facts:
    """What a cut proves, and how much cloth it needs; lengths as somebody says them who thinks in ``unit``."""
    return (*_proof_facts(cut, project, unit), *_need_facts(found, project, unit))


def zipped(files: Sequence[Path]) -> bytes:
    """Put files into one zip; the same files give the same bytes."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in files:
            info = zipfile.ZipInfo(file.name, _ZIP_DATE)
            info.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(info, file.read_bytes())
    return packed.getvalue()


def _proof_facts(cut: CutSet, project: Project, unit: str) -> Facts:
    proof = cut.proof
    seam, whole = (_small(v, unit) for v in (proof.stitch_difference_mm, proof.rejoin_error_mm))
    counts = f"{counted(len(cut.pieces), 'piece')} to cut for {counted(len(project.lines), 'line')}"
    return (
        _fact("fine", f"The seams match: the two sides of every new seam are equally long, within {seam}."),
        _fact("fine", f"Sewn together, the pieces are the ones you started from, within {whole}. {counts}."),
        *(_fact("warn", in_unit(str(w), unit)) for w in cut.warnings),
    )


def _need_facts(found: Sequence[Need], project: Project, unit: str) -> Facts:
    names = journey.fabric_names(project)
    return tuple(
        _fact(
            "note",
            f"{capital(names.get(need.fabric, 'cloth that is not chosen yet'))}: {counted(need.count, 'piece')}, "
            f"{_to_buy(need.buy_mm, unit)} on a usable width of {wide_said(need.width_mm, unit)}, in a single layer"
            + (f", {need.note}." if need.note else "."),
        )
        for need in found
    )


def _small(mm: float, unit: str) -> str:
    """How exact a cut is: three places of a mm, or as fine in inches."""
    if unit == "in":
        return f"{max(mm / MM_PER_INCH, 0.0001):.4f} in"
    return f"{max(mm, 0.001):.3f} mm"


def wide_said(mm: float, unit: str) -> str:
    """How wide cloth is: whole inches, or cm."""
    return f"{mm / MM_PER_INCH:.0f} in" if unit == "in" else f"{round(mm / 10, 1):g} cm"


def yards_said(mm: float) -> str:
    """A length to buy in yards, rounded up to the eighths that shops cut."""
    return eighths(math.ceil(mm / EIGHTH_YARD_MM - 1e-6) * EIGHTH_YARD_MM)


def _to_buy(mm: float, unit: str) -> str:
    """As shops sell it: by the yard, or by the metre."""
    if unit == "in":
        return yards_said(mm)
    return f"{mm / 1000:.1f} m" if mm >= 1000 else f"{mm / 10:.0f} cm"
