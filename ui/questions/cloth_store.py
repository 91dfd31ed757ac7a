"""My cloth on the page: the store cupboard that all garments share. Search, take out, put in, use up, undo."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from pathlib import Path
from typing import Any

from mockup import journey
from swatches.colour import hex_to_lab
from swatches.errors import InputError, UnitError
from swatches.fabric import Fabric, Lab
from swatches.photo import Picture, read_photo
from swatches.record import shown
from swatches.stash import Stash
from swatches.stash_search import Wish, search
from swatches.units import length
from ui.parts import pictures
from ui.parts.lengths import with_unit
from ui.parts.session import Session
from ui.questions.cloth_pieces import piece_scene
from ui.questions.cloth_record import record_scene

MOST_SHOWN = 60
NEAR = {"near": 12.0, "rather near": 20.0}
"""What counts as near in colour, CIEDE2000; the page says it in words."""
_UNKNOWN = {"weight": "its weight", "fibre": "its fibre", "length": "its length", "width": "its width"}


def store_folder(data: Path) -> Path:
    """Where the store of a data folder is: the one that the command line uses too."""
    return Path(data) / "stash"


def store_scene(session: Session, folder: Path, message: dict[str, Any], opened: str = "") -> dict[str, Any]:
    """What of the store fits a search; what is not known of a cloth does not hide it, but puts it last."""
    with Stash(folder) as stash:
        fabrics = stash.fabrics()
        found = search(fabrics, _wish(message, session.state.unit))
        last = stash.last_change()
    return {
        "count": len(fabrics),
        "fits": len(found),
        "undo": last or "",
        "cloths": [
            _row(session, folder, m.fabric, m.unknown, opened=m.fabric.id == opened) for m in found[:MOST_SHOWN]
        ],
    }


def put_in(session: Session, folder: Path, fabric_id: str) -> str:
    """Put a cloth of the garment into the store, or write down there what is newly known of it; gives what to say."""
    fabric = session.need().fabric(fabric_id)
    tile = _tile(session.folder / "fabrics" / fabric.id, fabric)
    with Stash(folder) as stash:
        ready = stash.with_tile(replace(fabric, reading=""), tile)
        for there in stash.fabrics():
            if there.name == ready.name and _looks(there) == _looks(ready):
                if replace(ready, id=there.id) == there:
                    return f"{fabric.name} is in your cloth already."
                stash.edit(replace(ready, id=there.id))
                return f"{fabric.name} was in your cloth already; what you know of it now is written there too."
        stash.add(ready)
    return f"{fabric.name} is kept in your cloth, for every garment."


def take_out(session: Session, folder: Path, fabric_id: str) -> Fabric:
    """Lay a cloth of the store on the garment's shelf; it stays in the store too. Gives it as it lies there."""
    with Stash(folder) as stash:
        fabric = stash.fabric(fabric_id)
        tile = _tile(stash.pictures, fabric)
    project, taken = journey.put_fabric(session.folder, session.need(), fabric, tile=tile)
    session.keep(project, f"{taken.name} from your cloth")
    return taken


def use_up(folder: Path, message: dict[str, Any], unit: str) -> str:
    """Write down what was cut: a length from the roll, or a whole remnant. Gives what to say."""
    fabric_id, remnant = str(message.get("cloth")), str(message.get("remnant") or "")
    with Stash(folder) as stash:
        if remnant:
            fabric = stash.fabric(fabric_id)
            piece = next((r for r in fabric.remnants if r.name == remnant), None)
            if piece is None:
                raise InputError(
                    "remnant", expected="one that is there", got=remnant, next_step="Look at the list again"
                )
            stash.use_remnant(fabric_id, remnant, [piece.outline])
            return f"{remnant} of {fabric.name} is used up."
        used = length(with_unit(str(message.get("text"))[:40], unit), what="length that was cut", minimum_mm=1.0)
        fabric = stash.use_length(fabric_id, used.mm)
        return f"{used} of {fabric.name} is used; {shown(fabric, 'length_left', unit)} is left."


def _wish(message: dict[str, Any], unit: str) -> Wish:
    def mm(key: str, what: str) -> float | None:
        text = str(message.get(key) or "")[:40]
        return length(with_unit(text, unit), what=what, minimum_mm=0.0).mm if text.strip() else None

    return Wish(
        words=str(message.get("words") or "")[:80],
        colour=_colour(message.get("colour")),
        within=NEAR.get(str(message.get("near")), NEAR["near"]),
        weight=_weights(str(message.get("weight") or "")[:40]),
        fibre=str(message.get("fibre") or "")[:40].strip(),
        length_mm=mm("long", "length that is needed"),
        owned=True if message.get("owned") else None,
    )


def _colour(text: Any) -> Lab | None:
    return hex_to_lab(str(text)) if text else None


def _weights(text: str) -> tuple[float, float] | None:
    """'150-250' or '200' (a tenth either way), in g/m²."""
    parts = [p for p in text.replace("g/m²", "").replace("to", "-").replace("–", "-").split("-") if p.strip()]
    if not parts:
        return None
    try:
        numbers = [float(p.replace(",", ".")) for p in parts]
    except ValueError:
        numbers = []
    if len(numbers) not in (1, 2) or not all(0 < n < 5000 for n in numbers):
        raise UnitError("weight", expected="a weight or two, in g/m²", got=repr(text), next_step="Type it like 150-250")
    low, high = (numbers[0] * 0.9, numbers[0] * 1.1) if len(numbers) == 1 else sorted(numbers)
    return low, high


def _row(session: Session, folder: Path, fabric: Fabric, unknown: tuple[str, ...], *, opened: bool) -> dict[str, Any]:
    unit = session.state.unit
    facts = [shown(fabric, key, unit) for key in ("fibre", "weight")]
    left = shown(fabric, "length_left", unit)
    wide = shown(fabric, "usable_width", unit)
    facts.append(f"{left} left" + (f", {wide} wide" if wide else "") if left else "")
    pieces = [piece_scene(r, unit) for r in fabric.remnants]
    facts.append("" if not pieces else "1 remnant" if len(pieces) == 1 else f"{len(pieces)} remnants")
    facts.append("" if fabric.owned else "not bought yet")
    texture = fabric.texture
    row: dict[str, Any] = {
        "id": fabric.id,
        "name": fabric.name,
        "about": [f for f in facts if f],
        "unknown": [_UNKNOWN[u] for u in unknown],
        "sized": texture is None or texture.scale_error_percent is not None,
        "swatch": _swatch(session, folder, fabric),
        "has_length": fabric.length_left.value is not None,
        "pieces": pieces,
    }
    if opened:
        row |= {"record": record_scene(fabric, unit), "note": fabric.note, "owned": fabric.owned}
    return row


def _swatch(session: Session, folder: Path, fabric: Fabric) -> str:
    looks = repr((fabric.colour.lab, fabric.texture and (fabric.texture.file, fabric.texture.mm_per_px)))
    key = hashlib.sha256(looks.encode()).hexdigest()[:24]
    home = folder / "pictures"
    return session.to_paint(f"cloth-{key}.png", lambda target: pictures.save_swatch_in(target, fabric, home))


def _looks(fabric: Fabric) -> Any:
    texture = fabric.texture
    return fabric.colour.lab if texture is None else (texture.file, texture.mm_per_px)


def _tile(home: Path, fabric: Fabric) -> Picture | None:
    if fabric.texture is None or not fabric.texture.file:
        return None
    return read_photo(home / Path(fabric.texture.file).name, what=f"tile of {fabric.name}").rgb8
