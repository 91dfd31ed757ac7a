"""What a cloth's surface shows: solid, melange, stripe, check or print, and its repeat.

A stripe is what one profile explains, a check what two crossed profiles add up to, a print what has a lattice and is
neither. Small even texture (weave, ribs, slubs) is no pattern. All of it on a picture of at most
:data:`SIDE_PX` in CIELAB, seen from above, upright along the cloth.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

from swatches.fabric import Kind
from swatches.repeat import LEAST_REPEATS, Correlation, Lattice, correlate, find_lattice, line_period

Floats = NDArray[np.float64]
Lab = NDArray[np.float32]

SIDE_PX = 520
SMOOTH_MM = 0.6
"""Smoothing that removes threads and noise before patterns are sought."""
SOLID_BELOW = 1.7
"""Spread (root of the summed Lab variances) below which a smoothed cloth is solid."""
PROFILE_SHARE = 0.72
"""Share of the variance that one profile (stripe) or two crossed ones (check) must explain."""
FINE_MM, FINE_SPREAD = 4.5, 9.0
"""A repeat shorter than this with less spread than this is ribs or weave, not a pattern."""
SMALL_MM, MOST_CROSSING = 10.0, 0.2
"""Smoothing makes small dots the sum of two waves, as a check is; but where lines cross, a check leaves at most this
share over (reckoned: gingham of black and white 0.11, dots over a quarter of the ground 0.35)."""
CLOUD_MM = 4.0
"""Differences wider than this are shade and clouds, not flecks."""
FLECKS_FROM, FLECKS_TO = 1.2, 14.0
"""Spread of a melange's flecks; less is a solid, more a print."""
SMALL_FLECKS_MM, SMALL_FLECKS_TO = 3.0, 36.0
"""Flecks as small as these may differ more, as a tweed's do: a print so small shows its repeat (drawn tweeds of colours
far apart: spread 14 to 29, correlated over 2.1 to 2.5 mm)."""
MELANGE_MM = 4.5
"""Flecks that are correlated less far than this are melange; farther, a print."""
MOST_BESIDE_FLECKS = 1.4
"""Where the whole cloth varies more than this against its flecks, large motifs do it (measured: melanges 1.06 to 1.12,
a print of sprigs with fewer repeats in view than can be found 1.87)."""
ONE_WAY_DROP = 0.12
RIBS_FROM = 0.8
"""Spread of a profile (root of the summed Lab variances) from which fine ribs are spoken of."""
RIBS = "It has fine ribs. If it is corduroy or anything else with a nap, say that it is one-way."


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """What a cloth shows.

    Attributes:
        kind: of the surface.
        vectors: repeat in mm, y down: shape (2, 2) lattice of a print or check, (1, 2) of a stripe, (0, 2) for none.
        repeats: how many repeats are in view along the vector with the fewest; 0 for none.
        spread: root of the summed Lab variances of the smoothed cloth.
        one_way: whether the pattern has an up and a down; None where it has no pattern or cannot be told.
        asks: what the person should be asked, one sentence each.
    """

    kind: Kind
    vectors: Floats
    repeats: float
    spread: float
    one_way: bool | None
    asks: tuple[str, ...] = ()


def look(lab: Lab, mask: NDArray[np.bool_], mm_per_px: float) -> Look:
    """Judge a cloth.

    Args:
        lab: CIELAB, shape (h, w, 3), both sides at most about :data:`SIDE_PX`.
        mask: where the cloth is, shape (h, w).
        mm_per_px: scale.
    """
    flat = _flattened(lab, mask)
    smooth = _smoothed(flat, mask, SMOOTH_MM / mm_per_px)
    core = ndimage.binary_erosion(mask, iterations=max(1, round(1.5 * SMOOTH_MM / mm_per_px)), border_value=0)
    core = core if core.sum() > 400 else mask
    spread = float(np.sqrt(smooth[core].var(axis=0).sum()))
    none = np.zeros((0, 2))
    if spread < 0.5:
        return Look(Kind.SOLID, none, 0.0, spread, None)
    angle, one, two = _profiles(smooth, core)
    if one >= PROFILE_SHARE or (two >= PROFILE_SHARE and spread > SOLID_BELOW):
        found = _lined(smooth, core, mm_per_px, angle, one, two, spread)
        if found is not None:
            return found
    if spread < SOLID_BELOW:
        return Look(Kind.SOLID, none, 0.0, spread, None)
    correlation = correlate(smooth, core)
    lattice = find_lattice(correlation, least_px=max(5.0, 2.0 / mm_per_px))
    if lattice is not None:
        found = _printed(lattice, correlation, smooth, core, mm_per_px, spread)
        if found is not None:
            return found
    flecks = smooth - _smoothed(flat, mask, CLOUD_MM / mm_per_px)
    fleck_spread = float(np.sqrt(flecks[core].var(axis=0).sum()))
    length = _correlation_length(correlate(flecks, core)) * mm_per_px
    only_flecks = spread <= MOST_BESIDE_FLECKS * fleck_spread or spread < 3 * SOLID_BELOW
    most = SMALL_FLECKS_TO if length <= SMALL_FLECKS_MM else FLECKS_TO
    if FLECKS_FROM <= fleck_spread < most and length <= MELANGE_MM and only_flecks:
        return Look(Kind.MELANGE, none, 0.0, spread, None)
    if _one_hue(smooth, core) and spread < 3 * SOLID_BELOW:  # folds and clouds of shade
        return Look(Kind.SOLID, none, 0.0, spread, None)
    asks = ("No repeat was found. If this is a print, take more of it into the photo, or type its repeat.",)
    return Look(Kind.PRINT, none, 0.0, spread, None, asks)


