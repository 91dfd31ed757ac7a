"""How much to buy on every usual width, and what it costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from mockup.lay.folded import lay_folded
from mockup.lay.lay import Lay, LayPiece
from mockup.lay.need import EIGHTH_YARD_MM, STEP_MM, to_buy
from mockup.lay.strip import lay_on_width
from swatches.errors import InputError
from swatches.job import QUIET, Job, Part, check
from swatches.units import MM_PER_INCH

METRIC_MM = (900.0, 1100.0, 1150.0, 1400.0, 1500.0)
INCHES_MM = tuple(MM_PER_INCH * w for w in (36, 45, 54, 60))
"""Widths that are sold (common practice, no source). What is usable is measured, not believed."""
YARD_MM = 36 * MM_PER_INCH


@dataclass(frozen=True, slots=True)
class WidthRow:
    """One width.

    Attributes:
        width_mm: as sold.
        usable_mm: what the pieces are laid on: without the selvedges.
        length_mm: length of the lay; None where it is too narrow.
        buy_mm: length to buy, with shrinkage, rounded up; None likewise.
        cost: its price, in the currency of the price; None where there is no price.
        density: share of the cloth that the pieces take.
        note: why there is no lay, or an empty text.
    """

    width_mm: float
    usable_mm: float
    length_mm: float | None = None
    buy_mm: float | None = None
    cost: float | None = None
    density: float | None = None
    note: str = ""


def width_table(
    pieces: Sequence[LayPiece],
    widths_mm: Sequence[float],
    *,
    selvedges_mm: float = 0.0,
    folded: bool = False,
    clearance_mm: float = 2.0,
    border_mm: float = 0.0,
    nap: bool = False,
    repeat_mm: tuple[float, float] | None = None,
    shrinkage_percent: float = 0.0,
    by_yard: bool = False,
    price: float | None = None,
    time_s: float = 0.0,
    seed: int = 0,
    job: Job = QUIET,
) -> tuple[WidthRow, ...]:
    """Lay the pieces on every width.

    Args:
        pieces: halves with their fold only where ``folded``.
        widths_mm: widths as sold.
        selvedges_mm: both selvedges together, which cannot be used.
        folded: whether the cloth is folded lengthwise.
        clearance_mm: least distance between pieces.
        border_mm: least distance to the selvedges and both ends.
        nap: whether all pieces must point one way.
        repeat_mm: repeat of a stripe or check, where pieces are matched.
        shrinkage_percent: lengthwise, that is allowed for.
        by_yard: whether the shop cuts to 1/8 yd, and the price is of a yard; else 10 cm and a metre.
        price: of a metre or yard.
        time_s: for the search on each width; 0 gives the simple lay, which is the same every time.
        seed: of the random choices.
        job: progress and cancellation.
    """
    step, unit = (EIGHTH_YARD_MM, YARD_MM) if by_yard else (STEP_MM, 1000.0)
    if price is not None and not 0 <= price < 1e6:
        raise InputError("price", expected="an amount of 0 or more", got=f"{price:g}", next_step="Type it like 12.50")
    rows = []
    for k, width in enumerate(widths_mm):
        check(job)
        part = Part(job, k / len(widths_mm), (k + 1) / len(widths_mm))
        usable = width - selvedges_mm
        lay_it = lay_folded if folded else lay_on_width
        found = lay_it(
            pieces,
            usable,
            clearance_mm=clearance_mm,
            border_mm=border_mm,
            nap=nap,
            repeat_mm=repeat_mm,
            time_s=time_s,
            seed=seed,
            job=part,
        )
        if not isinstance(found, Lay) or found.length_mm is None:
            said = found.proof if isinstance(found, Lay) else found.reason
            rows.append(WidthRow(width, usable, note=said))
            continue
        buy = to_buy(found.length_mm, shrinkage_percent, step)
        cost = None if price is None else round(price * buy / unit, 2)
        rows.append(WidthRow(width, usable, found.length_mm, buy, cost, found.density))
    return tuple(rows)


def eighths(buy_mm: float) -> str:
    """A length to buy in yards: '1 3/8 yd'."""
    whole, rest = divmod(round(buy_mm / EIGHTH_YARD_MM), 8)
    part = {0: "", 1: "1/8", 2: "1/4", 3: "3/8", 4: "1/2", 5: "5/8", 6: "3/4", 7: "7/8"}[rest]
    return f"{' '.join(t for t in (str(whole) if whole or not part else '', part) if t)} yd"
