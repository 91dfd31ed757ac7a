"""An invented dress with a waist seam: its drawing in two areas, and a pattern of four pieces of another size.

All in mm, y down, x from the middle outwards, every edge straight or of straight steps: lengths are Pythagoras'.
The pattern is larger than the drawing all over: what is right on it cannot have been taken from the drawing.
"""

from __future__ import annotations

from math import hypot

import numpy as np

NECK_DROP = {"front": 110.0, "back": 30.0}
DRAWN = {"neck": (80, 0), "shoulder": (200, 40), "underarm": (240, 230), "waist": (200, 400), "hem": (380, 1020)}
BODICE = {"neck": (86, 0), "shoulder": (208, 46), "underarm": (256, 246), "waist": (214, 428)}
SKIRT = {"waist": (214, 0), "hem": (402, 650)}
DROP = {"front": 118.0, "back": 36.0}


def armhole(at) -> list[tuple[float, float]]:
    """From the shoulder tip down to the underarm, a cubic in fourteen straight steps."""
    (x0, y0), (x3, y3) = at["shoulder"], at["underarm"]
    t = np.linspace(0, 1, 15)[:, None]
    p = np.array([(x0, y0), (x0 - 34, y0 + 75), (x3 - 46, y3 - 18), (x3, y3)], float)
    points = (1 - t) ** 3 * p[0] + 3 * t * (1 - t) ** 2 * p[1] + 3 * t**2 * (1 - t) * p[2] + t**3 * p[3]
    return [(float(x), float(y)) for x, y in points.round(3)]


def _row(points):
    return " ".join(f"{x:g},{y:g}" for x, y in points)


def drawing(side: str, k: float = 1.0) -> bytes:
    """The drawing of one side, k px a mm."""
    across, high = 440.0, 1080.0
    drop = NECK_DROP[side]
    right = [(0, drop), (30, drop - 8), (60, drop * 0.6), DRAWN["neck"], *armhole(DRAWN)]
    right += [DRAWN["waist"], DRAWN["hem"], (0, 1020)]
    rows = []
    for sign in (1, -1):
        rows.append([(k * (across + sign * x), k * (30 + y)) for x, y in right])
    waist = [(k * (across + sign * 200), k * 430) for sign in (-1, 1)]
    lines = "".join(
        f'<polyline points="{_row(r)}" fill="none" stroke="#000" stroke-width="{2 * k:g}"/>' for r in (*rows, waist)
    )
    size = f'width="{k * 2 * across:g}" height="{k * high:g}" viewBox="0 0 {k * 2 * across:g} {k * high:g}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{lines}</svg>'.encode()


def _edge(name, points, kind="seam", **more):
    extra = "".join(f' data-{k}="{v}"' for k, v in more.items())
    d = "M " + " L ".join(f"{x:g},{y:g}" for x, y in points)
    return f'<path data-edge="{name}" data-kind="{kind}"{extra} d="{d}" fill="none" stroke="#000"/>'


def pieces(*, area: bool = True, waist: str = "waist", skirt: bool = True) -> bytes:
    """The pattern: bodice and skirt, front and back, on the fold."""
    groups = []
    for n, side in enumerate(("front", "back")):
        other = "back" if side == "front" else "front"
        b, s, drop = BODICE, SKIRT, DROP[side]
        fold = f"centre-{side}"
        bodice = [
            _edge(waist, [(0, b["waist"][1]), b["waist"]], allowance="15mm", mate=f"skirt {side}:waist"),
            _edge("side", [b["waist"], b["underarm"]], allowance="15mm", mate=f"bodice {other}:side"),
            _edge("armhole", armhole(b)[::-1], allowance="15mm"),
            _edge("shoulder", [b["shoulder"], b["neck"]], allowance="15mm", mate=f"bodice {other}:shoulder"),
            _edge("neck", [b["neck"], (62, drop * 0.6), (30, drop - 8), (0, drop)], allowance="10mm"),
            _edge(fold, [(0, drop), (0, b["waist"][1])], "fold"),
        ]
        low = [
            _edge("hem", [(0, s["hem"][1]), s["hem"]], "hem", allowance="30mm"),
            _edge("side", [s["hem"], s["waist"]], allowance="15mm", mate=f"skirt {other}:side"),
            _edge(waist, [s["waist"], (0, 0)], allowance="15mm", mate=f"bodice {side}:waist"),
            _edge(fold, [(0, 0), (0, s["hem"][1])], "fold"),
        ]
        for m, (name, edges) in enumerate((("bodice", bodice), ("skirt", low))):
            if name == "skirt" and not skirt:
                continue
            kind = f' data-area="{name}"' if area else ""
            at = f"{500 * n + 40},{500 * m + 40}"
            groups.append(
                f'<g data-piece="{name} {side}" data-view="{side}"{kind} data-how="on fold" data-moved="{at}" '
                f'transform="translate({at.replace(",", " ")})">{"".join(edges)}</g>'
            )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="1000mm" height="1240mm" viewBox="0 0 1000 1240">'
        + "".join(groups)
        + "</svg>"
    ).encode()


def side_mm(part: str) -> float:
    """Length of the pattern's side seam in one part."""
    (x0, y0), (x1, y1) = (BODICE["underarm"], BODICE["waist"]) if part == "bodice" else (SKIRT["waist"], SKIRT["hem"])
    return hypot(x1 - x0, y1 - y0)


def area_mm2(part: str, side: str) -> float:
    """Area inside the stitch line of a half, by the shoelace formula (Gauss)."""
    drop = DROP[side]
    if part == "skirt":
        ring = [(0, 0), SKIRT["waist"], SKIRT["hem"], (0, SKIRT["hem"][1])]
    else:
        ring = [(0, 428), BODICE["waist"], *armhole(BODICE)[::-1], BODICE["neck"],
                (62, drop * 0.6), (30, drop - 8), (0, drop)]  # fmt: skip
    x, y = np.array(ring, float).T
    return float(abs((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) / 2)
