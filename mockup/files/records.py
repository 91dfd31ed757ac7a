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
    text = _text(value, indent)[0]
    return text + "\n" if indent == 0 and not isinstance(value, Written) else text


_encode = json.JSONEncoder(ensure_ascii=False, allow_nan=False).encode


def _text(value: Any, indent: int) -> tuple[str, bool]:
    """The JSON of a value, and whether it stands on one line; what it holds is written once, before it."""
    if isinstance(value, float):
        return float.__repr__(value) if isfinite(value) else _encode(value), True  # which refuses what is not finite
    if isinstance(value, Written):
        return value.text.rstrip(), False
    if not isinstance(value, dict | list) or not value:
        return _encode(value), True
    if isinstance(value, dict):
        rows, brackets = [_row(k, *_text(v, indent + 1)) for k, v in value.items()], "{}"
    else:
        rows, brackets = [_text(v, indent + 1) for v in value], "[]"
    texts = [text for text, _ in rows]
    # what does not fit on a line with all before it fits on none with what holds it
    if all(short for _, short in rows) and sum(map(len, texts)) + 2 * len(texts) + indent <= _LINE:
        return f"{brackets[0]}{', '.join(texts)}{brackets[1]}", True
    between = f",\n{' ' * (indent + 1)}"
    return f"{brackets[0]}\n{' ' * (indent + 1)}{between.join(texts)}\n{' ' * indent}{brackets[1]}", False


def _row(key: Any, text: str, short: bool) -> tuple[str, bool]:
    return f"{_encode(key)}: {text}", short


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
