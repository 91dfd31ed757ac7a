"""Write and read a fabric: a folder with ``fabric.json`` and, where there is one, ``tile.png``."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from swatches.errors import FileFormatError
from swatches.fabric import Fabric
from swatches.photo import Picture, png_bytes
from swatches.safe_write import write_whole
from swatches.words import unopened, unreadable, wrong_value

FORMAT, VERSION = "fabric", 1
JSON_NAME, TILE_NAME = "fabric.json", "tile.png"
MAX_BYTES = 8_000_000
_ADAPTER: TypeAdapter[Fabric] = TypeAdapter(Fabric)


def fabric_schema() -> dict[str, Any]:
    """Give the JSON Schema of ``fabric.json``."""
    schema = _ADAPTER.json_schema()
    schema["properties"] = {
        "format": {"const": FORMAT, "type": "string"},
        "version": {"const": VERSION, "type": "integer"},
        **schema["properties"],
    }
    schema["required"] = ["format", "version", *schema["required"]]
    return schema


def fabric_json(fabric: Fabric) -> str:
    """Give the text of ``fabric.json``; the same fabric gives the same bytes."""
    body = {"format": FORMAT, "version": VERSION, **_ADAPTER.dump_python(fabric, mode="json")}
    return json.dumps(body, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def write_fabric(fabric: Fabric, folder: Path, tile: Picture | None = None) -> Path:
    """Write a fabric into its folder and give the path of ``fabric.json``.

    Args:
        fabric: the record; with a tile its texture is made to name ``tile.png``.
        folder: made if it is missing.
        tile: the seamless tile, sRGB, shape (h, w, 3), or None to leave a tile in the folder as it is.

    Raises:
        InputError: the folder cannot be written.
    """
    folder = Path(folder)
    if tile is not None:
        write_whole(folder / TILE_NAME, png_bytes(tile), what="fabric's tile")
        if fabric.texture is not None and fabric.texture.file != TILE_NAME:
            fabric = replace(fabric, texture=replace(fabric.texture, file=TILE_NAME))
    return write_whole(folder / JSON_NAME, fabric_json(fabric).encode(), what="fabric file")


def read_fabric(path: Path) -> Fabric:
    """Read ``fabric.json``, given its path or its folder.

    Raises:
        FileFormatError: missing, too large, no fabric, of a newer version, or with values that make no sense.
    """
    path = Path(path)
    path = path / JSON_NAME if path.is_dir() else path
    try:
        if path.stat().st_size > MAX_BYTES:
            raise _wrong(path, f"a file of more than {MAX_BYTES // 1_000_000} MB")
        text = path.read_bytes()
    except FileNotFoundError as error:
        raise FileFormatError(
            "cloth", expected=f"a folder with {JSON_NAME}", got=f"none at {path}",
            next_step="Read the cloth's photo first, or name the folder that it was read into",
        ) from error  # fmt: skip
    except OSError as error:
        raise _wrong(path, unopened(error)) from error
    return fabric_from_json(text, where=path)


def fabric_from_json(text: bytes | str, *, where: Path | str = JSON_NAME) -> Fabric:
    """Read the text of ``fabric.json``; raises as :func:`read_fabric` does."""
    try:
        body = json.loads(text, parse_constant=_no_constant)
        if not isinstance(body, dict) or body.get("format") != FORMAT:
            raise _wrong(where, "something else")
        version = body.get("version")
        if not isinstance(version, int) or version > VERSION:
            raise FileFormatError(
                str(where),
                expected=f"a fabric file of version {VERSION}",
                got=f"version {version}",
                next_step="Update this software and open the file again",
            )
        fabric = _ADAPTER.validate_python({k: v for k, v in body.items() if k not in ("format", "version")})
    except ValidationError as error:
        place, wanted, got = wrong_value(error.errors(include_url=False)[0])
        raise FileFormatError(
            f"{where}, {place}", expected=wanted, got=got, next_step="Correct that value, or add the cloth again"
        ) from error
    except (ValueError, RecursionError) as error:
        raise _wrong(where, unreadable(error, text)) from error
    _check(fabric, where)
    return fabric


def _check(fabric: Fabric, where: Path | str) -> None:
    texture = fabric.texture
    if texture is not None and not (math.isfinite(texture.mm_per_px) and texture.mm_per_px > 0):
        raise _wrong(where, f"a tile with {texture.mm_per_px} mm per pixel")
    if texture is not None and texture.file and Path(texture.file).name != texture.file:
        raise _wrong(where, f"a tile outside the folder: {texture.file}")
    if not all(-200 <= v <= 200 for v in fabric.colour.lab):
        raise _wrong(where, f"a colour of {fabric.colour.lab}")


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _wrong(where: Path | str, got: str) -> FileFormatError:
    return FileFormatError(
        str(where),
        expected="a fabric file (fabric.json)",
        got=got,
        next_step="Choose another file, or add the cloth again",
    )
