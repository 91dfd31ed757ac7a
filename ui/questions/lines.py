"""Where do the lines run? The trade's usual lines by a measure or two, one's own by hand, distances typed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from mockup.garment.view import View
from mockup.proposals.lines import LineProposals
from mockup.stylelines import presets
from mockup.stylelines.styleline import StyleLine
from swatches.errors import InputError
from swatches.units import Length, length
from ui.parts import actions, line_ideas
from ui.parts.desk import Desk
from ui.parts.lengths import usual_text
from ui.parts.line_scene import cost_words
from ui.parts.said import Said
from ui.parts.session import Session
from ui.parts.words import capital

Made = Callable[[View, int, Length, Length], tuple[StyleLine, ...]]


@dataclass(frozen=True, slots=True)
class Usual:
    """A usual line: its name, what its measures say, their usual values in mm, and how it is made."""

    name: str
    asks: tuple[str, str]
    usual: tuple[float, float]
    make: Made


USUAL: dict[str, Usual] = {
    "yoke": Usual(
        "Yoke",
        ("down the armhole, or from the waist", ""),
        (120.0, 0.0),
        lambda v, n, a, b: presets.yoke(v, a, first=n),
    ),
    "hem-band": Usual(
        "Hem band", ("above the hem", ""), (120.0, 0.0), lambda v, n, a, b: presets.hem_band(v, a, first=n)
    ),
    "band": Usual(
        "Band across",
        ("below the underarm, or the waist", "its width"),
        (60.0, 80.0),
        lambda v, n, a, b: presets.band(v, a, b, first=n),
    ),
    "side-panel": Usual(
        "Side panel",
        ("above the underarm, or in along the waist", "in from the side, at the hem"),
        (60.0, 90.0),
        lambda v, n, a, b: presets.side_panel(v, a, b, first=n),
    ),
    "centre-panel": Usual(
        "Centre panel",
        ("out from the neck, along the shoulder, or along the waist", "its width at the hem"),
        (40.0, 260.0),
        lambda v, n, a, b: presets.centre_panel(v, a, b, first=n),
    ),
    "princess": Usual(
        "Princess-like curve",
        ("down the armhole, or out along the waist", "out from the centre, at the hem"),
        (100.0, 150.0),
        lambda v, n, a, b: presets.princess(v, a, b, first=n),
    ),
    "raglan": Usual(
        "Raglan-like line",
        ("along the neck, from the shoulder", "above the underarm, along the armhole"),
        (40.0, 60.0),
        lambda v, n, a, b: presets.raglan(v, a, b, first=n),
    ),
    "diagonal": Usual(
        "Diagonal",
        ("down the armhole, or from the waist", "above the hem, along the side"),
        (40.0, 150.0),
        lambda v, n, a, b: presets.diagonal(v, a, b, first=n),
    ),
    "chevron": Usual(
        "Chevron",
        ("below the underarm, or the waist", "below the neck, or the waist, at the centre"),
        (60.0, 330.0),
        lambda v, n, a, b: presets.chevron(v, a, b, first=n),
    ),
}
"""Offered lines, in the order shown."""


KEYS = (
    ("Tab", "goes from the picture to its panels, lines and points"),
    ("+ − 0", "on the picture or a panel: closer, farther, the whole garment"),
    ("Arrows", "on the picture or a panel: move what is in sight, when it is closer; with Shift by more"),
    ("Ctrl and arrows", "on a line or a point: the same"),
    ("Arrows", "on a line or a point: move it by 1 mm, with Shift by 1 cm"),
    ("+ Delete", "on a line: put a point into it, take it away; Delete on a point takes out the point"),
    ("Enter", "on a panel: give it the cloth in hand; on a flag: say what it means"),
    ("Enter, Backspace, Esc", "while you draw: end it, take a point back, stop"),
    ("Ctrl Z, Ctrl Y", "undo, redo"),
)
"""What the keys do over the picture."""


_SEWN_IN = (
    "<p>Mark it on the picture, and lines that meet it are flagged. Darts of your pattern need no mark.</p>"
    '<div class="row">'
    + "".join(
        f'<button type="button" data-mode="{kind}" data-needs-garment>{word}</button>'
        for kind, word in (("dart", "A dart"), ("pleat", "A pleat"), ("pocket", "A pocket"), ("closure", "An opening"))
    )
    + '</div><ul data-slot="details"></ul>'
)


def _keys() -> str:
    return "".join(f"<li><kbd>{key}</kbd> {does}</li>" for key, does in KEYS)


def build(desk: Desk) -> None:
    """Lay out the question and wire it."""
    import gradio as gr

    with gr.Row(elem_classes="pair"):
        kind = gr.Dropdown(
            [(u.name, k) for k, u in USUAL.items()], value="yoke", label="A usual line", elem_id="usual-line"
        )
        where = gr.Dropdown(
            [("front and back", "both"), ("front", "front"), ("back", "back")],
            value="both",
            label="Where",
            elem_id="line-where",
        )
    first = USUAL["yoke"]
    with gr.Row(elem_classes="pair"):
        a = desk.length_field(
            gr.Textbox(
                label=capital(first.asks[0]), value=usual_text(first.usual[0], "mm"), max_length=40, elem_id="line-a"
            )
        )
        b = desk.length_field(gr.Textbox(label="", value="", max_length=40, elem_id="line-b", visible=False))
    with gr.Row(elem_classes="pair"):
        add = gr.Button("Add this line", elem_id="add-line", elem_classes="main")
        gr.HTML('<button type="button" data-mode="line" data-needs-garment>Draw by hand</button>', elem_classes="words")
    gr.HTML(
        '<button type="button" data-mode="shape" data-needs-garment>Draw a closed shape</button>', elem_classes="words"
    )
    ideas = gr.Button("Show me where lines could run", elem_id="line-ideas")
    gr.HTML(
        '<p class="said" data-said="lines" role="status"></p>'
        '<ul data-slot="marks" class="facts" aria-label="Where it would be hard to sew"></ul>'
        '<ul data-slot="ideas" class="ideas" aria-label="Where lines could run"></ul>'
        '<ul data-slot="lines" class="line-cards"></ul>'
        f'<details class="fold sewn-in"><summary>What is sewn in already?</summary>{_SEWN_IN}</details>'
        f'<details class="fold keys"><summary>By keyboard</summary><ul>{_keys()}</ul></details>',
        elem_classes="words",
    )

    def ask(word: str, name: str) -> tuple[object, ...]:
        usual = USUAL.get(name, first)
        unit = desk.sessions.get(word).state.unit
        return tuple(
            gr.update(label=capital(words), value=usual_text(mm, unit) if words else "", visible=bool(words))
            for words, mm in zip(usual.asks, usual.usual, strict=True)
        )

    kind.change(ask, [desk.word, kind], [a, b], show_progress="hidden", api_visibility="private")
    desk.quick(add.click, "lines", _add, kind, where, a, b)
    desk.slow(ideas.click, "lines", "Trying lines", line_ideas.find, _keep_ideas)


def _keep_ideas(session: Session, found: tuple[int, LineProposals]) -> Said | None:
    session.ideas = found
    tried, shown = found[1].tried, len(found[1].found)
    said = f"Here are {shown}; {tried + 1} were tried. The one that you use takes the place of your lines."
    return Said("lines", said)


def _add(session: Session, kind: str, where: str, a: str, b: str) -> Said | None:
    usual = USUAL.get(kind)
    if usual is None or where not in ("both", "front", "back"):
        raise InputError("line", expected="one of the lines offered", got=str(kind), next_step="Choose one of them")
    project = session.need()
    sides = ("front", "back") if where == "both" else (where,)
    views = [next((v for v in project.views if v.side == s and v.edges), None) for s in sides]
    found = [v for v in views if v is not None]
    if not found:
        return Said("lines", f"There is no picture of the {where} yet.", "error")
    lines: list[StyleLine] = []
    bare = session.state.unit
    first = length(a, what=usual.asks[0], minimum_mm=0.0, bare=bare)
    second = length(b, what=usual.asks[1], minimum_mm=0.0, bare=bare) if usual.asks[1] else first
    for view in found:
        made = usual.make(view, actions.free_number(project) + len(lines), first, second)
        lines += made if not lines or view is found[0] else actions.going_on(lines, made)
    actions.add_lines(session, tuple(lines), f"added {usual.name.lower()}")
    price = cost_words(session, [line.id for line in lines])
    return Said("lines", f"{usual.name} added: {price}. Drag its points, or type its distances below.")
