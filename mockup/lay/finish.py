"""Finish a lay that was begun by hand: what lies stays, the rest is laid round it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon

from mockup.lay.exact import faults
from mockup.lay.greedy import density_of
from mockup.lay.lay import Answer, Lay, LayPiece, Placement, Scrap, all_lie, copies, free_area, laid, missing
from mockup.lay.scraps import lay_on_scraps
from swatches.errors import InputError
from swatches.job import QUIET, Job

_OTHER_HAND = " \u21cb"  # marks the mirrored copies while they are laid; never shown


def finish(
    pieces: Sequence[LayPiece],
    scraps: Sequence[Scrap],
    fixed: Sequence[Placement],
    *,
    clearance_mm: float = 2.0,
    border_mm: float = 0.0,
    time_s: float = 10.0,
    seed: int = 0,
    job: Job = QUIET,
) -> Lay:
    """Lay what is missing round what lies already.

    Args:
        pieces: all pieces.
        scraps: the cloth.
        fixed: placements that stay as they are.
        clearance_mm: between pieces.
        border_mm: to the edges.
        time_s: time for the search.
        seed: of the random choices.
        job: progress and cancellation.

    Returns:
        A lay with the fixed placements first; 'not found' and 'no' keep them, and are about this begin only.

    Raises:
        InputError: what is fixed overlaps, reaches over an edge, lies off its grain, or is more than is needed.
    """
    by_name, cloth = {p.name: p for p in pieces}, {s.name: s for s in scraps}
    wrong = next((p for p in fixed if p.piece not in by_name or p.remnant not in cloth), None)
    if wrong is not None:
        raise InputError(
            "lay",
            expected="pieces and cloth of this lay",
            got=f"'{wrong.piece}' on '{wrong.remnant}'",
            next_step="Take that piece off and lay it again",
        )
    found = faults(by_name, cloth, fixed, clearance_mm=clearance_mm, border_mm=border_mm)
    if found:
        raise InputError(
            "lay that was begun",
            expected="pieces that lie inside, on the grain and apart",
            got=found[0],
            next_step="Move that piece, or take it off; then finish the rest",
        )
    rest = _rest(pieces, fixed)
    if not rest:
        lay = Lay(Answer.YES, f"{all_lie(len(fixed))} inside, on the grain and apart, checked exactly.", tuple(fixed))
        return replace(lay, density=density_of(pieces, lay, sum(free_area(s).area for s in scraps)))
    room = max(clearance_mm - border_mm, 0.0)
    taken = [
        _with_taken(s, [laid(by_name[p.piece], p).buffer(room) for p in fixed if p.remnant == s.name]) for s in scraps
    ]
    open_ = [s for s in taken if s is not None]
    if not open_:
        return Lay(Answer.NO, "What lies already leaves no cloth.", tuple(fixed))
    lay = lay_on_scraps(rest, open_, clearance_mm=clearance_mm, border_mm=border_mm, time_s=time_s, seed=seed, job=job)
    whole = (*fixed, *(_original(p) for p in lay.placements))
    if faults(by_name, cloth, whole, clearance_mm=clearance_mm, border_mm=border_mm):
        whole = tuple(fixed)
    left = missing(pieces, whole)
    answer = lay.answer if left else Answer.YES
    said = lay.proof.replace(_OTHER_HAND, "")
    if fixed and answer is Answer.NO:
        said = f"Round what lies already it cannot be: {said[0].lower() + said[1:]}"
    if answer is Answer.YES:
        said = f"{all_lie(len(whole))} inside, on the grain and apart, checked exactly."
    done = Lay(answer, said, whole, short_mm=lay.short_mm)
    return replace(done, density=density_of(pieces, done, sum(free_area(s).area for s in scraps)))


def _rest(pieces: Sequence[LayPiece], fixed: Sequence[Placement]) -> list[LayPiece]:
    """What is still needed; mirrored copies as pieces of their own, their outline mirrored."""
    rest = []
    for piece in pieces:
        need = list(copies(piece))
        for placement in (p for p in fixed if p.piece == piece.name):
            hand = placement.mirrored if placement.mirrored in need else (not placement.mirrored)
            if hand not in need or (hand != placement.mirrored and not piece.either):
                raise InputError(
                    f"'{piece.name}'",
                    expected=f"{piece.count} in all" + (", half of them mirrored" if piece.mirror else ""),
                    got="one more of that hand",
                    next_step="Take one off",
                )
            need.remove(hand)
        if need.count(False):
            rest.append(replace(piece, count=need.count(False), mirror=False))
        if need.count(True):
            outline = tuple((-x, y) for x, y in piece.outline)
            rest.append(
                replace(
                    piece,
                    name=piece.name + _OTHER_HAND,
                    outline=outline,
                    grain_deg=-piece.grain_deg,
                    count=need.count(True),
                    mirror=False,
                    match=None
                    if piece.match is None
                    else replace(piece.match, at=(-piece.match.at[0], piece.match.at[1])),
                )
            )
    return rest


def _original(placement: Placement) -> Placement:
    """A placement of a mirrored outline is the mirrored placement of the outline itself."""
    if not placement.piece.endswith(_OTHER_HAND):
        return placement
    return replace(placement, piece=placement.piece.removesuffix(_OTHER_HAND), mirrored=not placement.mirrored)


def _with_taken(scrap: Scrap, shapes: Sequence[Polygon]) -> Scrap | None:
    """The scrap with what lies on it as flaws; None where nothing is left."""
    rings = [tuple((float(x), float(y)) for x, y in np.asarray(s.exterior.coords)[:-1]) for s in shapes]
    smaller = replace(scrap, flaws=(*scrap.flaws, *rings))
    return smaller if free_area(smaller).area > 1.0 else None
