"""Random degraded line drawings with their true areas: the tests' own generator, independent of the code under test.

A garment is polygons (the true areas, painted in order) and strokes (the drawn lines), made of the same curves. Strokes
are drawn with gaps; the picture then gets uneven light, paper grain, blur, noise and JPEG.
"""
# ruff: noqa: RUF005

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise

import cv2
import numpy as np

KINDS = ("tee", "dress", "skirt", "trousers")


@dataclass
class Drawing:
    picture: np.ndarray  # uint8 RGB
    truth: np.ndarray  # uint8 labels, 0 outside
    names: dict[int, str]
    strokes: list[np.ndarray]  # solid lines, px
    line: float
    gap: float
    points: dict[str, tuple[float, float]] = field(default_factory=dict)  # true landmarks, px
    kind: str = ""


def bezier(a, b, c, d, n=80):
    t = np.linspace(0, 1, n)[:, None]
    a, b, c, d = (np.asarray(p, float) for p in (a, b, c, d))
    return (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d


def line(a, b, n=30):
    return np.linspace(a, b, n)


def flip(p):
    return p * [-1.0, 1.0]


def whole(half):
    """A half curve that ends on the mirror line, with its mirror image."""
    return np.vstack([half, flip(half)[::-1][1:]])


def garment(kind: str, side: str, rng: np.random.Generator):
    """Areas as (name, polygon) in painting order, solid and dashed strokes, landmarks; unit coordinates, y down."""
    u = rng.uniform
    areas, solid, dashed, points = [], [], [], {}
    if kind == "tee":
        neck, drop = np.array([u(0.13, 0.19), 0.0]), u(0.12, 0.2) if side == "front" else u(0.03, 0.05)
        tip = np.array([u(0.4, 0.48), u(0.06, 0.1)])
        arm = np.array([u(0.4, 0.46), u(0.38, 0.46)])
        hem = np.array([arm[0] + u(-0.02, 0.08), u(1.15, 1.4)])
        middle, low = np.array([0, drop]), np.array([0, hem[1] + u(0, 0.02)])
        neckline = bezier(neck, neck + [-0.01, drop * 0.7], middle + [0.09, 0], middle)
        shoulder = line(tip, neck)
        armhole = bezier(arm, arm + [-0.06, -0.06], tip + [-0.07, 0.12], tip)
        seam = bezier(hem, hem + [0, -0.2], arm + [-0.01, 0.2], arm)
        half_hem = bezier(low, low + [0.15, 0], hem + [-0.1, 0.0], hem)
        half = np.vstack([half_hem, seam, armhole, shoulder, neckline])
        out = np.array([u(0.2, 0.32), u(0.25, 0.5)])
        cuff_top, across = tip + out, np.array([-out[1], out[0]]) / np.hypot(*out) * u(0.17, 0.21)
        cuff_low = cuff_top + across
        cuff_low[0] = max(cuff_low[0], arm[0] + 0.05)
        top, cuff, under = line(tip, cuff_top), line(cuff_top, cuff_low), line(cuff_low, arm)
        sleeve = np.vstack([top, cuff, under, armhole])
        areas += [
            ("sleeve-right", sleeve),
            ("sleeve-left", flip(sleeve)),
            ("body", np.vstack([half, flip(half)[::-1]])),
        ]
        for half_line in (seam, armhole, shoulder, top, cuff, under):
            solid += [half_line, flip(half_line)]
        solid += [whole(half_hem[::-1]), whole(neckline)]
        if side == "front":
            back = bezier(neck, neck + [-0.04, 0.05], [0.06, 0.05], [0, 0.05])
            areas.append(("facing", np.vstack([whole(neckline), whole(back)[::-1]])))
            solid.append(whole(back))
            if u() < 0.6:
                c, r = np.array([u(-0.2, 0.2), u(0.55, 0.7)]), u(0.08, 0.11)
                pocket = np.array([c + [-r, -r], c + [r, -r], c + [r, r], c + [0, r * 1.25], c + [-r, r], c + [-r, -r]])
                pocket = np.vstack([line(a, b, 20) for a, b in pairwise(pocket)])
                areas.append(("pocket", pocket))
                solid.append(pocket)
        dashed.append(whole(half_hem[::-1]) * [0.99, 1] - [0, 0.05])
        points = {"neck": neck, "shoulder": tip, "underarm": arm, "hem": hem, "neck-centre": middle, "hem-centre": low}
    elif kind == "dress":
        neck, drop = np.array([u(0.1, 0.14), 0.0]), u(0.1, 0.22) if side == "front" else u(0.05, 0.08)
        tip, arm = np.array([u(0.22, 0.27), u(0.02, 0.05)]), np.array([u(0.28, 0.34), u(0.28, 0.34)])
        waist = np.array([arm[0] - u(0.03, 0.07), u(0.55, 0.65)])
        hem = np.array([u(0.45, 0.65), u(1.4, 1.6)])
        middle, mid_waist, low = (
            np.array([0, drop]),
            np.array([0, waist[1] + 0.02]),
            np.array([0, hem[1] + u(0.03, 0.06)]),
        )
        neckline = bezier(neck, neck + [0, drop * 0.6], middle + [0.07, 0], middle)
        shoulder = line(tip, neck)
        armhole = bezier(arm, arm + [-0.07, -0.03], tip + [-0.05, 0.12], tip)
        bodice_side = bezier(waist, waist + [0, -0.1], arm + [-0.01, 0.1], arm)
        waistline = bezier(mid_waist, mid_waist + [0.1, 0], waist + [-0.05, 0], waist)
        skirt_side = bezier(hem, hem + [-0.06, -0.3], waist + [0.02, 0.15], waist)
        half_hem = bezier(low, low + [0.2, 0], hem + [-0.15, 0.02], hem)
        bodice = np.vstack([waistline, bodice_side, armhole, shoulder, neckline])
        skirt = np.vstack([half_hem, skirt_side, waistline[::-1]])
        areas += [("skirt", np.vstack([skirt, flip(skirt)[::-1]])), ("bodice", np.vstack([bodice, flip(bodice)[::-1]]))]
        for half_line in (bodice_side, armhole, shoulder, skirt_side):
            solid += [half_line, flip(half_line)]
        solid += [whole(half_hem[::-1]), whole(neckline), whole(waistline[::-1])]
        if side == "front":
            back = bezier(neck, neck + [-0.03, 0.04], [0.05, 0.04], [0, 0.04])
            areas.append(("facing", np.vstack([whole(neckline), whole(back)[::-1]])))
            solid.append(whole(back))
        dashed.append(whole(half_hem[::-1]) * [0.98, 1] - [0, 0.06])
    elif kind == "skirt":
        waist, hem = np.array([u(0.2, 0.28), 0.0]), np.array([u(0.35, 0.6), u(0.8, 1.1)])
        mid_waist, low = np.array([0, u(0.01, 0.03)]), np.array([0, hem[1] + u(0.02, 0.06)])
        seam = bezier(hem, hem + [-0.03, -0.3], waist + [0.08, 0.2], waist)
        top = bezier(waist, waist + [-0.05, 0.01], mid_waist + [0.1, 0], mid_waist)
        half_hem = bezier(low, low + [0.2, 0], hem + [-0.1, 0.02], hem)
        half = np.vstack([half_hem, seam, top])
        band_high = u(0.07, 0.1)
        band = np.vstack([whole(top), whole(top)[::-1] - [0, band_high]])
        areas += [("skirt", np.vstack([half, flip(half)[::-1]])), ("waistband", band)]
        solid += [seam, flip(seam), whole(half_hem[::-1]), whole(top), whole(top) - [0, band_high]]
        solid += [line(waist, waist - [0, band_high], 10), flip(line(waist, waist - [0, band_high], 10))]
        if u() < 0.5:
            panel = bezier(top[40], top[40] + [0.02, 0.3], half_hem[40] - [0, 0.3], half_hem[40])
            part = np.vstack([panel, half_hem[40:], seam, top[:41]])
            areas += [("side-panel-right", part), ("side-panel-left", flip(part))]
            solid += [panel, flip(panel)]
        points = {"waist": waist, "hem": hem, "waist-centre": mid_waist, "hem-centre": low}
    else:
        waist, crotch = np.array([u(0.24, 0.3), 0.0]), np.array([0.0, u(0.42, 0.5)])
        hem_out, hem_in = np.array([u(0.3, 0.42), u(1.4, 1.6)]), np.array([u(0.06, 0.12), 0.0])
        hem_in[1] = hem_out[1] + u(-0.01, 0.02)
        mid_waist = np.array([0, u(0.01, 0.03)])
        top = bezier(waist, waist + [-0.05, 0.01], mid_waist + [0.1, 0], mid_waist)
        outer = bezier(hem_out, hem_out + [0.02, -0.5], waist + [0.12, 0.35], waist)
        inner = bezier(crotch, crotch + [0.02, 0.1], hem_in + [0, -0.4], hem_in)
        cuff, rise = line(hem_in, hem_out), line(mid_waist, crotch)
        leg = np.vstack([rise, inner, cuff, outer, top])
        band_high = u(0.07, 0.09)
        band = np.vstack([whole(top), whole(top)[::-1] - [0, band_high]])
        areas += [("leg-right", leg), ("leg-left", flip(leg)), ("waistband", band)]
        for half_line in (outer, inner, cuff, line(waist, waist - [0, band_high], 10)):
            solid += [half_line, flip(half_line)]
        solid += [rise, whole(top), whole(top) - [0, band_high]]
        dashed += [cuff - [0, 0.05], flip(cuff - [0, 0.05])]
    return areas, solid, dashed, points


@lru_cache(maxsize=12)
def random_drawing(
    seed: int,
    *,
    kind: str | None = None,
    side: str | None = None,
    size: int = 1400,
    clean: bool = False,
    tilt: float = 0.0,
    max_gap: float = 0.9,
    gap_count: float = 1.0,
) -> Drawing:
    """Draw one garment; the same call gives the same one, so it is not to be changed.

    ``max_gap`` is a share of N = four line widths; ``clean``: no degradation and no gaps.
    """
    rng = np.random.default_rng(seed)
    kind = kind or KINDS[seed % 4]
    side = side or ("front", "back")[seed // 4 % 2]
    areas, solid, dashed, points = garment(kind, side, rng)
    everything = np.vstack([p for _, p in areas])
    low, high = everything.min(0), everything.max(0)
    scale = size * 0.84 / (high - low).max()
    w, h = (np.ceil((high - low) * scale + 0.16 * size)).astype(int)
    turn = np.deg2rad(tilt)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])

    def place(p):
        p = (np.asarray(p) - (low + high) / 2) * scale
        return p @ spin + [w / 2, h / 2]

    width = float(rng.choice([3, 5]))
    gap = 4 * width
    truth, names = np.zeros((h, w), np.uint8), {}
    for i, (name, polygon) in enumerate(areas, 1):
        # cv2 has pixel centres at integers, pictures here at halves
        cv2.fillPoly(truth, [np.round((place(polygon) - 0.5) * 16).astype(np.int32)], i, shift=4)
        names[i] = name
    canvas = np.zeros((h, w), np.uint8)
    for stroke in solid:
        _draw(canvas, place(stroke), width, rng, gap * max_gap if not clean else 0, size / 5 / gap_count)
    for stroke in dashed:
        _dashes(canvas, place(stroke), width, rng)
    ink = canvas.astype(np.float32) / 255
    picture = np.repeat((255 * (1 - ink)).astype(np.uint8)[..., None], 3, 2) if clean else _degraded(ink, rng)
    named = {}
    for name, p in points.items():
        if name.endswith("centre"):
            named[name] = tuple(place(p))
        else:
            on_right, on_left = tuple(place(p)), tuple(place(flip(p)))
            # a front's picture right is the wearer's left
            right_word = "left" if side == "front" else "right"
            left_word = "right" if side == "front" else "left"
            named[f"{name}-{right_word}"], named[f"{name}-{left_word}"] = on_right, on_left
    picture.flags.writeable = truth.flags.writeable = False
    return Drawing(picture, truth, names, [place(s) for s in solid], width, gap, named, kind)


