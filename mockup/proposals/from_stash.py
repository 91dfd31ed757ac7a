"""Design from the stash: lines and cloth for which every panel can be cut from what there is.

Families of lines are tried at several positions. At each the pieces are cut, and for every group of panels it is asked
on which cloth it could lie at all (area and single fit, proved); then cloths are dealt to the groups, neighbours across
a drawn line never alike, and each deal is laid, exactly. Nothing is claimed for what was not looked at: the answer
counts it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from shapely.geometry import Polygon

from mockup.checks.scene import scene
from mockup.colourways.colourway import Colourway
from mockup.lay.lay import Answer, Lay, LayPiece, free_area
from mockup.lay.need import lay_pieces
from mockup.lay.proofs import fits_nowhere, too_little
from mockup.lay.stock import Fits, Stock, lay_on
from mockup.pattern.piece import Piece
from mockup.project import Project
from mockup.proposals.families import Family, position_words
from mockup.proposals.groups import Group, front_with_back, groups_of, meetings_of
from mockup.proposals.line_range import cut_pieces
from mockup.proposals.short_most_often import Short, Tally
from mockup.stylelines.styleline import StyleLine
from swatches.errors import GeometryError, InputError
from swatches.job import QUIET, Job, check

_DEALS = 16  # deals of cloth that are tried at a position before the next
_FULL = 0.9  # a cloth that is used by more than this share is not tried: no lay is found there
_OTHER = 0.25  # two designs of one family differ when this share of the garment has another cloth
Judge = Callable[[Project, str], bool]
"""Says of a project and the letter of a choice whether nothing forbids it."""


@dataclass(frozen=True, slots=True, eq=False)
class Design:
    """One design that can be cut.

    Attributes:
        family: name of the family of lines.
        position_mm: its position.
        lines: the style lines.
        colourway: cloth of every panel.
        fits: a lay for every cloth.
        shares: fabric id → share of the garment.
        left_over_mm2: fabric id → area of its stock that stays.
    """

    family: str
    position_mm: float
    lines: tuple[StyleLine, ...]
    colourway: Colourway
    fits: Fits
    shares: dict[str, float]
    left_over_mm2: dict[str, float]


@dataclass(slots=True)
class Tried:
    """What was looked at, counted."""

    positions: int = 0
    impossible_positions: int = 0
    deals: int = 0
    lays: int = 0
    forbidden: int = 0


@dataclass(frozen=True, slots=True, eq=False)
class Designs:
    """Designs found, with what was searched.

    Attributes:
        designs: those found, in the order in which they were.
        tried: what was looked at.
        seconds: how long that took.
        complete: whether every position was tried, or as many designs found as were asked for.
        stopped: whether the person stopped it.
        short: where none was found, what was short most often.
    """

    designs: tuple[Design, ...]
    tried: Tried
    seconds: float
    complete: bool
    stopped: bool = False
    short: Short | None = None

    @property
    def said(self) -> str:
        """What was searched, in a sentence."""
        t = self.tried
        over = "You stopped it" if self.stopped else "The time was over"
        end = "" if self.complete else f" {over} before every position was tried."
        positions, lays = _counted(t.positions, "position"), _counted(t.lays, "lay")
        deals = _counted(t.deals, "way")
        impossible = f" ({t.impossible_positions} of them cannot be cut)" if t.impossible_positions else ""
        return (
            f"Looked at {positions} of the lines{impossible}, {deals} to deal out the cloth and {lays};"
            f" there may be more.{end}"
        )


def _counted(n: int, one: str) -> str:
    return f"{n} {one}{'' if n == 1 else 's'}"


def designs(
    project: Project,
    pieces: Sequence[Piece],
    families: Sequence[Family],
    stock: Mapping[str, Stock],
    *,
    count: int = 6,
    allowance_mm: float = 15.0,
    clearance_mm: float = 2.0,
    time_s: float = 60.0,
    lay_s: float = 0.7,
    seed: int = 0,
    judge: Judge | None = None,
    job: Job = QUIET,
) -> Designs:
    """Search for designs that can be cut from the stock.

    Args:
        project: with measured views; its own lines and choices are left alone.
        pieces: its pattern pieces.
        families: lines with a position each.
        stock: fabric id → what there is; fabrics without scraps are not dealt.
        count: stop after so many.
        allowance_mm: of the lines.
        clearance_mm: between pieces.
        time_s: for the whole search.
        lay_s: for one lay.
        seed: of the random choices.
        judge: keeps designs that nothing forbids.
        job: progress and cancellation.

    Returns:
        What was found; where it was cancelled, what was found until then.

    Raises:
        InputError: no cloth, no family.
        Cancelled: nothing was found until then.
    """
    cloths = [f.id for f in project.fabrics if stock.get(f.id) and stock[f.id].scraps]
    if not cloths or not families:
        raise InputError(
            "stash",
            expected="cloth with a remnant, or with its width and length",
            got="none" if not cloths else "no lines to try",
            next_step="Measure a remnant, or what is left on the roll",
        )
    search = _Search(project, pieces, stock, cloths, allowance_mm, clearance_mm, lay_s, seed)
    begin, found = time.monotonic(), list[Design]()
    complete = True
    for family, position in _in_turn(families):
        if job.cancelled:
            break
        spent = time.monotonic() - begin
        if spent > time_s or len(found) >= count:
            complete = len(found) >= count and spent <= time_s
            break
        job.step(
            f"Trying {position_words(family.name, position)}; found so far: {len(found)}", min(spent / time_s, 0.99)
        )
        for design in search.at(family, position, begin + time_s, job):
            if any(_alike(design, other) for other in found):
                continue
            letter = chr(ord("A") + len(found))
            named = replace(design, colourway=replace(design.colourway, letter=letter))
            if judge is not None and not judge(_with(project, named), letter):
                search.tried.forbidden += 1
                continue
            found.append(named)
            break
    if not found:
        check(job)
    stopped = job.cancelled and len(found) < count
    short = None if found else search.short.worst(lay_s=lay_s, seed=seed)
    return Designs(tuple(found), search.tried, time.monotonic() - begin, complete and not stopped, stopped, short)


def _with(project: Project, design: Design) -> Project:
    return replace(project, lines=design.lines).put_colourway(design.colourway)


def _in_turn(families: Sequence[Family]) -> Iterator[tuple[Family, float]]:
    """Every family's positions, the families taking turns, so that the first designs differ in kind."""
    for k in range(max(len(f.positions_mm) for f in families)):
        for family in families:
            if k < len(family.positions_mm):
                yield family, family.positions_mm[k]


