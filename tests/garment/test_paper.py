"""Drawings on the paper that people have: ruled, squared, coloured, in a hard shadow, on a table, in pencil."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from random_drawings import random_drawing, region_scores

from mockup.garment.page import without_table
from mockup.garment.regions import find_regions

WHITE = np.array([245, 243, 235])


@pytest.fixture(scope="module")
def tee():
    return random_drawing(11, kind="tee", side="front", clean=True, size=1000)


def inked(tee, paper, depth=0.85, seed=0):
    ink = (255 - tee.picture[..., :1]).astype(np.float32) / 255
    noise = np.random.default_rng(seed).normal(0, 3, (*ink.shape[:2], 3))
    return np.clip(paper * (1 - np.asarray(depth) * ink) + noise, 0, 255).astype(np.uint8)


def ruled(h, w):
    paper = np.ones((h, w, 3)) * WHITE
    for y in range(30, h, 45):
        paper[y : y + 2] *= (0.72, 0.82, 0.92)
    paper[:, 60:62] *= (0.95, 0.6, 0.6)
    return paper


def squared(h, w):
    paper = np.ones((h, w, 3)) * WHITE
    for at in range(10, max(h, w), 25):
        paper[at : at + 1] *= 0.8
        paper[:, at : at + 1] *= 0.8
    return paper


def shadowed(h, w):
    shade = np.ones((h, w), np.float32)
    cv2.fillPoly(shade, [np.array([[0, h // 2], [w // 3, h // 3], [w // 2, h], [0, h]])], 0.55)
    return cv2.GaussianBlur(shade, (0, 0), 2)[..., None] * WHITE


@pytest.mark.parametrize(
    ("paper", "depth"),
    [
        (ruled, 0.85),
        (squared, 0.85),
        (shadowed, 0.85),
        (lambda h, w: np.ones((h, w, 3)) * (170, 130, 90), 0.8),  # brown wrapping paper
        (lambda h, w: np.ones((h, w, 3)) * (240, 190, 200), (0.85, 0.7, 0.25)),  # blue pen on pink
        (lambda h, w: np.ones((h, w, 3)) * WHITE, 0.22),  # pencil
    ],
)
def test_papers(tee, paper, depth):
    score = region_scores(find_regions(inked(tee, paper(*tee.truth.shape), depth)).labels, tee)
    assert score["leaks"] == 0
    assert score["iou"] > 0.97
    assert score["count_ratio"] == 1


def on_a_table(tee, degrees=3.0, rim=180):
    h, w = tee.truth.shape
    rng = np.random.default_rng(1)
    table = np.ones((h + 2 * rim, w + 2 * rim, 3), np.float32) * (60, 42, 30)
    table += cv2.GaussianBlur(rng.normal(0, 60, table.shape).astype(np.float32), (0, 0), 3)
    turn = cv2.getRotationMatrix2D((w / 2, h / 2), degrees, 1)
    turn[:, 2] += rim
    size = table.shape[1::-1]
    on = cv2.warpAffine(np.ones((h, w), np.float32), turn, size)[..., None]
    page = cv2.warpAffine(inked(tee, np.ones((h, w, 3)) * WHITE).astype(np.float32), turn, size)
    truth = cv2.warpAffine(tee.truth, turn, size, flags=cv2.INTER_NEAREST)
    return np.clip(table * (1 - on) + page * on, 0, 255).astype(np.uint8), truth


def test_a_sheet_on_a_dark_table(tee):
    picture, truth = on_a_table(tee)
    score = region_scores(find_regions(picture).labels, replace(tee, truth=truth))
    assert score["leaks"] == 0
    assert score["iou"] > 0.97
    assert score["count_ratio"] == 1


def test_a_scan_without_a_table_is_left_alone(tee):
    grey = tee.picture[..., 0]
    assert without_table(grey) is grey
    dark = np.asarray(255 - grey)
    assert without_table(dark) is dark


def test_faint_folds_of_a_drawing_are_not_ruling(tee):
    """Pale strokes inside the garment stay ink: only what runs to the rims is the paper's own."""
    picture = tee.picture.copy()
    y, x = np.argwhere(tee.truth == next(k for k, v in tee.names.items() if v == "body")).mean(0).astype(int)
    picture[y - 60 : y + 60, x : x + 3] = 150
    assert find_regions(picture).ink[y, x + 1] > 0.3


def photographed_ruled(tee, depth=0.5):
    """A pencil drawing on blue-ruled paper with a red margin, askew on a table, in a slanting light."""
    h, w = tee.truth.shape
    paper = np.ones((h, w, 3)) * WHITE
    for y in range(30, h, 45):
        paper[y : y + 2] *= (0.70, 0.82, 1.0)  # as dark as a lightly pressed pencil
    paper[:, 60:62] *= (1.0, 0.65, 0.68)
    page = inked(tee, paper, depth).astype(np.float32)
    rim = 150
    table = np.ones((h + 2 * rim, w + 2 * rim, 3), np.float32) * (80, 60, 44)
    size = table.shape[1::-1]
    near = np.array([[0, 0], [w, 0], [w, h], [0, h]], np.float32)
    far = near + rim + np.array([[20, 35], [-25, -20], [30, 15], [-15, -30]], np.float32)
    view = cv2.getPerspectiveTransform(near, far)
    on = cv2.warpPerspective(np.ones((h, w), np.float32), view, size)[..., None]
    light = np.linspace(0.65, 1.0, size[0], dtype=np.float32)[None, :, None]
    picture = (table * (1 - on) + cv2.warpPerspective(page, view, size) * on) * light
    truth = cv2.warpPerspective(tee.truth, view, size, flags=cv2.INTER_NEAREST)
    return np.clip(picture, 0, 255).astype(np.uint8), truth


def test_coloured_ruling_of_a_sheet_on_a_table(tee):
    picture, truth = photographed_ruled(tee)
    found = find_regions(picture)
    score = region_scores(found.labels, replace(tee, truth=truth))
    assert score["leaks"] == 0
    assert score["iou"] > 0.97
    assert score["count_ratio"] == 1
    assert any("coloured lines of the paper" in w for w in found.warnings)


def test_a_drawing_in_blue_is_not_ruling(tee):
    """Nothing drawn is left out where all of it, or its pleats only, are in a colour."""
    blue = inked(tee, np.ones((*tee.truth.shape, 3)) * WHITE, (0.9, 0.7, 0.05))
    pleated = tee.picture.copy()
    y, x = np.argwhere(tee.truth == next(k for k, v in tee.names.items() if v == "body")).mean(0).astype(int)
    for at in range(-60, 61, 20):
        pleated[y - 60 : y + 60, x + at : x + at + 3] = (30, 60, 250)
    for picture in (blue, pleated):
        assert not any("coloured lines" in w for w in find_regions(picture).warnings)


def test_a_thick_marker_keeps_small_areas():
    """Lines of 16 px are closed; gaps four times as wide would swallow a collar of 60 px (drawn here)."""
    picture = np.full((1200, 1000, 3), 255, np.uint8)
    for box in ((200, 200, 800, 1000), (420, 200, 580, 270), (250, 700, 330, 790), (860, 300, 940, 700)):
        cv2.rectangle(picture, box[:2], box[2:], (0, 0, 0), 16)
    found = find_regions(picture)
    assert found.line_width_px == pytest.approx(16, abs=1.5)
    assert found.count == 4
