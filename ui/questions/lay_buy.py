"""How much of every cloth to buy: on its own width, and on the widths that are sold."""

from __future__ import annotations

from mockup.journey.cloths import fabric_names
from mockup.journey.publish import need_of
from mockup.lay.grain import lies_one_way
from mockup.lay.widths import INCHES_MM, METRIC_MM, YARD_MM, WidthRow, eighths, width_table
from swatches.fabric import Fabric
from swatches.job import Job, Part, check
from ui.parts.making import wide_said, yards_said
from ui.parts.words import capital
from ui.questions.lay_state import CLEARANCE_MM, Board


def to_buy(board: Board, unit: str, job: Job) -> tuple[dict[str, str], ...]:
    """How much of every cloth of the choice, each on its own width; in metres, or in yards for who thinks in inches."""
    names = fabric_names(board.project)
    rows = []
    for k, fabric in enumerate(board.pieces):
        check(job)
        known = board.project.fabric(fabric)
        mine = [p for p in board.made if p.fabric == fabric]
        part = Part(job, k / len(board.pieces), (k + 1) / len(board.pieces))
        found = need_of(board.project, mine, job=part)[0]
        price = known.price_per_metre.value
        cost = "" if price is None else f"{price * found.buy_mm / 1000:.2f}"
        taken = "" if found.width_known else f"its width is not known: {wide_said(found.width_mm, unit)} is taken"
        shrink = f"with {found.shrinkage_percent:g} % for shrinking" if found.shrinkage_percent else ""
        rows.append(
            {
                "cloth": capital(names[fabric]),
                "length": yards_said(found.buy_mm) if unit == "in" else f"{found.buy_mm / 1000:.1f} m",
                "width": f"{wide_said(found.width_mm, unit)} wide",
                "cost": cost,
                "have": "yours" if known.owned else "to buy",
                "note": "; ".join(t for t in (taken, found.note, shrink) if t),
            }
        )
    return tuple(rows)


def on_widths(board: Board, unit: str, job: Job) -> tuple[dict[str, str], ...]:
    """How much of every cloth of the choice on each usual width, and what it costs.

    Widths and lengths are as shops sell them that go with the person's unit: in cm to 10 cm, or in inches to 1/8 yd.
    """
    by_yard = unit == "in"
    names = fabric_names(board.project)
    rows = []
    for k, fabric in enumerate(board.pieces):
        known = board.project.fabric(fabric)
        price = known.price_per_metre.value
        found = width_table(
            board.pieces[fabric],
            INCHES_MM if by_yard else METRIC_MM,
            clearance_mm=CLEARANCE_MM,
            nap=lies_one_way(known),
            shrinkage_percent=_shrinks(known),
            by_yard=by_yard,
            price=None if price is None else price * YARD_MM / 1000 if by_yard else price,
            job=Part(job, k / len(board.pieces), (k + 1) / len(board.pieces)),
        )
        rows += [{"cloth": capital(names[fabric]), **_width_row(row, by_yard=by_yard)} for row in found]
    return tuple(rows)


def _width_row(row: WidthRow, *, by_yard: bool) -> dict[str, str]:
    width = wide_said(row.width_mm, "in" if by_yard else "cm")
    if row.buy_mm is None:
        return {"width": width, "length": "", "cost": "", "note": "too narrow for its widest piece"}
    length = eighths(row.buy_mm) if by_yard else f"{row.buy_mm / 1000:.1f} m"
    cost = "" if row.cost is None else f"{row.cost:.2f}"
    return {"width": width, "length": length, "cost": cost, "note": f"{100 * (row.density or 0):.0f} % used"}


def _shrinks(known: Fabric) -> float:
    """Percent lengthwise that is still to come: cloth that was washed before has it behind it."""
    return 0.0 if known.prewashed.value else known.shrinkage_length.value or 0.0
