"""What a person does to one cloth, and to the store, from the page: quick things, each of them undone by undo."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from swatches.errors import InputError
from swatches.fabric import Fabric
from swatches.kept import Kept, load_reading
from swatches.record import scale_note, written
from swatches.reference import SHEET_IDS, cards_pdf, sheet_pdf
from swatches.safe_write import write_whole
from swatches.stash import Stash
from swatches.units import length
from ui.parts.lengths import with_unit
from ui.parts.messages import text_of
from ui.parts.said import Said
from ui.parts.session import Session
from ui.questions import cloth_store
from ui.questions.cloth_close import rescaled
from ui.questions.cloth_pieces import with_flaw, with_grain, with_pieces, without_piece
from ui.questions.cloth_record import origin, typed

Do = Callable[[Session, Path, dict[str, Any], dict[str, Any]], Said | None]


def _fabric(session: Session, message: dict[str, Any]) -> Fabric:
    wanted = text_of(message, "cloth")
    fabric = next((f for f in session.need().fabrics if f.id == wanted), None)
    if fabric is None:
        raise InputError("cloth", expected="one on the shelf", got="one that is not there any more",
                         next_step="Choose another")  # fmt: skip
    return fabric


def kept_of(session: Session, message: dict[str, Any]) -> tuple[Fabric, Kept]:
    """The cloth that a message is about, with what was kept of its photo.

    Raises:
        InputError: it is not there, or its photo is not.
    """
    fabric = _fabric(session, message)
    kept = load_reading(session.folder / "fabrics" / fabric.id, fabric)
    if kept is None:
        raise InputError("photo", expected="a cloth whose photo is here", got="none", next_step="Add its photo again")
    return fabric, kept


def _put(session: Session, fabric: Fabric, label: str) -> None:
    project = session.need()
    if project.fabric(fabric.id) != fabric:
        session.keep(project.put_fabric(fabric), label)


def _look(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    return None


def _write(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    key, unit = text_of(message, "field"), session.state.unit
    text = text_of(message, "text") if key in ("name", "note", "owned") else typed(key, text_of(message, "text"), unit)
    where = origin(text_of(message, "how"))
    if message.get("where") == "store":
        wanted = text_of(message, "cloth")
        with Stash(folder) as stash:
            name = stash.fabric(wanted).name
            stash.change(wanted, lambda now: written(now, key, text, where), said=f"what is known of {name}")
    else:
        fabric = _fabric(session, message)
        _put(session, written(fabric, key, text, where), f"wrote down what is known of {fabric.name}")
    note = scale_note(key, text)
    return Said("cloth", note, "hint") if note else None


def _size(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    fabric = _fabric(session, message)
    wide = length(
        with_unit(text_of(message, "text"), session.state.unit), what="width of what the swatch shows", minimum_mm=2.0
    )
    shown_mm = message.get("shown_mm")
    if not isinstance(shown_mm, int | float) or not 1 <= shown_mm <= 10_000:
        raise InputError("scale", expected="a width from the page", got=str(shown_mm), next_step="Open the page again")
    _put(session, rescaled(fabric, wide.mm / shown_mm), f"scale of {fabric.name}")
    return Said("cloth", f"{fabric.name} is shown at the scale you typed.")


def _pieces(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    fabric, kept = kept_of(session, message)
    new, again = with_pieces(fabric, kept, session.folder / "fabrics" / fabric.id)
    _put(session, new, f"pieces of {fabric.name}")
    before = f" {', '.join(again)} stays as it was: no cloth can be cut twice." if again else ""
    grain = " Say how its grain runs, beside it: until then no piece is laid on it."
    waits = grain if any(r.grain_deg is None for r in new.remnants) else ""
    names = ", ".join(r.name for r in new.remnants)
    return Said("cloth", f"Kept as remnants of {fabric.name}: {names}.{waits}{before}")


def _flaw(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    fabric, kept = kept_of(session, message)
    points = message.get("points")
    if not isinstance(points, list) or not 3 <= len(points) <= 2000:
        raise InputError("flaw", expected="a ring", got="something else", next_step="Draw round it again")
    try:
        ring = tuple((float(x), float(y)) for x, y in points)
    except (TypeError, ValueError) as error:
        raise InputError("flaw", expected="a ring", got="something else", next_step="Draw round it again") from error
    _put(session, with_flaw(fabric, kept, ring), f"flaw in {fabric.name}")
    return Said("cloth", "Marked: no piece will be laid there.")


def _grain(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    fabric = _fabric(session, message)
    kept = load_reading(session.folder / "fabrics" / fabric.id, fabric)
    _put(session, with_grain(fabric, kept, text_of(message, "remnant"), text_of(message, "way")), "grain of a remnant")
    return None


def _drop_piece(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    fabric = _fabric(session, message)
    _put(session, without_piece(fabric, text_of(message, "remnant")), f"remnant of {fabric.name} taken off")
    return Said("cloth", "Taken off. Undo brings it back.")


def _sheet(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    paper, cards = text_of(message, "paper"), message.get("what") == "cards"
    if paper not in SHEET_IDS:
        raise InputError("paper", expected="A4 or Letter", got=paper, next_step="Choose one of the two")
    name = f"{'cards' if cards else 'sheet'}-{paper.lower()}.pdf"
    write_whole(session.made_folder / name, cards_pdf(paper) if cards else sheet_pdf(paper), what=name)
    extra["download"] = {"href": f"/made/{session.word}/{name}", "name": name}
    if cards:
        return Said("cloth", "Print the cards at 100 %, measure the bar (100 mm), and cut them apart.")
    return Said("cloth", "Print the sheet at 100 %, and measure its bar: it says 100 mm.")


def _put_in(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    return Said("cloth", cloth_store.put_in(session, folder, _fabric(session, message).id))


def _take(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    taken = cloth_store.take_out(session, folder, text_of(message, "cloth"))
    return Said("cloth", f"{taken.name} is on the shelf and in your hand.", in_hand=taken.id)


def _use(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    return Said("cloth", cloth_store.use_up(folder, message, session.state.unit))


def _forget(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    with Stash(folder) as stash:
        name = stash.fabric(text_of(message, "cloth")).name
        stash.remove(text_of(message, "cloth"))
    return Said("cloth", f"{name} is out of your cloth. 'Undo' below brings it back.")


def _store_undo(session: Session, folder: Path, message: dict[str, Any], extra: dict[str, Any]) -> Said | None:
    with Stash(folder) as stash:
        said = stash.undo()
    return Said("cloth", f"Undone in your cloth: {said}." if said else "There is nothing to undo in your cloth.")


DOES: dict[str, Do] = {
    "look": _look, "write": _write, "size": _size, "pieces": _pieces, "flaw": _flaw, "grain": _grain,
    "drop-piece": _drop_piece, "sheet": _sheet, "put-in": _put_in, "take": _take, "use": _use, "forget": _forget,
    "store-undo": _store_undo,
}  # fmt: skip
