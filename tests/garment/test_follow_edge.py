"""Following an edge: a circle from six clicks, and bad clicks."""

import cv2
import numpy as np
import pytest

from mockup.garment.follow_edge import follow_edge
from mockup.garment.mask import cut_out
from swatches.errors import PictureError


def disc(size=400, radius=120):
    y, x = np.mgrid[0:size, 0:size] + 0.5
    picture = np.full((size, size, 3), (190, 200, 210), np.uint8)
    picture[np.hypot(x - size / 2, y - size / 2) < radius] = (120, 30, 40)
    return cv2.GaussianBlur(picture, (0, 0), 0.8)


def clicks(n=6, size=400, radius=120):
    a = np.arange(n) * 2 * np.pi / n
    return np.stack([size / 2 + radius * np.cos(a), size / 2 + radius * np.sin(a)], 1)


def test_six_clicks_follow_a_circle():
    found = follow_edge(disc(), clicks())
    away = np.abs(np.hypot(*(found - 200).T) - 120)
    assert away.max() < 3.2  # the softened edge is about as wide: within it one way is as good as another
    assert len(found) > 500
    straight = np.abs(np.hypot(*((clicks()[0] + clicks()[1]) / 2 - 200)) - 120)
    assert straight > 10  # the chord would have been far off


def test_a_followed_edge_serves_as_an_outline():
    mask = cut_out(disc(), edge=follow_edge(disc(), clicks(radius=121)))
    assert mask.alpha.sum() == pytest.approx(np.pi * 120**2, rel=0.02)


def test_what_is_pressed_is_meant_before_a_ground_of_the_same_colour_with_a_strong_pattern():
    """The disc's ground is nearly its own colour but full of dark rings: a hand presses its true edge within 2 px."""
    picture = disc()
    y, x = np.mgrid[0:400, 0:400] + 0.5
    inside = np.hypot(x - 200, y - 200) < 120
    rings = np.abs(np.hypot(x % 40 - 20, y % 40 - 20) - 13) < 3
    picture[~inside] = (136, 44, 54)
    picture[rings & ~inside] = (20, 60, 30)
    pressed = clicks(12) + np.random.default_rng(5).uniform(-1.4, 1.4, (12, 2))
    led = follow_edge(picture, pressed)
    assert np.abs(np.hypot(*(led - 200).T) - 120).max() < 8
    found = cut_out(picture, edge=led).alpha > 0.5
    assert (found & inside).sum() / (found | inside).sum() > 0.97


def test_an_open_row_ends_at_its_ends():
    points = clicks()[:3]
    found = follow_edge(disc(), points, close=False)
    assert np.array_equal(found[0], points[0])
    assert np.array_equal(found[-1], points[-1])


@pytest.mark.parametrize(
    "points", [[], [(5, 5)], [(5, 5), (9, 9)], [(0, 0), (5, 5), (900, 0)], [(0, 0), (1, 1), (np.nan, 2)]]
)
def test_bad_clicks(points):
    with pytest.raises(PictureError, match="points"):
        follow_edge(disc(), points)
