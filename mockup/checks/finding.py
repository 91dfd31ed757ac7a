"""What a check says."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from mockup.geometry.path import XY


class Grade(StrEnum):
    """How serious a finding is. ``CANNOT_TELL``: something that the check needs is not known."""

    STOP = "stop"
    WARN = "warn"
    NOTE = "note"
    CANNOT_TELL = "cannot tell"


ORDER = (Grade.STOP, Grade.WARN, Grade.CANNOT_TELL, Grade.NOTE)
"""Most serious first."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a finding is: words, and a point of a view's picture (px) where there is one."""

    words: str
    view: str = ""
    point: XY | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """One sentence's worth of judgement.

    Attributes:
        code: stable name of the check, 'weight', 'bulk', …
        grade: how serious.
        place: where.
        figure: what was found, with its unit; empty where the check cannot tell.
        limit: what it was held against, with its unit.
        source: where the limit comes from, or 'our own choice'.
        advice: what the person can do, one sentence.
    """

    code: str
    grade: Grade
    place: Place
    figure: str
    limit: str
    source: str
    advice: str

    def to_json(self) -> dict[str, Any]:
        """Give the finding as a JSON object; ``view`` and ``point_px`` only where there is a point."""
        answer: dict[str, Any] = {
            "code": self.code,
            "grade": self.grade.value,
            "place": self.place.words,
            "figure": self.figure,
            "limit": self.limit,
            "source": self.source,
            "advice": self.advice,
        }
        if self.place.point is not None:
            answer |= {"view": self.place.view, "point_px": [round(v, 2) for v in self.place.point]}
        return answer
