"""What a person did to areas, done again on a new reading; stitching that is a seam; a project's areas and points."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from sewn_garments import GARMENTS, Sewn, yoked_tee

from mockup import journey
from mockup.garment.area_record import area_at, done, done_again, place_in
from mockup.garment.drawing import view_from_drawing
from mockup.garment.regions import find_regions
from mockup.garment.view import AreaEdit
from mockup.project import Project
from mockup.stylelines.panels import garment_panels
from swatches.errors import GeometryError, InputError, PictureError
from swatches.photo import png_bytes


def topstitched():
    """The tee's back without its yoke seam, but with two dashed lines: one where the seam was, one above the hem."""
    tee = yoked_tee()
    *strokes, yoke = tee.strokes
    hem = np.array([[-249.0, 640.0], [249.0, 640.0]])
    return Sewn(strokes, tee.points, tee.centre_mm, [], "back", [yoke, hem])


@pytest.fixture(scope="module")
def stitched():
    picture = topstitched().scan(k=0.8, width=2.0)
    found = view_from_drawing(picture, name="back", side="back", picture="back.png")
    parted = find_regions(picture, gap_px=found.gap_px, dashes_are_seams=True).labels
    return topstitched(), found, parted


def test_topstitching_parts_nothing_until_it_is_said_to_be_a_seam(stitched):
    garment, found, parted = stitched
    assert not found.view.sections
    assert len(np.unique(parted)) == len(np.unique(found.labels)) + 2
    (at,) = garment.to_px([[60.0, garment.dashed[0][45][1] + 4]], 0.8)
    made = done(found, AreaEdit("seam", (tuple(at),)), lambda: parted)
    assert {a.part for a in made.view.sections} == {"yoke", "section"}
    (seam,) = made.view.seams
    level = np.array([p for cubic in seam.path for p in cubic])[:, 1]
    want = garment.to_px(garment.dashed[0], 0.8)[:, 1]
    assert abs(level.mean() - want.mean()) < 3
    assert made.view.edits[-1].do == "seam"
    with pytest.raises(PictureError, match="stitching"):
        done(found, AreaEdit("seam", (tuple(garment.to_px([[0.0, 400.0]], 0.8)[0]),)), lambda: parted)


def test_edits_are_done_again_and_what_is_lost_is_told(stitched):
    _, found, parted = stitched
    x, y = place_in(found.view, "body")
    w = found.view.size[0]
    edits = (
        AreaEdit("split", ((0.0, y), (float(w), y))),
        AreaEdit("name", ((x, y - 60),), "upper back"),
        AreaEdit("join", ((x, y), (2.0, 2.0))),
    )
    made = done_again(found, edits, lambda: parted)
    assert made.view.area(area_at(made, (x, y - 60))).name == "upper back"
    assert len(made.view.sections) == 2
    assert made.view.edits == edits[:2]
    assert "areas joined" in made.warnings[-1]
    with pytest.raises(PictureError, match="inside the garment"):
        area_at(made, (float("nan"), 5.0))


@pytest.fixture
def project(tmp_path):
    (tmp_path / "pictures").mkdir()
    picture = png_bytes(GARMENTS["dress"].scan(k=0.6, width=2.0))
    return tmp_path, journey.put_drawing(tmp_path, Project("dress"), side="front", picture=picture)


def test_areas_names_and_points_survive_a_second_reading(project):
    folder, made = project
    made = journey.edit_areas(
        folder, made, "front", AreaEdit("name", (place_in(made.view("front"), "skirt"),), "pleated skirt")
    )
    x, y = made.view("front").landmarks["underarm-left"]
    made = journey.move_point(made, "front", "underarm-left", (x, y + 15))
    made = journey.measure(made, "front", "centre-front", "935mm")
    before = made.view("front")
    again = journey.read_again(folder, made, "front", gap_px=before.reading.gap_px * 1.3)
    after = again.view("front")
    assert after.area("skirt").name == "pleated skirt"
    assert after.reading.gap_given
    assert not after.reading.line_given
    assert after.landmarks["underarm-left"] == pytest.approx(before.landmarks["underarm-left"], abs=1)
    assert after.mm_per_px == before.mm_per_px
    assert after.scale_measured
    # the same drawing laid in again is another reading too
    same = journey.put_drawing(folder, again, side="front", picture=(folder / "pictures" / "front.png").read_bytes())
    assert same.view("front").area("skirt").name == "pleated skirt"
    joined = journey.join_areas(folder, same, "front", ["body"])
    assert not joined.view("front").sections
    with pytest.raises(InputError, match="view"):
        journey.read_again(folder, joined, "back")
    with pytest.raises(GeometryError, match="order"):
        journey.move_point(joined, "front", "underarm-left", joined.view("front").landmarks["shoulder-right"])


def test_another_drawing_in_its_place_begins_anew(project):
    folder, made = project
    named = AreaEdit("name", (place_in(made.view("front"), "skirt"),), "pleated skirt")
    made = journey.edit_areas(folder, made, "front", named)
    other = png_bytes(GARMENTS["shirt"].scan(k=0.6, width=2.0))
    fresh = journey.put_drawing(folder, made, side="front", picture=other).view("front")
    assert fresh.edits == ()
    assert {a.part for a in fresh.sections} == {"half", "placket"}


def test_a_photo_is_read_again_from_its_outline_only(project):
    folder, made = project
    photo = replace(made.view("front"), name="photo", kind="photo")
    with pytest.raises(InputError, match="photo"):
        journey.read_again(folder, made.put_view(photo), "photo")


def test_parts_of_a_photo_are_areas_of_their_own_and_outlive_a_dab(tmp_path):
    """A sleeveless body in a photo: a collar parted by a stroke and named stays over the next dab."""
    (tmp_path / "pictures").mkdir()
    photo = np.full((420, 360, 3), (190, 200, 210), np.uint8)
    cv2.fillPoly(photo, [np.array([[110, 60], [250, 60], [270, 360], [90, 360]])], (120, 40, 50))
    noisy = np.clip(photo + np.random.default_rng(0).normal(0, 3, photo.shape), 0, 255).astype(np.uint8)
    ring = [(95, 45), (265, 45), (290, 375), (70, 375)]
    made = journey.put_photo(tmp_path, Project("x"), png_bytes(noisy), around=ring)
    made = journey.edit_areas(tmp_path, made, "photo", AreaEdit("split", ((90.0, 110.0), (270.0, 110.0))))
    made = journey.edit_areas(tmp_path, made, "photo", AreaEdit("name", ((180.0, 80.0),), "collar", "collar"))
    view = made.view("photo")
    assert [a.part for a in view.areas] == ["body", "collar"]
    assert not view.sections
    assert min(p[1] for cubic in view.body.outline for p in cubic) == pytest.approx(110, abs=3)
    dabbed = journey.dab(tmp_path, made, drop=[[(180.0, 352.0), (190.0, 352.0)]]).view("photo")
    assert {a.name for a in dabbed.areas} == {"body", "collar"}
    assert dabbed.edits == view.edits
    assert {p.part for p in garment_panels([dabbed], [])["photo"]} == {"body", "collar"}
