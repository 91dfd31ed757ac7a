"""Garments whose body is drawn in several areas, drawn to scale from millimetres: as a scan with noise and as SVG.

All measures are invented, of ordinary adult sizes. A stroke is a row of points in mm, x from the middle of the garment,
y down from the highest point.
"""
# ruff: noqa: RUF005

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from random_drawings import bezier, flip, line

MARGIN_PX = 60


@dataclass
class Sewn:
    strokes: list[np.ndarray]
    points: dict[str, tuple[float, float]]  # landmarks on the right of the picture, mm; '…-centre' on the mirror line
    centre_mm: float  # of centre front or back, neck or waist to hem
    kinds: list[str]  # the body's sections
    side: str = "front"
    dashed: list[np.ndarray] = field(default_factory=list)

    def size(self, k):
        every = np.concatenate(self.strokes)
        wide, high = 2 * np.abs(every[:, 0]).max(), every[:, 1].max()
        return int(k * wide) + 2 * MARGIN_PX, int(k * high) + 2 * MARGIN_PX

    def to_px(self, points, k):
        return np.asarray(points, float) * k + [self.size(k)[0] / 2, MARGIN_PX]

    def scan(self, k=1.0, width=3.0, seed=1):
        """A picture of k px a mm: paper grain, blur, uneven light."""
        rng = np.random.default_rng(seed)
        w, h = self.size(k)
        paper = np.full((h, w), 246.0)
        canvas = np.full((h, w), 255, np.uint8)
        for stroke in self.strokes:
            at = np.round((self.to_px(stroke, k) - 0.5) * 16).astype(np.int32)
            cv2.polylines(canvas, [at], False, 30, max(1, round(width)), cv2.LINE_AA, 4)
        for stroke in self.dashed:
            along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(stroke, axis=0), axis=1))]
            for start in np.arange(0, along[-1] - 6, 14.0):
                s = np.linspace(start, start + 6, 6)
                dash = np.stack([np.interp(s, along, stroke[:, i]) for i in (0, 1)], axis=1)
                at = np.round((self.to_px(dash, k) - 0.5) * 16).astype(np.int32)
                cv2.polylines(canvas, [at], False, 30, max(1, round(width)), cv2.LINE_AA, 4)
        light = 1 - 0.12 * np.linspace(0, 1, w)[None] * np.linspace(0.3, 1, h)[:, None]
        grey = cv2.GaussianBlur(canvas.astype(np.float64) / 255, (0, 0), 0.7) * paper * light
        grey += rng.normal(0, 4, grey.shape)
        return np.repeat(np.clip(grey, 0, 255).astype(np.uint8)[..., None], 3, axis=2)

    def svg(self, k=1.0):
        w, h = self.size(k)
        rows = []
        for stroke in self.strokes:
            at = " ".join(f"{x:.4f},{y:.4f}" for x, y in self.to_px(stroke, k))
            rows.append(f'<polyline points="{at}" fill="none" stroke="#000" stroke-width="2"/>')
        head = f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{h}" viewBox="0 0 {w} {h}">'
        return (head + "".join(rows) + "</svg>").encode()


def both(*strokes):
    return [s for stroke in strokes for s in (np.asarray(stroke, float), flip(np.asarray(stroke, float)))]


def over(half):
    """A half stroke from the middle out, with its mirror image."""
    half = np.asarray(half, float)
    return np.vstack([flip(half)[::-1], half[1:]])


def _top(side, *, neck_drop, under=(245, 235), tip=(215, 42)):
    neck, tip, under = np.array([85.0, 0]), np.array(tip, float), np.array(under, float)
    neckline = bezier([0, neck_drop], [45, neck_drop], neck + [-3, neck_drop * 0.5], neck)
    armhole = bezier(tip, tip + [-32, 70], under + [-40, -20], under)
    return neck, tip, under, neckline, line(neck, tip), armhole


def _sleeve(tip, under, down=(150, 210), across=95):
    out = np.array(down, float)
    cuff = tip + out
    low = np.array([cuff[0] - across, cuff[1] + 55])
    low[0] = max(low[0], under[0] + 18)
    return [line(tip, cuff), line(cuff, low), line(low, under)]


def dress(side="front", sleeves=True, waist=380.0, hem=1020.0):
    drop = 110.0 if side == "front" else 28.0
    neck, tip, under, neckline, shoulder, armhole = _top(side, neck_drop=drop)
    waist_at, hem_at = np.array([205.0, waist]), np.array([390.0, hem])
    side_top = bezier(under, under + [-8, 40], waist_at + [2, -40], waist_at)
    side_low = bezier(waist_at, waist_at + [40, 100], hem_at + [-40, -250], hem_at)
    strokes = both(shoulder, armhole, side_top, side_low)
    strokes += [
        over(neckline),
        over(line([0, waist + 8], waist_at)),
        over(bezier([0, hem + 25], [150, hem + 25], hem_at + [-120, 14], hem_at)),
    ]
    if side == "front":
        strokes.append(over(bezier([0, 22], [40, 22], neck + [-6, 12], neck)))
    if sleeves:
        strokes += both(*_sleeve(tip, under))
    points = {
        "neck": tuple(neck),
        "shoulder": tuple(tip),
        "underarm": tuple(under),
        "hem": tuple(hem_at),
        "neck-centre": (0, drop),
        "hem-centre": (0, hem + 25),
    }
    return Sewn(strokes, points, hem + 25 - drop, ["bodice", "skirt"], side)


