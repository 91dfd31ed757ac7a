"""The repeat of a print, stripe or check: masked autocorrelation, then the shortest lattice, then a fit to all peaks.

Normalised cross-correlation of a masked picture with itself after Padfield, "Masked object registration in the Fourier
domain", IEEE Trans. Image Processing 21 (2012), summed over the three Lab channels.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

Floats = NDArray[np.float64]

LEAST_REPEATS = 2.1
"""How many repeats must be in view before one is believed."""
LEAST_PEAK = 0.35
AS_GOOD = 0.90
"""A shift is a repeat when it correlates at least this much of what the best shift does: a near-repeat (dots of one
size in two colours) falls below."""


@dataclass(frozen=True, slots=True, eq=False)
class Correlation:
    """Autocorrelation of a masked picture.

    Attributes:
        value: normalised, −1..1, at shifts (dy, dx) with (0, 0) in the middle, shape (2h−1, 2w−1); 0 where too little
            overlaps to say.
        reach: largest usable shift along x and y, px.
    """

    value: NDArray[np.float32]
    reach: tuple[int, int]

    @property
    def middle(self) -> tuple[int, int]:
        """Index of shift (0, 0)."""
        return self.value.shape[0] // 2, self.value.shape[1] // 2


@dataclass(frozen=True, slots=True, eq=False)
class Lattice:
    """A repeat in one or two directions.

    Attributes:
        vectors: (dx, dy) in px, y down, one or two rows.
        strength: mean correlation at the lattice's points.
        repeats: how many repeats are in view along the vector with the fewest.
    """

    vectors: Floats
    strength: float
    repeats: float


def correlate(lab: NDArray[np.float32], mask: NDArray[np.bool_], *, least_overlap: float = 0.25) -> Correlation:
    """Autocorrelate a masked picture, shape (h, w, 3); shifts that keep under ``least_overlap`` of the mask are 0."""
    h, w = mask.shape
    shape = [fft.next_fast_len(2 * n - 1, real=True) for n in (h, w)]
    m = mask.astype(np.float32)
    flat = (lab - lab[mask].mean(axis=0)) * m[..., None]

    def forward(a: NDArray[np.float32]) -> NDArray[np.complex64]:
        return np.asarray(fft.rfft2(a, shape, workers=2), np.complex64)

    def back(a: NDArray[np.complex64]) -> NDArray[np.float32]:
        full = fft.irfft2(a, shape, workers=2)
        return np.asarray(np.roll(full, (h - 1, w - 1), axis=(0, 1))[: 2 * h - 1, : 2 * w - 1], np.float32)

    M = forward(m)
    count = np.maximum(back(M * M.conj()), 1e-3)
    F = [forward(flat[..., c]) for c in range(3)]
    squares = forward((flat**2).sum(axis=2))
    products = back(sum(f * f.conj() for f in F))  # type: ignore[arg-type]
    first = [back(f * M.conj()) for f in F]
    second = [s[::-1, ::-1] for s in first]  # the same sums, seen from the other picture
    energy = back(squares * M.conj())
    top = products - sum(a * b for a, b in zip(first, second, strict=True)) / count
    left = energy - sum(a * a for a in first) / count
    right = left[::-1, ::-1]
    below = np.sqrt(np.maximum(left, 0) * np.maximum(right, 0))
    enough = (count > least_overlap * count.max()) & (below > 1e-6 * below.max())
    value = np.where(enough, top / np.maximum(below, 1e-12), 0)
    mid = (h - 1, w - 1)
    reach = (int(enough[mid[0], mid[1] :].sum()) - 1, int(enough[mid[0] :, mid[1]].sum()) - 1)
    return Correlation(np.clip(value, -1, 1).astype(np.float32), reach)


def find_lattice(correlation: Correlation, *, least_px: float = 5.0, smooth_px: float = 1.0) -> Lattice | None:
    """The shortest lattice whose every point correlates as well as the best shift does; None when there is none.

    Args:
        correlation: of the cloth.
        least_px: shorter shifts are thread, not pattern.
        smooth_px: smoothing of the correlation before peaks are sought.
    """
    smooth = ndimage.gaussian_filter(correlation.value, smooth_px)
    peaks, heights = _peaks(smooth, correlation, least_px)
    if len(peaks) == 0 or heights.max() < LEAST_PEAK:
        return None
    good = heights >= AS_GOOD * _best(heights)
    peaks, heights = peaks[good], heights[good]
    order = np.argsort(np.hypot(peaks[:, 0], peaks[:, 1]))
    peaks, heights = peaks[order], heights[order]
    first = peaks[0]
    across = np.abs(peaks @ np.array([-first[1], first[0]])) / np.hypot(*first)
    off_line = across > max(least_px, 0.2 * float(np.hypot(*first)))
    vectors = first[None] if not off_line.any() else np.stack([first, peaks[off_line][0]])
    if len(vectors) == 2:
        vectors = _reduced(vectors)
    vectors = _fitted(vectors, peaks, heights)
    return Lattice(vectors, float(heights.mean()), _repeats(vectors, correlation))


def _best(heights: Floats) -> float:
    """A robust best: the third highest peak when there are many, since few overlapping pixels make lucky peaks."""
    ordered = np.sort(heights)[::-1]
    return float(ordered[min(2, len(ordered) - 1)])


def _peaks(smooth: NDArray[np.float32], correlation: Correlation, least_px: float) -> tuple[Floats, Floats]:
    """Local maxima with their sub-pixel shifts (dx, dy) in one half plane, and their heights."""
    span = max(3, int(least_px) | 1)
    top = (smooth == ndimage.maximum_filter(smooth, size=span)) & (correlation.value > LEAST_PEAK * 0.8)
    top[0], top[-1], top[:, 0], top[:, -1] = False, False, False, False
    rows, columns = np.nonzero(top)
    cy, cx = correlation.middle
    dy, dx = rows - cy, columns - cx
    half = ((dy > 0) | ((dy == 0) & (dx > 0))) & (np.hypot(dx, dy) >= least_px)
    rows, columns = rows[half], columns[half]
    # a maximum at the border of what overlaps enough is no peak
    edge = ndimage.minimum_filter((correlation.value != 0).astype(np.uint8), size=3)[rows, columns] > 0
    rows, columns = rows[edge], columns[edge]
    shifts, heights = [], []
    for y, x in zip(rows, columns, strict=True):
        a, b, c = smooth[y, x - 1], smooth[y, x], smooth[y, x + 1]
        d, e = smooth[y - 1, x], smooth[y + 1, x]
        ox = 0.5 * (a - c) / (a - 2 * b + c) if a - 2 * b + c < 0 else 0.0
        oy = 0.5 * (d - e) / (d - 2 * b + e) if d - 2 * b + e < 0 else 0.0
        shifts.append((x - cx + float(np.clip(ox, -0.5, 0.5)), y - cy + float(np.clip(oy, -0.5, 0.5))))
        heights.append(float(correlation.value[y, x]))
    return np.array(shifts, np.float64).reshape(-1, 2), np.array(heights, np.float64)


def _reduced(vectors: Floats) -> Floats:
    """Shortest basis of the same lattice (Gauss)."""
    a, b = vectors
    for _ in range(50):
        if a @ a > b @ b:
            a, b = b, a
        k = round(float(a @ b / (a @ a)))
        if k == 0:
            break
        b = b - k * a
    return np.stack([a, b])


def _fitted(vectors: Floats, peaks: Floats, heights: Floats) -> Floats:
    """Fit the vectors to all peaks, nearest first, so that each whole number is certain before it is used."""
    reach = np.hypot(peaks[:, 0], peaks[:, 1])
    for limit in np.quantile(reach, (0.2, 0.4, 0.7, 1.0)):
        near = reach <= max(limit, float(np.hypot(vectors[:, 0], vectors[:, 1]).max()) * 1.3)
        inverse = np.linalg.pinv(vectors)
        counts = np.rint(peaks[near] @ inverse)
        off = np.linalg.norm(peaks[near] - counts @ vectors, axis=1)
        fits = (off < 0.2 * float(np.hypot(vectors[:, 0], vectors[:, 1]).min())) & (np.abs(counts).sum(axis=1) > 0)
        rows, goal, weight = counts[fits], peaks[near][fits], heights[near][fits]
        if np.linalg.matrix_rank(rows) < len(vectors):
            continue
        for _ in range(3):
            root = np.sqrt(weight)[:, None]
            vectors = np.linalg.lstsq(rows * root, goal * root, rcond=None)[0]
            miss = np.linalg.norm(goal - rows @ vectors, axis=1)
            weight = heights[near][fits] / (1 + (miss / max(float(np.median(miss)) * 2, 0.2)) ** 2)
    return vectors


def _repeats(vectors: Floats, correlation: Correlation) -> float:
    """How many times the repeat fits into the view: the mask's extent is the reach and one repeat more."""
    h, w = correlation.value.shape[0] // 2 + 1, correlation.value.shape[1] // 2 + 1
    counts = []
    for v in vectors:
        x, y = np.abs(v)
        counts.append(min(w / x if x > 1e-6 else np.inf, h / y if y > 1e-6 else np.inf))
    return float(min(counts))


