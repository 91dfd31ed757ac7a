"""How the pieces lie, as the page keeps it: one file beside the session, for one garment, step and choice.

A lay that was begun for other lines or other cloth is not shown: its pieces are not these pieces. Another choice, or
undo, brings back the one that belongs to it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import shapely
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError
from shapely.geometry import Polygon

from mockup.journey.cutting import cut
from mockup.journey.joining import Join, with_joins
from mockup.journey.stash_designs import pictures_of, stock_in
from mockup.lay.exact import faults, off_grain
from mockup.lay.lay import Lay, LayPiece, Placement, Scrap, copies, missing, turns_on
from mockup.lay.need import lay_pieces
from mockup.pattern.piece import Piece
from mockup.project import Project
from mockup.sheets.lay_plan import label
from swatches.errors import InputError
from swatches.safe_write import write_whole
from swatches.units import length
from ui.parts.session import Session

CLEARANCE_MM = 2.0
MOVES = "how the pieces lie"
"""What the moves of a window are counted under in a session's edits."""
_FILE = "lay.json"
_MAX_BYTES = 4_000_000
_KEPT = 12  # lays of other choices and earlier steps that are kept too


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """The pieces of the shown choice with the cloth that they can lie on.

    Attributes:
        project: as shown.
        letter: the choice.
        made: the cut pieces; where seams were taken out, those that came of it.
        pieces: fabric id → its pieces, as cut.
        scraps: fabric id → remnants and roll.
        warnings: what could not be used, one sentence each.
        joined: names of the pieces that were made one.
    """

    project: Project
    letter: str
    made: tuple[Piece, ...]
    pieces: dict[str, tuple[LayPiece, ...]]
    scraps: dict[str, tuple[Scrap, ...]]
    warnings: tuple[str, ...]
    joined: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Laid:
    """What lies: fabric id → placements, what was said of each cloth last, and how much to buy, on other widths too."""

    key: str
    placements: dict[str, tuple[Placement, ...]] = field(default_factory=dict)
    said: dict[str, str] = field(default_factory=dict)
    buy: tuple[dict[str, str], ...] = ()
    widths: tuple[dict[str, str], ...] = ()


class PlacementSaid(BaseModel):
    """Where one piece lies, as a browser says it."""

    model_config = ConfigDict(extra="ignore", allow_inf_nan=False)
    piece: str = Field(max_length=200)
    remnant: str = Field(max_length=200)
    mirrored: bool
    angle: float = Field(ge=-720, le=720)
    x: float = Field(ge=-1e5, le=1e5)
    y: float = Field(ge=-1e5, le=1e5)


class LaySaid(BaseModel):
    """All that lies on one cloth."""

    model_config = ConfigDict(extra="ignore")
    cloth: str = Field(max_length=100)
    placements: list[PlacementSaid] = Field(default=[], max_length=400)


_STORED, _FILED = TypeAdapter(Laid), TypeAdapter(list[Laid])
_boards: dict[str, tuple[str, Board]] = {}


def key_of(session: Session) -> str:
    """What a lay belongs to: garment, step and choice."""
    step = session.step
    return f"{session.folder.name}/{step.number if step else 0}/{session.state.choice}/{session.state.allowance}"


def board_of(session: Session) -> Board | None:
    """The pieces and cloth of the shown choice, kept until they change; None without pattern, scale or choice.

    Raises:
        MockupError: the lines cannot be cut as they are.
    """
    project = session.project
    letter = session.state.choice
    if project is None or not project.pieces or all(c.letter != letter for c in project.colourways):
        return None
    if any(not v.scale_measured for v in project.views if v.kind == "drawing"):
        return None
    key = key_of(session)
    known = _boards.get(session.word)
    if known is None or known[0] != key:
        allowance = length(session.state.allowance, what="seam allowance", minimum_mm=0.0)
        whole = cut(project, session.folder, letter, allowance=allowance)
        made = with_joins(whole, [Join(**j) for j in session.joins]).pieces
        joined = frozenset(p.name for p in made) - {p.name for p in whole.pieces}
        used = dict.fromkeys(p.fabric for p in made if p.fabric)
        pieces = {f: lay_pieces([p for p in made if p.fabric == f]) for f in used}
        stock = stock_in(project)
        names = {f.id: f.name for f in project.fabrics}
        scraps = {f: stock[f].scraps if f in stock else () for f in used}
        warnings = [f"{names[f]}: {w}" for f in used if f in stock for w in (*stock[f].held, *stock[f].warnings)]
        board = Board(project, letter, made, pieces, scraps, tuple(warnings), joined)
        _boards[session.word] = key, board
        while len(_boards) > 8:
            _boards.pop(next(iter(_boards)))
    return _boards[session.word][1]


def laid_of(session: Session) -> Laid:
    """What lies for the shown choice; nothing where it was never begun or no longer belongs to it."""
    key = key_of(session)
    return next((laid for laid in _all(session) if laid.key == key), Laid(key))


def keep(session: Session, laid: Laid) -> None:
    """Write down what lies."""
    kept = [x for x in _all(session) if x.key != laid.key][-(_KEPT - 1) :]
    write_whole(session.home / _FILE, _FILED.dump_json([*kept, laid]), what="your lay")


def _all(session: Session) -> list[Laid]:
    """What lies for this and other choices and steps, the newest last; a file that cannot be read is none."""
    try:
        data = (session.home / _FILE).read_bytes()
        return _FILED.validate_json(data) if len(data) <= _MAX_BYTES else []
    except (OSError, ValidationError):
        return []


