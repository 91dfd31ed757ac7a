"""The split file, ``split.json``: all style lines of a garment as geometry in mm, y up, for this and other programs.

Its JSON Schema stands beside this module as ``split.schema.json``; a test holds it to the records of
:mod:`mockup.split.split`. To write it anew: ``python -m mockup.files.split_file``.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path as FilePath
from typing import Any

import numpy as np
from pydantic import TypeAdapter

from mockup.files.records import pretty, read_record, write_record
from mockup.split.split import PathXY, Split
from swatches.errors import FileFormatError

SCHEMA_FILE = FilePath(__file__).with_name("split.schema.json")
NEWEST = 1
_MAX_SEGMENTS = 100_000
_MAX_NAME = 120
_MEET = 1e-3  # mm between the end of one segment and the start of the next
_ADAPTER: TypeAdapter[Split] = TypeAdapter(Split)


def write_split(split: Split) -> str:
    """Write a split as JSON. The same split gives the same bytes."""
    return write_record(_ADAPTER, split)


def read_split(source: FilePath | bytes) -> Split:
    """Read a split file and check what a schema cannot say.

    Raises:
        FileFormatError: no such file, another format or unit, a newer version, a value that does not fit (with its
            place), a torn path, an open outline, or an id that is used twice.
    """
    what = source.name if isinstance(source, FilePath) else "split file"
    split = read_record(_ADAPTER, source, what=what, format_name="garment split", newest=NEWEST)
    if split.unit != "mm":
        raise FileFormatError(what, expected='"unit": "mm"', got=repr(split.unit), next_step="Convert it to mm")
    _check_names(split, what)
    total = 0
    for view in split.views:
        closed = [(f"outline of {view.name}", view.outline), *((f"panel {p.id}", p.outline) for p in view.panels)]
        lines = [(f"edge {e.name} of {view.name}", e.path) for e in view.edges]
        lines += [(f"line {s.id}", s.path) for s in view.lines]
        closed += [(f"outline of the {s.name} of {view.name}", s.outline) for s in view.sections]
        lines += [(f"edge {e.name} of the {s.name} of {view.name}", e.path) for s in view.sections for e in s.edges]
        for name, path in [*closed, *lines]:
            total += len(path)
            _check_path(path, f"{what}, {name}", closed=(name, path) in closed)
    if total > _MAX_SEGMENTS:
        raise FileFormatError(
            what, expected=f"at most {_MAX_SEGMENTS:,} segments", got=f"{total:,}", next_step="Simplify the outlines"
        )
    return split


def split_schema() -> dict[str, Any]:
    """Give the JSON Schema (draft 2020-12) of a split file."""
    schema = _ADAPTER.json_schema(by_alias=True)
    schema["properties"] |= {
        "format": {"const": "garment split"},
        "version": {"const": NEWEST},
        "unit": {"const": "mm"},
    }
    schema["required"] = sorted({*schema["required"], "format", "version", "unit"})
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def write_schema() -> None:
    """Write the schema file beside this module."""
    SCHEMA_FILE.write_text(pretty(split_schema()), encoding="utf-8")


def _check_names(split: Split, what: str) -> None:
    views = [v.name for v in split.views]
    lines = [s.id for v in split.views for s in v.lines]
    # a panel may show in both views (a sleeve): the same number, side and fabric make it one
    in_view = Counter((v.name, p.id) for v in split.views for p in v.panels)
    once = dict.fromkeys((p.id, p.number, p.side, p.fabric) for v in split.views for p in v.panels)
    panels = [panel_id for panel_id, *_ in once] + [panel_id for (_, panel_id), n in in_view.items() if n > 1]
    for kind, names in (("view", views), ("line", lines), ("panel", panels)):
        twice = [name for name, n in Counter(names).items() if n > 1]
        if twice:
            raise FileFormatError(
                what, expected=f"every {kind} named once", got=f"{twice[0]!r} twice", next_step="Name them apart"
            )
        odd = [n for n in names if not n or len(n) > _MAX_NAME or not n.isprintable()]
        if odd:
            raise FileFormatError(
                what, expected=f"a printable {kind} name", got=repr(odd[0]), next_step="Give it a short plain name"
            )


def _check_path(path: PathXY, what: str, *, closed: bool) -> None:
    if not path:
        raise FileFormatError(what, expected="a path", got="no segment", next_step="Write its segments")
    cubics = np.array(path)
    ends, starts = cubics[:, 3], np.roll(cubics[:, 0], -1, axis=0)
    gaps = np.linalg.norm(ends - starts, axis=1)[: None if closed else -1]
    if gaps.size and gaps.max() > _MEET:
        i = int(gaps.argmax())
        raise FileFormatError(
            what,
            expected="segments that meet" + (" and close" if closed else ""),
            got=f"{gaps[i]:.4g} mm after segment {i + 1}",
            next_step="Let every segment start where the one before it ends",
        )


if __name__ == "__main__":
    write_schema()
