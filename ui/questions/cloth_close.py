"""One cloth looked at closely: its photo and swatch with what was found on them, and how the photo is to be read."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from mockup.split.words import tenths
from swatches.errors import FileFormatError, InputError
from swatches.fabric import Fabric, Kind
from swatches.fabric_file import fabric_json
from swatches.kept import Asked, Kept, load_reading
from swatches.photo import read_photo, write_jpeg
from swatches.units import length
from ui.parts import pictures
from ui.parts.lengths import with_unit
from ui.parts.session import Session
from ui.questions.cloth_pieces import area_words, piece_scene
from ui.questions.cloth_record import HOW, record_scene

PHOTO_SIDE = 1400
MOST_POINTS = 200
NO_REPEAT = ("none", "no", "0")
"""What a person types where the cloth does not repeat; an empty field leaves it to what is found."""


def cloth_scene(session: Session, fabric: Fabric) -> dict[str, Any]:
    """One cloth of the garment, looked at closely."""
    home, unit = session.folder / "fabrics" / fabric.id, session.state.unit
    try:
        kept = load_reading(home, fabric)
    except FileFormatError:
        kept = None
    texture = fabric.texture
    known = texture is None or texture.scale_error_percent is not None
    found: dict[str, Any] = {
        "id": fabric.id,
        "where": "garment",
        "name": fabric.name,
        "note": fabric.note,
        "owned": fabric.owned,
        "about": [f"{fabric.colour.word}, {fabric.kind}".strip(", "), fabric.colour.reason],
        "size": _size_words(fabric),
        "sized": known,
        "textured": texture is not None,
        "kind": str(fabric.kind),
        "kinds": [str(k) for k in Kind],
        "repeat": [length_words(v, unit) if v else "" for v in (texture.repeat_mm or (0, 0))] if texture else ["", ""],
        "warnings": list(fabric.warnings),
        "record": record_scene(fabric, unit),
        "how": [list(h) for h in HOW],
        "pieces": [piece_scene(r, unit) for r in fabric.remnants],
        "photo": None,
        "above": _tile_scene(session, fabric) if kept is None else None,
        "found_pieces": [],
    }
    return found if kept is None else found | _photo_scene(session, fabric, kept, home, unit)


def _size_words(fabric: Fabric) -> str:
    texture = fabric.texture
    if texture is None:
        return "A plain colour has no scale."
    if texture.scale_error_percent is None:
        return "Its scale is a guess until you give one length."
    return f"Its scale is known; lengths may be off by about {texture.scale_error_percent:g} %."


def _photo_scene(session: Session, fabric: Fabric, kept: Kept, home: Path, unit: str) -> dict[str, Any]:
    asked = kept.asked
    mine = {r.name for r in fabric.remnants if r.photo == fabric.reading}
    return {
        "photo": {"src": _picture(session, home / kept.photo), "size": list(kept.size)},
        "above": {
            "src": _picture(session, home / kept.above),
            "size": list(kept.above_size),
            "mm_per_px": kept.above_mm_per_px,
            "known": kept.scale_known,
            "vectors": [[x / kept.above_mm_per_px, y / kept.above_mm_per_px] for x, y in kept.vectors_mm],
        },
        "asked": {
            "reference": asked.reference if isinstance(asked.reference, str) else "tape",
            "mm_per_px": asked.reference if isinstance(asked.reference, float) else None,
            "bar": "" if asked.bar_mm is None else length_words(asked.bar_mm, unit),
            "distance": "" if asked.distance_mm is None else length_words(asked.distance_mm, unit),
            "outline": _outline_of(asked),
            "corners": None if asked.corners_px is None else [list(p) for p in asked.corners_px],
            "kind": "" if asked.kind is None else str(asked.kind),
            "repeat": [_typed_repeat(v, unit) for v in asked.repeat_mm or (None, None)],
        },
        "cloth_px": kept.cloth_px,
        "sheet_px": kept.sheet_px,
        "outlines_px": [[kept.to_px(o.points), *(kept.to_px(h) for h in o.holes)] for o in kept.outlines],
        "flaws_px": [kept.to_px(h) for r in fabric.remnants if r.name in mine for h in r.holes],
        "found_pieces": [area_words(Polygon(o.points, o.holes), unit) for o in kept.outlines] if not mine else [],
    }


def _tile_scene(session: Session, fabric: Fabric) -> dict[str, Any]:
    """A cloth without its photo: a square of its tile."""
    folder = session.folder
    key = hashlib.sha256(fabric_json(fabric).encode() + folder.name.encode()).hexdigest()[:24]
    src = session.to_paint(f"cloth-{key}.png", lambda target: pictures.save_swatch(target, fabric, folder))
    step = pictures.SWATCH_MM / pictures.SWATCH_PX
    repeat = (fabric.texture.repeat_mm if fabric.texture else None) or (0.0, 0.0)
    vectors = [[repeat[0] / step, 0.0]] if repeat[0] else []
    vectors += [[0.0, repeat[1] / step]] if repeat[1] else []
    known = fabric.texture is not None and fabric.texture.scale_error_percent is not None
    size = [pictures.SWATCH_PX, pictures.SWATCH_PX]
    return {"src": src, "size": size, "mm_per_px": step, "known": known, "vectors": vectors}


def _picture(session: Session, file: Path) -> str:
    """Address of a kept picture, small enough for the page."""
    key = hashlib.sha256(file.name.encode()).hexdigest()[:24]

    def paint(target: Path) -> None:
        rgb = read_photo(file, what="photo of the cloth").rgb8
        step = max(1, int(np.ceil(max(rgb.shape[:2]) / PHOTO_SIDE)))
        write_jpeg(target, _halved(rgb, step), quality=85)

    return session.to_paint(f"cloth-{key}.jpg", paint)


def _halved(rgb: Any, step: int) -> Any:
    """Every ``step`` × ``step`` px become one, their mean."""
    if step == 1:
        return rgb
    rows, columns = rgb.shape[0] // step, rgb.shape[1] // step
    blocks = rgb[: rows * step, : columns * step].reshape(rows, step, columns, step, 3)
    return np.rint(blocks.mean(axis=(1, 3))).astype(np.uint8)


def rescaled(fabric: Fabric, factor: float) -> Fabric:
    """A cloth whose photo is not here: its tile and repeat made larger or smaller, as the person says."""
    if fabric.texture is None:
        raise InputError(
            "scale", expected="a cloth with a pattern", got="a plain colour", next_step="Leave it as it is"
        )
    repeat = fabric.texture.repeat_mm
    texture = replace(
        fabric.texture,
        mm_per_px=fabric.texture.mm_per_px * factor,
        scale_error_percent=2.0,
        repeat_mm=None if repeat is None else (repeat[0] * factor, repeat[1] * factor),
    )
    said = tuple(w for w in fabric.warnings if "the scale is a guess" not in w)
    return replace(fabric, texture=texture, warnings=said)


def length_words(mm: float, unit: str) -> str:
    """A measured length in the person's unit, to a tenth of a mm or so."""
    return f"{mm / 25.4:.2f} in" if unit == "in" else f"{mm / 10:.2f} cm" if unit == "cm" else tenths(mm)


