"""Kinds of arguments: lengths, files that must be there, points. What is wrong is said in one line."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import click


class LengthKind(click.ParamType):
    """A length with its unit; gives :class:`swatches.units.Length`."""

    name = "length"

    def __init__(self, minimum_mm: float | None = None, maximum_mm: float | None = None) -> None:
        self._minimum, self._maximum = minimum_mm, maximum_mm

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read the length; a unit that is not known is bad input."""
        from swatches.units import length

        what = param.opts[0] if param is not None else "length"
        return length(value, what=what, minimum_mm=self._minimum, maximum_mm=self._maximum)


class FiniteRange(click.FloatRange):
    """A number within limits; neither 'nan', which no limit holds back, nor 'inf'."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Read the number; what is none is bad input."""
        found = super().convert(value, param, ctx)
        if not math.isfinite(found):
            self.fail(f"{value!r} is not a number that can be reckoned with.", param, ctx)
        return found


class PdfKind(click.Path):
    """A file to write whose name ends in .pdf."""

    def __init__(self) -> None:
        super().__init__(dir_okay=False, path_type=Path)

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Refuse a name that promises another kind of file."""
        from swatches.errors import InputError

        path = super().convert(value, param, ctx)
        if path.suffix.lower() != ".pdf":
            raise InputError("--out", expected="a name that ends in .pdf", got=path.name, next_step="Change the ending")
        return path


class DateKind(click.ParamType):
    """A day, such as 2026-11-24; stays text, and may be empty."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Refuse what is no day."""
        import datetime

        from swatches.errors import InputError

        if not value:
            return ""
        try:
            return datetime.date.fromisoformat(value).isoformat()
        except ValueError as error:
            raise InputError(
                "--date", expected="a day", got=repr(value), next_step="Type it like 2026-11-24"
            ) from error


LENGTH = LengthKind(0.0)
ANY_LENGTH = LengthKind()
DEEPEST_MM = 200.0
"""Deepest allowance that is believed: a deep hem has 10 cm, so twice that is a slip of the unit (our own choice)."""
ALLOWANCE = LengthKind(0.0, DEEPEST_MM)
FILE = click.Path(exists=True, dir_okay=False, readable=True, path_type=Path)
PROJECT = click.Path(exists=True, readable=True, path_type=Path)
OUT_FILE = click.Path(dir_okay=False, path_type=Path)
OUT_PDF = PdfKind()
DATE = DateKind()
OUT_FOLDER = click.Path(path_type=Path)


def numbers(text: str, count: int, *, what: str) -> tuple[float, ...]:
    """Read ``count`` numbers with commas between them."""
    from swatches.errors import InputError

    try:
        found = tuple(float(part) for part in text.split(","))
    except ValueError:
        found = ()
    if len(found) != count or not all(math.isfinite(n) for n in found):
        example = ",".join(("10", "20", "300", "400")[:count])
        raise InputError(what, expected=f"{count} numbers", got=repr(text), next_step=f"Write them like {example}")
    return found
