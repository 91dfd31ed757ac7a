"""What would help when the cloth is short; nothing is said that was not laid first, and found to lie.

In the order of how little it changes: a smaller hem allowance, a panel pieced with a seam, a style line moved, another
cloth for some panels.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from shapely.geometry import Polygon

from mockup.checks.scene import scene
from mockup.lay.lay import Answer, Lay, LayPiece, missing
from mockup.lay.need import lay_pieces
from mockup.lay.seam import Pieced, pieced
from mockup.lay.stock import Stock, lay_on
from mockup.pattern.piece import EdgeKind, Piece
from mockup.project import Project
from mockup.proposals.groups import front_with_back, groups_of
from mockup.proposals.line_range import cut_pieces, moved_up
from mockup.stylelines.styleline import StyleLine
from swatches.errors import GeometryError
from swatches.job import QUIET, Job, check

KINDS = ("hem", "over", "seam", "line", "cloth")
"""What is looked for, in the order of how little it changes."""

_HEMS = (0.75, 0.5, 0.35)
_LEAST_HEM_MM = 10.0
_MOVES_MM = (10.0, -10.0, 20.0, -20.0, 35.0, -35.0, 55.0, -55.0)
_SEAMS = ((0.5, True), (0.5, False), (0.35, True), (0.65, True), (0.3, False), (0.7, False))


@dataclass(frozen=True, slots=True, eq=False)
class Suggestion:
    """One thing that would help.

    Attributes:
        kind: 'hem', 'over', 'seam', 'line' or 'cloth'.
        fabric: id of the cloth that is short.
        text: what to do, in a sentence.
        lays: fabric id → the lay that shows it, of every cloth that it changes.
        pieces: fabric id → the pieces of that lay.
        lines: the style lines as they would be, for 'line'.
        fabrics: panel id → fabric id as it would be, for 'cloth'.
    """

    kind: str
    fabric: str
    text: str
    lays: dict[str, Lay]
    pieces: dict[str, tuple[LayPiece, ...]]
    lines: tuple[StyleLine, ...] = ()
    fabrics: dict[str, str] | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Enough:
    """Whether a choice can be cut from the cloth that there is.

    Attributes:
        lays: fabric id → its lay: yes, no, or not found with the best partial one.
        pieces: fabric id → the pieces that were laid.
        suggestions: what would help where one is short.
    """

    lays: dict[str, Lay]
    pieces: dict[str, tuple[LayPiece, ...]]
    suggestions: tuple[Suggestion, ...] = ()

    @property
    def short(self) -> tuple[str, ...]:
        """Ids of the cloths on which not all pieces lie."""
        return tuple(f for f, lay in self.lays.items() if lay.answer is not Answer.YES)


def enough(
    project: Project,
    pieces: Sequence[Piece],
    letter: str,
    stock: Mapping[str, Stock],
    *,
    allowance_mm: float = 15.0,
    clearance_mm: float = 2.0,
    time_s: float = 30.0,
    lay_s: float = 1.5,
    seed: int = 0,
    kinds: Sequence[str] = KINDS,
    job: Job = QUIET,
) -> Enough:
    """Lay every cloth of a choice, and look for what would help where one is short.

    Args:
        project: with measured views, lines, and the choice.
        pieces: its pattern pieces.
        letter: the choice.
        stock: fabric id → what there is.
        allowance_mm: of the lines, and of a seam that pieces a panel.
        clearance_mm: between pieces.
        time_s: for looking for suggestions.
        lay_s: for one lay.
        seed: of the random choices.
        kinds: what is looked for where a cloth is short, of :data:`KINDS`.
        job: progress and cancellation.

    Raises:
        GeometryError: the lines cannot be cut as they are.
    """
    look = _Look(project, pieces, letter, stock, allowance_mm, clearance_mm, lay_s, seed, job)
    found: list[Suggestion] = []
    short = [f for f, lay in look.lays.items() if lay.answer is not Answer.YES]
    end = time.monotonic() + time_s
    left = len(short) * len(kinds)
    for fabric in short:
        for kind in kinds:
            until = time.monotonic() + max(0.0, end - time.monotonic()) / left  # a share each: none starves the rest
            left -= 1
            for suggestion in look.of_kind[kind](fabric):
                if suggestion is not None:
                    found.append(suggestion)
                    break
                check(job)
                if time.monotonic() > until:
                    break
    return Enough(look.lays, look.pieces, tuple(found))


class _Look:
    def __init__(
        self,
        project: Project,
        pieces: Sequence[Piece],
        letter: str,
        stock: Mapping[str, Stock],
        allowance_mm: float,
        clearance_mm: float,
        lay_s: float,
        seed: int,
        job: Job,
    ) -> None:
        self.project, self.pattern, self.letter, self.stock = project, tuple(pieces), letter, stock
        self.allowance, self.clearance, self.lay_s, self.seed, self.job = allowance_mm, clearance_mm, lay_s, seed, job
        self.fabrics = dict(project.colourway(letter).fabrics)
        self.names = {f.id: f.name for f in project.fabrics}
        self.made = cut_pieces(project, self.pattern, project.lines, self.fabrics, allowance_mm)
        self.pieces = self._by_cloth(self.made)
        self.lays = {f: self._lay(f, mine, measure=True) for f, mine in self.pieces.items()}
        self.of_kind: dict[str, Callable[[str], Iterator[Suggestion | None]]] = {
            "hem": self.hems,
            "over": self.turned_over,
            "seam": self.seams,
            "line": self.moved_lines,
            "cloth": self.other_cloth,
        }

    def hems(self, fabric: str) -> Iterator[Suggestion | None]:
        """Try smaller hem allowances, the largest first."""
        mine = [p for p in self.made if p.fabric == fabric]
        wide = max((e.allowance_mm for p in mine for e in p.edges if e.kind is EdgeKind.HEM), default=0.0)
        for share in _HEMS:
            hem = max(round(share * wide), _LEAST_HEM_MM)
            if hem >= wide:
                return
            laid = lay_pieces([_with_hem(p, hem) for p in mine])
            text = f"With a hem allowance of {hem:.0f} mm in place of {wide:.0f} mm all pieces lie on it."
            yield self._said("hem", fabric, text, {fabric: laid})

    def turned_over(self, fabric: str) -> Iterator[Suggestion | None]:
        """Try turning pieces over, where both faces of the cloth are alike."""
        if self.stock.get(fabric, Stock(())).faces_alike:
            laid = lay_pieces([p for p in self.made if p.fabric == fabric], faces_alike=True)
            text = "Both its faces are alike: with some pieces cut from the other face, all lie on it."
            yield self._said("over", fabric, text, {fabric: laid})

    def seams(self, fabric: str) -> Iterator[Suggestion | None]:
        """Try a seam in a piece that found no place, or else in the largest ones."""
        laid, lay = self.pieces[fabric], self.lays[fabric]
        left = set(missing(laid, lay.placements)) if lay.placements else set()
        by_area = sorted(laid, key=lambda p: (p.name not in left, -Polygon(p.outline).area))
        for piece in by_area[:3]:
            for share, across in _SEAMS:
                made = pieced(piece, share, across=across, allowance_mm=self.allowance)
                if made is not None:
                    parts = tuple(q for p in laid for q in (made.parts if p is piece else (p,)))
                    yield self._said("seam", fabric, _seam_words(piece, made, self.allowance), {fabric: parts})

    def moved_lines(self, fabric: str) -> Iterator[Suggestion | None]:
        """Try every line, with its continuation on the other side, a little up or down; all cloths must then do."""
        names = list(dict.fromkeys(line.name for line in self.project.lines))
        for up in _MOVES_MM:
            for name in names:
                which = [line.id for line in self.project.lines if line.name == name]
                try:
                    lines = moved_up(self.project.lines, which, up, self.project.views)
                    made = cut_pieces(self.project, self.pattern, lines, self.fabrics, self.allowance)
                except GeometryError:
                    yield None
                    continue
                text = (
                    f"With '{name}' {abs(up):.0f} mm {'higher' if up > 0 else 'lower'} all pieces lie on their cloth."
                )
                said = self._said("line", fabric, text, self._by_cloth(made))
                yield None if said is None else replace(said, lines=lines)

    def other_cloth(self, fabric: str) -> Iterator[Suggestion | None]:
        """Try another cloth of one's own for some of the panels, the smallest group first."""
        seen = scene(self.project, self.project.colourway(self.letter))
        groups = sorted(groups_of(seen, pairs=front_with_back(seen)), key=lambda g: g.share)
        mine = [g for g in groups if any(self.fabrics.get(p) == fabric for p in g.panels)]
        others = [f for f in self.stock if f != fabric and self.stock[f].scraps]
        for group in mine:
            for other in sorted(others, key=lambda f: f not in self.pieces):
                moved = [p for p in group.panels if self.fabrics.get(p) == fabric]
                fabrics = {p: other if p in moved else f for p, f in self.fabrics.items()}
                made = cut_pieces(self.project, self.pattern, self.project.lines, fabrics, self.allowance)
                words = " and ".join(dict.fromkeys(seen.panels[p].name for p in moved if p in seen.panels))
                text = f"With '{self.names[other]}' for the {words or group.words} all pieces lie on their cloth."
                said = self._said("cloth", fabric, text, self._by_cloth(made))
                yield None if said is None else replace(said, fabrics=fabrics)

    def _said(self, kind: str, fabric: str, text: str, laid: Mapping[str, tuple[LayPiece, ...]]) -> Suggestion | None:
        """Give the suggestion if every cloth whose pieces it changes has a lay, and none other is short."""
        self.job.step(f"Trying: {text}", None)
        lays = {}
        for cloth, pieces in laid.items():
            check(self.job)
            same = pieces == self.pieces.get(cloth)
            if same and self.lays[cloth].answer is not Answer.YES and cloth != fabric:
                continue  # short before, and for a reason of its own
            lay = self.lays[cloth] if same else self._lay(cloth, pieces)
            if lay.answer is not Answer.YES:
                return None
            lays[cloth] = lay
        return Suggestion(kind, fabric, f"{self.names[fabric]}: {text}", lays, dict(laid))

    def _by_cloth(self, made: Sequence[Piece]) -> dict[str, tuple[LayPiece, ...]]:
        used = dict.fromkeys(p.fabric for p in made if p.fabric)
        return {f: lay_pieces([p for p in made if p.fabric == f]) for f in used}

    def _lay(self, fabric: str, pieces: Sequence[LayPiece], *, measure: bool = False) -> Lay:
        stock = self.stock.get(fabric, Stock(()))
        return lay_on(
            pieces, stock, clearance_mm=self.clearance, time_s=self.lay_s, seed=self.seed, measure=measure, job=self.job
        )


def _with_hem(piece: Piece, allowance_mm: float) -> Piece:
    edges = tuple(
        replace(e, allowance_mm=min(e.allowance_mm, allowance_mm), allowance_text="") if e.kind is EdgeKind.HEM else e
        for e in piece.edges
    )
    return replace(piece, edges=edges)


def _seam_words(piece: LayPiece, made: Pieced, allowance_mm: float) -> str:
    way = "across" if made.across else "lengthwise"
    place = f"{made.at_mm:.0f} mm from its {'upper end' if made.across else 'left side'}"
    return f"With '{piece.name}' pieced by a seam {way}, {place} ({allowance_mm:g} mm allowance), all pieces lie on it."