def _flattened(lab: Lab, mask: NDArray[np.bool_]) -> Lab:
    """Take a quadratic out of each channel: shade that lies over the whole cloth is light, not pattern."""
    rows, columns = mask.shape
    y, x = np.mgrid[-1 : 1 : rows * 1j, -1 : 1 : columns * 1j]
    terms = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    thin = max(1, int(mask.sum()) // 20000)
    fit = np.linalg.lstsq(terms[mask][::thin], lab[mask][::thin].astype(np.float64), rcond=None)[0]
    fit[0] = 0
    centred = terms - terms[mask].mean(axis=0)
    return np.asarray(lab - centred @ fit, np.float32)


def _smoothed(lab: Lab, mask: NDArray[np.bool_], sigma: float) -> Lab:
    weight = cv2.GaussianBlur(mask.astype(np.float32), (0, 0), max(sigma, 0.5))
    blurred = cv2.GaussianBlur(lab * mask[..., None].astype(np.float32), (0, 0), max(sigma, 0.5))
    return np.asarray(blurred / np.maximum(weight, 1e-3)[..., None], np.float32)


def _profiles(smooth: Lab, core: NDArray[np.bool_]) -> tuple[float, float, float]:
    """The direction across which the cloth changes most, and how much of its variance profiles explain.

    Returns:
        the direction in degrees from x (y down), the share that one profile across it explains, and the share that two
        crossed ones explain.
    """
    places = np.flatnonzero(core)
    # some places at random: evenly spaced ones make a grid, whose own directions look like stripes
    some_of = np.random.default_rng(1).permutation(len(places))[:40_000]
    mean = smooth[core].mean(axis=0, dtype=np.float64)
    points = np.array(np.divmod(places[some_of], core.shape[1])[::-1], np.float64)
    values = np.ascontiguousarray((smooth.reshape(-1, 3)[places[some_of]] - mean).T)
    total = float((values**2).sum())

    def best(angles: Iterable[float], step: int, width: float) -> float:
        thin = np.ascontiguousarray(points[:, ::step]), np.ascontiguousarray(values[:, ::step])
        return float(max(angles, key=lambda a: _explained(*thin, a, width)[0]))

    coarse = best(np.arange(0, 180, 3.0), max(1, len(some_of) // 4000), 4.0)
    angles = [*(coarse + np.arange(-3, 3.01, 0.25)), *(_wave_angle(smooth, core) + np.arange(-1, 1.01, 0.1))]
    angle = best(angles, max(1, len(some_of) // 15000), 1.5)
    one, means, bins = _explained(points, values, angle, 1.0)
    more, _, _ = _explained(points, values - means[:, bins], angle + 90, 1.0)
    return angle, one / max(total, 1e-9), (one + more) / max(total, 1e-9)


def _wave_angle(smooth: Lab, core: NDArray[np.bool_]) -> float:
    """Direction of the strongest wave, degrees from x: narrow stripes are smeared out by steps of 3°.

    A line of the spectrum is as sharp in direction as the stripes are narrow.
    """
    rows, columns = core.shape
    window = cv2.createHanningWindow((columns, rows), cv2.CV_32F) * core
    flat = (smooth - smooth[core].mean(axis=0)) * window[..., None]
    power = np.sum([np.abs(fft.rfft2(flat[..., c], workers=2)) ** 2 for c in range(3)], axis=0)
    fy, fx = np.minimum(np.arange(rows), rows - np.arange(rows)), np.arange(power.shape[1])
    power[np.hypot(fy[:, None], fx[None]) < LEAST_REPEATS] = 0
    row, column = np.unravel_index(int(power.argmax()), power.shape)
    down = row if row <= rows // 2 else row - rows
    return float(np.degrees(np.arctan2(down / rows, column / columns)))


def _explained(points: Floats, values: Floats, angle: float, width: float) -> tuple[float, Floats, NDArray[np.intp]]:
    """How much a profile across ``angle`` explains of values, shape (3, n), at points, shape (2, n).

    Returns:
        its sum of squares, less what chance would explain; its values, shape (3, m); and each point's place in it.
    """
    turn = np.radians(angle)
    t = (points[0] * np.cos(turn) + points[1] * np.sin(turn)) / width
    bins = (t - t.min()).astype(np.intp)  # none is below 0, so that this is the floor
    count = np.maximum(np.bincount(bins), 1)
    means = np.stack([np.bincount(bins, v) / count for v in values])
    chance = float(np.vdot(values, values)) * len(count) / max(values.shape[1], 1)
    return float((means**2 @ count).sum()) - chance, means, bins


def _lined(
    smooth: Lab, core: NDArray[np.bool_], mm_per_px: float, angle: float, one: float, two: float, spread: float
) -> Look | None:
    """A stripe or check from its profiles; None when the lines turn out to be texture."""
    stripe = one >= PROFILE_SHARE and two - one < 0.5 * (1 - one) + 0.02
    angles = [angle] if stripe else [angle, angle + 90]
    vectors, repeats, contrast = [], [], []
    for a in angles:
        profile, known = _profile(smooth, core, a)
        contrast.append(float(np.sqrt(profile[known].var(axis=0).sum())))
        period = line_period(profile, known, least=max(4.0, 1.2 / mm_per_px))
        if period is None:
            continue
        direction = np.array([np.cos(np.radians(a)), np.sin(np.radians(a))])
        vectors.append(direction * period * mm_per_px)
        repeats.append(float(known.sum()) / period)
    found = np.array(vectors).reshape(-1, 2)
    longest = float(np.linalg.norm(found, axis=1).max()) if len(found) else 0.0
    if 0 < longest < FINE_MM and spread < FINE_SPREAD * _left_by_smoothing(longest):
        return Look(Kind.SOLID, np.zeros((0, 2)), 0.0, spread, None, (RIBS,) if max(contrast) >= RIBS_FROM else ())
    if max(contrast) < 0.8:
        return None
    if not stripe and min(contrast) < 0.25 * max(contrast):
        stripe = True
        found = found[:1]
    kind = Kind.STRIPE if stripe else Kind.CHECK
    need = 1 if stripe else 2
    if len(found) < need:
        if spread < 2 * SOLID_BELOW:
            return None  # slubs and shade make faint lines without a repeat
        ask = f"Fewer than {LEAST_REPEATS} repeats of this {kind} are in view: take more of it, or type its repeat."
        return Look(kind, np.zeros((0, 2)), 0.0, spread, None, (ask,))
    if (
        kind is Kind.CHECK
        and longest < SMALL_MM
        and _crossings(smooth, core, found / mm_per_px) > (MOST_CROSSING * _left_by_smoothing(longest) ** 2)
    ):
        return None  # small dots
    return Look(kind, found, min(repeats), spread, _lines_one_way(smooth, core, angles, found, mm_per_px))


def _left_by_smoothing(period_mm: float) -> float:
    """Share of a wave's contrast that :data:`SMOOTH_MM` leaves, at least 0.3: narrower ones are threads."""
    return max(0.3, float(np.exp(-2 * (np.pi * SMOOTH_MM / period_mm) ** 2)))


def _crossings(smooth: Lab, core: NDArray[np.bool_], vectors: Floats, bins: int = 12) -> float:
    """What two crossed profiles leave over in the mean repeat, as a share of the mean repeat's variance."""
    points = np.argwhere(core)[:, ::-1].astype(np.float64)
    along = points @ (vectors / (vectors**2).sum(axis=1, keepdims=True)).T
    at = np.minimum((along % 1 * bins).astype(np.int64), bins - 1)
    cell = at[:, 0] * bins + at[:, 1]
    count = np.maximum(np.bincount(cell, minlength=bins * bins), 1)
    values = smooth[core]
    mean = np.stack([np.bincount(cell, values[:, c], bins * bins) / count for c in range(3)], axis=-1)
    mean = (mean - mean.mean(axis=0)).reshape(bins, bins, 3)
    rest = mean - mean.mean(axis=0, keepdims=True) - mean.mean(axis=1, keepdims=True)
    return float((rest**2).sum() / max(float((mean**2).sum()), 1e-9))


def _profile(smooth: Lab, core: NDArray[np.bool_], angle: float) -> tuple[Floats, NDArray[np.bool_]]:
    """Mean Lab across a direction in steps of 1 px, shape (n, 3), and where enough cloth was averaged."""
    points = np.argwhere(core)[:, ::-1]
    turn = np.radians(angle)
    t = points @ np.array([np.cos(turn), np.sin(turn)])
    t = t - t.min()
    low = np.floor(t).astype(np.int64)
    part = t - low
    size = int(low.max()) + 2
    weight = np.bincount(low, 1 - part, size) + np.bincount(low + 1, part, size)
    values = smooth[core]
    sums = [
        np.bincount(low, values[:, c] * (1 - part), size) + np.bincount(low + 1, values[:, c] * part, size)
        for c in range(3)
    ]
    known = weight > 0.25 * np.median(weight[weight > 0])
    first, last = np.flatnonzero(known)[[0, -1]]
    known[first : last + 1] = True
    means = np.stack(sums, axis=1) / np.maximum(weight, 1e-6)[:, None]
    return means[first : last + 1], np.ones(last + 1 - first, np.bool_)


def _lines_one_way(smooth: Lab, core: NDArray[np.bool_], angles: list[float], found: Floats, mm_per_px: float) -> bool:
    """Whether turning the cloth by 180° changes a stripe or check: whether a profile differs from its mirror image."""
    for angle, vector in zip(angles, found, strict=True):
        profile, _ = _profile(smooth, core, angle)
        period = float(np.linalg.norm(vector)) / mm_per_px
        cycle = _folded(profile, period)
        mirrored = max(_alike(cycle, np.roll(cycle[::-1], k, axis=0)) for k in range(len(cycle)))
        if mirrored < 1 - ONE_WAY_DROP:
            return True
    return False


def _folded(profile: Floats, period: float) -> Floats:
    size = max(8, round(period))
    bins = np.floor(np.arange(len(profile)) / period % 1 * size).astype(np.int64)
    count = np.maximum(np.bincount(bins, minlength=size), 1)
    return np.stack([np.bincount(bins, profile[:, c], size) / count for c in range(3)], axis=1)


def _alike(a: Floats, b: Floats) -> float:
    a, b = a - a.mean(axis=0), b - b.mean(axis=0)
    return float((a * b).sum() / max(np.sqrt((a * a).sum() * (b * b).sum()), 1e-9))


def _printed(
    lattice: Lattice, correlation: Correlation, smooth: Lab, core: NDArray[np.bool_], mm_per_px: float, spread: float
) -> Look | None:
    vectors = lattice.vectors * mm_per_px
    if float(np.linalg.norm(vectors, axis=1).max()) < FINE_MM and spread < FINE_SPREAD:
        return Look(Kind.SOLID if spread < FINE_SPREAD / 2 else Kind.MELANGE, np.zeros((0, 2)), 0.0, spread, None)
    if len(vectors) < 2 or lattice.repeats < LEAST_REPEATS:
        return None
    if lattice.strength < 0.55 and spread < 3 * SOLID_BELOW:
        return None
    return Look(Kind.PRINT, vectors, lattice.repeats, spread, _print_one_way(smooth, core, lattice))


def _print_one_way(smooth: Lab, core: NDArray[np.bool_], lattice: Lattice) -> bool:
    """Whether the print, turned by 180°, no longer falls on itself anywhere as well as a repeat does."""
    rows, columns = np.nonzero(core)
    picture = smooth[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1].copy()
    inside = core[rows.min() : rows.max() + 1, columns.min() : columns.max() + 1]
    picture -= picture[inside].mean(axis=0)
    picture[~inside] = 0
    reach = np.abs(lattice.vectors).sum(axis=0) / 2 + 2
    dy, dx = (int(min(np.ceil(v), n // 3)) for v, n in zip(reach[::-1], picture.shape[:2], strict=True))
    centre = picture[dy : picture.shape[0] - dy, dx : picture.shape[1] - dx]
    turned = np.ascontiguousarray(centre[::-1, ::-1])
    match = cv2.matchTemplate(picture, turned, cv2.TM_CCORR_NORMED)
    straight = cv2.matchTemplate(picture, np.ascontiguousarray(centre), cv2.TM_CCORR_NORMED)
    best = float(straight[straight < 0.999].max()) if (straight < 0.999).any() else 1.0
    return float(match.max()) < min(best, lattice.strength + 0.1) - ONE_WAY_DROP


def _correlation_length(correlation: Correlation) -> float:
    """Shift in px at which the mean correlation over all directions falls below 0.2."""
    cy, cx = correlation.middle
    size = min(cy, cx, 200)
    window = correlation.value[cy - size : cy + size + 1, cx - size : cx + size + 1]
    y, x = np.mgrid[-size : size + 1, -size : size + 1]
    ring = np.hypot(x, y).astype(np.int64)
    means = np.bincount(ring.ravel(), window.ravel()) / np.maximum(np.bincount(ring.ravel()), 1)
    below = np.flatnonzero(means[: size + 1] < 0.2)
    return float(below[0]) if len(below) else float(size)


def _one_hue(smooth: Lab, core: NDArray[np.bool_]) -> bool:
    """Whether the cloth varies in lightness much more than in colour, as shade does."""
    light, a, b = smooth[core].var(axis=0)
    return bool(a + b < 0.25 * light)
