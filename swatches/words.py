"""Words for counts, and for what is wrong with a file of words and numbers: said to a person, never to a programmer."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

_EXPECTED = {
    "missing": "a value",
    "string": "text",
    "float": "a number",
    "int": "a whole number",
    "bool": "true or false",
    "finite": "a finite number",
    "tuple": "a list",
    "list": "a list",
    "dict": "names with values in braces { }",
    "dataclass": "names with values in braces { }",
    "model": "names with values in braces { }",
    "none": "null",
}
_NOT_KNOWN = ("extra_forbidden", "unexpected_keyword_argument", "unexpected_positional_argument")
_COMPARED = {"greater_than_equal": "ge", "greater_than": "gt", "less_than_equal": "le", "less_than": "lt"}
_COMPARING = {"ge": "or more", "le": "or less"}


def counted(n: int, one: str, many: str | None = None) -> str:
    """'1 line', '3 lines', 'no lines'."""
    many = many or f"{one}s"
    return f"{n or 'no'} {one if n == 1 else many}"


def unreadable(error: BaseException, data: bytes | str = b" ") -> str:
    """Say why a JSON or text file cannot be read: what ``got`` of an error is.

    Args:
        error: what the reader raised.
        data: what was to be read; an empty file is said to be empty.
    """
    if not data.strip():
        return "an empty file"
    if isinstance(error, UnicodeDecodeError):
        return "a file that is no plain text"
    if isinstance(error, json.JSONDecodeError):
        return f"what is no JSON from line {error.lineno}, sign {error.colno} on"
    if isinstance(error, RecursionError):
        return "brackets within brackets without end"
    return "what is no JSON"


def unopened(error: OSError) -> str:
    """Say why a file cannot be opened."""
    if isinstance(error, IsADirectoryError):
        return "a folder"
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        return "no such file"
    return "one that may not be read" if isinstance(error, PermissionError) else "one that cannot be read"


def wrong_value(fault: Mapping[str, Any]) -> tuple[str, str, str]:
    """Say what is wrong with a value in a file: its place, what is expected there, and what was got.

    Args:
        fault: one row of pydantic's ``ValidationError.errors()``, with its input.
    """
    kind, ctx = str(fault["type"]), fault.get("ctx") or {}
    place = places(fault["loc"])
    if kind == "missing" or kind.startswith("missing_"):
        return place, "a value", "none"
    if kind in _NOT_KNOWN:
        return place, "only names that the format knows", "another one"
    if kind in _COMPARED:
        limit = ctx[_COMPARED[kind]]
        word = _COMPARING.get(_COMPARED[kind])
        wanted = f"{limit:g} {word}" if word else f"{'more' if kind.startswith('greater') else 'less'} than {limit:g}"
    elif kind == "value_error":  # a sentence of our own
        wanted = str(ctx.get("error", "a value as the format has it")).removeprefix("expected ")
    elif kind in ("literal_error", "enum"):
        wanted = f"one of {ctx.get('expected', 'the known words')}"
    else:
        wanted = _EXPECTED.get(kind.split("_")[0], "a value as the format has it")
    return place, wanted, _shown(fault.get("input"))


def places(parts: Sequence[object]) -> str:
    """Where a value stands in a file: 'lines, no. 2, name'; counted from 1, as people count."""
    return ", ".join(f"no. {p + 1}" if isinstance(p, int) else str(p) for p in parts)


def _shown(value: object) -> str:
    if value is None:
        return "null"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str | int | float):
        return repr(value)
    if isinstance(value, Mapping):
        return "names with values in braces { }"
    return f"a list of {len(value)}" if isinstance(value, Sequence) else "something else"