def _alike(a: Design, b: Design) -> bool:
    if a.family != b.family:
        return False
    other = sum(abs(a.shares.get(f, 0.0) - b.shares.get(f, 0.0)) for f in {*a.shares, *b.shares}) / 2
    return other < _OTHER


@dataclass(slots=True)
class _Cut:
    """A garment cut by one position of the lines: per group its pieces for the lay, and the cloths that may do."""

    lines: tuple[StyleLine, ...]
    groups: tuple[Group, ...]
    meets: tuple[tuple[int, int], ...]
    pieces: dict[int, tuple[LayPiece, ...]]
    area: dict[int, float]
    may: dict[int, list[str]] = field(default_factory=dict)


class _Search:
    def __init__(
        self, project: Project, pieces: Sequence[Piece], stock: Mapping[str, Stock], cloths: Sequence[str],
        allowance_mm: float, clearance_mm: float, lay_s: float, seed: int,
    ) -> None:  # fmt: skip
        self._project, self._pieces, self._stock, self._cloths = project, tuple(pieces), stock, tuple(cloths)
        self._allowance, self._clearance, self._lay_s, self._seed = allowance_mm, clearance_mm, lay_s, seed
        self._room = {c: sum(free_area(s).area for s in stock[c].scraps) for c in cloths}
        self._random = np.random.default_rng(seed)
        self.tried = Tried()
        self.short = Tally(stock, clearance_mm)

    def at(self, family: Family, position_mm: float, until: float, job: Job = QUIET) -> Iterator[Design]:
        """Give designs at one position, each with its lays."""
        self.tried.positions += 1
        self.short.next_position()
        made = self._possible(family, position_mm)
        if made is None:
            self.tried.impossible_positions += 1
            return
        laid: dict[tuple[str, frozenset[int]], Lay] = {}
        seen: set[tuple[str, ...]] = set()
        for _ in range(_DEALS):
            if time.monotonic() > until or job.cancelled:
                return
            deal = self._deal(made)
            if deal is None or deal in seen:
                continue
            seen.add(deal)
            self.tried.deals += 1
            lays = self._lay(made, deal, laid, until)
            if lays is not None:
                yield self._design(family, position_mm, made, deal, lays)

    def _possible(self, family: Family, position_mm: float) -> _Cut | None:
        """Cut along lines; None where that cannot be, or where a group fits on no cloth."""
        try:
            made = self._cut(family.lines_at(position_mm))
        except GeometryError:
            made = None
        if made is None:
            self.short.lines()
            return None
        homeless = [k for k, cloths in made.may.items() if not cloths]
        for k in homeless:
            self.short.homeless("nowhere", made.pieces[k])
        return None if homeless else made

    def _cut(self, lines: tuple[StyleLine, ...]) -> _Cut | None:
        project = replace(self._project, lines=lines)
        seen = scene(project, Colourway("A"))
        groups = groups_of(seen, pairs=front_with_back(seen))
        fabrics = {panel: str(k) for k, group in enumerate(groups) for panel in group.panels}
        made = cut_pieces(project, self._pieces, lines, fabrics, self._allowance)
        by_group = {k: lay_pieces([p for p in made if p.fabric == str(k)]) for k in range(len(groups))}
        pieces = {k: v for k, v in by_group.items() if v}
        if not pieces:
            return None
        area = {k: sum(Polygon(p.outline).area * p.count for p in v) for k, v in pieces.items()}
        meets = tuple((m.a, m.b) for m in meetings_of(seen, groups) if m.drawn)
        cut = _Cut(lines, groups, meets, pieces, area)
        for k, mine in pieces.items():
            cut.may[k] = [c for c in self._cloths if self._may(mine, c)]
        return cut

    def _may(self, pieces: Sequence[LayPiece], cloth: str) -> bool:
        scraps = self._stock[cloth].scraps
        proof, may = fits_nowhere(pieces, scraps, border_mm=0.0)
        return not (proof or too_little(pieces, scraps, may, clearance_mm=self._clearance, border_mm=0.0))

    def _deal(self, cut: _Cut) -> tuple[str, ...] | None:
        """Deal a cloth to every group at random: the largest first, neighbours apart, nothing over its area."""
        left = {c: _FULL * room for c, room in self._room.items()}
        dealt: dict[int, str] = {}
        for k in sorted(cut.pieces, key=lambda g: -cut.area[g]):
            beside = {dealt[b if a == k else a] for a, b in cut.meets if k in (a, b) and (b if a == k else a) in dealt}
            open_ = [c for c in cut.may[k] if c not in beside and cut.area[k] <= left[c]]
            if not open_:
                roomy = max((c for c in cut.may[k] if c not in beside), key=lambda c: left[c], default="")
                lack = cut.area[k] - left[roomy] if roomy else 0.0
                self.short.homeless("room" if roomy else "alike", cut.pieces[k], roomy, lack)
                return None
            # cloth that is used already is twice as likely: a garment of two or three cloths hangs together
            weight = np.array([2.0 if c in dealt.values() else 1.0 for c in open_])
            cloth = open_[int(self._random.choice(len(open_), p=weight / weight.sum()))]
            dealt[k] = cloth
            left[cloth] -= cut.area[k]
        if len(set(dealt.values())) < 2 and cut.meets:
            self.short.homeless("alike", cut.pieces[min(cut.pieces, key=lambda g: cut.area[g])])
            return None
        return tuple(dealt[k] for k in sorted(dealt))

    def _lay(
        self, cut: _Cut, deal: tuple[str, ...], laid: dict[tuple[str, frozenset[int]], Lay], until: float
    ) -> dict[str, Lay] | None:
        lays: dict[str, Lay] = {}
        for cloth in dict.fromkeys(deal):
            groups = frozenset(k for k, c in zip(sorted(cut.pieces), deal, strict=True) if c == cloth)
            key = cloth, groups
            if key not in laid:
                if time.monotonic() > until:
                    return None
                self.tried.lays += 1
                mine = [p for k in sorted(groups) for p in cut.pieces[k]]
                laid[key] = lay_on(
                    mine, self._stock[cloth], clearance_mm=self._clearance, time_s=self._lay_s, seed=self._seed,
                    measure=False,
                )  # fmt: skip
                if laid[key].answer is not Answer.YES:
                    self.short.unlaid(cloth, mine, laid[key])
            if laid[key].answer is not Answer.YES:
                return None
            lays[cloth] = laid[key]
        return lays

    def _design(
        self, family: Family, position_mm: float, cut: _Cut, deal: tuple[str, ...], lays: dict[str, Lay]
    ) -> Design:
        cloth_of = dict(zip(sorted(cut.pieces), deal, strict=True))
        fabrics = {panel: cloth_of[k] for k in cloth_of for panel in cut.groups[k].panels}
        shares: dict[str, float] = {}
        used: dict[str, float] = {}
        for k, cloth in cloth_of.items():
            shares[cloth] = shares.get(cloth, 0.0) + cut.groups[k].share
            used[cloth] = used.get(cloth, 0.0) + cut.area[k]
        left = {c: self._room[c] - used[c] for c in used}
        name = f"{family.name}, {position_mm:g} mm"
        fits = Fits(Answer.YES, lays, "Every piece lies on its cloth, checked exactly.")
        return Design(family.name, position_mm, cut.lines, Colourway("A", name, fabrics), fits, shares, left)
