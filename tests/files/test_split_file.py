"""The split file: schema, round trip, and what a schema cannot say."""

from __future__ import annotations

import json
from dataclasses import replace

import jsonschema
import pytest

from mockup.files.split_file import SCHEMA_FILE, read_split, split_schema, write_split
from mockup.geometry.path import polyline
from mockup.split.split import Anchor, Split, SplitEdge, SplitLine, SplitPanel, SplitView
from swatches.errors import FileFormatError

SQUARE = polyline([[0, 0], [100.1, 0], [100.1, 200 / 3], [0, 200 / 3]], close=True).to_tuples()


@pytest.fixture
def split() -> Split:
    line = SplitLine(
        "line-1", "yoke", SQUARE[:1], True, Anchor("side", "underarm", 50.8), Anchor("centre-front", "neck", 80)
    )
    panels = (SplitPanel("front-1", "yoke", SQUARE, "navy", 1), SplitPanel("front-2L", "side", SQUARE, None, 2, "left"))
    landmarks = {"underarm-left": (1.5, -2.25)}
    edges = (SplitEdge("side-left", SQUARE[1:2]),)
    return Split((SplitView("front", SQUARE, edges, landmarks, ((0.0, 0.0), (0.0, 1.0)), (line,), panels),))


def test_reading_gives_the_same_split(split):
    assert read_split(write_split(split).encode()) == split
    assert write_split(split) == write_split(split)


def test_what_is_written_is_what_the_schema_says(split):
    jsonschema.Draft202012Validator.check_schema(split_schema())
    jsonschema.validate(json.loads(write_split(split)), split_schema())


def test_the_start_of_an_anchor_is_called_from_as_the_design_says(split):
    anchor = json.loads(write_split(split))["views"][0]["lines"][0]["start"]
    assert anchor == {"edge": "side", "from": "underarm", "distance_mm": 50.8}


def test_the_schema_file_is_current():
    assert json.loads(SCHEMA_FILE.read_text(encoding="utf-8")) == split_schema()


def test_the_schema_refuses_another_unit(split):
    data = json.loads(write_split(split)) | {"unit": "in"}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.validate(data, split_schema())


def test_the_head_stands_first_so_that_people_see_what_it_is(split):
    assert write_split(split).startswith('{\n "format": "garment split",\n "version": 1,\n "unit": "mm",')


def test_a_panel_that_shows_in_both_views_is_one_panel(split):
    sleeve = SplitPanel("sleeve-1L", "sleeve", SQUARE, "navy", 3, "left", "sleeve")
    front = replace(split.views[0], panels=(*split.views[0].panels, sleeve))
    back = replace(split.views[0], name="back", lines=(), panels=(sleeve,))
    assert read_split(write_split(Split((front, back))).encode()).views[1].panels == (sleeve,)
    other = replace(back, panels=(replace(sleeve, fabric="mustard"),))
    with pytest.raises(FileFormatError, match="'sleeve-1L' twice"):
        read_split(write_split(Split((front, other))).encode())


def change(split: Split, path: tuple, value: object) -> bytes:
    data = json.loads(write_split(split))
    place = data
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    return json.dumps(data).encode()


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (("format",), "something", "garment split"),
        (("version",), 2, "Update this program"),
        (("version",), True, "version True"),
        (("unit",), "in", '"unit": "mm"'),
        (
            ("views", 0, "lines", 0, "start", "distance_mm"),
            "far",
            "views, no. 1, lines, no. 1, start, distance_mm: expected a number, got 'far'",
        ),
        (("views", 0, "lines", 0, "start", "distance_mm"), float("nan"), "finite"),
        (("views", 0, "landmarks", "underarm-left"), [1.0], "landmarks, underarm-left"),
        (("views", 0, "panels", 1, "id"), "front-1", "'front-1' twice"),
        (("views", 0, "panels", 1, "id"), "", "printable"),
        (("views", 0, "panels", 1, "id"), "a\nb", "printable"),
        (("views", 0, "outline"), [], "a path"),
        (("views", 0, "outline", 0, 3), [99.0, 0.0], "segments that meet"),
        (("views", 0, "panels", 0, "outline"), [list(map(list, c)) for c in SQUARE[:3]], "and close"),
    ],
)
def test_a_wrong_value_gets_one_sentence(split, path, value, said):
    with pytest.raises(FileFormatError, match=said) as caught:
        read_split(change(split, path, value))
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("data", [b"", b"[", b"[]", b"{}", b"null", b"[" * 200_000, b"\xff\xfe\x00", b'{"format": 3}'])
def test_no_split_at_all(data):
    with pytest.raises(FileFormatError):
        read_split(data)


def test_too_many_segments(split):
    long = [list(map(list, c)) for c in SQUARE] * 25_001
    with pytest.raises(FileFormatError, match="100,000 segments"):
        read_split(change(split, ("views", 0, "outline"), long))
