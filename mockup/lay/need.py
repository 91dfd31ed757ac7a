"""How much of each fabric: the pieces, as cut, laid on its usable width, rounded up to what a shop cuts."""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Collection, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from threading import Lock

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats
from mockup.geometry.ruler import length_of
from mockup.lay.lay import Lay, LayPiece, Match
from mockup.lay.strip import lay_on_width
from mockup.pattern.allowance import cut_line
from mockup.pattern.piece import HowToCut, Piece
from mockup.pattern.unfold import unfold
from swatches.errors import Failure, GeometryError, InputError, ProofError
from swatches.job import QUIET, Job, Part, check

STEP_MM = 100.0
"""Shops that sell by the metre cut to 10 cm (common practice, no source)."""
EIGHTH_YARD_MM = 114.3
"""Shops that sell by the yard cut to 1/8 yd = 4.5 in (common practice, no source)."""
USUAL_WIDTH_MM = 1400.0
"""Taken where a fabric's usable width is not known; 140 cm is a width that is sold (common practice, no source)."""

_FLAT_MM = 0.05
_KEPT = 32
_kept: OrderedDict[tuple[Hashable, ...], Lay] = OrderedDict()
"""Simple lays made last: a seam that goes leaves the pieces of every other cloth as they were."""
_lock = Lock()


@dataclass(frozen=True, slots=True)
class Need:
    """How much of one fabric.

    Attributes:
        fabric: fabric id; empty for pieces without one.
        width_mm: usable width that the pieces were laid on.
        width_known: False where the usual width stands in for one that nobody has measured.
        length_mm: length of the lay.
        shrinkage_percent: lengthwise shrinkage that is allowed for.
        buy_mm: length to buy: with shrinkage, rounded up.
        count: pieces laid.
        lay: the lay itself; its pieces carry the names of ``lay_piece``.
        note: what was taken for granted of the cloth, in words that follow a comma; empty where nothing was.
    """

    fabric: str
    width_mm: float
    width_known: bool
    length_mm: float
    shrinkage_percent: float
    buy_mm: float
    count: int
    lay: Lay
    note: str = ""


def lay_piece(piece: Piece, *, on_fold: bool = False, faces_alike: bool = False) -> LayPiece:
    """Give a pattern piece as it is cut: with its allowances, opened out at the fold or as a half to lie on it.

    A pair is two, one of them mirrored; a single right side up is never turned over. A piece without grainline lies
    with its own upright along the grain, a half with its fold.

    Args:
        piece: the piece.
        on_fold: whether a piece with a fold stays a half, for cloth that lies double.
        faces_alike: whether the cloth may be turned over; a piece right side up may not, even then.

    Raises:
        GeometryError: the cut outline crosses itself.
    """
    half = on_fold and piece.fold is not None
    whole = unfold(piece) if piece.fold is not None and not half else piece
    outline = paths.flatten(cut_line(whole), _FLAT_MM).points
    if np.allclose(outline[0], outline[-1]):
        outline = outline[:-1]
    grain = 0.0
    ends = None
    if half and piece.fold is not None:
        ends = _xy(piece.fold.path.start), _xy(piece.fold.path.end)
    upright = piece.grainline or ends
    if upright is not None:
        (x0, y0), (x1, y1) = upright
        if piece.grainline is None and y1 < y0:
            (x0, y0), (x1, y1) = (x1, y1), (x0, y0)
        grain = math.degrees(math.atan2(x0 - x1, y1 - y0))
    pair = piece.how is HowToCut.PAIR
    return LayPiece(
        lay_name(piece),
        tuple((float(x), float(y)) for x, y in outline),
        grain_deg=grain,
        count=piece.count * (2 if pair else 1),
        mirror=pair,
        fold=ends,
        either=faces_alike and not piece.right_side_up,
    )


def lay_pieces(pieces: Sequence[Piece], *, on_fold: bool = False, faces_alike: bool = False) -> tuple[LayPiece, ...]:
    """Give pattern pieces as they are cut, with names of their own; see :func:`lay_piece`."""
    return tuple(_unique([lay_piece(piece, on_fold=on_fold, faces_alike=faces_alike) for piece in pieces]))


def matched(pieces: Sequence[Piece], laid: Sequence[LayPiece], seams: Sequence[str]) -> tuple[LayPiece, ...]:
    """Have prints meet at seams.

    Each piece is matched at the first notch of its edge, or where the edge has none, at the end at which a landmark of
    one name is on both edges, or else at its first point.

    Args:
        pieces: pattern pieces.
        laid: the same, as :func:`lay_pieces` gave them.
        seams: 'front:side=back:side' each, with more pieces after further '='.

    Raises:
        InputError: no such piece or edge, or a piece that is to be matched twice: its other seams follow from that.
    """
    groups: dict[int, tuple[str, str]] = {}
    for seam in seams:
        for part in seam.split("="):
            name, _, edge = part.strip().rpartition(":")
            found = [k for k, p in enumerate(pieces) if name in (p.name, lay_name(p), str(p.number)) and name]
            if not found or all(edge not in [e.name for e in pieces[k].edges] for k in found):
                known = "; ".join(f"{p.name}: {', '.join(e.name for e in p.edges)}" for p in pieces[:6])
                raise InputError(
                    f"seam '{part.strip()}' to match",
                    expected=f"piece:edge of these: {known}",
                    got=part.strip(),
                    next_step="Write it like front:side=back:side",
                )
            for k in found:
                if k in groups:
                    raise InputError(
                        f"'{pieces[k].name}'",
                        expected="one seam at which its print is matched",
                        got=f"'{groups[k][0]}' and '{seam}'",
                        next_step="Name all its mates in one, like front:side=back:side=sleeve:cap",
                    )
                groups[k] = seam, edge
    return tuple(
        replace(p, match=Match(groups[k][0], _meeting(pieces, groups, k))) if k in groups else p
        for k, p in enumerate(laid)
    )


