"""What is sewn into a garment already: marked by a person on the picture, or darts that its pattern pieces have."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mockup.files import svg
from mockup.garment.area_record import NO_DART
from mockup.garment.view import AreaEdit, View
from mockup.geometry import path as paths
from mockup.geometry.path import XY
from mockup.pattern.darts import leg_lines
from mockup.pattern.piece import counter_clockwise
from mockup.pattern.register import register
from mockup.project import Detail, Project
from mockup.stylelines import edges
from mockup.stylelines.panels import garment_panels, primary_views
from mockup.stylelines.to_split import make_split
from swatches.errors import GeometryError, InputError
from swatches.units import MmPoints, PxPoints

KINDS = ("dart", "pleat", "pocket", "closure")
MOST_POINTS = 60
_FARTHEST = 1.5  # shares of the body: a sleeve reaches past 1


def add_detail(project: Project, side: str, kind: str, points: Sequence[XY], *, both: bool = True) -> Project:
    """Mark what is sewn in, by a stroke over it; a dart from its opening to its tip.

    Args:
        project: the project.
        side: 'front' or 'back'.
        kind: one of :data:`KINDS`.
        points: at least two, in shares of the body; see ``StyleLine.through``.
        both: whether its mirror image is marked too, where it lies beside the middle.

    Raises:
        InputError: another kind, a side without picture, or points that are no stroke on the garment.
    """
    if kind not in KINDS or not any(v.side == side for v in project.views):
        raise InputError(
            "what is sewn in",
            expected=f"{', '.join(KINDS)} on a side that has a picture",
            got=f"{kind} on the {side}",
            next_step="Choose one of these",
        )
    p = np.array(points, dtype=np.float64).reshape(-1, 2)
    good = 2 <= len(p) <= MOST_POINTS and bool(np.isfinite(p).all()) and float(np.abs(p).max()) <= _FARTHEST
    if not good or not np.ptp(p, axis=0).any():
        raise InputError(
            kind,
            expected=f"2 to {MOST_POINTS} places on the garment",
            got=f"{len(p)}",
            next_step="Mark where it begins and where it ends",
        )
    taken = {d.id for d in project.details}
    free = [f"detail-{n}" for n in range(1, 10_000) if f"detail-{n}" not in taken]
    new = [Detail(free[0], kind, side, tuple((float(x), float(y)) for x, y in p))]
    if both and (p[:, 0] > 0.01).all() | (p[:, 0] < -0.01).all():
        new.append(Detail(free[1], kind, side, tuple((-float(x), float(y)) for x, y in p)))
    return replace(project, details=(*project.details, *new))


def remove_detail(project: Project, detail_id: str) -> Project:
    """Take a mark away. A dart that was found in a drawing is none from now on, also where the drawing is read again.

    Raises:
        InputError: there is no such mark.
    """
    gone = next((d for d in project.details if d.id == detail_id), None)
    if gone is None:
        known = ", ".join(d.id for d in project.details) or "none"
        raise InputError("detail", expected=f"a mark ({known})", got=detail_id, next_step="Choose one of them")
    left = replace(project, details=tuple(d for d in project.details if d.id != detail_id))
    view = next((v for v in project.views if detail_id.startswith(f"drawn-{v.name}-")), None)
    if view is None:
        return left
    shares = np.array(gone.points).mean(axis=0)
    mm = edges.shares_to_mm(view, (float(shares[0]), float(shares[1])))
    ((x, y),) = view.points_to_px(MmPoints(np.array([mm])))
    edit = AreaEdit(NO_DART, ((float(x), float(y)),))
    return left.put_view(replace(view, edits=(*view.edits, edit)))


def with_drawn_darts(project: Project, side: str, darts: Sequence[NDArray[np.float64]]) -> Project:
    """The project with the darts that the drawing of a side shows, in the place of those that it had from a drawing.

    Args:
        project: with the view of that side.
        side: 'front' or 'back', the name of its view.
        darts: as :class:`~mockup.garment.drawing.DrawnView` has them, px.
    """
    view = project.view(side)
    kept = tuple(d for d in project.details if not d.id.startswith(f"drawn-{side}-"))
    found = []
    for number, px in enumerate(darts, 1):
        points = tuple(edges.mm_to_shares(view, (float(x), float(y))) for x, y in view.points_to_mm(PxPoints(px)))
        found.append(Detail(f"drawn-{side}-{number}", "dart", side, points))
    return replace(project, details=(*kept, *found))


def with_darts(project: Project, folder: Path) -> Project:
    """The project with the darts of its pattern pieces among its details, where they can be laid onto its drawings."""
    if not project.pieces:
        return project
    marked = {(d.kind, d.side, d.points) for d in project.details}
    darts = _darts(_Laid(folder / "pieces" / project.pieces, primary_views(project.views)))
    more = tuple(d for d in darts if (d.kind, d.side, d.points) not in marked)
    return replace(project, details=(*project.details, *more))


@dataclass(frozen=True, slots=True)
class _Laid:
    """Pieces, kept under a name of their content, and the views that they are laid onto."""

    file: Path
    views: tuple[View, ...]

    def __hash__(self) -> int:
        return hash((self.file, tuple((v.name, v.mm_per_px) for v in self.views)))


@lru_cache(maxsize=8)
def _darts(laid: _Laid) -> tuple[Detail, ...]:
    """Darts of pieces as they lie on the views; kept, since every moved line asks for them."""
    views = laid.views
    try:
        pieces = svg.read_pieces(laid.file)
    except (InputError, OSError):
        return ()  # said where the pieces are used
    if not any(p.darts for p in pieces):
        return ()
    named = tuple(v for v in views if v.edges)
    split = make_split(named, (), garment_panels(named, ()))
    found: list[Detail] = []
    for piece in map(counter_clockwise, pieces):
        seen = next((s for s in split.views if s.name == piece.view), None)
        view = next((v for v in named if v.side == piece.view), None)
        if seen is None or view is None or not piece.darts or piece.area != "body":
            continue
        try:
            on = register(seen, piece)
        except GeometryError:
            continue  # it shows no part of this picture, which is said where the pieces are cut
        mapped = on.to_view()
        for dart in piece.darts:
            legs = mapped.apply(paths.flatten(leg_lines(piece, dart), 1.0).points)
            points = tuple(edges.mm_to_shares(view, (float(x), float(y))) for x, y in legs)
            name = f"{piece.name}:{dart.name}"
            found.append(Detail(name, "dart", view.side, points, dart.name))
            if on.half.side:  # a piece on the fold or one of a pair shows one side of the wearer
                found.append(Detail(f"{name}:other", "dart", view.side, tuple((-x, y) for x, y in points), dart.name))
    return tuple(found)
