"""Pieces and scraps for a lay as JSON lists, and the answer as one object.

Pieces: ``[{"name", "outline": [[x, y], …], "grain_deg", "turns": [0, 180], "count", "mirror": false}, …]``, and where
they are wanted ``"fold": [[x, y], [x, y]]``, ``"match": {"group", "at": [x, y]}`` and ``"either": true``; scraps:
``[{"name", "outline", "holes": [], "grain_deg", "nap": false}, …]``, and ``"flaws": []``, ``"repeat_mm": [across,
along]`` and ``"print_at": [x, y]``; mm, y up. An object that has the list under "pieces" or "scraps" is read too.

Scraps of one file lie apart in one plane; only those whose box begins at (0, 0) stand in a frame of their own.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from itertools import combinations
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ConfigDict, TypeAdapter, ValidationError
from shapely.geometry import Polygon

from mockup.lay.lay import Lay, LayPiece, Placement, Scrap
from mockup.lay.valid import checked, checked_scrap
from swatches.errors import FileFormatError, InputError
from swatches.words import unopened, unreadable, wrong_value

T = TypeVar("T", LayPiece, Scrap)

_MAX_BYTES = 32 * 1024 * 1024
_LIKE = 'Write it like [{"name": "yoke", "outline": [[0, 0], [300, 0], [300, 200]]}], mm'


def read_lay_pieces(source: Path | bytes, *, what: str = "pieces") -> tuple[LayPiece, ...]:
    """Read the pieces of a lay.

    Raises:
        FileFormatError: not JSON, too large, or a list of something else.
        InputError: a piece that cannot be laid, or two of one name.
    """
    pieces = _read(source, what, LayPiece)
    checked(pieces)
    return pieces


def read_scraps(source: Path | bytes, *, what: str = "scraps") -> tuple[Scrap, ...]:
    """Read scraps.

    Raises:
        FileFormatError: not JSON, too large, a list of something else, or a scrap without its grain.
        InputError: a scrap that cannot be laid on, two of one name, or two that lie over one another.
    """
    scraps = _read(source, what, Scrap)
    if not scraps:
        raise InputError(what, expected="at least one scrap", got="none", next_step="Add a scrap, or give a width")
    for scrap in scraps:
        checked_scrap(scrap)
    _apart(scraps, what)
    return scraps


def read_placements(source: Path | bytes, *, what: str = "lay") -> tuple[Placement, ...]:
    """Read the placements of a lay's answer.

    Raises:
        FileFormatError: not JSON, too large, or no lay.
    """
    found = _json(source, what)
    rows = found.get("placements") if isinstance(found, dict) else None
    try:
        return TypeAdapter(tuple[Placement, ...]).validate_python(rows)
    except ValidationError as error:
        raise FileFormatError(
            what, expected="a lay as mockup lay writes it", got="something else", next_step="Give its lay.json"
        ) from error


def lay_json(lay: Lay) -> dict[str, Any]:
    """Give the answer as the command line prints it."""
    answer: dict[str, Any] = TypeAdapter(Lay).dump_python(lay, mode="json")
    return answer


def _fault(what: str, expected: str, got: str, next_step: str) -> FileFormatError:
    return FileFormatError(what, expected=expected, got=got, next_step=next_step)


def _json(source: Path | bytes, what: str) -> Any:
    try:
        data = source if isinstance(source, bytes) else _bytes(source)
    except OSError as error:
        raise _fault(what, "a file that can be read", unopened(error), "Check its name") from error
    if len(data) > _MAX_BYTES:
        raise _fault(what, "at most 32 MB", "a larger file", "Split the file")
    try:
        return json.loads(data)
    except (ValueError, RecursionError) as error:
        raise _fault(what, "a JSON list", unreadable(error, data), _LIKE) from error


def _read(source: Path | bytes, what: str, kind: type[T]) -> tuple[T, ...]:
    found = _json(source, what)
    key = "pieces" if kind is LayPiece else "scraps"
    if isinstance(found, dict) and isinstance(found.get(key), list):
        found = found[key]
    if not isinstance(found, list):
        raise _fault(what, "a list of " + key, "something else", _LIKE)
    for item in found:
        if isinstance(item, dict):
            for name in ("outline", "holes", "flaws"):
                if name in item:
                    item[name] = _open_rings(item[name])
            if kind is Scrap and item.get("grain_deg", 0) is None:
                raise InputError(
                    f"scrap '{item.get('name', '')}', grain",
                    expected="an angle in degrees",
                    got="not known",
                    next_step="Find the grain by the selvedge or by pulling a thread, and give its angle from upright",
                )
    try:
        return TypeAdapter(tuple[kind, ...], config=ConfigDict(extra="forbid")).validate_python(found)  # type: ignore[valid-type]
    except ValidationError as error:
        place, wanted, got = wrong_value(error.errors(include_url=False)[0])
        raise _fault(f"{what}, {place}", wanted, got, "Mend that value") from error


def _apart(scraps: Sequence[Scrap], what: str) -> None:
    """Refuse scraps that lie over one another, unless both stand in frames of their own."""
    shapes = [Polygon(s.outline) for s in scraps]
    own = [abs(s.bounds[0]) < 1e-6 and abs(s.bounds[1]) < 1e-6 for s in shapes]
    for a, b in combinations(range(len(scraps)), 2):
        if own[a] and own[b]:
            continue
        over = shapes[a].intersection(shapes[b]).area
        if over > 1.0:
            raise InputError(
                f"{what} '{scraps[a].name}' and '{scraps[b].name}'",
                expected="scraps that lie apart",
                got=f"{over / 100:.1f} cm² of the one over the other",
                next_step="Move them apart in the file: no cloth can be cut twice",
            )


def _bytes(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(_MAX_BYTES + 1)


def _open_rings(points: Any) -> Any:
    """Drop a last point that repeats the first, of one ring or of a list of rings."""
    if isinstance(points, list) and points and isinstance(points[0], list) and points[0]:
        if isinstance(points[0][0], list):
            return [_open_rings(ring) for ring in points]
        if len(points) > 3 and points[0] == points[-1]:
            return points[:-1]
    return points
