"""The ``d`` of SVG paths: read into cubics and written from them.

Only the letters and numbers of SVG 2 path data (https://www.w3.org/TR/SVG2/paths.html) are let in. Arcs become cubics
of at most 1/16 turn, which keeps a circle within 7e-8 of its radius (the radial error of the usual cubic arc falls with
the sixth power of its angle; 2.7e-4 for a quarter turn).
"""

from __future__ import annotations

import math
import re

import numpy as np
import svgelements

from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from swatches.errors import FileFormatError

MAX_SEGMENTS = 100_000
_ALLOWED = re.compile(r"[MmZzLlHhVvCcSsQqTtAaEe\d.,+\-\s]*\Z")
_NUMBER = re.compile(r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_SIXTEENTH = math.tau / 16
_DECIMALS = 9  # of a mm: no rounding that any sum could show, and short numbers stay short
_FLIP = np.array([[1.0, 0.0, 0.0], [0.0, -1.0, 0.0]])


def path_from_d(text: str, *, what: str = "line") -> Path:
    """Read one connected line as it is typed after ``--line``: SVG path data in mm, y down.

    Args:
        text: path data, such as ``M -10 150 L 210 150``.
        what: the argument's name for the error message.

    Returns:
        The path in mm, **y up**: every y is negated, as :mod:`mockup.files.svg` does with a whole file.

    Raises:
        FileFormatError: no path data, more than one line, or no length.
    """
    found = subpaths(text, what=what)
    if len(found) != 1:
        raise FileFormatError(
            what,
            expected="one connected line",
            got=f"{len(found)} lines" if found else "a line without length",
            next_step="Type it like M 0 150 L 200 150",
        )
    return paths.transformed(found[0], _FLIP)


def subpaths(text: str, *, what: str = "path") -> list[Path]:
    """Read path data into connected paths, in its own coordinates.

    Segments without length are dropped, and so are subpaths that consist of nothing else; ``Z`` adds the closing line.

    Raises:
        FileFormatError: a letter that is no path command, a number that is not finite, or too many segments.
    """
    if not _ALLOWED.match(text):
        bad = next(c for c in text if not _ALLOWED.match(c))
        raise _refused(what, f"the character {bad!r}")
    if len(_NUMBER.findall(text)) > 7 * MAX_SEGMENTS:
        raise _too_many(what)
    try:
        drawn = svgelements.Path(text)
        return from_elements(drawn, what=what)
    except (ValueError, TypeError, IndexError, AttributeError, ZeroDivisionError, OverflowError) as error:
        raise _refused(what, repr(text[:60])) from error


def from_elements(drawn: svgelements.Path, *, what: str = "path") -> list[Path]:
    """Turn a parsed path (any shape of the reader's library) into connected paths of cubics."""
    groups: list[list[list[tuple[float, float]]]] = [[]]
    for segment in drawn:
        if isinstance(segment, svgelements.Move):
            groups.append([])
        elif isinstance(segment, svgelements.Arc):
            groups[-1].extend(_arc(segment))
        else:
            groups[-1].append(_points(segment))
        if isinstance(segment, svgelements.Close):
            groups.append([])
    if sum(len(g) for g in groups) > MAX_SEGMENTS:
        raise _too_many(what)
    found = []
    for group in groups:
        if not group:
            continue
        cubics = np.array(group, dtype=np.float64)
        if not np.isfinite(cubics).all():
            raise _refused(what, "a number that is not finite")
        cubics = cubics[np.abs(cubics - cubics[:, :1]).max(axis=(1, 2)) > 1e-12]
        if len(cubics):
            found.append(Path(cubics))
    return found


def d_from_path(path: Path, *, close: bool = False) -> str:
    """Write a path in mm, y up, as path data, y down: ``L`` for straight segments, ``C`` for curves.

    With ``close`` a last straight segment is written as ``Z``.
    """
    straight = paths.is_straight(path)
    words = [f"M {pair(path.start)}"]
    for i, (cubic, flat) in enumerate(zip(path.cubics, straight, strict=True)):
        if close and flat and i == len(path) - 1:
            break
        words.append(f"L {pair(cubic[3])}" if flat else f"C {pair(cubic[1])} {pair(cubic[2])} {pair(cubic[3])}")
    return " ".join([*words, "Z"] if close else words)


def number(value: float) -> str:
    """Write a number shortly: at most nine decimals, no trailing zeros, no minus zero."""
    text = f"{value:.{_DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def pair(point: Floats | tuple[float, float]) -> str:
    """Write a point in mm, y up, as ``x,y`` with y down."""
    return f"{number(float(point[0]))},{number(-float(point[1]))}"


def _points(segment: object) -> list[tuple[float, float]]:
    start, end = (_xy(p) for p in (segment.start, segment.end))  # type: ignore[attr-defined]
    if isinstance(segment, svgelements.CubicBezier):
        return [start, _xy(segment.control1), _xy(segment.control2), end]
    if isinstance(segment, svgelements.QuadraticBezier):
        c = _xy(segment.control)
        return [start, _towards(start, c, 2 / 3), _towards(end, c, 2 / 3), end]
    return [start, _towards(start, end, 1 / 3), _towards(start, end, 2 / 3), end]


def _arc(arc: svgelements.Arc) -> list[list[tuple[float, float]]]:
    """Cubics of an arc of an ellipse: handles of 4/3·tan(θ/4) on the unit circle, carried over by its two half axes."""
    centre, end = np.array(_xy(arc.center)), _xy(arc.end)
    axes = np.array([_xy(arc.prx), _xy(arc.pry)]) - centre
    slices = max(1, math.ceil(abs(arc.sweep) / _SIXTEENTH - 1e-9))
    angles = arc.get_start_t() + arc.sweep * np.arange(slices + 1) / slices
    on = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    handle = 4 / 3 * math.tan(arc.sweep / slices / 4) * np.stack([-on[:, 1], on[:, 0]], axis=1)
    unit = np.stack([on[:-1], on[:-1] + handle[:-1], on[1:] - handle[1:], on[1:]], axis=1)
    cubics = unit @ axes + centre
    cubics[0, 0], cubics[-1, 3] = _xy(arc.start), end
    return [[(float(x), float(y)) for x, y in cubic] for cubic in cubics]


def _xy(point: object) -> tuple[float, float]:
    return float(point.x), float(point.y)  # type: ignore[attr-defined]


def _towards(a: tuple[float, float], b: tuple[float, float], share: float) -> tuple[float, float]:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def _refused(what: str, got: str) -> FileFormatError:
    return FileFormatError(
        what,
        expected="SVG path data in numbers",
        got=got,
        next_step="Write it like M 0 150 L 200 150, with the letters M L H V C S Q T A Z only",
    )


def _too_many(what: str) -> FileFormatError:
    return FileFormatError(
        what,
        expected=f"at most {MAX_SEGMENTS:,} segments",
        got="more",
        next_step="Save the drawing with fewer points",
    )
