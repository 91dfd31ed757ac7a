"""Print and cut: cards to post, the choices as a document, and a poll with its results."""

from __future__ import annotations

import datetime
import io
import tempfile
import zipfile
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict

from mockup import journey
from mockup.journey.polling import DATABASE, open_poll, write_cards
from mockup.polls.poll import MAX_CHOICES, MIN_CHOICES, Ask, Poll
from mockup.polls.store import PollStore
from mockup.project import Project
from swatches.errors import InputError
from swatches.job import Job
from swatches.safe_write import write_whole
from ui.parts.asked import remember
from ui.parts.desk import Desk, board_for
from ui.parts.messages import read
from ui.parts.said import Said
from ui.parts.scripts import shim
from ui.parts.session import Session
from ui.poll.running import HERE, HOME, REACH, Voting
from ui.questions.votes_shown import voting_of

SHIM = shim("votes_board.js", "vote")
"""Loads the script of polls; the event's name stands in quotes for Python to listen."""
MOST_LINKS = 200
_ZIP_DATE = (1980, 1, 1, 0, 0, 0)


class VoteSaid(BaseModel):
    """Something that the board of polls says."""

    model_config = ConfigDict(extra="ignore")
    do: Literal["close", "serve"]


def build(desk: Desk) -> None:
    """Lay out the part of the question and wire it."""
    import gradio as gr

    with gr.Accordion("Show the choices, and let others choose", open=False):
        with gr.Row(elem_classes="pair"):
            cards = gr.Button("Cards to post", elem_id="make-cards")
            document = gr.Button("A document (PDF)", elem_id="make-document")
        gr.HTML('<ul data-slot="shared" class="made"></ul>', elem_classes="words")
        title = gr.Textbox("Which one shall we sew?", label="The question", max_length=120, elem_id="poll-title")
        with gr.Row(elem_classes="pair"):
            ask = gr.Dropdown(
                [("choose one", "one"), ("rank all", "rank")], value="one", label="Voters", elem_id="poll-ask"
            )
            closes = gr.Textbox(
                "", label="Open until", placeholder="2026-12-01 18:00", max_length=40, elem_id="poll-closes"
            )
        where = gr.Dropdown(
            [("only this computer", HERE), ("my home network", HOME)], value=HERE, label="Who can reach it",
            elem_id="poll-reach",
        )  # fmt: skip
        links = gr.Textbox(
            "", label="One-time links, how many", placeholder="none: an open link for all", max_length=5,
            elem_id="poll-links",
        )  # fmt: skip
        start = gr.Button("Open the poll", elem_id="open-poll", elem_classes="main")
        gr.HTML(
            '<p class="said" data-said="votes" role="status"></p><div data-slot="poll"></div>', elem_classes="words"
        )
    board = board_for(SHIM, "votes-board")
    voting = voting_of(desk.sessions)
    desk.slow(cards.click, "votes", "Painting the cards", _cards, _keep_files)
    desk.slow(document.click, "votes", "Painting the document", _document, _keep_files)

    def opened(session: Session, job: Job, *said: Any) -> Any:
        return _open(session, voting, job, *said)

    desk.slow(start.click, "votes", "Painting the choices for the poll", opened, _keep_poll, title, ask, closes, where,
              links)  # fmt: skip
    desk.quick_message(board.vote, "votes", lambda session, message: take(session, voting, message))


def take(session: Session, voting: Voting, message: object) -> Said | None:
    """Close the poll of this garment, or answer it again after a restart."""
    said = read(VoteSaid, message)
    poll = poll_of(session, voting.data)
    if poll is None:
        return Said("votes", "There is no poll here yet.", "error")
    if said.do == "serve":
        voting.start(session.state.asked.get("reach", HERE))
        return Said("votes", "The poll answers again.")
    PollStore(voting.data / DATABASE).close(poll.id)
    return Said("votes", "The poll is closed: no further vote counts.")


def poll_of(session: Session, data: Path) -> Poll | None:
    """The poll that was opened for this garment, or None."""
    poll_id = session.state.asked.get("poll", "")
    return PollStore(data / DATABASE).get(poll_id) if poll_id and (data / DATABASE).exists() else None