def _resample(p, step=0.5):
    d = np.r_[0, np.cumsum(np.hypot(*np.diff(p, axis=0).T))]
    n = max(2, int(d[-1] / step))
    s = np.linspace(0, d[-1], n)
    return np.stack([np.interp(s, d, p[:, k]) for k in (0, 1)], 1), s


def _strokes(canvas, p, width):
    # OpenCV 5 draws thickness 2 as 3 px and 4 as 5 px (measured)
    thickness = max(1, 2 * round((width - 1) / 2))
    cv2.polylines(canvas, [np.round((p - 0.5) * 16).astype(np.int32)], False, 255, thickness, cv2.LINE_AA, shift=4)


def _draw(canvas, p, width, rng, most, every):
    """Draw a line with gaps of 2 px to ``most`` px, about one per ``every`` px, none at its ends (ink to ink)."""
    p, s = _resample(p)
    keep = np.ones(len(p), bool)
    if most > 2:
        for _ in range(rng.poisson(s[-1] / every)):
            size = rng.uniform(2, most) + width  # round line ends each reach half a width into the gap
            if s[-1] < 4 * size:
                continue
            at = rng.uniform(1.5 * size, s[-1] - 2.5 * size)
            if keep[(s > at - 2 * size) & (s < at + 3 * size)].all():
                keep[(s > at) & (s < at + size)] = False
    edges = np.flatnonzero(np.diff(np.r_[0, keep.astype(int), 0]))
    for a, b in edges.reshape(-1, 2):
        if b - a > 1:
            _strokes(canvas, p[a:b], width)