def line_period(profile: Floats, known: NDArray[np.bool_], *, least: float) -> float | None:
    """The period of a profile in samples, or None when fewer than :data:`LEAST_REPEATS` are in view.

    Args:
        profile: shape (n, 3).
        known: which samples count, shape (n,).
        least: shorter periods are not looked for.
    """
    n = len(profile)
    flat = np.where(known[:, None], profile - profile[known].mean(axis=0), 0)
    limit = int(n / LEAST_REPEATS * 1.6)
    shifts = np.arange(0, min(limit, n - 4) + 1)
    value = np.array([_shifted_likeness(flat, int(s)) for s in shifts])
    low = max(1, int(np.floor(least)))
    peaks = [
        s
        for s in range(low, len(value) - 1)
        if value[s] >= value[s - 1] and value[s] > value[s + 1] and value[s] > LEAST_PEAK
    ]
    peaks = [s for s in peaks if value[s] - value[: s + 1].min() > 0.25]
    if not peaks:
        return None
    best = max(value[s] for s in peaks)
    first = next(s for s in peaks if value[s] >= AS_GOOD * best)
    period = _finer(value, first)
    if n / period < LEAST_REPEATS:
        return None
    for k in range(2, int((n - 4) / period) + 1):  # farther peaks pin the period down
        at = round(k * period)
        around = [s for s in range(at - 3, at + 4) if 0 < s < n - max(4, int(0.12 * n))]
        if len(around) < 5:
            break
        local = np.array([_shifted_likeness(flat, s) for s in around])
        i = int(local.argmax())
        if not 0 < i < len(local) - 1 or local[i] < LEAST_PEAK:
            break
        period = (around[0] + _finer(local, i)) / k
    return float(period)


def _shifted_likeness(flat: Floats, shift: int) -> float:
    a, b = flat[: len(flat) - shift], flat[shift:]
    a, b = a - a.mean(axis=0), b - b.mean(axis=0)
    return float((a * b).sum() / max(np.sqrt((a * a).sum() * (b * b).sum()), 1e-9))


def _finer(value: Floats, at: int) -> float:
    a, b, c = value[at - 1], value[at], value[at + 1]
    bend = a - 2 * b + c
    return at + (float(np.clip(0.5 * (a - c) / bend, -0.5, 0.5)) if bend < 0 else 0.0)
