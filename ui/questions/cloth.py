"""Which cloth? Photos of swatches, plain colours, and the shelf."""

from __future__ import annotations

from typing import Any

from mockup import journey
from swatches.errors import InputError
from swatches.job import Job
from ui.parts.desk import Desk, uploaded
from ui.parts.scene import Said, panels_of
from ui.parts.session import Session

REFERENCES = [
    ("Nothing to measure by", "none"),
    ("The printed reference sheet", "sheet"),
    ("A plain sheet of A4", "a4"),
    ("A plain sheet of Letter", "letter"),
    ("A bank card", "card"),
]
PHOTOS = [".png", ".jpg", ".jpeg", ".webp", ".heic", ".heif", ".tif", ".tiff"]


def build(desk: Desk) -> None:
    """Lay out the question and wire it."""
    import gradio as gr

    gr.HTML('<p class="fine">Take a cloth from the shelf, then press a panel.</p>', elem_classes="words")
    photo = gr.UploadButton("Photo of a cloth", file_types=PHOTOS, elem_id="add-swatch", elem_classes="main")
    reference = gr.Dropdown(REFERENCES, value="none", label="In the photo lies", elem_id="reference")
    with gr.Row(elem_classes="pair colour-row"):
        colour = gr.ColorPicker("#7c2f3b", label="Plain colour", elem_id="plain-colour")
        name = gr.Textbox(label="Its name", placeholder="brick red", max_length=60, elem_id="colour-name")
    add = gr.Button("Add this colour", elem_id="add-colour")
    gr.HTML(
        '<ul data-slot="own-cloth" class="own-cloth"></ul><p class="said" data-said="cloth" role="status"></p>',
        elem_classes="words",
    )

    desk.slow(photo.upload, "cloth", "Reading the cloth", _read_cloth, _keep_cloth, photo, reference)
    desk.slow(add.click, "cloth", "Mixing the colour", _mix, _keep_cloth, colour, name)


def _read_cloth(session: Session, job: Job, path: Any, reference: str) -> Any:
    if reference not in {value for _, value in REFERENCES}:
        raise InputError("reference", expected="one of those offered", got=reference, next_step="Choose one of them")
    return journey.read_fabric(uploaded(path, "photo of the cloth"), reference=reference, job=job)


def _mix(session: Session, job: Job, colour: str, name: str) -> Any:
    return journey.plain_fabric(hex_of(colour), " ".join(str(name or "").split())[:60])


def _keep_cloth(session: Session, found: Any) -> Said | None:
    project = session.need()
    new, fabric = journey.put_fabric(session.folder, project, found)
    words = [f"{fabric.name} is on the shelf and in your hand.", *fabric.warnings]
    panels = {p.id for panels in panels_of(new).values() for p in panels}
    if panels and not any(c.fabrics for c in new.colourways):
        new = journey.assign(new, session.state.choice, dict.fromkeys(panels, fabric.id))
        words[0] = f"The whole garment is {fabric.name} now. Add another cloth, or lines, to go on."
    session.keep(new, f"{fabric.name} on the shelf")
    return Said("cloth", " ".join(words), in_hand=fabric.id)


def hex_of(colour: object) -> str:
    """Read what a colour field says, '#7c2f3b' or 'rgba(124, 47, 59, 1)', as '#rrggbb'.

    Raises:
        InputError: it is neither.
    """
    text = str(colour).strip().lower()
    if len(text) == 7 and text[0] == "#" and all(c in "0123456789abcdef" for c in text[1:]):
        return text
    if text.startswith("rgb") and text.endswith(")"):
        parts = text[text.find("(") + 1 : -1].split(",")[:3]
        try:
            return "#" + "".join(f"{min(255, max(0, round(float(p)))):02x}" for p in parts)
        except ValueError:
            pass
    raise InputError("colour", expected="a colour such as #7c2f3b", got=text, next_step="Choose a colour again")
