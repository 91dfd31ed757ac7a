"""What there is of each cloth to lay on: its remnants, and what is left on the roll."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from mockup.lay.grain import held, lies_one_way
from mockup.lay.lay import Answer, Lay, LayPiece, Scrap
from mockup.lay.need import lay_pieces
from mockup.lay.scraps import lay_on_scraps
from mockup.pattern.piece import Piece
from swatches.fabric import Fabric, Kind
from swatches.job import QUIET, Job

ROLL = "roll"


@dataclass(frozen=True, slots=True)
class Stock:
    """Scraps of one cloth, and how pieces may lie on them.

    Attributes:
        scraps: what there is.
        warnings: what could not be used of it, one sentence each.
        faces_alike: whether it may be turned over.
        held: what its record asks of how pieces lie; see :func:`mockup.lay.grain.held`.
    """

    scraps: tuple[Scrap, ...]
    warnings: tuple[str, ...] = ()
    faces_alike: bool = False
    held: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Fits:
    """Whether pieces can be cut from the stock.

    Attributes:
        answer: yes; no, proved; or not found.
        lays: fabric id → its lay; complete only for yes.
        proof: the sentence of the first lay that is not yes, else that of all.
    """

    answer: Answer
    lays: dict[str, Lay]
    proof: str


def stock_of(fabric: Fabric, *, roll: bool = True) -> Stock:
    """Give what there is of a cloth.

    A remnant of unknown grain is left out. Where it is not known whether the cloth has one way, it is laid as if it
    had: that costs cloth and is right either way.

    Args:
        fabric: the cloth.
        roll: whether the length that is left on the roll counts too, not only remnants.
    """
    one_way = lies_one_way(fabric)
    scraps, warnings = [], []
    striped = fabric.kind in (Kind.STRIPE, Kind.CHECK) and fabric.texture is not None
    repeat = fabric.texture.repeat_mm if striped and fabric.texture is not None else None
    for remnant in fabric.remnants:
        if remnant.grain_deg is None:
            warnings.append(f"The grain of '{remnant.name}' is not known, so it is left out.")
            continue
        outline = remnant.safe_outline or remnant.outline
        scraps.append(Scrap(remnant.name, outline, remnant.holes, remnant.grain_deg, one_way, repeat_mm=repeat))
    width, length = fabric.usable_width.value, fabric.length_left.value
    if roll and width and length:
        outline = ((0.0, 0.0), (width, 0.0), (width, length), (0.0, length))
        scraps.append(Scrap(ROLL, outline, nap=one_way, repeat_mm=repeat))
    return Stock(tuple(scraps), tuple(warnings), fabric.faces_alike.value is True, held(fabric))


def fits(
    pieces: Sequence[Piece],
    stock: Mapping[str, Stock],
    *,
    clearance_mm: float = 2.0,
    time_s: float = 2.0,
    seed: int = 0,
    job: Job = QUIET,
) -> Fits:
    """Lay the pieces of every cloth on what there is of it; stops at the first cloth that is not enough.

    Args:
        pieces: with their fabric; pieces without one are left out.
        stock: fabric id → what there is.
        clearance_mm: least distance between pieces.
        time_s: time for each cloth.
        seed: of the random choices.
        job: progress and cancellation.
    """
    lays: dict[str, Lay] = {}
    for fabric in dict.fromkeys(p.fabric for p in pieces if p.fabric):
        mine = lay_pieces([p for p in pieces if p.fabric == fabric])
        lay = lay_on(mine, stock.get(fabric, Stock(())), clearance_mm=clearance_mm, time_s=time_s, seed=seed, job=job)
        lays[fabric] = lay
        if lay.answer is not Answer.YES:
            return Fits(lay.answer, lays, f"'{fabric}': {lay.proof}")
    return Fits(Answer.YES, lays, "Every piece lies on its cloth, checked exactly.")


def lay_on(
    pieces: Sequence[LayPiece],
    stock: Stock,
    *,
    clearance_mm: float = 2.0,
    time_s: float = 2.0,
    seed: int = 0,
    measure: bool = True,
    job: Job = QUIET,
) -> Lay:
    """Lay pieces on the stock of one cloth; without any scrap the answer is no. ``measure`` as for scraps."""
    if not stock.scraps:
        return Lay(Answer.NO, "There is nothing of this cloth to lay on.")
    return lay_on_scraps(
        pieces, stock.scraps, clearance_mm=clearance_mm, time_s=time_s, seed=seed, measure=measure, job=job
    )
