"""Kinds of arguments: lengths, files that must be there, points. What is wrong is said in one line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click


class LengthKind(click.ParamType):
    """A length with its unit; gives :class:`swatches.units.Length`."""

    name = "length"

    def __init__(self, minimum_mm: float | None = None) -> None:
        self._minimum = minimum_mm

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read the length; a unit that is not known is bad input."""
        from swatches.units import length

        what = param.opts[0] if param is not None else "length"
        return length(value, what=what, minimum_mm=self._minimum)


LENGTH = LengthKind(0.0)
ANY_LENGTH = LengthKind()
FILE = click.Path(exists=True, dir_okay=False, readable=True, path_type=Path)
FOLDER = click.Path(exists=True, file_okay=False, readable=True, path_type=Path)
PROJECT = click.Path(exists=True, readable=True, path_type=Path)
OUT_FILE = click.Path(dir_okay=False, path_type=Path)
OUT_FOLDER = click.Path(path_type=Path)


def numbers(text: str, count: int, *, what: str) -> tuple[float, ...]:
    """Read ``count`` numbers with commas between them."""
    import math

    from swatches.errors import InputError

    try:
        found = tuple(float(part) for part in text.split(","))
    except ValueError:
        found = ()
    if len(found) != count or not all(math.isfinite(n) for n in found):
        example = ",".join(("10", "20", "300", "400")[:count])
        raise InputError(what, expected=f"{count} numbers", got=repr(text), next_step=f"Write them like {example}")
    return found
