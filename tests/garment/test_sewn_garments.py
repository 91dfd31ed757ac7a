"""Garments whose body is drawn in several areas: one body, with its sections, its seams and its true scale."""

from dataclasses import replace

import numpy as np
import pytest
from random_drawings import line
from sewn_garments import GARMENTS, hoodie, over

from mockup.garment.drawing import view_from_drawing
from mockup.garment.picture_svg import read_svg_drawing
from mockup.garment.scale import measures, scale_doubts, scaled_like, set_measure
from mockup.geometry import path as paths
from mockup.geometry.curve import nearest, points_along

QUICK = {"scan": ("shirt", "tee with a yoke"), "svg": ("dress", "shirt", "trousers", "skirt of panels")}


def read(name, how):
    garment = GARMENTS[name]
    picture = garment.scan() if how == "scan" else read_svg_drawing(garment.svg())
    found = view_from_drawing(picture, name=garment.side, side=garment.side, picture="x.png")
    return garment, found, found.view.size[0] / garment.size(1.0)[0]  # a small SVG is read larger


# a scan: 1 % of the height, a pointed underarm 1.5 %, where lines of 3 px run together; an SVG is exact
@pytest.mark.parametrize(
    ("name", "how", "off", "underarm"),
    [
        pytest.param(name, how, *limits, marks=() if name in QUICK[how] else pytest.mark.slow)
        for name in GARMENTS
        for how, limits in (("scan", (0.01, 0.015)), ("svg", (2e-4, 2e-4)))
    ],
)
def test_body_of_several_areas(name, how, off, underarm):
    garment, found, k = read(name, how)
    view = found.view
    assert sorted(a.part for a in view.sections) == sorted(garment.kinds)
    assert len([a for a in view.areas if a.part == "body"]) == 1
    high = garment.size(1.0)[1] * k
    word = "left" if garment.side == "front" else "right"  # the wearer's, on the right of the picture
    for point, at in garment.points.items():
        key = point if point.endswith("centre") else f"{point}-{word}"
        away = np.linalg.norm(np.array(view.landmarks[key]) - garment.to_px([at], 1.0)[0] * k)
        assert away < (underarm if point == "underarm" else off) * high, (key, away)
    if "neck" in garment.points:
        kinds = {e.name.rpartition("-")[0] or e.name for e in view.edges}
        assert kinds == {"neck", "shoulder", "armhole", "side", "hem"}
    if garment.centre_mm:
        # what is measured along the middle of the whole garment scales the whole garment
        scaled = set_measure(view, f"centre-{garment.side}", garment.centre_mm)
        assert scaled.mm_per_px * k == pytest.approx(1.0, rel=0.002)
        assert measures(view)[f"centre-{garment.side}"] / k == pytest.approx(garment.centre_mm, rel=0.002)


@pytest.mark.parametrize("name", ["dress", "shirt", "tee with a yoke"])
def test_seams_run_where_sections_meet(name):
    garment, found, k = read(name, "svg")
    view = found.view
    assert len(view.seams) == len(garment.kinds) - 1
    drawn = [garment.to_px(s, 1.0) * k for s in garment.strokes]
    body = paths.from_tuples(view.body.outline)
    for seam in view.seams:
        path = paths.from_tuples(seam.path)
        inside = points_along(path, np.linspace(0.05, 0.95, 25) * paths.length(path))
        near = min(max(np.linalg.norm(_dense(s) - p, axis=1).min() for p in inside) for s in drawn)
        assert near < 0.6  # on a line of the drawing
        for end in (path.start, path.end):
            assert nearest(body, end)[2] < 0.03 * view.size[1]
        assert seam.symmetric or seam.side in ("left", "right")
    names = {a.id: a for a in view.sections}
    if "half" in garment.kinds:
        assert {"half-left", "half-right", "placket"} == set(names)
        assert names["half-left"].name == "left front"


def crossed(name, heights):
    """A garment with level seams across its body at these heights, mm; far wider than the body at both ends."""
    garment = GARMENTS[name]
    half = [over(line([0, y], [x, y])) for y, x in heights]
    return replace(garment, strokes=[*garment.strokes, *half])


