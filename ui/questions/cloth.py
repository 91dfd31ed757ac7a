"""Which cloth? Photos of swatches, plain colours, each cloth looked at closely, and the store of all one's cloth."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from swatches.errors import InputError, MockupError
from swatches.reference import PAPERS
from ui.parts.desk import QUIET_EVENT, Desk, at_once
from ui.parts.messages import text_of
from ui.parts.said import Said
from ui.parts.session import Session
from ui.parts.wait import told
from ui.questions import cloth_store
from ui.questions.cloth_close import cloth_scene
from ui.questions.cloth_does import DOES
from ui.questions.cloth_photos import (
    LOOK_FOR_IT,
    REFERENCES,
    keep_again,
    keep_colour,
    keep_photos,
    mix,
    read_again,
    read_photos,
)

PHOTOS = [".png", ".jpg", ".jpeg", ".webp", ".heic", ".heif", ".tif", ".tiff", "image"]


def build(desk: Desk) -> None:
    """Lay out the question and wire it."""
    import gradio as gr

    gr.HTML('<p class="fine">Take a cloth from the shelf, then press a panel.</p>', elem_classes="words")
    with gr.Row(elem_classes="pair cloth-add"):
        photo = gr.UploadButton(
            "Photos of cloth", file_types=PHOTOS, file_count="multiple", elem_id="add-swatch", elem_classes="main"
        )
        gr.HTML('<button type="button" data-camera="#add-swatch">Take a photo</button>', elem_classes="words by-hand")
    reference = gr.Dropdown(REFERENCES, value=LOOK_FOR_IT, label="In the photo lies", elem_id="reference")
    gr.HTML(
        '<p class="fine">Daylight, from straight above. Best on the printed sheet: '
        f"{_prints('sheet')}<br>Round a large piece, loose cards: {_prints('cards')}</p>",
        elem_classes="words sheet-line",
    )
    with gr.Row(elem_classes="pair colour-row"):
        colour = gr.ColorPicker("#7c2f3b", label="Plain colour", elem_id="plain-colour")
        name = gr.Textbox(label="Its name", placeholder="brick red", max_length=60, elem_id="colour-name")
    add = gr.Button("Add this colour", elem_id="add-colour")
    gr.HTML(
        '<p class="said" data-said="cloth" role="status"></p><div data-slot="cloth-desk" class="cloth-desk"></div>',
        elem_classes="words",
    )
    gr.HTML('<div data-slot="cloth-store" class="cloth-store"></div>', elem_classes="words")

    desk.slow(photo.upload, "cloth", "Reading the cloth", read_photos, keep_photos, photo, reference)
    desk.slow(add.click, "cloth", "Mixing the colour", mix, keep_colour, colour, name)
    desk.slow_message(desk.table.swatch, "cloth", "Reading the photo again", read_again, keep_again)
    _wire(desk)


def _wire(desk: Desk) -> None:
    """Answer what is done to one cloth, and to the store, at once."""
    import gradio as gr

    sessions = desk.sessions
    folder = cloth_store.store_folder(sessions.home.parent)

    def answered(word: str, event: gr.EventData) -> dict[str, Any]:
        message = event._data if isinstance(event._data, dict) else {}
        extra: dict[str, Any] = {}

        def do(session: Session) -> Said | None:
            name = text_of(message, "do")
            if name not in DOES:
                raise InputError(
                    "request", expected="something this page can do", got=name, next_step="Open the page again"
                )
            return DOES[name](session, folder, message, extra)

        found = at_once(sessions, word, "cloth", do)
        session = sessions.get(word)
        with session.lock:
            try:
                extra |= _shown(session, folder, message)
            except MockupError as error:
                found["said"] = {
                    "place": "cloth",
                    "text": told(error, "cloth", session.state.unit).text,
                    "kind": "error",
                }
        return found | extra

    answered.__annotations__["event"] = gr.EventData
    desk.table.cloth(answered, [desk.word], [desk.table], **QUIET_EVENT)


def _shown(session: Session, folder: Path, message: dict[str, Any]) -> dict[str, Any]:
    """What the page looks at besides the scene: the open cloth, and the store where it is open."""
    extra: dict[str, Any] = {}
    project, opened = session.project, message.get("open")
    if project is not None:
        fabric = next((f for f in project.fabrics if f.id == opened), None)
        extra["cloth_open"] = None if fabric is None else cloth_scene(session, fabric)
    wish = message.get("store")
    if isinstance(wish, dict):
        extra["store"] = cloth_store.store_scene(session, folder, wish, str(wish.get("opened") or ""))
    return extra


def _prints(what: str) -> str:
    """Buttons that give out the 'sheet' or the 'cards' to print, one for each size of paper."""
    return "".join(
        f'<button type="button" class="quiet" data-print-sheet="{paper}" data-what="{what}"'
        f' aria-label="{paper}, the {what} to print">{paper}</button>'
        for paper in PAPERS
    )
