"""After cutting: what is left of the garment's cloth, and of the same cloth in the person's store."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from mockup.lay.lay import LayPiece, Placement, laid
from mockup.lay.stock import ROLL
from swatches.fabric import Fabric
from swatches.remnants import use_up
from swatches.stash import DATABASE, Stash


def used_up(fabric: Fabric, pieces: Sequence[LayPiece], placements: Sequence[Placement]) -> Fabric:
    """Give a cloth without what was cut from it: smaller remnants, and a shorter roll."""
    by_name = {p.name: p for p in pieces}
    after = fabric
    for remnant in dict.fromkeys(p.remnant for p in placements):
        shapes = [laid(by_name[p.piece], p) for p in placements if p.remnant == remnant]
        if remnant == ROLL:
            top = max(s.bounds[3] for s in shapes)
            left = max(0.0, (after.length_left.value or 0.0) - top)
            after = replace(after, length_left=replace(after.length_left, value=left))
        else:
            cut = [[(float(x), float(y)) for x, y in s.exterior.coords[:-1]] for s in shapes]
            after = replace(after, remnants=use_up(after.remnants, remnant, cut))
    return after


def use_in_store(folder: Path, fabric: Fabric, pieces: Sequence[LayPiece], placements: Sequence[Placement]) -> bool:
    """Use up the same cloth in the store: of the same name, with the remnants or the roll that were cut from.

    Gives whether the store had it; one change, which the store can undo.
    """
    if not (folder / DATABASE).exists():
        return False
    used = {p.remnant for p in placements}
    with Stash(folder) as stash:
        for there in stash.fabrics():
            names = {r.name for r in there.remnants} | ({ROLL} if there.length_left.value else set())
            if there.name == fabric.name and used <= names:
                stash.change(there.id, lambda now: used_up(now, pieces, placements), said=f"cut from {there.name}")
                return True
    return False