# names of the trade by place: common practice, no source
@pytest.mark.parametrize(
    ("name", "heights", "want"),
    [
        ("tee with a yoke", (), {"yoke", "lower back"}),
        ("tee with a yoke", ((420, 248),), {"yoke", "upper back", "lower back"}),
        ("dress without sleeves", ((560, 281),), {"bodice", "midriff", "skirt"}),
        ("dress without sleeves", ((950, 400),), {"bodice", "skirt", "hem band"}),
    ],
)
def test_sections_are_called_by_their_place(name, heights, want):
    garment = crossed(name, heights)
    found = view_from_drawing(
        read_svg_drawing(garment.svg()), name=garment.side, side=garment.side, picture=f"{garment.side}.png"
    )
    assert {a.name for a in found.view.sections} == want


def test_areas_of_the_sections_add_up_to_the_body():
    _, found, _ = read("shirt", "scan")
    view = found.view
    size = abs(paths.signed_area(paths.from_tuples(view.body.outline)))
    parts = sum(abs(paths.signed_area(paths.from_tuples(a.outline))) for a in view.sections)
    assert parts == pytest.approx(size, rel=0.003)
    assert np.isin(found.labels, view.body_labels).sum() == pytest.approx(size, rel=0.003)


def _dense(stroke):
    along = np.r_[0, np.cumsum(np.linalg.norm(np.diff(stroke, axis=0), axis=1))]
    s = np.arange(0, along[-1], 0.5)
    return np.stack([np.interp(s, along, stroke[:, i]) for i in (0, 1)], axis=1)


def test_one_known_length_scales_both_sides_by_the_side_seam():
    """The dress is drawn twice at sizes of their own: 1 mm a px and 1.3."""
    views = []
    for name, k in (("dress", 1.0), ("dress, back", 1.3)):
        garment = GARMENTS[name]
        found = view_from_drawing(
            read_svg_drawing(garment.svg(k)), name=garment.side, side=garment.side, picture=f"{garment.side}.png"
        )
        views.append(found.view)
    front, back = views
    real = [
        v.size[0] / GARMENTS[n].size(k)[0] * k
        for v, n, k in zip(views, ("dress", "dress, back"), (1, 1.3), strict=True)
    ]
    front = set_measure(front, "centre-front", GARMENTS["dress"].centre_mm)
    assert front.mm_per_px == pytest.approx(1 / real[0], rel=1e-4)
    follows = scaled_like(back, front)
    assert follows.mm_per_px == pytest.approx(1 / real[1], rel=1e-3)
    assert not follows.scale_measured
    right = set_measure(back, "centre-back", GARMENTS["dress, back"].centre_mm)
    assert scale_doubts([front, right]) == ()
    (said,) = scale_doubts([front, set_measure(back, "centre-back", 940.0)])
    assert "side seam of the front is 8% longer than that of the back" in said


# common practice, no source: a pocket that is sewn onto one panel is no section, and a neck lies below its hood
@pytest.mark.parametrize(
    ("garment", "others", "sections", "seams"),
    [
        (hoodie(), ["hood", "hood-lining", "pocket"], ["bodice", "hem-band"], 1),
        (hoodie("back"), ["hood"], ["bodice", "hem-band"], 1),
        (hoodie(zip_=True), ["hood", "hood-lining", "pocket", "pocket"], ["half", "half", "panel", "panel"], 2),
    ],
)
def test_a_hood_stands_on_the_neck_and_a_kangaroo_pocket_lies_on_the_body(garment, others, sections, seams):
    drawing = read_svg_drawing(garment.svg())
    found = view_from_drawing(drawing, name=garment.side, side=garment.side, picture="x.png")
    view, k = found.view, found.view.size[0] / garment.size(1.0)[0]
    assert sorted(a.part for a in view.areas) == sorted(["body", *others, "cuff", "cuff", "sleeve", "sleeve"])
    assert sorted(a.part for a in view.sections) == sections
    assert len(view.seams) == seams, "the seam of the rib goes on under the pocket"
    assert not found.warnings
    word = "left" if garment.side == "front" else "right"
    for point, at in garment.points.items():
        away = np.linalg.norm(np.array(view.landmarks[f"{point}-{word}"]) - garment.to_px([at], 1.0)[0] * k)
        assert away < 1.0, (point, away)
