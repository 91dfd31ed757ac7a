"""The cutting list as a table for spreadsheet programs (CSV, RFC 4180), with formulas made harmless."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

from mockup.pattern.cutting_list import Row, cutting_list
from mockup.pattern.piece import Piece
from swatches.errors import InputError

_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def cutting_rows(pieces: Sequence[Piece], fabric_names: Mapping[str, str] | None = None) -> tuple[Row, ...]:
    """List what is cut, inner layers too: every facing is cut once more in interfacing (common practice, no source).

    Args:
        pieces: of one garment; linings and interfacings among them have rows of their own.
        fabric_names: fabric id → the person's name for it.

    Returns:
        Rows by number; interfacing that no piece of the pattern stands for comes right after its facing, and has the
        facing's shape.
    """
    rows = cutting_list(pieces, fabric_names)
    has_own = {row.name.removesuffix(" interfacing") for row in rows if row.layer == "interfacing"}
    out = []
    for row in rows:
        out.append(row)
        if row.layer == "facing" and row.name not in has_own:
            out.append(replace(row, fabric="interfacing, iron-on or sewn in", layer="interfacing"))
    return tuple(out)


def csv_text(rows: Sequence[Any]) -> str:
    """Write rows as CSV with a heading.

    Args:
        rows: dataclasses of one kind; their fields are the columns, ``finished_area_mm2`` is headed
            ``finished area mm2``.

    Returns:
        Text with CR LF, to be written as UTF-8.

    Raises:
        InputError: there is no row.
    """
    if not rows or not is_dataclass(rows[0]):
        raise InputError("cutting list", expected="at least one row", got="none", next_step="Cut the pieces first")
    names = [f.name for f in fields(rows[0])]
    out = io.StringIO(newline="")
    table = csv.writer(out)
    table.writerow([n.replace("_", " ") for n in names])
    for row in rows:
        table.writerow([cell(getattr(row, n)) for n in names])
    return out.getvalue()


def cell(value: object) -> str:
    """Give a value as a cell's text; a text that a spreadsheet would run as a formula gets an apostrophe in front.

    Numbers stay numbers, also negative ones, to a tenth (of a mm or mm²); the characters are those that OWASP lists
    for CSV injection.
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return f"{value:.1f}".removesuffix(".0")
    if isinstance(value, tuple | list):
        value = ", ".join(str(v) for v in value)
    text = str(value)
    return "'" + text if text.lstrip(" ").startswith(_FORMULA) or text.startswith(_FORMULA) else text
