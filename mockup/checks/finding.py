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
        plain: the figure in a sewist's words, where it needs others than ``figure``; see :mod:`mockup.checks.spoken`.
        about: of what something is not known: a cloth's name, or 'the garment'; only where the check cannot tell.
        missing: what is not known of it: 'weight', 'shrinkage'.
        line: id of the line that it is about, or empty.
        end: 'start' or 'end' where it is about that end of the line, else empty.
        better_mm: a distance for that end, counted as it is now, that passes; None where there is none.
    """

    code: str
    grade: Grade
    place: Place
    figure: str
    limit: str
    source: str
    advice: str
    plain: str = ""
    about: str = ""
    missing: str = ""
    line: str = ""
    end: str = ""
    better_mm: float | None = None

    def to_json(self) -> dict[str, Any]:
        """Give the finding as a JSON object.

        ``view`` and ``point_px`` are there only where there is a point, ``about`` and ``missing`` only where something
        is not known, ``line``, ``end`` and ``better_mm`` only where they say something.
        """
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
        if self.about:
            answer |= {"about": self.about, "missing": self.missing}
        said = {"line": self.line, "end": self.end, "better_mm": self.better_mm}
        answer |= {key: value for key, value in said.items() if value not in ("", None)}
        return answer
