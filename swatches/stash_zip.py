"""The stash as one zip: ``stash.json`` and the pictures it names. What comes in is treated as a stranger's file."""

from __future__ import annotations

import hashlib
import io
import json
import re
import zipfile
from dataclasses import replace
from pathlib import Path

from swatches.errors import FileFormatError
from swatches.fabric import Fabric
from swatches.fabric_file import fabric_from_json, fabric_json
from swatches.photo import png_bytes, read_photo
from swatches.safe_write import write_whole
from swatches.stash import PICTURES, Stash

FORMAT, VERSION, LIST = "stash of cloth", 1, "stash.json"
MAX_FILES = 20_000
MAX_LIST_BYTES = 64_000_000
MAX_PICTURE_BYTES = 40_000_000
MAX_TOTAL_BYTES = 2_000_000_000
_PICTURE = re.compile(r"pictures/[0-9a-f]{64}\.png")


def export_stash(stash: Stash, path: Path) -> Path:
    """Write the whole stash into one zip; the same stash gives the same bytes.

    Raises:
        InputError: the file cannot be written.
    """
    fabrics = sorted(stash.fabrics(), key=lambda f: f.id)
    listed = {"format": FORMAT, "version": VERSION, "fabrics": [json.loads(fabric_json(f)) for f in fabrics]}
    names = sorted({f.texture.file for f in fabrics if f.texture is not None and f.texture.file})
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as pack:
        _write(pack, LIST, json.dumps(listed, indent=1, ensure_ascii=False).encode())
        for name in names:
            picture = stash.pictures / name
            if picture.is_file():
                _write(pack, f"{PICTURES}/{name}", picture.read_bytes())
    return write_whole(Path(path), out.getvalue(), what="export of the stash")


def import_stash(stash: Stash, path: Path) -> tuple[Fabric, ...]:
    """Add everything of an exported zip, as one change. Cloth that is there already in the same state stays as it is.

    Everything is read and checked first; then pictures are kept, then cloth is added in one transaction.

    Raises:
        FileFormatError: no such zip, names that lead out of it, too large, a newer version, or damaged content.
    """
    path = Path(path)
    try:
        with zipfile.ZipFile(path) as pack:
            infos = pack.infolist()
            _check_names(infos, path)
            fabrics = _fabrics(_bytes(pack, LIST, MAX_LIST_BYTES, path), path)
            wanted = {f.texture.file for f in fabrics if f.texture is not None and f.texture.file}
            pictures = {}
            for info in infos:
                name = info.filename.removeprefix(f"{PICTURES}/")
                if info.filename != LIST and name in wanted:
                    pictures[name] = _picture(_bytes(pack, info.filename, MAX_PICTURE_BYTES, path), name, path)
    except (OSError, zipfile.BadZipFile, KeyError, RuntimeError, NotImplementedError, EOFError) as error:
        raise _wrong(path, f"{path.name}, which is damaged or another kind of file") from error
    for name in sorted(wanted - set(pictures)):
        raise _wrong(path, f"a zip without the picture {name[:12]}…")
    kept = {name: stash.keep_picture(data) for name, data in sorted(pictures.items())}
    ready = [
        f
        if f.texture is None or not f.texture.file
        else replace(f, texture=replace(f.texture, file=kept[f.texture.file]))
        for f in fabrics
    ]
    return stash.put_all(ready, f"import {path.name}")


def _check_names(infos: list[zipfile.ZipInfo], path: Path) -> None:
    names = [i.filename for i in infos]
    for name in names:
        if name != LIST and not _PICTURE.fullmatch(name):
            raise _wrong(path, f"a zip with {name!r} in it")
    if len(names) != len(set(names)) or LIST not in names:
        raise _wrong(path, "a zip that is no exported stash")
    if len(names) > MAX_FILES or sum(i.file_size for i in infos) > MAX_TOTAL_BYTES:
        raise _wrong(path, "a zip that unpacks to more than a stash can be")


def _bytes(pack: zipfile.ZipFile, name: str, limit: int, path: Path) -> bytes:
    with pack.open(name) as file:
        data = file.read(limit + 1)  # the size in the directory may lie
    if len(data) > limit:
        raise _wrong(path, f"{name} of more than {limit // 1_000_000} MB")
    return data


def _fabrics(data: bytes, path: Path) -> list[Fabric]:
    try:
        listed = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise _wrong(path, f"{LIST} that is no JSON") from error
    if not isinstance(listed, dict) or listed.get("format") != FORMAT or not isinstance(listed.get("fabrics"), list):
        raise _wrong(path, "a zip that is no exported stash")
    version = listed.get("version")
    if not isinstance(version, int) or version > VERSION:
        raise FileFormatError(
            path.name, expected=f"an export of version {VERSION}", got=f"version {version}",
            next_step="Update this software and import it again",
        )  # fmt: skip
    return [
        fabric_from_json(json.dumps(body), where=f"{path.name}, cloth {n}")
        for n, body in enumerate(listed["fabrics"], 1)
    ]


def _picture(data: bytes, name: str, path: Path) -> bytes:
    if hashlib.sha256(data).hexdigest() != name.removesuffix(".png"):
        raise _wrong(path, f"a damaged picture {name[:12]}…")
    photo = read_photo(data, what=f"picture in {path.name}", max_megapixels=60)
    clean = png_bytes(photo.rgb8)  # as this software would have written it: nothing but pixels comes in
    return data if clean == data else clean


def _write(pack: zipfile.ZipFile, name: str, data: bytes) -> None:
    info = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
    info.compress_type = zipfile.ZIP_STORED if name.endswith(".png") else zipfile.ZIP_DEFLATED
    info.external_attr = 0o644 << 16
    pack.writestr(info, data)


def _wrong(path: Path, got: str) -> FileFormatError:
    return FileFormatError(
        "import",
        expected="a zip that was exported from a stash",
        got=got,
        next_step="Export the stash again and import that",
    )