def _typed_repeat(mm: float | None, unit: str) -> str:
    return "" if mm is None else length_words(mm, unit) if mm else NO_REPEAT[0]


def asked_from(message: dict[str, Any], kept: Kept, unit: str) -> Asked:
    """How the person wants the photo to be read now.

    Raises:
        InputError: a value that it cannot have.
    """

    def mm(key: str, what: str) -> float | None:
        text = message.get(key) or ""
        return length(with_unit(str(text)[:40], unit), what=what, minimum_mm=1.0).mm if text else None

    width, height = kept.size
    reference: str | float = str(message.get("reference"))
    if reference == "tape":
        ends = _points(message.get("tape"), 2, "tape", kept.size)
        long = mm("tape_length", "length between the two ends")
        px = float(np.hypot(ends[0][0] - ends[1][0], ends[0][1] - ends[1][1]))
        if long is None or px < 0.02 * max(width, height):
            raise InputError(
                "length between the two ends", expected="a length, and ends that lie apart", got="none",
                next_step="Drag the two ends to something you have measured, and type its length",
            )  # fmt: skip
        reference = long / px
    elif reference not in ("sheet", "a4", "letter", "card", "cards", "chart", "none"):
        raise InputError("what lies in the photo", expected="one of those offered", got=str(reference),
                         next_step="Choose one of them")  # fmt: skip
    outline = None
    if message.get("outline") is not None:
        outline = _points(message["outline"], range(3, MOST_POINTS + 1), "outline of the cloth", kept.size)
    corners = None
    if message.get("corners") is not None:
        corners = _points(message["corners"], 4, "corners", kept.size)
    kind = message.get("kind") or None
    if kind is not None and kind not in [k.value for k in Kind]:
        raise InputError(
            "what it shows", expected="one of those offered", got=str(kind), next_step="Choose one of them"
        )
    repeat = tuple(
        0.0 if str(message.get(key)).strip().lower() in NO_REPEAT else mm(key, f"repeat {key}")
        for key in ("across", "along")
    )
    return Asked(
        reference, None, mm("bar", "the sheet's bar"), mm("distance", "distance between the cards"), corners,
        None if kind is None else Kind(kind), None if repeat == (None, None) else (repeat[0], repeat[1]), outline,
    )  # fmt: skip


def _outline_of(asked: Asked) -> list[list[float]] | None:
    """What was drawn round the cloth; of an area that was marked by command, its corners."""
    if asked.outline_px is not None:
        return [list(p) for p in asked.outline_px]
    if asked.area is None:
        return None
    x, y, w, h = asked.area
    return [[x, y], [x + w, y], [x + w, y + h], [x, y + h]]


def _points(value: Any, count: int | range, what: str, size: tuple[int, int]) -> tuple[tuple[float, float], ...]:
    several = count if isinstance(count, range) else range(count, count + 1)
    try:
        found = tuple((float(x), float(y)) for x, y in value)
    except (TypeError, ValueError):
        found = ()
    most = 1.5 * max(size)
    if len(found) not in several or not all(-most < v < most for p in found for v in p):
        raise InputError(
            what,
            expected=f"{several[0]} points{' or more' if len(several) > 1 else ''} in the photo",
            got="something else",
            next_step="Drag them again",
        )
    return found
