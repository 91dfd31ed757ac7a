"""Cuts that others took the place of: their files are kept for a while, and undo and redo bring them back."""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from mockup.project import Project
from ui.parts.state import Cut

if TYPE_CHECKING:
    from ui.parts.session import Session

KEPT = 4
"""How many cuts are kept beside the one that is shown: a few MB each, for a few steps back."""


def put_in_place(
    session: Session,
    work: Path,
    names: Sequence[str],
    *,
    made_for: int,
    facts: Sequence[dict[str, Any]],
    cutting: dict[str, Any],
) -> None:
    """Take a cut's files to where they are downloaded from; the cut before is laid aside, unless it shows that too.

    Args:
        session: the session, its lock held.
        work: the folder with the new files.
        names: their names.
        made_for: number of the step that they show.
        facts: what the cut said.
        cutting: how it was cut.
    """
    new = Cut(made_for, tuple(names), tuple(facts), cutting, cutting["allowance"])
    _change(session, new, work)


def bring_back(session: Session) -> None:
    """After undo or redo: where a kept cut shows the garment as it is now, and the shown one does not, change them."""
    if not session.state.cuts or session.made_holds:
        return
    found = next((c for c in reversed(session.state.cuts) if session.cut_alike(c.made_for)), None)
    if found is None or not all((_home(session, found.made_for) / n).is_file() for n in found.made):
        return
    _change(session, found, _home(session, found.made_for))


def taken_again(
    session: Session, project: Project, joins: Sequence[dict[str, Any]], cutting: dict[str, Any], work: Path
) -> Cut | None:
    """Lay the files of a kept cut into a folder, where it is just what would be cut now: a seam is put back, say.

    Nothing may differ: neither what shows in the pieces nor what is only said of them.

    Args:
        session: the session.
        project: what would be cut.
        joins: seams that go after the cut.
        cutting: how it would be cut.
        work: the folder.

    Returns:
        The kept cut, or None where there is none; its own files stay where they are.
    """
    with session.lock:  # undo would take the files away
        steps = {s.number: s for s in session.state.steps}
        for cut in reversed(session.state.cuts):
            step = steps.get(cut.made_for)
            if step is None or step.joins != tuple(joins) or cut.cutting != cutting or not cut.facts:
                continue
            home, then = _home(session, cut.made_for), session.project_of(step.number)
            there = all((home / name).is_file() for name in cut.made)
            if there and replace(then, revision=0) == replace(project, revision=0):
                work.mkdir(parents=True, exist_ok=True)
                for name in cut.made:
                    (work / name).write_bytes((home / name).read_bytes())
                return cut
    return None


def _change(session: Session, new: Cut, where: Path) -> None:
    """Show another cut and lay the shown one aside; what is remembered first is what can fail."""
    old = _shown(session, unless=new.made_for)
    steps = {s.number for s in session.state.steps}  # undo leads back to these alone
    kept = [c for c in session.state.cuts if c.made_for in steps - {new.made_for, session.state.made_for}]
    if old is not None:
        kept = [*kept[-(KEPT - 1) :], old]
    session.remember(
        made=new.made, made_for=new.made_for, facts=new.facts, facts_for=new.made_for, cutting=new.cutting,
        allowance=new.allowance, cuts=tuple(kept),
    )  # fmt: skip
    if old is not None:
        _move(session.made_folder, _home(session, old.made_for), old.made)
    _move(where, session.made_folder, new.made)
    _tidy(session.home / "cuts", {str(c.made_for) for c in kept})


def _shown(session: Session, *, unless: int) -> Cut | None:
    """The cut that is shown, to be laid aside; None where no undo could lead back to it."""
    state = session.state
    there = tuple(n for n in state.made if (session.made_folder / n).is_file())
    if not there or state.made_for == unless or all(s.number != state.made_for for s in state.steps):
        return None
    facts = state.facts if state.facts_for == state.made_for else ()  # those of a trial since are of other pieces
    return Cut(state.made_for, there, facts, state.cutting, state.allowance)


def _tidy(home: Path, kept: set[str]) -> None:
    """Remove the folders of cuts that are not kept any more."""
    for folder in home.iterdir() if home.is_dir() else ():
        if folder.name not in kept:
            shutil.rmtree(folder, ignore_errors=True)


def _move(source: Path, target: Path, names: Sequence[str]) -> None:
    target.mkdir(parents=True, exist_ok=True)
    for name in names:
        with contextlib.suppress(FileNotFoundError):  # a file that the person's own program took away meanwhile
            (source / name).replace(target / name)


def _home(session: Session, number: int) -> Path:
    return session.home / "cuts" / str(number)
