"""The main colours of a cloth with their shares: k-means in Lab, near ones merged."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches.colour import delta_e_2000
from swatches.fabric import Lab

START_COLOURS = 12
MERGED_BELOW = 6.0
"""CIEDE2000 difference below which two colours of a palette are one."""
LEAST_SHARE = 0.01
_SAMPLES = 12_000


def palette(lab: NDArray[np.float32], *, seed: int = 1, colours: int = START_COLOURS) -> tuple[tuple[Lab, float], ...]:
    """Main colours as (lab, share), largest share first; shares sum to 1.

    Args:
        lab: CIELAB values, shape (n, 3), n ≥ 1; many are thinned out evenly.
        seed: of the start of k-means; the same seed gives the same palette.
        colours: how many colours k-means starts with; those within :data:`MERGED_BELOW` of each other become one.
    """
    values = np.ascontiguousarray(lab[:: max(1, len(lab) // _SAMPLES)], np.float32)
    count = min(colours, len(np.unique(values, axis=0)))
    if count == 1:
        return (((float(values[0, 0]), float(values[0, 1]), float(values[0, 2])), 1.0),)
    cv2.setRNGSeed(seed)
    _, labels, centres = cv2.kmeans(
        values, count, np.empty(0, np.int32), (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_COUNT, 30, 0.1), 2,
        cv2.KMEANS_PP_CENTERS,
    )  # fmt: skip
    found = [
        (centre.astype(np.float64), float(n))
        for centre, n in zip(centres, np.bincount(labels.ravel(), minlength=count), strict=True)
        if n
    ]
    found = _merged(found)
    total = sum(n for _, n in found)
    kept = [(c, n) for c, n in found if n >= LEAST_SHARE * total] or found
    total = sum(n for _, n in kept)
    kept.sort(key=lambda pair: (-pair[1], tuple(pair[0])))
    return tuple(((float(c[0]), float(c[1]), float(c[2])), n / total) for c, n in kept)


def _merged(found: list[tuple[NDArray[np.float64], float]]) -> list[tuple[NDArray[np.float64], float]]:
    while len(found) > 1:
        centres = np.array([c for c, _ in found])
        apart = delta_e_2000(centres[:, None], centres[None])
        apart[np.tril_indices(len(found))] = np.inf
        i, j = (int(v) for v in np.unravel_index(int(apart.argmin()), apart.shape))
        if apart[i, j] >= MERGED_BELOW:
            break
        (a, n), (b, m) = found[i], found[j]
        found = [pair for k, pair in enumerate(found) if k not in (i, j)] + [((a * n + b * m) / (n + m), n + m)]
    return found
