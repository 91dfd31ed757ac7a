"""What a session remembers beside the project: its steps, the choice that is shown, how the pieces were cut."""

from __future__ import annotations

import json
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

from ui.parts.lengths import usual_text


@dataclass(frozen=True, slots=True)
class Step:
    """One change that can be undone.

    Attributes:
        number: counts on, and names its file.
        garment: name of the project folder that it belongs to.
        label: what was done.
        joins: seams that are taken out of the cut pieces from then on, as fields of mockup.journey.joining.Join.
    """

    number: int
    garment: str
    label: str
    joins: tuple[dict[str, Any], ...] = ()


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut that another one took the place of, with its files kept, so that undo brings them back.

    Attributes:
        made_for: number of the step that it shows; its files lie in a folder of that name.
        made: names of its files.
        facts: what it said.
        cutting: how it was cut.
        allowance: seam allowance as typed then.
    """

    made_for: int
    made: tuple[str, ...]
    facts: tuple[dict[str, Any], ...] = ()
    cutting: dict[str, Any] = field(default_factory=dict)
    allowance: str = "15 mm"


@dataclass(frozen=True, slots=True)
class State:
    """What the page remembers beside the project.

    Attributes:
        steps: changes, oldest first.
        at: index of the step that is shown; -1 before the first.
        unit: how lengths are shown: 'mm', 'cm' or 'in'.
        choice: letter of the choice that is shown.
        allowance: seam allowance as typed.
        width: usable cloth width as typed.
        made: names of the files made for ``made_for``.
        made_for: number of the step that they show.
        facts: what the last trial or cut said; see ui.parts.making.
        facts_for: number of the step that they are about.
        cutting: how the pieces were cut last: allowance, paper, whether the pattern is one's own.
        cuts: earlier cuts that are kept, oldest first.
        asked: what was asked about choices: which panels follow each other, suggestions, the poll; see ui.parts.asked.
        marks: by photo view, what the person drew on it: 'around', 'keep' and 'drop', picture px.
    """

    steps: tuple[Step, ...] = ()
    at: int = -1
    unit: str = "mm"
    choice: str = "A"
    allowance: str = "15 mm"
    width: str = "140 cm"
    made: tuple[str, ...] = ()
    made_for: int = 0
    facts: tuple[dict[str, Any], ...] = ()
    facts_for: int = 0
    marks: dict[str, dict[str, Any]] = field(default_factory=dict)
    cutting: dict[str, Any] = field(default_factory=dict)
    cuts: tuple[Cut, ...] = ()
    asked: dict[str, Any] = field(default_factory=dict)


def read_state(path: Path, unit: str) -> State:
    """Read what was written down; as at the beginning, in the person's unit, where nothing was yet."""
    try:
        raw = json.loads(path.read_text("utf-8"))
    except FileNotFoundError:
        return State(unit=unit, allowance=usual_text(15.0, unit), width=usual_text(1400.0, unit))
    known = {f.name for f in fields(State)}
    raw = {k: v for k, v in raw.items() if k in known}
    raw["steps"] = tuple(Step(**{**s, "joins": tuple(s.get("joins", ()))}) for s in raw.get("steps", ()))
    raw["made"] = tuple(raw.get("made", ()))
    raw["cuts"] = tuple(Cut(**{**c, "made": tuple(c["made"]), "facts": tuple(c["facts"])}) for c in raw.get("cuts", ()))
    raw["facts"] = tuple(raw.get("facts", ()))
    return State(**raw)