def shirt():
    drop, hem = 95.0, 760.0
    neck, tip, under, neckline, shoulder, armhole = _top("front", neck_drop=drop)
    hem_at = np.array([262.0, hem])
    seam = line(under, hem_at)
    half_hem = bezier([0, hem + 22], [90, hem + 22], hem_at + [-90, 0], hem_at)
    wide = 17.0
    top = neckline[np.argmin(np.abs(neckline[:, 0] - wide))]
    foot = half_hem[np.argmin(np.abs(half_hem[:, 0] - wide))]
    strokes = both(shoulder, armhole, seam, *_sleeve(tip, under, down=(185, 470), across=70), line(top, foot))
    strokes += [over(neckline), over(half_hem)]
    stand = np.array([72.0, -34.0])
    strokes += [over(bezier([0, 12], [30, 12], stand + [-10, 22], stand)), *both(line(neck, stand))]
    strokes = [s + [0, 34.0] for s in strokes]
    move = np.array([0, 34.0])
    points = {
        "neck": tuple(neck + move),
        "shoulder": tuple(tip + move),
        "underarm": tuple(under + move),
        "hem": tuple(hem_at + move),
        "neck-centre": (0, drop + 34),
        "hem-centre": (0, hem + 22 + 34),
    }
    return Sewn(strokes, points, hem + 22 - drop, ["half", "half", "placket"])


def yoked_tee():
    drop, hem = 26.0, 690.0
    neck, tip, under, neckline, shoulder, armhole = _top("back", neck_drop=drop)
    hem_at = np.array([250.0, hem])
    at = armhole[28]
    strokes = both(shoulder, armhole, line(under, hem_at), *_sleeve(tip, under))
    strokes += [
        over(neckline),
        over(bezier([0, hem + 6], [80, hem + 6], hem_at + [-80, 0], hem_at)),
        over(line([0, at[1] + 14], at)),
    ]
    points = {
        "neck": tuple(neck),
        "shoulder": tuple(tip),
        "underarm": tuple(under),
        "hem": tuple(hem_at),
        "neck-centre": (0, drop),
        "hem-centre": (0, hem + 6),
    }
    return Sewn(strokes, points, hem + 6 - drop, ["section", "yoke"], "back")


def trousers():
    hip, hem, crotch = np.array([265.0, 210]), np.array([230.0, 1000]), np.array([0.0, 290])
    waist, inner = np.array([190.0, 40]), np.array([70.0, 1000])
    strokes = both(
        bezier(waist, waist + [20, 70], hip + [5, -60], hip), line(hip, hem), line(hem, inner), line(inner, crotch)
    )
    strokes += [over(line([0, 48], waist)), line([0, 48], crotch)]
    band = np.array([186.0, 0])
    strokes += [over(line([0, 8], band)), *both(line(band, waist))]
    points = {"waist": tuple(waist), "waist-centre": (0, 48)}
    return Sewn(strokes, points, 0.0, ["leg", "leg"])


def skirt(gores=True):
    waist, hem = np.array([180.0, 42]), np.array([330.0, 640])
    seam = bezier(waist, waist + [60, 110], hem + [-40, -200], hem)
    half_hem = bezier([0, 665], [140, 665], hem + [-100, 10], hem)
    strokes = both(seam, line([180, 4], waist))
    strokes += [over(line([0, 52], waist)), over(line([0, 14], [180, 4])), over(half_hem)]
    kinds = []
    if gores:
        foot = half_hem[np.argmin(np.abs(half_hem[:, 0] - 130))]
        head = np.array([70.0, 52 - 10 * 70 / 180])
        strokes += both(bezier(head, head + [8, 200], foot + [-20, -200], foot))
        kinds = ["centre-panel", "side-panel", "side-panel"]
    points = {"waist": tuple(waist), "hem": tuple(hem), "waist-centre": (0, 52), "hem-centre": (0, 665)}
    return Sewn(strokes, points, 665 - 52, kinds)


GARMENTS = {
    "dress": dress(), "dress, back": dress("back"), "dress without sleeves": dress(sleeves=False),
    "short dress": dress(waist=420, hem=900), "shirt": shirt(), "tee with a yoke": yoked_tee(), "trousers": trousers(),
    "skirt of panels": skirt(), "plain skirt": skirt(gores=False),
}  # fmt: skip


def hoodie(side="front", zip_=False):
    """A hooded top with a rib at hem and sleeves; the front has a kangaroo pocket that stands on the rib."""
    up, hem = 300.0, 620.0
    neck, tip, under, neckline, shoulder, armhole = _top(side, neck_drop=90.0 if side == "front" else 25.0)
    hem_at, rib, cuff = np.array([250.0, hem]), np.array([235.0, hem + 65]), tip + [150, 430]
    low, down = cuff + [-95, 40], np.array([15.0, 60])
    strokes = both(shoulder, armhole, line(under, hem_at), line(hem_at, rib), line(tip, cuff), line(low, under))
    strokes += both(line(cuff, low), line(cuff, cuff + down), line(cuff + down, low + down), line(low + down, low))
    strokes += [over(neckline), over(line([0, hem], hem_at)), over(line([0, hem + 65], rib))]
    strokes += both(bezier(neck, neck + [60, -80], [150, 60 - up], [0, -up]))
    if side == "front":
        strokes += both(bezier([0, 90], [60, 40], [95, 110 - up], [0, 70 - up]))
        strokes.append(over([[0, hem - 210], [85, hem - 210], [140, hem - 80], [140, hem]]))
    if zip_:
        strokes.append(line([0, 90], [0, hem + 65]))
    points = {"neck": tuple(neck + [0, up]), "shoulder": tuple(tip + [0, up])}
    return Sewn([s + [0, up] for s in strokes], points, hem + 65 - 90, ["bodice", "hem-band"], side)
