"""Panels of a body that has seams already: a seam parts panels and is no new one; lines run over it."""

from dataclasses import replace

import numpy as np
import pytest
from sewn_garments import GARMENTS

from mockup.garment.drawing import view_from_drawing
from mockup.garment.picture_svg import read_svg_drawing
from mockup.garment.scale import set_measure
from mockup.geometry import path as paths
from mockup.stylelines import presets
from mockup.stylelines.masks import panel_masks
from mockup.stylelines.panels import garment_panels
from mockup.stylelines.to_split import make_split


def drawn(name):
    garment = GARMENTS[name]
    found = view_from_drawing(read_svg_drawing(garment.svg()), name=garment.side, side=garment.side, picture="x.png")
    return found, set_measure(found.view, f"centre-{garment.side}", garment.centre_mm)


@pytest.fixture(scope="module")
def dress():
    return drawn("dress")


def area_mm2(view, panel):
    return abs(paths.signed_area(view.path_to_mm(panel.outline)))


def test_a_waist_seam_parts_two_panels_and_makes_no_line(dress):
    found, view = dress
    panels = garment_panels([view], [])["front"]
    assert {p.id: p.name for p in panels if p.part == "body"} == {"front-1": "front bodice", "front-2": "front skirt"}
    split = make_split([view], [], {"front": panels})
    assert split.views[0].lines == ()
    assert len(split.views[0].panels) == len(panels)
    masks = panel_masks(view, panels, found.labels)
    assert np.allclose(sum(masks[i] for i in masks), found.labels > 0, atol=1e-6)
    bodice = next(a for a in view.sections if a.part == "bodice")
    assert masks["front-1"].sum() == pytest.approx((found.labels == bodice.label).sum(), rel=0.002)


def test_a_line_runs_across_a_seam_that_is_there(dress):
    _, view = dress
    before = sum(area_mm2(view, p) for p in garment_panels([view], [])["front"] if p.part == "body")
    lines = presets.side_panel(view, 120.0, 240.0)
    panels = [p for p in garment_panels([view], lines)["front"] if p.part == "body"]
    assert len(panels) == 6
    assert sum(area_mm2(view, p) for p in panels) == pytest.approx(before, rel=1e-6)
    assert {p.side for p in panels} == {None, "left", "right"}


def test_fronts_are_twins_beside_their_placket():
    _, view = drawn("shirt")
    panels = {p.id: p for p in garment_panels([view], [])["front"]}
    assert panels["front-2L"].twin == "front-2R"
    assert panels["front-1"].name == "front placket"
    # drawn 34 mm wide from neck to hem, 687 mm: the area is that of the strip, but for the curves at its ends
    assert area_mm2(view, panels["front-1"]) == pytest.approx(34 * 687, rel=0.01)


def test_seams_go_over_to_a_photo_with_ids_and_names(dress):
    _, view = dress
    photo = replace(view, name="photo", kind="photo", sections=(), seams=(), labels="", turn_deg=60.0)
    panels = garment_panels([view, photo], [])
    drawing, seen = panels["front"], panels["photo"]
    assert [(p.id, p.name, p.number) for p in seen] == [(p.id, p.name, p.number) for p in drawing]
    assert sum(area_mm2(photo, p) for p in seen) == pytest.approx(sum(area_mm2(view, p) for p in drawing), rel=1e-4)