def _dashes(canvas, p, width, rng):
    p, s = _resample(p)
    period = rng.uniform(5, 7) * width
    on = (s % period) < 0.62 * period
    edges = np.flatnonzero(np.diff(np.r_[0, on.astype(int), 0]))
    for a, b in edges.reshape(-1, 2):
        if b - a > 1:
            _strokes(canvas, p[a:b], 0.7 * width)


def _degraded(ink, rng):
    h, w = ink.shape
    y, x = np.mgrid[0:h, 0:w] / max(h, w)
    a, b, c = rng.uniform(-0.35, 0.35, 3)
    light = 0.85 + a * (x - 0.5) + b * (y - 0.5) + c * (x - 0.5) * (y - 0.5)
    shadow = rng.uniform(0.0, 0.2) / (1 + np.exp(-(x * rng.uniform(0.6, 1) + y - rng.uniform(0.7, 1.1)) * 12))
    grain = cv2.GaussianBlur(rng.normal(0, 1, (h, w)).astype(np.float32), (0, 0), 2.5) * 0.05
    paper = np.clip(light - shadow + grain, 0.25, 1.0)
    depth = rng.uniform(0.55, 0.9)
    grey = paper * (1 - depth * cv2.GaussianBlur(ink, (0, 0), rng.uniform(0.5, 1.1)))
    tint = np.array([1.0, rng.uniform(0.95, 1.0), rng.uniform(0.85, 1.0)])
    picture = 245 * grey[..., None] * tint + rng.normal(0, rng.uniform(1, 4), (h, w, 3))
    picture = np.clip(picture, 0, 255).astype(np.uint8)
    _, data = cv2.imencode(".jpg", picture[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, int(rng.integers(60, 92))])
    return np.ascontiguousarray(cv2.imdecode(data, cv2.IMREAD_COLOR)[..., ::-1])


def region_scores(labels: np.ndarray, drawing: Drawing) -> dict[str, float]:
    """Mean IoU over the true areas (best label each), number of leaks, found areas over true areas."""
    true = drawing.truth
    most = int(labels.max()) + 1
    table = np.bincount(true.ravel().astype(np.int64) * most + labels.ravel(), minlength=(int(true.max()) + 1) * most)
    table = table.reshape(-1, most).astype(float)
    size_true, size_label = table.sum(1), table.sum(0)
    iou = table / (size_true[:, None] + size_label[None] - table)
    share = table / np.maximum(size_true[:, None], 1)
    leaks = int((np.maximum((share > 0.3).sum(0) - 1, 0)).sum())
    present = [i for i in range(1, len(size_true)) if size_true[i] > 0]
    return {
        "iou": float(np.mean([iou[i, 1:].max(initial=0) for i in present])),
        "leaks": leaks,
        "count_ratio": (most - 1) / len(present),
    }
