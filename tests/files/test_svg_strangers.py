"""Files from strangers that are no pieces in SVG, or would do harm: one sentence each."""

from __future__ import annotations

import pytest

from mockup.files import svg, svg_drawing, svg_path
from swatches.errors import FileFormatError

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="400mm" viewBox="0 0 400 400">'


def drawing(body: str, head: str = HEAD) -> bytes:
    return f"{head}{body}</svg>".encode()


BILLION = "".join(f'<!ENTITY a{i} "{f"&a{i - 1};" * 10}">' for i in range(1, 10))
USES = "".join(f'<g id="u{i}">{f"""<use href="#u{i - 1}"/>""" * 10}</g>' for i in range(1, 12))
HOSTILE = {
    "doctype": (f'<!DOCTYPE svg PUBLIC "x" "http://example.org/x.dtd">{HEAD}</svg>'.encode(), "DOCTYPE"),
    "entities": (f'<!DOCTYPE svg [<!ENTITY a0 "x">{BILLION}]>{HEAD}&a9;</svg>'.encode(), "DOCTYPE"),
    "script": (drawing("<script>alert(1)</script>"), "<script>"),
    "handler": (drawing('<rect width="50" height="50" onclick="x()"/>'), "event handler"),
    "root handler": (drawing("", HEAD.replace("<svg", '<svg onload="x()"')), "event handler"),
    "link outside": (drawing('<use href="http://example.org/a.svg#b"/>'), "outside the file"),
    "picture": (drawing("<image/>"), "<image>"),
    "xlink": (drawing('<use xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="file:///etc/passwd"/>'), "outside"),
    "style": (drawing('<style>@import "http://example.org/a.css";</style>'), "loads from outside"),
    "style url": (drawing('<rect style="fill:url(http://example.org/x)" width="9" height="9"/>'), "outside the file"),
    "foreign": (drawing("<foreignObject><p>hi</p></foreignObject>"), "<foreignObject>"),
    "use in a circle": (drawing('<g id="a"><use href="#a"/></g>'), "in circles"),
    "use without end": (
        drawing(f'<defs><rect id="u0" width="9" height="9"/>{USES}</defs><use href="#u11"/>'),
        "(in circles|segments)",
    ),
    "deep": (drawing("<g>" * 3000 + "</g>" * 3000), "nested"),
    "nan": (drawing('<path d="M 0 0 L nan 3 L 50 50 Z"/>'), "character 'n'"),
    "infinite": (drawing('<path d="M 0 0 L 1e999 3 L 50 50 Z"/>'), "finite"),
    "infinite transform": (
        drawing('<g transform="scale(1e300)"><rect width="1e300" height="9"/></g>'),
        "transform in numbers",
    ),
    "flat transform": (drawing('<g transform="scale(0)"><rect width="90" height="9"/></g>'), "transform"),
    "no unit": (drawing("", HEAD.replace("mm", "")), "with a unit"),
    "two scales": (drawing("", HEAD.replace('height="400mm"', 'height="300mm"')), "one scale both ways"),
    "open": (drawing('<path d="M 0 0 L 90 0 L 90 80"/>'), "closed outline"),
    "nothing": (drawing("<title>empty</title>"), "no outline at all"),
    "crossing": (drawing('<path d="M 0 0 L 90 90 L 90 0 L 0 90 Z"/>'), "cross or touch"),
    "touching": (
        drawing('<path d="M 0 0 L 40 0 L 40 40 L 80 40 L 80 80 L 40 80 L 40 40 L 0 40 Z"/>'),
        "cross or touch",
    ),
    "no area": (drawing('<path d="M 0 0 L 90 0 L 0 0 Z"/>'), "cross or touch"),
    "inside": (
        drawing('<rect width="90" height="90"/><rect x="9" y="9" width="9" height="9"/>'),
        "one inside the other",
    ),
    "twice": (drawing('<rect width="90" height="90"/><rect width="90" height="90"/>'), "the other"),
    "across": (drawing('<rect width="90" height="90"/><rect x="50" width="90" height="90"/>'), "one across the other"),
    "3 mm": (drawing('<rect width="3" height="3"/>'), "between 5 mm and 3 m"),
    "too wide": (drawing('<rect width="3500" height="30"/>'), "between 5 mm and 3 m"),
    "segments": (
        drawing('<path d="M0 0' + "".join(f"L{i % 300} {i % 7}" for i in range(1_010)) + '"/>'),
        "at most 1,000 segments",
    ),
    "percent": (drawing('<rect width="50%" height="50%"/>'), "lengths in numbers"),
    "not xml": (b"\x89PNG\r\n\x1a\n", "an SVG file"),
    "empty": (b"", "an SVG file"),
    "another xml": (b"<html/>", "<html>"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_files_of_strangers_get_one_sentence(name, monkeypatch):
    data, said = HOSTILE[name]
    for module in (svg_drawing, svg_path):  # the real limit is met in tests/files/test_reading.py
        assert module.MAX_SEGMENTS == 100_000
        monkeypatch.setattr(module, "MAX_SEGMENTS", 1_000)
    with pytest.raises(FileFormatError, match=said) as caught:
        svg.read_pieces(data)
    text = str(caught.value)
    assert "\n" not in text
    assert len(text) < 420
    assert text.endswith(".")


def test_a_large_file_is_refused_before_it_is_read(tmp_path):
    path = tmp_path / "large.svg"
    path.write_bytes(b" " * 12_000_001)
    with pytest.raises(FileFormatError, match="at most 12 MB"):
        svg.read_pieces(path)


def test_a_missing_file_is_named(tmp_path):
    with pytest.raises(FileFormatError, match=r"gone\.svg"):
        svg.read_pieces(tmp_path / "gone.svg")
