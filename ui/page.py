"""The page: the table with the garment, and the leaflet of five questions beside it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from swatches.errors import InputError
from ui.gate import HERE
from ui.parts import actions, earlier
from ui.parts.desk import QUIET_EVENT, SHIM, Desk, at_once, board_for
from ui.parts.example import Example
from ui.parts.lengths import restated
from ui.parts.messages import text_of
from ui.parts.said import Said
from ui.parts.session import WORD, Session, Sessions
from ui.phone import Phones, phone_scene
from ui.questions import choices, cloth, garment, lines, pieces, sew, votes

if TYPE_CHECKING:
    from gradio import Blocks

QUESTIONS = (
    ("garment", "What garment?", garment.build),
    ("cloth", "Which cloth?", cloth.build),
    ("lines", "Where do the lines run?", lines.build),
    ("sew", "Will it sew?", sew.build),
    ("print", "Print and cut", pieces.build),
)
MORE = {"cloth": (choices.build,), "print": (votes.build,)}
"""What stands below a question's own part."""

_TOP = """
<header class="top">
  <h1>Garment mock-up</h1><span class="what" data-slot="name"></span>
  <span class="tools">
    <button type="button" class="quiet" data-step="undo" data-act='{"do": "undo"}' disabled>Undo</button>
    <button type="button" class="quiet" data-step="redo" data-act='{"do": "redo"}' disabled>Redo</button>
    <label class="unit"><span class="long">Lengths in</span>
    <select data-unit aria-label="Lengths in"><option>mm</option><option>cm</option><option>in</option></select></label>
    <label class="unit"><span class="long">My colour vision</span>
    <select data-sight aria-label="My colour vision">
    <option value="usual">usual colours</option>
    <option value="protan">no red</option><option value="deutan">no green</option>
    <option value="tritan">no blue</option><option value="grey">light and dark only</option></select></label>
    <button type="button" class="quiet" data-light><span class="long">Light / dark</span>
    <span class="short"></span></button>
    {phone}
    <a class="quiet" href="/">Another<span class="long"> garment</span></a>
  </span>
</header>
"""

_PHONE = '<button type="button" class="quiet" data-phone>Let my phone in</button>'

_HEADING = """
<h2><button type="button" class="ask" aria-expanded="false" data-question="{id}">
<span class="number" aria-hidden="true">{number}</span><span class="question">{text}</span>
<span class="answer" data-answer="{id}"></span></button></h2>
"""

_READ_WORD = "() => [new URLSearchParams(location.search).get('p') || '']"


def build_page(sessions: Sessions, example: Example, phones: Phones | None = None) -> Blocks:
    """Build the interface on the sessions of one data folder; with ``phones``, phones can be let in."""
    import gradio as gr

    with gr.Blocks(title="Garment mock-up", analytics_enabled=False, fill_width=True) as blocks:
        word = gr.Textbox(visible="hidden", elem_id="word", show_label=False)
        gr.HTML(_TOP.replace("{phone}", _PHONE if phones else ""), elem_id="top", elem_classes="words")
        with gr.Row(elem_id="page"):
            with gr.Column(elem_id="leaflet", elem_classes="leaflet"):
                places = []
                for number, (name, text, build) in enumerate(QUESTIONS, 1):
                    with gr.Column(elem_id=f"q-{name}", elem_classes="q"):
                        gr.HTML(_HEADING.format(id=name, number=number, text=text), elem_classes="words")
                        with gr.Column(elem_classes="q-body") as body:
                            places += [(body, part) for part in (build, *MORE.get(name, ()))]
            with gr.Column(elem_id="board"):
                table = board_for(SHIM, "table")
        desk = Desk(sessions, example, table, word)
        for body, build in places:
            with body:
                build(desk)
        _wire(gr, blocks, desk, phones)
    blocks.queue(api_open=False, default_concurrency_limit=8, max_size=64)
    return blocks  # type: ignore[no-any-return]


def _wire(gr: Any, blocks: Any, desk: Desk, phones: Phones | None) -> None:
    sessions, table, word = desk.sessions, desk.table, desk.word
    fields = [f.field for f in desk.lengths]

    def opened(said: str, request: gr.Request) -> tuple[Any, ...]:
        found = at_once(sessions, said, "table", lambda session: None)
        if not found["views"] and is_here(request):
            found["earlier"] = earlier.listed(sessions, but=said)
        session = sessions.get(said)
        texts = (
            getattr(session.state, f.kept) if f.kept else restated(f.field.value, "mm", session.state.unit)
            for f in desk.lengths
        )
        return (said, found, *texts)

    def measured(said: str, event: gr.EventData, *texts: str) -> tuple[Any, ...]:
        unit = str(_said(event, "unit"))
        shown = list(texts)

        def change(session: Session) -> None:
            sessions.settings.put(unit=unit)
            kept = [f.kept for f in desk.lengths]
            shown[:] = actions.take_unit(session, unit, list(zip(texts, kept, strict=True)))

        return (at_once(sessions, said, "table", change), *shown)

    def of_all(said: str, event: gr.EventData, request: gr.Request) -> dict[str, Any]:
        """What is not about one garment: settings, and the garments that were worked on before."""
        do, here = _said(event, "do"), is_here(request)
        if do in ("phone", "phone-out") and phones is not None and here and WORD.fullmatch(said):
            return {"patch": True, "phone": _at_the_door(phones, said, str(do))}
        found = at_once(sessions, said, "table", lambda session: _do_of_all(sessions, event._data, here))
        if not found["views"] and is_here(request):
            found["earlier"] = earlier.listed(sessions, but=said)
        return found

    # EventData and Request are found by their annotations, which are strings in this module.
    for handler in (measured, of_all):
        handler.__annotations__["event"] = gr.EventData
    for asked in (opened, of_all):
        asked.__annotations__["request"] = gr.Request
    blocks.load(opened, [word], [word, table, *fields], js=_READ_WORD, **QUIET_EVENT)
    table.unit(measured, [word, *fields], [table, *fields], **QUIET_EVENT)
    table.all(of_all, [word], [table], **QUIET_EVENT)


def _at_the_door(phones: Phones, word: str, do: str) -> dict[str, Any] | None:
    if do == "phone":
        return phone_scene(phones, word)
    phones.let_out(word)
    return None


def is_here(request: Any) -> bool:
    """Whether somebody at this computer asks, and not somebody in the network."""
    return bool(request.client) and request.client.host in HERE


def _said(event: Any, key: str) -> Any:
    return event._data.get(key) if isinstance(event._data, dict) else None


def _do_of_all(sessions: Sessions, message: Any, here: bool) -> Said | None:
    do = text_of(message, "do") if isinstance(message, dict) else ""
    if do == "sight":
        sessions.settings.put(sight=text_of(message, "sight"))
        return None
    if do == "put-away" and here:
        earlier.put_away(sessions, text_of(message, "word"))
        return None
    if do == "bring-back" and here:
        earlier.bring_back(sessions, text_of(message, "word"))
        return Said("table", "It is back.")
    raise InputError("request", expected="something this page can do", got=do, next_step="Open the page again")