def _cards(session: Session, job: Job) -> dict[str, bytes]:
    project = _enough(session, 1)
    with tempfile.TemporaryDirectory(prefix="mockup-cards-") as name:
        written, _ = write_cards(project, session.folder, Path(name), job=job)
        packed = io.BytesIO()
        with zipfile.ZipFile(packed, "w", zipfile.ZIP_STORED) as archive:
            for path in written:
                archive.writestr(zipfile.ZipInfo(path.name, _ZIP_DATE), path.read_bytes())
            texts = "".join(f"{path.name}: {text}\n" for path, text in written.items())
            archive.writestr(zipfile.ZipInfo("text-alternatives.txt", _ZIP_DATE), texts.encode())
    return {"cards.zip": packed.getvalue()}


def _document(session: Session, job: Job) -> dict[str, bytes]:
    project = _enough(session, MIN_CHOICES)
    return {"choices.pdf": journey.compare_document(project, session.folder, job=job)}


def _keep_files(session: Session, files: dict[str, bytes]) -> Said | None:
    for name, data in files.items():
        write_whole(session.made_folder / name, data, what=name)
    number = session.step.number if session.step else 0
    asked = session.state.asked
    before = asked.get("shared", []) if asked.get("shared_for") == number else []
    remember(session, shared=[*(n for n in before if n not in files), *files], shared_for=number)
    return Said("votes", "Ready: it shows the choices as they are now.")


def _open(
    session: Session, voting: Voting, job: Job, title: str, ask: str, closes: str, where: str, links: str
) -> tuple[Poll, str, tuple[str, ...]]:
    project = _enough(session, MIN_CHOICES)
    if ask not in (Ask.ONE, Ask.RANK) or where not in REACH:
        raise InputError("poll", expected="one of those offered", got=f"{ask}, {where}", next_step="Choose again")
    count = _count(links)
    opened = open_poll(
        project, session.folder, voting.data, title=str(title or ""), ask=Ask(ask), open_link=count == 0,
        closes=moment(closes), job=job,
    )  # fmt: skip
    keys = PollStore(voting.data / DATABASE).make_links(opened.id, count) if count else ()
    voting.start(where)
    base = voting.address(opened.id)
    if keys:
        text = "".join(f"{base}?key={key}\n" for key in keys)
        write_whole(session.made_folder / f"links-{opened.id}.txt", text.encode(), what="links")
    return opened, where, keys


def _keep_poll(session: Session, found: tuple[Poll, str, tuple[str, ...]]) -> Said | None:
    poll, where, keys = found
    remember(session, poll=poll.id, reach=where, links=f"links-{poll.id}.txt" if keys else "")
    if keys:
        return Said("votes", f"The poll is open. Give each voter one of the {len(keys)} links: each works once.")
    return Said("votes", "The poll is open. Who has the link can vote, once in each browser.")


def moment(text: str) -> float | None:
    """Read when a poll ends, local time, as Unix time; None for an empty text.

    Raises:
        InputError: it is no date and time.
    """
    said = str(text or "").strip()
    if not said:
        return None
    try:
        return datetime.datetime.fromisoformat(said).timestamp()
    except ValueError as error:
        raise InputError(
            "open until", expected="a date and time", got=said, next_step="Write it like 2026-12-01 18:00"
        ) from error


def _count(text: str) -> int:
    said = str(text or "").strip()
    if not said:
        return 0
    if not said.isascii() or not said.isdigit() or not 0 <= int(said) <= MOST_LINKS:
        raise InputError(
            "one-time links", expected=f"a number up to {MOST_LINKS}", got=said, next_step="Leave it empty for one link"
        )
    return int(said)


def _enough(session: Session, least: int) -> Project:
    project = session.need()
    dressed = [c for c in project.colourways if c.fabrics]
    if len(dressed) < least or len(project.colourways) > MAX_CHOICES:
        raise InputError(
            "choices",
            expected=f"{least} to {MAX_CHOICES} with cloth" if least > 1 else "a choice with cloth",
            got=str(len(dressed)) if dressed else "none yet",
            next_step="Give panels cloth" if not dressed else "Press 'try another' above the garment for one more",
        )
    return project