def _meeting(pieces: Sequence[Piece], groups: Mapping[int, tuple[str, str]], k: int) -> XY:
    """The point of a piece's edge at which its print is matched."""
    seam, name = groups[k]
    edge = pieces[k].edge(name)
    notch = next((n for n in pieces[k].notches if n.edge == name), None)
    if notch is not None:
        return _xy(paths.between(edge.path, notch.distance_mm, length_of(edge.path)).start)
    others = [pieces[j].edge(e) for j, (s, e) in groups.items() if s == seam and j != k]
    shared = {n for o in others for n in (o.start_name, o.end_name) if n}
    return _xy(edge.path.end if edge.end_name in shared and edge.start_name not in shared else edge.path.start)


def _xy(point: Floats) -> XY:
    return float(point[0]), float(point[1])


def lay_name(piece: Piece) -> str:
    """Name of a piece in a lay: its number and name."""
    return f"{piece.number} {piece.name}" if piece.number else piece.name


def needs(
    pieces: Sequence[Piece],
    *,
    widths_mm: Mapping[str, float] | None = None,
    usual_mm: float = USUAL_WIDTH_MM,
    one_way: Collection[str] = (),
    shrinkage_percent: Mapping[str, float] | None = None,
    clearance_mm: float = 2.0,
    border_mm: float = 0.0,
    step_mm: float = STEP_MM,
    time_s: float = 0.0,
    job: Job = QUIET,
) -> tuple[Need, ...]:
    """Lay the pieces of every fabric on its width.

    Args:
        pieces: pattern pieces with their fabric.
        widths_mm: usable width by fabric id.
        usual_mm: width that is taken where a fabric's own is missing.
        one_way: fabrics on which all pieces point one way.
        shrinkage_percent: lengthwise shrinkage by fabric id.
        clearance_mm: least distance between pieces.
        border_mm: least distance to the selvedges.
        step_mm: the length to buy is a multiple of this.
        time_s: time for the solver, a fabric; 0 gives the simple lay, which is the same every time.
        job: progress and cancellation.

    Returns:
        One row a fabric, in the order in which fabrics first appear.

    Raises:
        GeometryError: a piece is wider than its fabric.
    """
    fabrics = list(dict.fromkeys(p.fabric for p in pieces))
    rows = []
    for k, fabric in enumerate(fabrics):
        check(job)
        mine = lay_pieces([p for p in pieces if p.fabric == fabric])
        width = (widths_mm or {}).get(fabric)
        part = Part(job, k / len(fabrics), (k + 1) / len(fabrics))
        found = _laid(mine, width or usual_mm, clearance_mm, border_mm, fabric in one_way, time_s, part)
        if not isinstance(found, Lay):
            raise ProofError(f"No lay was found for '{fabric}'. {found.reason}")
        if found.length_mm is None:
            raise GeometryError(
                f"cloth '{fabric}'",
                expected="a width that its widest piece fits on",
                got=found.proof,
                next_step="Take a wider cloth, or divide that piece with a line",
            )
        shrinkage = (shrinkage_percent or {}).get(fabric, 0.0)
        rows.append(
            Need(
                fabric,
                width or usual_mm,
                width is not None,
                found.length_mm,
                shrinkage,
                to_buy(found.length_mm, shrinkage, step_mm),
                sum(p.count for p in mine),
                found,
            )
        )
    return tuple(rows)


def _laid(
    pieces: Sequence[LayPiece],
    width_mm: float,
    clearance_mm: float,
    border_mm: float,
    nap: bool,
    time_s: float,
    job: Job,
) -> Lay | Failure:
    """Lay pieces on a width; a simple lay, which is the same every time, is kept for the next that asks for it."""
    asked = (tuple(pieces), width_mm, clearance_mm, border_mm, nap)
    with _lock:
        known = _kept.get(asked) if time_s <= 0 else None
    if known is not None:
        return known
    found = lay_on_width(
        pieces, width_mm, clearance_mm=clearance_mm, border_mm=border_mm, nap=nap, time_s=time_s, job=job
    )
    if time_s <= 0 and isinstance(found, Lay):
        with _lock:
            _kept[asked] = found
            while len(_kept) > _KEPT:
                _kept.popitem(last=False)
    return found


def to_buy(length_mm: float, shrinkage_percent: float = 0.0, step_mm: float = STEP_MM) -> float:
    """Length to buy: so much that it is long enough after shrinking, rounded up to what a shop cuts.

    Raises:
        InputError: a shrinkage below 0 or of half the cloth and more.
    """
    if not 0 <= shrinkage_percent < 50:
        raise InputError(
            "shrinkage", expected="0 to 50 percent", got=f"{shrinkage_percent:g}", next_step="Type it like 5"
        )
    return step_mm * math.ceil(length_mm / (1 - shrinkage_percent / 100) / step_mm - 1e-9)


def _unique(pieces: Sequence[LayPiece]) -> list[LayPiece]:
    """Number pieces of one name, since a lay knows them by name."""
    seen: dict[str, int] = {}
    out = []
    for piece in pieces:
        seen[piece.name] = seen.get(piece.name, 0) + 1
        n = seen[piece.name]
        out.append(piece if n == 1 else replace(piece, name=f"{piece.name} ({n})"))
    return out
