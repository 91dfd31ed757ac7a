"""From choices to a poll: a card for each, and the poll that offers them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from mockup.journey.design import shown_choices
from mockup.polls.poll import Ask, Poll, PollChoice
from mockup.polls.store import PollStore
from mockup.project import Project
from mockup.sheets.card import SIZES, alt_text, cards
from mockup.sheets.compare import Choice
from swatches.job import QUIET, Job
from swatches.photo import write_png

DATABASE, PICTURES = "polls.sqlite", "poll-pictures"
"""Names in the data folder."""


def write_cards(
    project: Project, folder: Path, out: Path, *, title: str = "", sizes: Sequence[str] = tuple(SIZES), job: Job = QUIET
) -> tuple[dict[Path, str], tuple[Choice, ...]]:
    """Write a card of every choice in each size.

    Args:
        project: the project, with at least one choice.
        folder: its folder.
        out: folder for the cards; made if missing.
        title: the question; empty: the project's name.
        sizes: keys of :data:`~mockup.sheets.card.SIZES`.
        job: progress and cancellation.

    Returns:
        File → its text alternative, and the choices as they were painted.
    """
    choices = shown_choices(project, folder, long_side=1400, job=job)
    out.mkdir(parents=True, exist_ok=True)
    written = {}
    for size in sizes:
        made = cards(choices, title=title or project.name, size=size)
        for choice in choices:
            written[write_png(out / f"choice-{choice.letter}-{size}.png", made[choice.letter])] = alt_text(choice)
    return written, choices


def open_poll(
    project: Project,
    folder: Path,
    data: Path,
    *,
    title: str,
    ask: Ask = Ask.ONE,
    open_link: bool = True,
    closes: float | None = None,
    job: Job = QUIET,
) -> Poll:
    """Open a poll on all choices of a project; its pictures go into the data folder.

    Raises:
        InputError: fewer than two or more than six choices, no title, or a closing time that has passed.
    """
    store = PollStore(data / DATABASE)
    store.checked(title, [c.letter for c in project.colourways], closes)  # said before the work, not after it
    choices = shown_choices(project, folder, long_side=1400, job=job)
    offered = [PollChoice(c.letter, c.name, f"choice-{c.letter}.png", alt_text(c)) for c in choices]
    poll = store.add(title, offered, ask=ask, open_link=open_link, closes=closes)
    place = data / PICTURES / poll.id
    place.mkdir(parents=True)
    for letter, card in cards(choices, title=title).items():
        write_png(place / f"choice-{letter}.png", card)
    return poll
