"""What is still to be said of pattern pieces: which line their outline is, and names for their edges."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import inf
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

from mockup import journey
from mockup.files.preparing import with_allowances
from mockup.pattern.piece import EdgeKind, Piece
from mockup.pattern.recognise import suggest
from mockup.pattern.view_half import CENTRE, half_of_view, whole
from mockup.project import Project
from mockup.split.split import Split, SplitView
from swatches.errors import GeometryError
from swatches.units import length
from ui.parts.messages import read
from ui.parts.session import Session

_SIDED = re.compile(r"-(left|right)\b")
_AS_READ = re.compile(r"edge-\d+")  # as :mod:`mockup.files.outlines` calls the edges of a plain outline


class LineSaid(BaseModel):
    """Which line the outlines are that carry no allowance yet, and how wide theirs is."""

    model_config = ConfigDict(extra="ignore")
    do: Literal["line-is"]
    value: Literal["stitch", "cut"]
    allowance: str = Field(max_length=40)


def without_allowance(pieces: Sequence[Piece]) -> list[str]:
    """Names of the pieces of which no edge has an allowance, so that one line may be sewn on or cut."""
    return [p.name for p in pieces if not any(e.allowance_mm for e in p.all_edges)]


def line_said(session: Session, message: object) -> tuple[Project, str]:
    """Take which line the outlines are; gives the project and what to call the step. The session's lock is held.

    Raises:
        InputError: no allowance that can be used.
        GeometryError: an allowance that cannot be taken off an outline.
    """
    said = read(LineSaid, message)
    typed = length(said.allowance, what="seam allowance", minimum_mm=1.0, bare=session.state.unit)
    project = session.need()
    pieces = journey.pieces_of(project, session.folder)
    asked = without_allowance(pieces)
    known = tuple(with_allowances([p], said.value, typed, {})[0] if p.name in asked else p for p in pieces)
    which = "sewn on" if said.value == "stitch" else "cut"
    return journey.keep_pieces(session.folder, project, known)[0], f"the outline is {which}, allowance {typed}"


def unnamed(piece: Piece) -> bool:
    """Whether a piece of the picture still has edges that nobody named."""
    return bool(piece.view) and any(_AS_READ.fullmatch(e.name) for e in piece.edges)


def unsaid(piece: Piece) -> bool:
    """Whether all edges of a piece are as a plain outline has them: nobody said what they are."""
    return all(e.kind in (EdgeKind.CUT, EdgeKind.FOLD) and _AS_READ.fullmatch(e.name) for e in piece.edges)


def names_for(piece: Piece, split: Split | None) -> list[str]:
    """Names that the edges of a piece can have, in their order round what it shows; none where nothing is known."""
    view = next((v for v in split.views if v.name == piece.view), None) if split is not None else None
    if split is None or view is None:
        return []
    like = suggest(piece, split, likely=inf) if unnamed(piece) else ()
    tied = [s for s in like if (s.view, s.area) == (piece.view, piece.area) and s.corners]
    names = [n for n, _ in tied[0].corners] if tied else _ring(view, any(_SIDED.search(e.name) for e in piece.edges))
    return list(dict.fromkeys(f"centre-{view.name}" if n == CENTRE else n for n in names))


def _ring(view: SplitView, sided: bool) -> list[str]:
    """The names of half a view, or of the whole where it has no halves or a piece names sides; else none."""
    for side in ("",) if sided else ("left", ""):
        try:
            return list((half_of_view(view, side) if side else whole(view)).names)
        except GeometryError:
            continue
    return []


def to_name(piece: Piece, names: Sequence[str]) -> str:
    """What to do about edges without names, in words."""
    if not names:
        return f"{piece.name}: if the picture shows it, say below which part of it this is."
    listed = ", ".join(n.replace("-", " ") for n in names)
    return f"{piece.name}: press each of its edges in the drawing and name it. Round the piece they are {listed}."


def missing(piece: Piece, names: Sequence[str]) -> str:
    """Which edges of what it shows a piece has not, in words; empty where it has all of them."""
    own = {e.name for e in piece.edges}
    lacking = [n.replace("-", " ") for n in names if n not in own]
    if not lacking:
        return ""
    listed = " and ".join([", ".join(lacking[:-1]), lacking[-1]]) if len(lacking) > 1 else lacking[0]
    return f"{piece.name}: no edge is called {listed}, so no line can be laid on it. Press an edge to name it."


def trouble(piece: Piece, split: Split) -> str:
    """What is to be done about a piece's edges before lines can be put on it, in words; empty where nothing is."""
    names = names_for(piece, split)
    if not piece.view and unsaid(piece):
        return to_name(piece, ())
    return to_name(piece, names) if unnamed(piece) else missing(piece, names)
