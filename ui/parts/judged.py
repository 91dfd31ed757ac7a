"""What the checks say of the choice that is shown, for the page: at once where lines and pieces are measured already.

A change of cloth is judged while the scene is made. A change of lines needs panels and seams measured anew, which takes
longer than a person wants to wait for a dragged line: the page asks for that afterwards (see ui.questions.sew).
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Mapping, Sequence
from threading import Lock
from typing import Any

from pydantic import TypeAdapter

from mockup.checks.in_unit import length_said
from mockup.checks.limits import DEFAULTS, OWN, YOURS, limits
from mockup.checks.scene import frame_is_known
from mockup.checks.spoken import limit_words, source_words, spoken
from mockup.colourways.colourway import Colourway
from mockup.journey.checking import NO_CLOTH, can_cut, judged, known_cut
from mockup.journey.knowing import EDGES
from mockup.journey.sewn_in import with_darts
from mockup.lay.need import Need
from mockup.project import Project
from swatches.errors import InputError, MockupError
from swatches.units import length
from ui.parts.session import Session, State

_PROJECT: TypeAdapter[Project] = TypeAdapter(Project)
_KEPT = 8
_lays: OrderedDict[bytes, Mapping[str, Need]] = OrderedDict()
_lock = Lock()


def judged_scene(session: Session) -> dict[str, Any]:
    """What stands under 'Will it sew?': ``facts``, whether they are ``pending``, limits, what is known, the answer."""
    project = session.project
    if project is None:
        return {"facts": [], "facts_pending": False, "limits": [], "known": None}
    found: dict[str, Any] = {"limits": limits_shown(project, session.state.unit), "known": known_shown(project)}
    extra = list(session.state.facts) if session.state.facts_for == _number(session) else []
    if not frame_is_known(project):
        return found | {"facts": extra, "facts_pending": True}
    try:
        live = facts_of(session)
    except MockupError:
        live = []  # what is wrong with the lines is said beside them
    return found | {"facts": _with_flags([*extra, *live]), "facts_pending": False}


def facts_of(session: Session) -> list[dict[str, Any]]:
    """Judge the choice that is shown, by what is measured already; most serious first.

    Raises:
        GeometryError: a line cannot be placed or cut.
    """
    project, state = session.need(), session.state
    choice = shown_choice(project, state)
    allowance = _allowance(state)
    cut = known_cut(project, session.folder, allowance=allowance)
    found = judged(with_darts(project, session.folder), choice, cut, allowance=allowance, lays=known_lays(session))
    untried = cut is None and can_cut(project)
    facts = []
    if untried:
        found = tuple(f for f in found if f.missing != "pattern pieces")
    for line in spoken(found, state.unit):
        fact: dict[str, Any] = {
            "grade": line.grade.value,
            "text": line.text,
            "about": line.where,
            "origin": line.origin,
            "more": list(line.more),
            "view": "",
            "point": None,
        }
        if line.place.point is not None:
            fact |= {"view": line.place.view, "point": [round(v, 1) for v in line.place.point]}
        facts.append(fact)
    if untried:
        text = "The pieces were not cut on trial yet. Press 'Try it': then seams are compared and cloth is measured."
        facts.append(plain_fact("cannot tell", text))
    if not choice.fabrics and project.lines:
        facts.append(plain_fact("cannot tell", NO_CLOTH))
    facts += _without_lengths(project)
    order = ["stop", "warn", "cannot tell", "note"]
    return sorted(facts, key=lambda f: order.index(f["grade"]))


def plain_fact(grade: str, text: str) -> dict[str, Any]:
    """A fact without place, limit or details."""
    return {"grade": grade, "text": text, "about": "", "origin": "", "more": [], "view": "", "point": None}


def answer_of(facts: Sequence[Mapping[str, Any]]) -> str:
    """What the checks say, in a few words, for the closed question."""
    if not facts:
        return "nothing to judge yet"
    counts = {grade: sum(f["grade"] == grade for f in facts) for grade in ("stop", "warn", "cannot tell")}
    said = []
    if counts["stop"]:
        said.append(f"{counts['stop']} in the way")
    if counts["warn"]:
        said.append(f"{counts['warn']} to take care of")
    if counts["cannot tell"]:
        said.append(f"{counts['cannot tell']} not known")
    return ", ".join(said) or "nothing stands against it"


def limits_shown(project: Project, unit: str = "mm") -> list[dict[str, Any]]:
    """The table of limits in plain words; a length and its unit stand in one text, in the person's unit."""
    rows = []
    for name, limit in limits(project.limits).items():
        long = limit.unit == "mm"
        value, ours = (length_said(v, unit) if long else f"{v:g}" for v in (limit.value, DEFAULTS[name].value))
        rows.append(
            {
                "name": name,
                "words": limit.words,
                "value": value,
                "ours": ours,
                "unit": "" if long else limit_words(limit).removeprefix(value).strip(),
                "length": long,
                "origin": source_words(limit.source),
                "yours": limit.source == YOURS,
                "own_choice": limit.source == OWN,
            }
        )
    return rows


