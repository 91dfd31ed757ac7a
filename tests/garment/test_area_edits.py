"""Joining, dividing and naming areas, and names over a re-run."""

import numpy as np
import pytest
from random_drawings import random_drawing

from mockup.garment.area_edits import keep_names, merge_areas, name_area, split_area
from mockup.garment.drawing import view_from_drawing
from mockup.geometry import path as paths
from swatches.errors import PictureError


@pytest.fixture(scope="module")
def dress():
    drawing = random_drawing(31, kind="dress", side="back", size=900, clean=True)
    return view_from_drawing(drawing.picture, name="back", side="back", picture="b.png")


def size(drawn, ident):
    return int((drawn.labels == drawn.view.area(ident).label).sum())


def test_bodice_and_skirt_joined_make_a_body_with_armholes(dress):
    assert [a.part for a in dress.view.found_areas] == ["bodice", "skirt"]
    joined = merge_areas(dress, ["bodice", "skirt"])
    assert [a.id for a in joined.view.areas] == ["body"]
    assert not joined.view.sections
    assert not joined.view.seams
    assert size(joined, "body") == (dress.labels > 0).sum()
    assert {"neck", "shoulder-left", "armhole-left", "side-left", "hem"} <= {e.name for e in joined.view.edges}
    outline = paths.from_tuples(joined.view.body.outline)
    assert abs(paths.signed_area(outline)) == pytest.approx(size(joined, "body"), rel=0.01)


def test_a_stroke_divides_an_area(dress):
    left, top, right, bottom = paths.bounds(paths.from_tuples(dress.view.body.outline))
    y = top + 0.8 * (bottom - top)
    divided = split_area(dress, "body", [(left + 5, y), (right - 5, y)])
    assert len(divided.view.sections) == 3
    assert len(divided.view.seams) == 2
    assert len({a.id for a in divided.view.found_areas}) == 3
    assert (divided.labels > 0).sum() == (dress.labels > 0).sum()
    assert divided.view.body.outline == dress.view.body.outline
    new = next(a.id for a in divided.view.sections if a.id not in {"bodice", "skirt"})
    back = merge_areas(divided, ["skirt", new])
    assert np.array_equal(back.labels > 0, dress.labels > 0)
    assert size(back, "skirt") == size(dress, "skirt")
    assert [s.name for s in back.view.seams] == [s.name for s in dress.view.seams]


def test_names(dress):
    drawn = name_area(dress, "skirt", "  the  skirt ")
    assert drawn.view.area("skirt").name == "the skirt"
    for bad in ("", "x" * 61, "a\x00b"):
        with pytest.raises(PictureError, match="name"):
            name_area(dress, "body", bad)
    with pytest.raises(PictureError, match="part"):
        name_area(dress, "body", "hat", part="hat")


def test_an_area_that_is_said_to_be_no_body_leaves_it(dress):
    apart = name_area(dress, "skirt", "apron", part="area")
    assert not apart.view.sections
    assert apart.view.area("skirt").name == "apron"
    assert size(apart, "body") == size(dress, "bodice")
    with pytest.raises(PictureError, match="stay the body"):
        name_area(apart, "body", "hat", part="sleeve")
    back = name_area(apart, "skirt", "skirt", part="skirt")
    assert {a.part for a in back.view.sections} == {"bodice", "skirt"}


def test_names_survive_a_second_reading(dress):
    named = name_area(dress, "bodice", "top of the dress", part="yoke").view
    again = view_from_drawing(dress.picture, name="back", side="back", picture="b.png", gap_px=30)
    kept = keep_names(again, named, dress.labels)
    found = kept.view.area("bodice")
    assert (found.name, found.part) == ("top of the dress", "yoke")
    smaller = keep_names(again, named, dress.labels[::2, ::2])
    assert smaller.view.area("bodice").name == "top of the dress"


@pytest.mark.parametrize(
    ("work", "word"),
    [
        (lambda d: merge_areas(d, ["skirt"]), "two"),
        (lambda d: merge_areas(d, ["body", "hat"]), "one of"),
        (lambda d: split_area(d, "hat", [(0, 0), (5, 5)]), "one of"),
        (lambda d: split_area(d, "body", [(0, 0), (5, 5)]), "divides"),
        (lambda d: split_area(d, "body", [(0, 0)]), "two points"),
    ],
)
def test_edits_that_cannot_be(dress, work, word):
    with pytest.raises(PictureError, match=word):
        work(dress)


def test_areas_that_do_not_touch():
    drawing = random_drawing(11, kind="tee", side="back", size=900, clean=True)
    drawn = view_from_drawing(drawing.picture, name="back", side="back", picture="b.png")
    with pytest.raises(PictureError, match="touch"):
        merge_areas(drawn, ["sleeve-left", "sleeve-right"])
