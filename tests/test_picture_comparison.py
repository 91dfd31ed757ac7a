"""The comparison of pictures can fail, and then leaves what is needed to see why."""

import numpy as np
import pytest
from PIL import Image


def test_it_passes_on_the_same_picture_and_on_a_shift_of_a_grey_value(same_picture, tmp_path):
    picture = np.full((60, 80, 3), 200, dtype=np.uint8)
    picture[20:40, 20:60] = (30, 60, 90)
    Image.fromarray(picture).save(tmp_path / "one.png")
    same_picture(picture, "one", baseline=tmp_path)
    same_picture(picture - 1, "one", baseline=tmp_path)


def test_it_fails_on_a_moved_shape_and_saves_three_pictures(same_picture, tmp_path):
    picture = np.full((60, 80, 3), 200, dtype=np.uint8)
    picture[20:40, 20:60] = (30, 60, 90)
    Image.fromarray(picture).save(tmp_path / "one.png")
    moved = np.roll(picture, 6, axis=1)
    with pytest.raises(pytest.fail.Exception, match="mean difference"):
        same_picture(moved, "one", baseline=tmp_path)
    assert sorted(p.name for p in (tmp_path / "difference").iterdir()) == [
        "one-difference.png",
        "one-expected.png",
        "one-got.png",
    ]


def test_it_fails_on_another_size(same_picture, tmp_path):
    Image.fromarray(np.zeros((10, 10, 3), dtype=np.uint8)).save(tmp_path / "one.png")
    with pytest.raises(pytest.fail.Exception, match="expected"):
        same_picture(np.zeros((10, 11, 3), dtype=np.uint8), "one", baseline=tmp_path)
