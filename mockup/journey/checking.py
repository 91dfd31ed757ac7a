"""Will it sew? All checks on one choice; with pattern pieces also their seams and how much cloth they take.

Cutting the pieces takes long, and what comes of it does not depend on cloth: it is remembered by lines, pieces and
allowance, so that a change of cloth is judged at once.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from threading import Lock

from pydantic import TypeAdapter

from mockup.checks.finding import Finding
from mockup.checks.limits import limits
from mockup.checks.run import check
from mockup.checks.scene import frame_of, scene
from mockup.colourways.colourway import Colourway
from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.journey.cutting import cut
from mockup.journey.known import find
from mockup.journey.publish import need_of
from mockup.journey.sewn_in import with_darts
from mockup.lay.need import Need
from mockup.pattern.allowance import cut_line
from mockup.pattern.apply_split import CutSet
from mockup.pattern.one_piece import OnePiece
from mockup.pattern.piece import HowToCut, Piece
from mockup.pattern.walk import Walk, walk
from mockup.project import Project
from mockup.stylelines.styleline import StyleLine
from swatches.errors import InputError
from swatches.job import QUIET, Job, Part
from swatches.units import Length, length

NO_CLOTH = "No cloth is chosen: the lines alone were looked at."
"""Said where there is no choice, or one without cloth: what cloth decides cannot be judged then."""
_TRIAL = "?"  # no choice has this letter
_KEPT = 8
_views = TypeAdapter(tuple[View, ...])
_lines = TypeAdapter(tuple[StyleLine, ...])
_eased = TypeAdapter(dict[str, float])


@dataclass(frozen=True, slots=True, eq=False)
class TrialCut:
    """What cutting the pieces by the lines shows, whatever their cloth.

    Attributes:
        area_mm2: panel id → cloth that its pieces take, allowances included.
        walked: the seams of the cut pieces, compared.
        shared: pieces that show more than one panel.
    """

    area_mm2: dict[str, float]
    walked: Walk
    shared: tuple[OnePiece, ...] = ()


_cuts: OrderedDict[bytes, TrialCut] = OrderedDict()
_lock = Lock()


def findings(
    project: Project,
    folder: Path,
    letter: str = "A",
    *,
    allowance: Length | float | str = 15.0,
    changed: Mapping[str, float] | None = None,
    lays: bool = False,
    job: Job = QUIET,
) -> tuple[Finding, ...]:
    """Judge one choice.

    Args:
        project: the project; its own limits hold.
        folder: its folder, for the pieces.
        letter: the choice; empty: the lines alone are judged, and the seams of the pieces.
        allowance: of the style lines.
        changed: limits that are set for this time, by name; they go before the project's.
        lays: whether the pieces are laid on their cloth too, to judge whether it is enough.
        job: progress and cancellation.

    Raises:
        InputError: no such choice, no choice to lay on its cloth, or a limit that does not exist.
    """
    project = with_darts(project, folder)
    table = {**project.limits, **(changed or {})}
    limits(table)  # said before the work, not after it
    if lays and not letter:
        raise InputError(
            "the lay",
            expected="a choice of cloth",
            got="none",
            next_step="Choose cloth first, such as: mockup assign PROJECT front-1=#203040",
        )
    choice = find(project, "colourway", letter) if letter else Colourway("")
    tried = trial_cut(project, folder, allowance=allowance, job=Part(job, 0.0, 0.5))
    needs = lays_of(project, folder, letter, allowance=allowance, job=Part(job, 0.5, 1.0)) if lays and tried else {}
    return judged(project, choice, tried, allowance=allowance, changed=changed, lays=needs)


def judged(
    project: Project,
    choice: Colourway,
    tried: TrialCut | None,
    *,
    allowance: Length | float | str = 15.0,
    changed: Mapping[str, float] | None = None,
    lays: Mapping[str, Need] | None = None,
) -> tuple[Finding, ...]:
    """Judge a choice by what is known already: quick enough to follow every change of cloth."""
    width = length(allowance, what="allowance", minimum_mm=0.0).mm
    areas: dict[str, float] = {}
    for panel, area in (tried.area_mm2 if tried else {}).items():
        if panel in choice.fabrics:
            areas[choice.fabrics[panel]] = areas.get(choice.fabrics[panel], 0.0) + area
    table = limits({**project.limits, **(changed or {})})
    walked = tried.walked if tried else None
    seen = scene(
        project, choice, allowance_mm=width, cut_mm2=areas, table=table, walked=walked, lays=lays,
        shared=tried.shared if tried else (),
    )  # fmt: skip
    return check(seen)


def can_cut(project: Project) -> bool:
    """Whether there are pieces, and a known length on every drawing."""
    return bool(project.pieces) and all(v.scale_measured for v in project.views if v.kind == "drawing")


def trial_cut(
    project: Project, folder: Path, *, allowance: Length | float | str = 15.0, job: Job = QUIET
) -> TrialCut | None:
    """Cut the pieces on trial, or remember it from the last time; None without pieces or scale.

    Raises:
        ProofError: the proof failed.
    """
    if not can_cut(project):
        return None
    known = known_cut(project, folder, allowance=allowance)
    if known is not None:
        return known
    panels = frame_of(project).panels
    # Twins are cut as one pair, so they are marked as one and share what it takes.
    marks = {p.id: min(p.id, p.twin or p.id) for p in panels.values()}
    marked = replace(project, colourways=(Colourway(_TRIAL, "", marks),))
    made = cut(marked, folder, _TRIAL, allowance=allowance, job=job)
    by_mark = cut_areas(made.pieces)
    shared = {mark: sum(m == mark for m in marks.values()) for mark in set(marks.values())}
    areas = {panel: by_mark.get(mark, 0.0) / shared[mark] for panel, mark in marks.items()}
    found = TrialCut(areas, walk(made.pieces, project.ease), made.shared)
    with _lock:
        _cuts[_key(project, folder, allowance)] = found
        while len(_cuts) > _KEPT:
            _cuts.popitem(last=False)
    return found


def known_cut(project: Project, folder: Path, *, allowance: Length | float | str = 15.0) -> TrialCut | None:
    """The trial cut of these lines, pieces and allowance, where it was done already."""
    if not can_cut(project):
        return None
    with _lock:
        return _cuts.get(_key(project, folder, allowance))


def lays_of(
    project: Project, folder: Path, letter: str, *, allowance: Length | float | str = 15.0, job: Job = QUIET
) -> dict[str, Need]:
    """Lay the cut pieces on their cloth, each on its own usable width: fabric id → what it needs."""
    made: CutSet = cut(project, folder, letter, allowance=allowance, job=Part(job, 0.0, 0.5))
    return {need.fabric: need for need in need_of(project, made.pieces, job=Part(job, 0.5, 1.0))}


def cut_areas(pieces: Sequence[Piece]) -> dict[str, float]:
    """Cloth that the cut pieces take, mm² by fabric id: opened out, and as often as they are cut."""
    areas: dict[str, float] = {}
    for piece in pieces:
        times = piece.count * (2 if piece.how in (HowToCut.PAIR, HowToCut.ON_FOLD) else 1)
        areas[piece.fabric] = areas.get(piece.fabric, 0.0) + times * abs(paths.signed_area(cut_line(piece)))
    return areas


def _key(project: Project, folder: Path, allowance: Length | float | str) -> bytes:
    h = hashlib.sha256(_views.dump_json(project.views))
    h.update(_lines.dump_json(project.lines))
    h.update(_eased.dump_json(project.ease))
    h.update(str(length(allowance, what="allowance", minimum_mm=0.0).mm).encode())
    file = folder / "pieces" / project.pieces
    if file.exists():
        h.update(file.read_bytes())
    return h.digest()
