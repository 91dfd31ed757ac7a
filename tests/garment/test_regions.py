"""Areas of line drawings, on the tests' own random drawings (truth known) and on bad input."""

import cv2
import numpy as np
import pytest
from random_drawings import random_drawing, region_scores
from scipy import ndimage

from mockup.garment.regions import find_regions
from swatches.errors import PictureError


def boxes(h=300, w=400):
    """Two boxes side by side, sharing a line; lines 3 px wide, black on white, their middles at 61.5, 201.5, 341.5."""
    picture = np.full((h, w), 255, np.uint8)
    for x in (60, 200, 340):
        picture[50:253, x : x + 3] = 0
    for y in (50, 250):
        picture[y : y + 3, 60:343] = 0
    return picture


def check_reach(seeds):
    """Our aim: mean IoU ≥ 0.95, each ≥ 0.88, no leak, count ≤ 1.2 × true (over the set)."""
    scores = []
    for seed in seeds:
        drawing = random_drawing(seed)
        found = find_regions(drawing.picture)
        score = region_scores(found.labels, drawing)
        assert score["leaks"] == 0, (seed, drawing.kind, score)
        assert score["iou"] >= 0.88, (seed, drawing.kind, score)
        scores.append(score)
    assert np.mean([s["iou"] for s in scores]) >= 0.95
    assert np.mean([s["count_ratio"] for s in scores]) <= 1.2


def test_random_degraded_drawings():
    check_reach((100, 101, 102, 103))


@pytest.mark.slow
def test_sixteen_random_degraded_drawings():
    check_reach(range(200, 216))


def test_plain_connected_components_leak_where_the_ball_does_not():
    """The generator's gaps are real: the plain method must fail on them, or the test above shows nothing."""
    drawing = random_drawing(100)
    grey = cv2.cvtColor(drawing.picture, cv2.COLOR_RGB2GRAY)
    ink = cv2.adaptiveThreshold(grey, 1, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY, 41, 12)
    _, plain = cv2.connectedComponents(ink, connectivity=4)
    assert region_scores(plain, drawing)["leaks"] > 0


def test_borders_lie_on_the_middle_of_the_lines():
    """Reach: border to true line centre, mean ≤ 0.75 px; nothing unlabelled inside."""
    drawing = random_drawing(7, kind="tee", side="front", clean=True, size=900)
    labels = find_regions(drawing.picture).labels
    edge = labels != np.roll(labels, 1, 0)
    edge[0] = False
    y, x = np.nonzero(edge)
    border = np.stack([x + 0.5, y], 1)  # between two rows
    fine = np.full((labels.shape[0] * 2, labels.shape[1] * 2), 1, np.uint8)
    for stroke in drawing.strokes:
        cv2.polylines(fine, [np.round((stroke * 2 - 0.5) * 16).astype(np.int32)], False, 0, 1, shift=4)
    away = cv2.distanceTransform(fine, cv2.DIST_L2, cv2.DIST_MASK_PRECISE) / 2
    at = np.clip((border * 2).astype(int), 0, np.array(fine.shape[::-1]) - 1)
    distance = away[at[:, 1], at[:, 0]]
    assert distance.mean() <= 0.75
    assert not ((labels == 0) & ndimage.binary_erosion(drawing.truth > 0, iterations=6)).any()


def test_two_boxes_and_their_sizes():
    found = find_regions(boxes())
    assert found.count == 2
    areas = np.bincount(found.labels.ravel())[1:]
    assert np.allclose(areas, 140 * 200, rtol=0.02)  # by the line centres
    assert abs(found.line_width_px - 3) <= 1


def test_the_same_picture_gives_the_same_labels():
    picture = random_drawing(3, size=700).picture
    assert np.array_equal(find_regions(picture).labels, find_regions(picture).labels)


def test_a_gap_is_closed_up_to_the_given_size_and_open_beyond():
    picture = boxes()
    picture[140:152, 195:206] = 255
    assert find_regions(picture, gap_px=16).count == 2
    assert find_regions(picture, gap_px=6).count == 1


def test_dashed_topstitching_does_not_split_unless_it_is_a_seam():
    picture = boxes()
    for x in range(64, 336, 14):
        cv2.line(picture, (x, 220), (x + 8, 220), 0, 2)
    assert find_regions(picture).count == 2
    assert find_regions(picture).topstitched
    assert find_regions(picture, dashes_are_seams=True).count == 4


def test_solid_black_areas_are_not_hollow():
    picture = boxes()
    picture[52:250, 62:200] = 0
    found = find_regions(picture)
    assert found.count <= 2
    assert found.labels[150, 130] == found.labels[150, 70]


def test_light_lines_on_dark_paper():
    found = find_regions(255 - boxes())
    assert found.count == 2
    assert any("dark" in w for w in found.warnings)


def test_pencil_on_grey_paper_in_a_shadow():
    """Lines of 15 % contrast under light that falls by half across the sheet."""
    picture = boxes(600, 800).astype(float)
    picture = 220 * (1 - 0.15 * (picture < 128)) * np.linspace(1, 0.5, 800)[None]
    assert find_regions(picture.astype(np.uint8)).count == 2


def test_large_pictures_keep_their_size():
    picture = cv2.resize(boxes(), (4000, 3000), interpolation=cv2.INTER_LINEAR)
    found = find_regions(picture)
    assert found.labels.shape == found.ink.shape == (3000, 4000)
    assert found.count == 2
    assert found.line_width_px == pytest.approx(30, rel=0.2)


@pytest.mark.parametrize(
    ("picture", "word"),
    [
        (np.full((1, 1, 3), 255, np.uint8), "at least"),
        (np.full((200, 200, 3), 255, np.uint8), "blank"),
        (np.zeros((0, 0, 3), np.uint8), "picture"),
        (np.zeros((50, 50), np.float64), "picture"),
        ("not a picture", "picture"),
    ],
)
def test_bad_pictures_get_one_sentence(picture, word):
    with pytest.raises(PictureError, match=word) as caught:
        find_regions(picture)
    assert "\n" not in str(caught.value)


def test_an_open_line_closes_nothing():
    picture = np.full((300, 300), 255, np.uint8)
    cv2.line(picture, (50, 150), (250, 150), 0, 3)
    with pytest.raises(PictureError, match=r"no closed area.*gaps up to \d+ px were taken as closed already"):
        find_regions(picture)


def test_a_gap_wider_than_estimated_is_closed_with_a_warning():
    picture = boxes()
    for x in (100, 300):
        picture[50:53, x : x + 18] = 255  # the estimate is 12
    found = find_regions(picture)
    assert found.count == 2
    assert any("gaps" in w for w in found.warnings)


@pytest.mark.parametrize("gap", [0, -3, float("nan"), 1e9])
def test_impossible_gaps(gap):
    with pytest.raises(PictureError, match="gap"):
        find_regions(boxes(), gap_px=gap)


def test_a_garment_cut_off_by_the_edge_is_told():
    picture = boxes()[:200]
    assert any("edge" in w for w in find_regions(picture).warnings)
