"""How long work takes, for ratios to a plain library call in the same run."""

from __future__ import annotations

from collections.abc import Callable
from time import process_time


def best_of(work: Callable[[], object], times: int = 5) -> float:
    """Least processor time of all cores, in s, above 0: a busy machine does not change it much."""
    spent = []
    for _ in range(times):
        start = process_time()
        work()
        spent.append(process_time() - start)
    return max(min(spent), 1e-9)
