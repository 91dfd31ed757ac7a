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
    assert away.max() < 3
    assert len(found) > 500
    straight = np.abs(np.hypot(*((clicks()[0] + clicks()[1]) / 2 - 200)) - 120)
    assert straight > 10  # the chord would have been far off


def test_a_followed_edge_serves_as_an_outline():
    mask = cut_out(disc(), around=follow_edge(disc(), clicks(radius=121)))
    assert mask.alpha.sum() == pytest.approx(np.pi * 120**2, rel=0.02)


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