def known_shown(project: Project) -> dict[str, Any]:
    """What is known of the garment as a whole."""
    closures = project.closures
    return {
        "opens": "unknown" if closures is None else "pulled on" if not closures else closures[0].kind,
        "edge": closures[0].edge if closures else EDGES[1],
        "edges": list(EDGES),
        "from_mm": closures[0].start_mm if closures else 0.0,
        "to_mm": closures[0].end_mm if closures else 200.0,
        "stretch": project.needed_stretch,
    }


def shown_choice(project: Project, state: State) -> Colourway:
    """The choice that is shown; one without cloth where there is none yet."""
    return next((c for c in project.colourways if c.letter == state.choice), Colourway(state.choice))


def keep_lays(session: Session, lays: Mapping[str, Need]) -> None:
    """Remember how the pieces of the choice that is shown lie on its cloth."""
    with _lock:
        _lays[_lay_key(session)] = lays
        while len(_lays) > _KEPT:
            _lays.popitem(last=False)


def known_lays(session: Session) -> Mapping[str, Need]:
    """How the pieces lie, where that was tried for this very choice, cloth and allowance."""
    with _lock:
        return _lays.get(_lay_key(session), {})


def _lay_key(session: Session) -> bytes:
    from dataclasses import replace

    project, state = session.need(), session.state
    choice = shown_choice(project, state)
    matters = replace(project, revision=0, name="", date="", colourways=(replace(choice, name=""),), limits={})
    said = f"{session.folder} {state.allowance} {state.width}".encode()
    return hashlib.sha256(_PROJECT.dump_json(matters) + said).digest()


def _allowance(state: State) -> float:
    try:
        return length(state.allowance, what="seam allowance", minimum_mm=0.0, bare=state.unit).mm
    except InputError:
        return 15.0  # a field that is being typed in; what is wrong with it is said when it is used


def _without_lengths(project: Project) -> list[dict[str, Any]]:
    silent = [v.name for v in project.views if v.kind == "drawing" and not v.scale_measured]
    if not silent:
        return []
    text = f"No length is known on the {' and the '.join(silent)}, so all lengths are guesses. "
    return [plain_fact("cannot tell", f"{text}Give one under 'What garment?'.")]


def _with_flags(facts: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Number the places in the picture, one number a place, so that a sentence can be found there."""
    places: dict[tuple[str, float, float], int] = {}
    out = []
    for fact in facts:
        if fact.get("point") is not None:
            place = (fact["view"], *(round(v) for v in fact["point"]))
            fact = fact | {"flag": places.setdefault(place, len(places) + 1)}
        out.append(fact)
    return out


def _number(session: Session) -> int:
    return session.step.number if session.step else 0
