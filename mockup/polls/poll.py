"""A poll: what is asked, of whom, and until when."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

MIN_CHOICES, MAX_CHOICES = 2, 6
COMMENT_LIMIT = 500
TITLE_LIMIT = 120


class Ask(StrEnum):
    """What a voter does: choose one, or rank all."""

    ONE = "one"
    RANK = "rank"


@dataclass(frozen=True, slots=True)
class PollChoice:
    """One choice on offer.

    Attributes:
        letter: as burned into the picture: 'A'.
        name: the person's word, or empty.
        picture: file name in the poll's folder.
        alt: text alternative of the picture.
    """

    letter: str
    name: str
    picture: str
    alt: str


@dataclass(frozen=True, slots=True)
class Poll:
    """One poll.

    Attributes:
        id: random, url-safe.
        title: the question.
        choices: 2 to 6.
        ask: choose one, or rank all.
        open_link: whether anyone with the address may vote once a browser; else only one-time links count.
        closes: Unix time after which no vote counts, or None.
        closed: whether it was closed by hand.
    """

    id: str
    title: str
    choices: tuple[PollChoice, ...]
    ask: Ask
    open_link: bool
    closes: float | None = None
    closed: bool = False

    def is_open(self, now: float) -> bool:
        """Whether a vote at Unix time ``now`` counts."""
        return not self.closed and (self.closes is None or now <= self.closes)

    @property
    def letters(self) -> tuple[str, ...]:
        """Letters on offer, sorted."""
        return tuple(sorted(c.letter for c in self.choices))
