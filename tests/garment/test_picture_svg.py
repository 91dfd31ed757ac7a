"""SVG line drawings: exact areas, transforms and styles, gaps, and files from strangers."""

import numpy as np
import pytest

from mockup.garment import svg_lines
from mockup.garment.picture_svg import read_svg_drawing
from mockup.garment.regions import find_regions
from mockup.garment.svg_lines import MAX_BYTES
from mockup.geometry import path as paths
from swatches.errors import PictureError


def svg(body, head='width="1000" height="1000" viewBox="0 0 1000 1000"', before=""):
    names = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
    return f"{before}<svg {names} {head}>{body}</svg>".encode()


LINE = 'fill="none" stroke="black" stroke-width="4"'
BOX = f'<rect x="200" y="200" width="600" height="400" {LINE}/>'


def areas(data, **kw):
    return {n: abs(paths.signed_area(o)) for n, (o, _) in read_svg_drawing(data, **kw).outlines().items()}


def test_a_box_is_exact():
    assert areas(svg(BOX)) == {1: pytest.approx(240_000, rel=1e-9)}


def test_a_circle_is_nearly_exact():
    found = areas(svg(f'<circle cx="500" cy="500" r="300" {LINE}/>'))
    assert found[1] == pytest.approx(np.pi * 300**2, rel=2e-4)


def test_lines_divide():
    found = areas(svg(BOX + f'<path d="M100 300H900" {LINE}/>'))
    assert sorted(found.values()) == [pytest.approx(60_000), pytest.approx(180_000)]


def test_a_pocket_is_a_hole_in_the_body():
    drawing = read_svg_drawing(svg(BOX + f'<rect x="300" y="300" width="100" height="100" {LINE}/>'))
    outer, holes = drawing.outlines()[1]
    assert paths.signed_area(outer) < 0 < paths.signed_area(holes[0])
    assert abs(paths.signed_area(holes[0])) == pytest.approx(10_000)


def test_transforms_groups_use_and_styles_give_the_same_box():
    plain = areas(svg(BOX))
    moved = svg(f'<g transform="translate(100 100) scale(2)"><rect x="50" y="50" width="300" height="200" {LINE}/></g>')
    used = svg(
        '<defs><path id="p" d="M0 0h600v400h-600z"/></defs>'
        '<use xlink:href="#p" x="200" y="200" style="fill:none;stroke:#000"/>'
    )
    classed = svg(
        '<style>.line { fill: none; stroke: #123 } </style><path class="line" d="M200 200h600v400h-600z"/>'
        '<path class="line" style="display:none" d="M100 300H900"/>'
    )
    units = svg(
        '<path d="M20 20h60v40h-60z" fill="none" stroke="black"/>', 'width="100mm" height="100mm" viewBox="0 0 100 100"'
    )
    assert areas(moved) == pytest.approx(plain)
    assert areas(used) == pytest.approx(plain)
    assert areas(classed) == pytest.approx(plain)
    assert areas(units)[1] == pytest.approx(2400 * 20**2)  # scaled to 2000 px on the long side


def test_dashes_divide_only_when_they_are_seams():
    dashed = svg(BOX + f'<path d="M200 300H800" {LINE} stroke-dasharray="10 6"/>')
    assert len(areas(dashed)) == 1
    assert len(areas(dashed, dashes_are_seams=True)) == 2


def test_ends_that_fall_short_are_led_on():
    short = svg(BOX + f'<path d="M206 300H790" {LINE}/>')
    assert len(areas(short)) == 2
    assert len(areas(short, gap_px=3)) == 1


def test_a_gap_in_an_outline_is_closed():
    open_box = svg(f'<path d="M200 200h600v400h-600v-390" {LINE}/>')
    assert list(areas(open_box).values()) == [pytest.approx(240_000, rel=1e-3)]


def test_the_sheets_own_frame_is_no_area():
    assert len(areas(svg('<rect width="1000" height="1000" fill="white"/>' + BOX))) == 1


def test_the_raster_way_finds_the_same():
    data = svg(BOX + f'<path d="M200 300C400 350 600 350 800 300" {LINE}/>')
    drawing = read_svg_drawing(data)
    exact, traced = drawing.regions().labels, find_regions(drawing.rgb8).labels
    assert exact.max() == traced.max() == 2
    assert (exact != traced).mean() < 0.002
    assert drawing.ink.max() == 1
    assert drawing.ink.min() == 0


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (svg(BOX, before='<!DOCTYPE svg [<!ENTITY a "b">]>'), "DOCTYPE"),
        (svg(BOX, before='<!DOCTYPE svg SYSTEM "http://example.org/x.dtd">'), "DOCTYPE"),
        (svg("<script>alert(1)</script>" + BOX), "script"),
        (svg(BOX.replace("<rect", '<rect onload="x()"')), "onload"),
        (svg('<image href="http://example.org/a.png"/>' + BOX), "image"),
        (svg('<use href="other.svg#a"/>' + BOX), "outside"),
        (svg("<style>@import url(http://example.org/a.css)</style>" + BOX), "outside"),
        (svg(BOX.replace("<rect", '<rect style="fill:url(http://example.org/a)"')), "outside"),
        (svg("<foreignObject/>" + BOX), "foreignobject"),
        (b"not xml at all", "what cannot be read as one"),
        (b"<html/>", "SVG"),
        (b"", "an empty file"),
        (svg(""), "lines"),
        (svg(f'<path d="M0 0L900 900" {LINE}/>'), "closed area"),
        (svg(BOX, 'width="0" height="0"'), "width"),
        (svg('<path d="M0 0 L 1e300 1e300 L 5 900 Z" stroke="black"/>'), "finite"),
        (svg(BOX.replace("<rect", '<rect transform="scale(1e300)"')), "transform"),
        (b" " * (MAX_BYTES + 1), "MB"),
    ],
)
def test_files_from_strangers_are_refused_by_name(data, word):
    with pytest.raises(PictureError, match=f"(?i){word}") as caught:
        read_svg_drawing(data).regions()
    assert "\n" not in str(caught.value)


def test_use_in_circles_and_in_crowds_is_refused(monkeypatch):
    monkeypatch.setattr(
        svg_lines, "MAX_ELEMENTS", 500
    )  # so many of the 10^8 are walked through before the limit is met
    circle = svg('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>' + BOX)
    crowd = f'<g id="g0">{BOX}</g>'
    for i in range(1, 9):
        ten = f'<use href="#g{i - 1}"/>' * 10
        crowd += f'<g id="g{i}">{ten}</g>'
    for data in (circle, svg(crowd)):
        with pytest.raises(PictureError, match=r"elements|points"):
            read_svg_drawing(data)


def test_a_missing_file():
    with pytest.raises(PictureError, match="read"):
        read_svg_drawing("no-such-file.svg")
