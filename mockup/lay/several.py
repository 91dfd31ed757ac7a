"""Several cloths: pieces that are cut from different ones never lie on one."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from mockup.lay.lay import Answer, Lay, LayPiece, Scrap
from mockup.lay.rows import CLOTH
from mockup.pattern.piece import Piece

UNNAMED = "cloth without a name"
_WORST = (Answer.NO, Answer.NOT_FOUND, Answer.YES)


def by_cloth(pieces: Sequence[Piece], laid: Sequence[LayPiece]) -> dict[str, tuple[LayPiece, ...]]:
    """Part pieces by their fabric, in the order in which fabrics first appear.

    Args:
        pieces: pattern pieces.
        laid: the same, as :func:`mockup.lay.need.lay_pieces` gave them.

    Returns:
        Fabric → its pieces; those without one are a cloth of their own, :data:`UNNAMED`.
    """
    parts: dict[str, list[LayPiece]] = {}
    for piece, one in zip(pieces, laid, strict=True):
        parts.setdefault(piece.fabric or UNNAMED, []).append(one)
    return {fabric: tuple(found) for fabric, found in parts.items()}


def on_cloth(fabric: str, lay: Lay, drawn: Sequence[Scrap]) -> tuple[Lay, tuple[Scrap, ...]]:
    """Give a lay and its cloth the fabric's name, so that places of several cloths can stand side by side."""

    def named(remnant: str) -> str:
        return fabric if remnant == CLOTH else f"{fabric}, {remnant}"

    places = tuple(replace(p, remnant=named(p.remnant)) for p in lay.placements)
    used = {p.remnant for p in lay.placements}
    return replace(lay, placements=places), tuple(replace(s, name=named(s.name)) for s in drawn if s.name in used)


def together(lays: Mapping[str, Lay]) -> Lay:
    """Give the lays of several cloths of one width as one answer: the worst of them.

    Args:
        lays: fabric → its lay, with places on cloths named by :func:`on_cloth`.

    Returns:
        All places. Lengths are added up, the density is of all cloth together; both only where every cloth has one.
        ``short_mm`` is the largest.
    """
    answer = min((lay.answer for lay in lays.values()), key=_WORST.index)
    proof = f"{len(lays)} cloths, each laid on its own. " + " ".join(
        f"{name}: {lay.proof}" for name, lay in lays.items()
    )
    short = [lay.short_mm for lay in lays.values() if lay.short_mm is not None]
    known = [(lay.length_mm, lay.density) for lay in lays.values()]
    lengths = [length for length, _ in known if length is not None]
    used = [length * density for length, density in known if length is not None and density is not None]
    total = sum(lengths)
    return Lay(
        answer,
        proof,
        tuple(place for lay in lays.values() for place in lay.placements),
        short_mm=max(short, default=None),
        length_mm=total if len(lengths) == len(known) else None,
        density=sum(used) / total if len(used) == len(known) and total > 0 else None,
    )
