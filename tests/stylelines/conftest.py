"""A boxy body, front and back, drawn by hand in mm and put into pictures: nothing of it comes from the code under test.

The body: hem 640 mm wide, flared side seams, hollow armholes, straight shoulders, a round neck (deep in front). All
figures are invented.
"""

import numpy as np
import pytest

from mockup.garment.view import Area, View, ViewEdge
from mockup.geometry import path as paths
from mockup.geometry.path import Path

HALF = {  # wearer's left half at x > 0, y up, hem at 0, from the hem's corner up to the neck's middle
    "side": [(320, 0), (314, 150), (302, 330), (300, 450)],
    "armhole": [(300, 450), (255, 455), (236, 560), (240, 690)],
    "shoulder": [(240, 690), (190, 703), (140, 717), (90, 730)],
}
NECK = {
    "front": [(90, 730), (85, 640), (50, 610), (0, 610)],
    "back": [(90, 730), (80, 705), (40, 698), (0, 698)],
}
HEM = [(0, 0), (107, 0), (213, 0), (320, 0)]


def cubic(points, sign=1.0) -> Path:
    return Path([[(sign * x, y) for x, y in points]])


def half_edges(side):
    return {**HALF, "neck": NECK[side]}


def body_edges(side) -> list[tuple[str, Path, str, str]]:
    """Named edges in mm, counter-clockwise in the picture, with the wearer's sides; x = 0 is the middle."""
    # +x is the picture's right: the wearer's left in front, the wearer's right at the back
    plus, minus = ("left", "right") if side == "front" else ("right", "left")
    half = half_edges(side)
    back = paths.reversed_path
    return [
        ("hem", paths.joined([back(cubic(HEM, -1)), cubic(HEM)]), f"hem-{minus}", f"hem-{plus}"),
        (f"side-{plus}", cubic(half["side"]), f"hem-{plus}", f"underarm-{plus}"),
        (f"armhole-{plus}", cubic(half["armhole"]), f"underarm-{plus}", f"shoulder-{plus}"),
        (f"shoulder-{plus}", cubic(half["shoulder"]), f"shoulder-{plus}", f"neck-{plus}"),
        ("neck", paths.joined([cubic(half["neck"]), back(cubic(half["neck"], -1))]), f"neck-{plus}", f"neck-{minus}"),
        (f"shoulder-{minus}", back(cubic(half["shoulder"], -1)), f"neck-{minus}", f"shoulder-{minus}"),
        (f"armhole-{minus}", back(cubic(half["armhole"], -1)), f"shoulder-{minus}", f"underarm-{minus}"),
        (f"side-{minus}", back(cubic(half["side"], -1)), f"underarm-{minus}", f"hem-{minus}"),
    ]


def sleeve(sign) -> Path:
    armhole = cubic(HALF["armhole"], sign)
    return paths.joined(
        [armhole, paths.polyline([(sign * 240, 690), (sign * 520, 420), (sign * 430, 340), (sign * 300, 450)])]
    )


def make_view(side, *, name="", kind="drawing", mm_per_px=1.0, sleeves=True, pockets=True, bend=None) -> View:
    """Make a view; ``bend`` maps mm points to mm points, to make a photo of another shape."""
    neck_y = NECK[side][-1][1]
    edges = body_edges(side)
    size = (int(1160 / mm_per_px), int(800 / mm_per_px))
    origin = (size[0] / 2, (765 - neck_y) / mm_per_px)

    def to_px(path: Path) -> Path:
        c = path.cubics if bend is None else bend(path.cubics)
        return Path((c - (0, neck_y)) / (mm_per_px, -mm_per_px) + origin)

    outline = paths.joined([p for _, p, _, _ in edges])
    areas = [Area("body", "body", 1, to_px(outline).to_tuples(), "body")]
    plus = {"front": "left", "back": "right"}[side]
    minus = "right" if plus == "left" else "left"
    if sleeves:
        for sign, which, label in ((1, plus, 2), (-1, minus, 3)):
            areas.append(
                Area(f"sleeve-{which}", f"sleeve, {which}", label, to_px(sleeve(sign)).to_tuples(), "sleeve", which)
            )
    if pockets and side == "front":
        for sign, which, label in ((1, "left", 4), (-1, "right", 5)):
            box = paths.polyline([(sign * 80, 180), (sign * 220, 180), (sign * 220, 330), (sign * 80, 330)], close=True)
            areas.append(Area(f"pocket-{which}", f"pocket, {which}", label, to_px(box).to_tuples(), "pocket", which))
    view_edges = tuple(ViewEdge(n, to_px(p).to_tuples(), a, b) for n, p, a, b in edges)
    landmarks = {}
    for e in view_edges:
        landmarks[e.start], landmarks[e.end] = e.path[0][0], e.path[-1][3]
    landmarks["neck-centre"] = tuple(to_px(cubic(NECK[side])).end)
    landmarks["hem-centre"] = tuple(to_px(cubic(HEM)).start)
    return View(
        name=name or side,
        side=side,
        picture=f"{name or side}.png",
        kind=kind,
        size=size,
        labels="",
        areas=tuple(areas),
        landmarks=landmarks,
        mirror_x=origin[0],
        mm_per_px=mm_per_px,
        scale_measured=True,
        origin_px=origin,
        edges=view_edges,
    )


def leaned(cubics):
    """A gentle, smooth change of shape, as of a garment on a form."""
    x, y = cubics[..., 0], cubics[..., 1]
    return np.stack([0.9 * x * (1 + 0.0004 * (y - 350)), y + 0.00008 * x**2], axis=-1)


@pytest.fixture(scope="session")
def front() -> View:
    return make_view("front")


@pytest.fixture(scope="session")
def back() -> View:
    return make_view("back")


@pytest.fixture(scope="session")
def photo() -> View:
    return make_view("front", name="photo", kind="photo", mm_per_px=0.6, sleeves=False, pockets=False, bend=leaned)


@pytest.fixture(scope="session")
def build():
    return make_view
