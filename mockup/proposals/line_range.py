"""How high and how low may a line run, so that every piece can still be cut from the cloth that there is?"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from mockup.garment.view import View
from mockup.lay.lay import Answer
from mockup.lay.stock import Fits, Stock, fits
from mockup.pattern.apply_split import apply_split
from mockup.pattern.piece import Piece
from mockup.project import Project
from mockup.split.words import edge_said
from mockup.stylelines.edges import body_box, end_point
from mockup.stylelines.panels import garment_panels, primary_views
from mockup.stylelines.styleline import FREE, End, StyleLine
from mockup.stylelines.to_split import make_split
from swatches.errors import GeometryError, InputError
from swatches.job import QUIET, Job, check

STEP_MM = 5.0
REACH_MM = 320.0
_FIRST_STEPS = 8  # of the gallop: 40 mm, then twice as far


@dataclass(frozen=True, slots=True, eq=False)
class Spot:
    """One position of the lines: ``up_mm`` above where they are, and whether all pieces can be cut there."""

    up_mm: float
    fits: Fits
    lines: tuple[StyleLine, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class LineRange:
    """What was found.

    Attributes:
        highest: the highest position that was found to fit, or None.
        lowest: the lowest.
        beyond_high: the next position above, which is proved not to fit or was not found to.
        beyond_low: the same below.
        looked_at: every position that was tried, up from where the lines are, mm; between them nothing was tried: a
            search by halves takes it that what fits lies together.
        step_mm: distance between positions.
    """

    highest: Spot | None
    lowest: Spot | None
    beyond_high: Spot | None
    beyond_low: Spot | None
    looked_at: tuple[float, ...]
    step_mm: float


def moved_up(
    lines: Sequence[StyleLine], which: Sequence[str], up_mm: float, views: Sequence[View]
) -> tuple[StyleLine, ...]:
    """Move lines up along the edges that they end on, by ``up_mm`` along the stitch line; points between move along.

    Raises:
        GeometryError: an end would leave its edge.
    """
    by_side = {v.side: v for v in primary_views(views)}
    out = []
    for line in lines:
        view = by_side.get(line.side)
        if line.id not in which or view is None or up_mm == 0:
            out.append(line)
            continue
        share = up_mm / body_box(view)[3]
        out.append(
            replace(
                line,
                start=_up(line.start, view, up_mm),
                end=_up(line.end, view, up_mm),
                through=tuple((x, y + share) for x, y in line.through),
            )
        )
    return tuple(out)


def line_range(
    project: Project,
    pieces: Sequence[Piece],
    letter: str,
    which: Sequence[str],
    stock: Mapping[str, Stock],
    *,
    allowance_mm: float = 15.0,
    clearance_mm: float = 2.0,
    step_mm: float = STEP_MM,
    reach_mm: float = REACH_MM,
    time_s: float = 1.0,
    seed: int = 0,
    job: Job = QUIET,
) -> LineRange:
    """Find the highest and the lowest position of some lines, moved together.

    Args:
        project: with measured views, lines, and the choice.
        pieces: its pattern pieces.
        letter: the choice that says which cloth each panel is cut from.
        which: ids of the lines that move.
        stock: fabric id → what there is.
        allowance_mm: of the lines.
        clearance_mm: between pieces.
        step_mm: positions are multiples of this from where the lines are.
        reach_mm: how far up and down is looked.
        time_s: time for each lay.
        seed: of the random choices.
        job: progress and cancellation.

    Raises:
        InputError: no line is named.
    """
    if not which:
        raise InputError("line", expected="a line to move", got="none", next_step="Name a line of the project")
    known: dict[int, Spot | None] = {}

    def at(steps: int) -> Spot | None:
        """The position, or None where the lines cannot run."""
        if steps not in known:
            check(job)
            job.step(f"Trying {abs(steps) * step_mm:g} mm {'higher' if steps >= 0 else 'lower'}", None)
            known[steps] = _try(
                project, pieces, letter, which, stock, steps * step_mm, allowance_mm, clearance_mm, time_s, seed
            )
        return known[steps]

    def good(steps: int) -> bool:
        spot = at(steps)
        return spot is not None and spot.fits.answer is Answer.YES

    farthest = int(reach_mm // step_mm)
    first = min(_FIRST_STEPS, max(farthest, 1))
    start = next((s for s in (0, *_outward(farthest, first)) if good(s)), None)
    ends: list[tuple[Spot | None, Spot | None]] = []
    for way in (1, -1):
        if start is None:
            ends.append((None, None))
            continue
        inside, outside, reach = start, None, first
        while outside is None and reach <= farthest:
            if good(start + way * reach):
                inside, reach = start + way * reach, 2 * reach
            else:
                outside = start + way * reach
        while outside is not None and abs(outside - inside) > 1:
            middle = (inside + outside) // 2
            inside, outside = (middle, outside) if good(middle) else (inside, middle)
        ends.append((at(inside), None if outside is None else at(outside)))
    looked_at = tuple(s * step_mm for s in sorted(known))
    return LineRange(ends[0][0], ends[1][0], ends[0][1], ends[1][1], looked_at, step_mm)


def _try(
    project: Project,
    pieces: Sequence[Piece],
    letter: str,
    which: Sequence[str],
    stock: Mapping[str, Stock],
    up_mm: float,
    allowance_mm: float,
    clearance_mm: float,
    time_s: float,
    seed: int,
) -> Spot | None:
    try:
        lines = moved_up(project.lines, which, up_mm, project.views)
        made = cut_pieces(project, pieces, lines, dict(project.colourway(letter).fabrics), allowance_mm)
    except GeometryError:
        return None
    found = fits(made, stock, clearance_mm=clearance_mm, time_s=time_s, seed=seed)
    return Spot(up_mm, found, lines)


def cut_pieces(
    project: Project,
    pieces: Sequence[Piece],
    lines: Sequence[StyleLine],
    fabrics: Mapping[str, str],
    allowance_mm: float,
) -> tuple[Piece, ...]:
    """Cut the pieces by some lines; panel id → fabric goes over to the pieces.

    Raises:
        GeometryError: a line cannot run there.
    """

    class Cloth:
        def __init__(self) -> None:
            self.fabrics = dict(fabrics)

    panels = garment_panels(project.views, lines)
    split = make_split(project.views, lines, panels, Cloth())
    return apply_split(pieces, split, allowance_mm=allowance_mm, allowance_text=f"{allowance_mm:g} mm").pieces


def _outward(most: int, step: int) -> list[int]:
    return [way * s for s in range(step, most + 1, step) for way in (1, -1)]


def _up(end: End, view: View, up_mm: float) -> End:
    """Move an end up along its edge; which way that is follows from the edge's points."""
    if end.edge == FREE:  # of a closed shape, which is moved by its points
        return end
    here = end if end.side is not None or end.edge.startswith("centre") else replace(end, side="left")
    nudge = 1.0 if end.distance_mm < 1.0 else -1.0
    y0, y1 = end_point(here, view)[1], end_point(replace(here, distance_mm=end.distance_mm + nudge), view)[1]
    way = 1.0 if (y1 - y0) * nudge > 0 else -1.0
    distance = end.distance_mm + way * up_mm
    if distance < 0:
        raise GeometryError(
            f"end on the {edge_said(end.edge)}",
            expected=f"at most {end.distance_mm:g} mm that way",
            got=f"{abs(up_mm):g} mm",
            next_step="Move the line by less",
        )
    return replace(end, distance_mm=distance, text="")
