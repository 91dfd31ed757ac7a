"""Records as JSON: the frozen dataclasses are the model, pydantic reads and writes them; strangers' files are limited.

Written JSON is for people too: whatever fits on one line stands on one line, so that a Bézier segment is one row.
Numbers are written as they are, so that reading gives the same record again.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, fields, is_dataclass
from math import isfinite
from pathlib import Path as FilePath
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from mockup.files.given import read_limited
from swatches.errors import FileFormatError
from swatches.words import unreadable, wrong_value

T = TypeVar("T")
MAX_BYTES = 30_000_000
_LINE = 118


def read_record(
    adapter: TypeAdapter[T],
    source: FilePath | bytes,
    *,
    what: str,
    format_name: str,
    newest: int,
    max_bytes: int = MAX_BYTES,
) -> T:
    """Read one record with ``format`` and ``version`` from JSON.

    Args:
        adapter: the record's type.
        source: the file or its bytes.
        what: the file in the person's words.
        format_name: what ``format`` must say.
        newest: the newest version that is understood.
        max_bytes: size limit.

    Raises:
        FileFormatError: no file, too large, no JSON, another format, a newer version, a wrong or missing value (named
            by its place), or a number that is not finite.
    """
    data = read_limited(source, what=what, max_bytes=max_bytes)
    try:
        raw = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise FileFormatError(
            what,
            expected="a JSON file",
            got=unreadable(error, data),
            next_step="Choose the file that this program wrote",
        ) from error
    said = raw.get("format") if isinstance(raw, dict) else None
    if said != format_name:
        raise FileFormatError(
            what,
            expected=f"a file of the kind '{format_name}'",
            got=f"one of the kind '{said}'" if isinstance(said, str) else "one that does not say its kind",
            next_step="Choose the right file",
        )
    version = raw.get("version", 1)
    if not isinstance(version, int) or isinstance(version, bool) or not 1 <= version <= newest:
        raise FileFormatError(
            what,
            expected=f"version {newest} or older",
            got=f"version {version}",
            next_step="Update this program, then open the file again",
        )
    try:
        record = adapter.validate_json(data)
    except ValidationError as error:
        place, wanted, got = wrong_value(error.errors(include_url=False)[0])
        raise FileFormatError(
            f"{what}, {place}" if place else what,
            expected=wanted,
            got=got,
            next_step="Correct that value, or take the file as it was written",
        ) from error
    _finite(record, what)
    return record


def write_record(adapter: TypeAdapter[T], record: T) -> str:
    """Write a record as JSON text, its format, version and unit first."""
    given = adapter.dump_python(record, mode="json", by_alias=True)
    head = {k: given[k] for k in ("format", "version", "unit") if k in given}
    return pretty(head | given)


@dataclass(frozen=True, slots=True)
class Written:
    """A part that was written before, for its place: more than a line, its first line without indent."""

    text: str


def pretty(value: Any, indent: int = 0) -> str:
    """Write JSON in which everything that fits stands on one line. Ends with a line feed at the top level."""
    if isinstance(value, Written):
        return value.text
    nested = isinstance(value, dict | list) and value
    text = "" if nested and _items(value, _LINE) * 3 > _LINE + 2 else _encode(value)  # an item takes 3 signs at least
    if nested and (not text or len(text) + indent > _LINE):
        pad = " " * (indent + 1)
        if isinstance(value, dict):
            rows = [f"{pad}{_encode(k)}: {pretty(v, indent + 1).rstrip()}" for k, v in value.items()]
        else:
            rows = [f"{pad}{pretty(v, indent + 1).rstrip()}" for v in value]
        brackets = "{}" if isinstance(value, dict) else "[]"
        text = f"{brackets[0]}\n" + ",\n".join(rows) + f"\n{' ' * indent}{brackets[1]}"
    return text + "\n" if indent == 0 else text


_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode


def _items(value: Any, enough: int) -> int:
    """Count what stands in a value and in what it holds; no further than ``enough``."""
    if isinstance(value, Written):
        return enough
    if not isinstance(value, dict | list):
        return 1
    count = 0
    for item in value.values() if isinstance(value, dict) else value:
        count += _items(item, enough - count)
        if count >= enough:
            break
    return count


def _finite(value: object, what: str) -> None:
    """Refuse NaN and infinity anywhere in a record."""
    if isinstance(value, float):
        if not isfinite(value):
            raise FileFormatError(what, expected="finite numbers", got=str(value), next_step="Correct that number")
    elif isinstance(value, tuple | list):
        for item in value:
            _finite(item, what)
    elif isinstance(value, dict):
        for item in value.values():
            _finite(item, what)
    elif is_dataclass(value):
        for field in fields(value):
            _finite(getattr(value, field.name), what)