def taken(board: Board, said: LaySaid) -> tuple[Placement, ...]:
    """Read what a browser says that lies on one cloth.

    Raises:
        InputError: a cloth, piece or remnant that is not there, or more copies than are needed.
    """
    pieces = {p.name: p for p in board.pieces.get(said.cloth, ())}
    scraps = {s.name for s in board.scraps.get(said.cloth, ())}
    placements = tuple(Placement(p.piece, p.remnant, p.mirrored, p.angle % 360.0, p.x, p.y) for p in said.placements)
    for p in placements:
        if p.piece not in pieces or p.remnant not in scraps:
            raise InputError(
                "piece that was laid", expected="one of this cloth", got=f"{p.piece} on {p.remnant}",
                next_step="Open the page again",
            )  # fmt: skip
        if sum(q.piece == p.piece for q in placements) > pieces[p.piece].count:
            raise InputError(
                p.piece, expected=f"{pieces[p.piece].count} in all", got="more", next_step="Open the page again"
            )
    return placements


def board_scene(session: Session) -> dict[str, Any]:
    """Everything that the script draws of the lay, mm and y up; ``cloths`` is empty where nothing can be laid yet."""
    board = board_of(session)
    if board is None:
        return {"cloths": [], "warnings": []}
    laid = laid_of(session)
    names = {f.id: f.name for f in board.project.fabrics}
    return {
        "clearance": CLEARANCE_MM,
        "warnings": list(board.warnings),
        "buy": list(laid.buy),
        "widths": list(laid.widths),
        "cloths": [
            {
                "id": fabric,
                "name": names[fabric],
                "scraps": [_scrap(session, board, fabric, k, s) for k, s in enumerate(board.scraps[fabric])],
                "pieces": _pieces(board.pieces[fabric], board.scraps[fabric]),
                "placements": [_row(p) for p in laid.placements.get(fabric, ())],
                "said": laid.said.get(fabric, ""),
                "found": found_of(board, fabric, laid.placements.get(fabric, ())),
                "plan": f"/lay/{session.word}/{_safe(fabric)}.pdf" if laid.placements.get(fabric) else "",
            }
            for fabric in board.pieces
        ],
    }


def found_of(board: Board, fabric: str, placements: Sequence[Placement]) -> list[str]:
    """What the exact check finds of what lies, one sentence each."""
    pieces, scraps = {p.name: p for p in board.pieces[fabric]}, {s.name: s for s in board.scraps[fabric]}
    return [*faults(pieces, scraps, placements, clearance_mm=CLEARANCE_MM), *off_grain(pieces, scraps, placements)]


def lays_of(board: Board, laid: Laid) -> dict[str, Lay]:
    """What lies, as lays, of every cloth on which something does."""
    from mockup.lay.lay import Answer

    out = {}
    for fabric, placements in laid.placements.items():
        if placements and fabric in board.pieces:
            whole = not missing(board.pieces[fabric], placements)
            answer = Answer.YES if whole else Answer.NOT_FOUND
            out[fabric] = Lay(answer, laid.said.get(fabric, ""), placements)
    return out


def with_cloth(laid: Laid, fabric: str, placements: Sequence[Placement], said: str) -> Laid:
    """Give what lies with one cloth laid anew."""
    return replace(
        laid,
        placements={**laid.placements, fabric: tuple(placements)},
        said={**laid.said, fabric: said},
    )


def digest(laid: Laid) -> str:
    """A short name of what lies."""
    return hashlib.sha256(_STORED.dump_json(laid)).hexdigest()[:24]


def _pieces(pieces: Sequence[LayPiece], scraps: Sequence[Scrap]) -> list[dict[str, Any]]:
    rows = []
    for k, piece in enumerate(pieces, 1):
        number, name = label(piece.name, k)
        turns: Mapping[str, Sequence[float]] = {s.name: turns_on(piece, s) for s in scraps}
        for copy, mirrored in enumerate(copies(piece)):
            rows.append(
                {
                    "piece": piece.name,
                    "copy": copy,
                    "number": number,
                    "name": name,
                    "mirrored": mirrored,
                    "grain": piece.grain_deg,
                    "turns": {name: list(t) for name, t in turns.items()},
                    "outline": _simple(piece.outline),
                }
            )
    return rows


def _scrap(session: Session, board: Board, fabric: str, index: int, scrap: Scrap) -> dict[str, Any]:
    known = board.project.fabric(fabric)
    record = next((r for r in known.remnants if r.name == scrap.name), None)
    picture = None
    if record is not None and record.photo:
        found = pictures_of(replace(known, remnants=(record,)), session.folder).get(record.name)
        if found is not None:
            picture = {"href": f"/lay/{session.word}/{_safe(fabric)}-{index}.jpg", "box": list(found.box_mm)}
    rings = {"outline": [scrap.outline], "holes": [*scrap.holes, *scrap.flaws]}
    return {
        "name": scrap.name,
        "grain": scrap.grain_deg,
        "nap": scrap.nap,
        "picture": picture,
        **{key: [_simple(ring) for ring in value] for key, value in rings.items()},
    }


def _simple(ring: Sequence[tuple[float, float]]) -> list[list[float]]:
    """An outline with as few points as show it to 0.15 mm; what lies is judged on the full one."""
    points = shapely.get_coordinates(Polygon(ring).simplify(0.15))[:-1]
    return [[round(float(x), 2), round(float(y), 2)] for x, y in points]


def _row(placement: Placement) -> dict[str, Any]:
    row: dict[str, Any] = json.loads(TypeAdapter(Placement).dump_json(placement))
    return row


def _safe(fabric: str) -> str:
    return hashlib.sha256(fabric.encode()).hexdigest()[:16]


def fabric_of(board: Board, safe: str) -> str | None:
    """The cloth whose address has this name."""
    return next((f for f in board.pieces if _safe(f) == safe), None)
