"""The cut line of a piece as it is drawn: where it runs along the fold, it is the fold's line and not cut."""

from __future__ import annotations

import numpy as np

from mockup.geometry.path import Path
from mockup.pattern.piece import Edge

_ON_FOLD = 0.02  # mm: a cut segment nearer to the fold's line than this is the fold


def cut_runs(cut: Path, fold: Edge | None) -> list[tuple[bool, Path]]:
    """Cut a closed cut line into runs: (whether it lies on the fold's straight line, the run), in order."""
    if fold is None:
        return [(False, cut)]
    start, way = fold.path.start, fold.path.end - fold.path.start
    way = way / np.linalg.norm(way)
    offset = (cut.cubics - start) @ np.array([-way[1], way[0]])
    flags = [bool(v) for v in (np.abs(offset) < _ON_FOLD).all(axis=1)]
    n = len(flags)
    changes = [i for i in range(n) if flags[i] != flags[i - 1]]
    if not changes:
        return [(flags[0], cut)]
    found = []
    for k, first in enumerate(changes):
        last = changes[(k + 1) % len(changes)]
        run = np.arange(first, last if last > first else last + n) % n
        found.append((flags[first], Path(cut.cubics[run])))
    return found
