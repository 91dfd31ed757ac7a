"""Where no design was found: which cloth was short most often, for which piece and by how much, and what to do next."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from shapely.geometry import Polygon

from mockup.lay.lay import Answer, Lay, LayPiece, free_area, missing
from mockup.lay.stock import Stock, lay_on

_MEASURE = "measure more of it, or another cloth, under 'Which cloth?'"
_MOVE = "let the lines run in another range"


@dataclass(frozen=True, slots=True)
class Short:
    """What was short most often.

    Attributes:
        kind: 'lines' (they cut no piece), 'nowhere' (a piece fits on no cloth), 'alike' (panels that meet at a line
            would have the same cloth), 'room' (too little cloth by area), 'lay' (no lay was found on a cloth).
        times: at how many positions of the lines.
        piece: the piece that is left over, without its number.
        fabric: id of the cloth; for 'nowhere' and 'alike' empty.
        lack_mm: for 'room' what is missing of the cloth's length at its full width; for 'lay' by how much the outline
            of the piece would have to move inward all round; None where that is not known.
        size_mm: across and along of the piece, with its allowances.
        others: for 'nowhere' the other pieces that have the same cloth as this one.
        there_mm: across and along of the largest piece of cloth there is.
        laid: how many of all its pieces lay on the cloth at best.
    """

    kind: str
    times: int
    piece: str = ""
    fabric: str = ""
    lack_mm: float | None = None
    size_mm: tuple[float, float] = (0.0, 0.0)
    others: tuple[str, ...] = ()
    there_mm: tuple[float, float] = (0.0, 0.0)
    laid: tuple[int, int] = (0, 0)

    def said(self, names: Mapping[str, str]) -> str:
        """In words, with the next step; lengths in mm.

        Args:
            names: fabric id → its name.
        """
        cloth, piece = names.get(self.fabric, self.fabric), f"'{self.piece}'"
        if self.kind == "lines":
            return f"Where the lines were tried they cut no piece. Next: {_MOVE}."
        if self.kind == "alike":
            return (
                f"Most often {piece} was left without cloth: panels that meet at a line never have the same one."
                " Next: tick another cloth, or measure one under 'Which cloth?'."
            )
        if self.kind == "nowhere":
            size, there = (" × ".join(f"{s:.0f}" for s in sides) for sides in (self.size_mm, self.there_mm))
            others = " and ".join(f"'{name}'" for name in self.others)
            rest = f", and {others} together" if others else ""
            return (
                f"Most often no one cloth had room for {piece}, with its allowances {size} mm{rest}: the largest piece"
                f" of cloth is {there} mm. Next: measure a larger one under 'Which cloth?', or {_MOVE}."
            )
        if self.kind == "room":
            return (
                f"Most often there was too little of {cloth}: for {piece} about {self.lack_mm or 0.0:.0f} mm of its"
                f" length are missing. Next: {_MEASURE}, or {_MOVE}."
            )
        lack = "" if self.lack_mm is None else f": it is {self.lack_mm:.0f} mm too large all round for what is left"
        laid, count = self.laid
        return (
            f"Most often {cloth} was short: at best {laid} of {count} pieces lie on it, and {piece} does not{lack}."
            f" Next: {_MEASURE}, {_MOVE}, or lay a choice below and ask what would help."
        )


@dataclass(slots=True)
class Tally:
    """What went wrong in a search, counted as it goes.

    Attributes:
        stock: fabric id → what there is.
        clearance_mm: between pieces.
    """

    stock: Mapping[str, Stock]
    clearance_mm: float
    counts: Counter[tuple[str, str, str]] = field(default_factory=Counter)
    pieces: dict[tuple[str, str, str], tuple[LayPiece, ...]] = field(default_factory=dict)
    lack_mm2: dict[tuple[str, str, str], float] = field(default_factory=dict)
    here: set[tuple[str, str, str]] = field(default_factory=set)

    def next_position(self) -> None:
        """Begin at another position of the lines: what is short there is counted once, however often it is tried."""
        self.here.clear()

    def _count(self, key: tuple[str, str, str]) -> None:
        self.counts[key] += key not in self.here
        self.here.add(key)

    def lines(self) -> None:
        """Count lines that cannot be cut."""
        self._count(("lines", "", ""))

    def homeless(self, kind: str, pieces: Sequence[LayPiece], fabric: str = "", lack_mm2: float = 0.0) -> None:
        """Count pieces for which there is no cloth: 'nowhere', 'alike' or 'room'; of the last what is missing, mm²."""
        key = kind, _plain(_largest_of(pieces)), fabric
        self._count(key)
        self.pieces[key] = tuple(pieces)
        self.lack_mm2[key] = min(lack_mm2, self.lack_mm2.get(key, lack_mm2))

    def unlaid(self, fabric: str, pieces: Sequence[LayPiece], lay: Lay) -> None:
        """Count a cloth on which no lay was found; the lay that lacks the least is remembered."""
        key = "lay", "", fabric
        lack = sum(Polygon(p.outline).area for p in pieces if p.name in missing(pieces, lay.placements))
        self._count(key)
        if lack <= self.lack_mm2.get(key, lack):
            self.lack_mm2[key], self.pieces[key] = lack, tuple(pieces)

    def worst(self, *, lay_s: float, seed: int) -> Short | None:
        """What was counted most often; None where nothing was. One more lay tells by how much a cloth is short."""
        if not self.counts:
            return None
        key, times = max(self.counts.items(), key=lambda item: item[1])
        kind, name, fabric = key
        if kind == "lines":
            return Short(kind, times)
        if kind == "lay":
            return self._measured(key, times, lay_s, seed)
        piece = _largest_of(self.pieces[key])
        others = tuple(_plain(p) for p in self.pieces[key] for _ in range(p.count - (p is piece)))
        lack = self.lack_mm2[key] / self._largest(fabric)[0] if kind == "room" else None
        return Short(kind, times, name, fabric, lack, _size(Polygon(piece.outline)), others, self._largest())

    def _measured(self, key: tuple[str, str, str], times: int, lay_s: float, seed: int) -> Short:
        fabric, pieces = key[2], self.pieces[key]
        count = sum(p.count for p in pieces)
        lay = lay_on(pieces, self.stock[fabric], clearance_mm=self.clearance_mm, time_s=lay_s, seed=seed)
        left = [p for p in pieces if p.name in missing(pieces, lay.placements)] or list(pieces)
        out = _plain(_largest_of(left))
        over = sum(Polygon(p.outline).area * p.count for p in pieces) - self._room(fabric)
        if lay.answer is Answer.NO and over > 0:
            return Short("room", times, out, fabric, over / self._largest(fabric)[0])
        return Short("lay", times, out, fabric, lay.short_mm, laid=(len(lay.placements), count))

    def _room(self, fabric: str) -> float:
        return float(sum(free_area(s).area for s in self.stock[fabric].scraps))

    def _largest(self, fabric: str = "") -> tuple[float, float]:
        """Across and along of the largest piece of one cloth, or of all, mm: those of its box."""
        scraps = [s for f, stock in self.stock.items() if fabric in ("", f) for s in stock.scraps]
        return _size(max((Polygon(s.outline) for s in scraps), key=lambda area: area.area))


def _size(shape: Polygon) -> tuple[float, float]:
    x0, y0, x1, y1 = shape.bounds
    return float(x1 - x0), float(y1 - y0)


def _largest_of(pieces: Sequence[LayPiece]) -> LayPiece:
    return max(pieces, key=lambda p: Polygon(p.outline).area)


def _plain(piece: LayPiece) -> str:
    """A piece's name without its number."""
    return piece.name.lstrip("0123456789 ")
