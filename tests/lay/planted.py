"""Instances that are known to have a lay: remnants cut into garment-like pieces by random curves, their places
forgotten.

Independent of the solver: only shapely and numpy. Every piece is what is left of its part of the remnant after half the
clearance (or the border) is taken off all round, and more until the wanted share of the cloth is used.
"""

from __future__ import annotations

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import split

from mockup.lay.lay import LayPiece, Scrap


def planted(
    seed: int, *, scraps: int, pieces: int, utilisation: float, clearance: float = 2.0, holes: bool = True
) -> tuple[list[LayPiece], list[Scrap]]:
    """Give pieces and scraps; the pieces' area is at most ``utilisation`` of the scraps' (holes taken off)."""
    random = np.random.default_rng(seed)
    cloth, parts = [], []
    for number in range(scraps):
        outline = _remnant(random)
        hole = _hole(outline, random) if holes and random.random() < 0.7 else None
        area = outline if hole is None else outline.difference(hole)
        grain = float(np.round(random.uniform(-90, 90), 1))
        ring = tuple(map(tuple, np.array(outline.exterior.coords)[:-1]))
        inner = () if hole is None else (tuple(map(tuple, np.array(hole.exterior.coords)[:-1])),)
        cloth.append(Scrap(f"remnant {number + 1}", ring, inner, grain, bool(random.random() < 0.3)))
        parts.append((area, grain))
    total = sum(a.area for a, _ in parts)
    cut: list[tuple[Polygon, float]] = list(parts)
    while len(cut) < pieces or any(shape.interiors for shape, _ in cut):  # a piece has no hole: it is cut through
        largest = max(range(len(cut)), key=lambda k: (len(cut[k][0].interiors), cut[k][0].area))
        shape, grain = cut.pop(largest)
        cut += [(part, grain) for part in _halves(shape, random)]
    low, high = clearance / 2 + 0.01, 200.0
    for _ in range(40):  # the inset that leaves the wanted share
        inset = (low + high) / 2
        used = sum(_inset(s, inset).area for s, _ in cut)
        low, high = (inset, high) if used > utilisation * total else (low, inset)
    out = []
    for number, (shape, grain) in enumerate(cut, 1):
        body = _inset(shape, high)
        if body.area < 100:
            continue
        turn = float(np.round(random.uniform(0, 360), 1))  # the piece's own frame is turned: its grain turns along
        moved = affinity.rotate(body, turn, origin="centroid")
        moved = affinity.translate(moved, *(-np.array(moved.bounds[:2])))
        ring = tuple((float(x), float(y)) for x, y in moved.exterior.coords[:-1])
        out.append(LayPiece(f"piece {number}", ring, grain_deg=(grain + turn + 180) % 360 - 180))
    return out, cloth


def _remnant(random: np.random.Generator) -> Polygon:
    angles = np.linspace(0, 2 * np.pi, 48, endpoint=False)
    radius = 1 + sum(
        random.normal(0, 0.13 / k) * np.cos(k * angles + random.uniform(0, 2 * np.pi)) for k in range(2, 6)
    )
    stretch = random.uniform(0.7, 1.4)
    points = np.stack([280 * stretch * radius * np.cos(angles), 280 / stretch * radius * np.sin(angles)], axis=1)
    shape = Polygon(points).buffer(0)
    if random.random() < 0.6:  # a straight side, as along a selvedge or after an earlier cut
        x0, y0, x1, y1 = shape.bounds
        shape = shape.intersection(shapely.box(x0 + 0.18 * (x1 - x0), y0, x1, y1))
    shape = max(getattr(shape, "geoms", [shape]), key=lambda s: s.area)
    return affinity.translate(shape, *(-np.array(shape.bounds[:2])))


def _hole(outline: Polygon, random: np.random.Generator) -> Polygon:
    x0, y0, x1, y1 = outline.bounds
    while True:
        place = Point(random.uniform(x0, x1), random.uniform(y0, y1))
        hole = place.buffer(random.uniform(12, 30), quad_segs=3)
        if outline.buffer(-15).contains(hole):
            return hole


def _halves(shape: Polygon, random: np.random.Generator) -> list[Polygon]:
    """Cut by a curve across, near the middle, until both parts are of one sort of size."""
    x0, y0, x1, y1 = shape.bounds
    size = max(x1 - x0, y1 - y0)
    for _ in range(200):
        across = np.pi / 2 if x1 - x0 > y1 - y0 else 0.0
        angle = across + random.normal(0, 0.35)
        middle = np.array(shape.centroid.coords[0]) + random.normal(0, 0.08 * size, 2)
        if shape.interiors:
            middle = np.array(shape.interiors[0].centroid.coords[0])
        s = np.linspace(-size, size, 41)
        phase = random.uniform(0, 2 * np.pi)
        bow = random.normal(0, 0.12) * size * (np.sin(np.pi * s / size + phase) - np.sin(phase))
        along, side = np.array([np.cos(angle), np.sin(angle)]), np.array([-np.sin(angle), np.cos(angle)])
        line = LineString(middle + s[:, None] * along + bow[:, None] * side)
        parts = [p for p in split(shape, line).geoms if p.area > 1]
        if len(parts) == 2 and min(p.area for p in parts) > (0.1 if shape.interiors else 0.25) * shape.area:
            return parts
    raise RuntimeError("no cut found")


def _inset(shape: Polygon, by: float) -> Polygon:
    body = shape.buffer(-by, quad_segs=4)
    body = max(getattr(body, "geoms", [body]), key=lambda s: s.area)
    return Polygon(body.exterior).simplify(0.05) if not body.is_empty and not body.interiors else body
