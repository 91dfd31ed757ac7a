"""What was found of the cloth that there is, as the page keeps it: one file beside the session.

Designs hold for the garment, its pattern and its cloth, whatever lines and choices it has: they bring lines and cloth
of their own. The answers to the simple questions hold for one step and choice.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace

from pydantic import TypeAdapter, ValidationError

from mockup.lay.lay import Scrap
from mockup.lay.stock import Stock
from mockup.proposals.families import position_words
from mockup.proposals.from_stash import Design
from swatches.errors import InputError
from swatches.safe_write import write_whole
from ui.parts.known_panels import VIEW, digest
from ui.parts.session import Session
from ui.parts.view_scene import FABRICS
from ui.questions.lay_state import key_of

_FILE = "designs.json"
_MAX_BYTES = 16_000_000


@dataclass(frozen=True, slots=True)
class Answered:
    """One of the simple questions with its answer; ``moves`` tells what a button may do then: words → mm up."""

    key: str
    text: str
    line: str = ""
    moves: dict[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Made:
    """What was found.

    Attributes:
        key: what it belongs to; see :func:`stock_key`.
        designs: the designs, with their lays.
        said: what was found, or what was short, mm.
        allowance_mm: that they were cut with.
        answers: by question: 'line', 'piece', 'sizes'.
        figures: what was searched, counted.
    """

    key: str = ""
    designs: tuple[Design, ...] = ()
    said: str = ""
    allowance_mm: float = 15.0
    answers: dict[str, Answered] = field(default_factory=dict)
    figures: str = ""


_MADE = TypeAdapter(Made)


def stock_key(session: Session) -> str:
    """What designs belong to: the garment, its views, its pattern and its cloth."""
    project = session.need()
    parts = [session.folder.name.encode(), *(VIEW.dump_json(v) for v in project.views)]
    parts += [
        (session.folder / "pieces" / project.pieces).read_bytes() if project.pieces else b"",
        FABRICS.dump_json(project.fabrics),
    ]
    return digest(*parts).hex()[:24]


def made_of(session: Session) -> Made:
    """What was found for the garment as it is; what no longer holds is left out."""
    try:
        data = (session.home / _FILE).read_bytes()
        made = _MADE.validate_json(data) if len(data) <= _MAX_BYTES else Made()
    except (OSError, ValidationError):
        made = Made()
    now = key_of(session)
    answers = {k: a for k, a in made.answers.items() if a.key == now}
    if made.key != stock_key(session):
        return Made(answers=answers)
    return Made(made.key, made.designs, made.said, made.allowance_mm, answers, made.figures)


def keep_made(session: Session, made: Made) -> None:
    """Write down what was found."""
    write_whole(session.home / _FILE, _MADE.dump_json(made), what="what was found")


def cloth_id(fabric: str, scrap: str) -> str:
    """A remnant's name in an address or a message: names are the person's own words."""
    return hashlib.sha256(f"{fabric}\0{scrap}".encode()).hexdigest()[:16]


def chosen(stock: dict[str, Stock], wanted: list[str]) -> dict[str, Stock]:
    """Only the remnants and rolls that were ticked.

    Raises:
        InputError: none of them is there.
    """
    out = {}
    for fabric, there in stock.items():
        scraps: tuple[Scrap, ...] = tuple(s for s in there.scraps if cloth_id(fabric, s.name) in wanted)
        if scraps:
            out[fabric] = replace(there, scraps=scraps)
    if not out and not any(there.scraps for there in stock.values()):
        raise InputError(
            "cloth", expected="a remnant or what is left on a roll", got="no cloth whose size is known",
            next_step="Measure a remnant of a cloth under 'Which cloth?', or say how much of it is left"
        )  # fmt: skip
    if not out:
        raise InputError(
            "cloth", expected="a remnant or what is left on a roll", got="none chosen", next_step="Tick some of it"
        )
    return out


def design_name(design: Design) -> str:
    """A design's name as it is said, mm: 'Yoke, 90 mm', 'Your lines, as they are'."""
    said = position_words(design.family, design.position_mm)
    return f"{said[:1].upper()}{said[1:]}"
