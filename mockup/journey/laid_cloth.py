"""The garment painted with just the cloth that each piece was laid on: placement → piece → panel → picture.

A panel's cloth is moved and turned as a whole, like the piece; what a dart or a curve would bend is not bent. On a
photo cloth lies flat too, as it does in every painted photo: each panel is carried over from the drawing as its lines
are, and the motion that fits it best is taken. So a panel shows its cloth in place about its middle; towards its sides,
where a dress form turns away, what is seen lies beside what would be: see :func:`off_mm`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely

from mockup.colourways.colourway import Laid
from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.geometry.path import Floats
from mockup.journey.cutting import pieces_of, split_of
from mockup.journey.design import panels_of
from mockup.journey.known import find
from mockup.lay.lay import Lay, LayPiece, Placement, points_placed
from mockup.pattern.piece import Piece, counter_clockwise
from mockup.pattern.register import Registered
from mockup.pattern.sections import laid_on_view, shows_body
from mockup.pattern.unfold import reflection
from mockup.project import Project
from mockup.split.split import SplitView
from mockup.stylelines.on_photo import drawing_of, drawing_to_photo
from mockup.stylelines.panels import Panel
from swatches.cloth import Cloth, load_cloth
from swatches.colour import srgb_to_linear
from swatches.errors import GeometryError
from swatches.remnant_photo import RemnantPicture, picture_of

Cloths = dict[str, tuple[Cloth, Laid]]


@dataclass(frozen=True, slots=True, eq=False)
class _Home:
    """A pattern piece as it is in the pattern, and where it is in the picture."""

    piece: Piece
    view: SplitView
    on: Registered


def exact_cloths(
    project: Project,
    folder: Path,
    letter: str,
    made: Sequence[Piece],
    laid: Mapping[str, Sequence[LayPiece]],
    lays: Mapping[str, Lay],
) -> dict[str, Cloths]:
    """Find the very cloth of every panel whose piece lies somewhere.

    Args:
        project: the project, with the lines that the pieces were cut by.
        folder: its folder.
        letter: the choice.
        made: the cut pieces.
        laid: fabric id → its pieces as they were laid, in the order of ``made``.
        lays: fabric id → the lay.

    Returns:
        For every drawing and photo, panel id → cloth and how it lies, for ``paint_view``. A remnant with a picture
        gives that picture, other cloth its tile, laid from the remnant's or roll's corner.
    """
    pictures: dict[tuple[str, str], Cloth] = {}
    out: dict[str, Cloths] = {}
    for seen in _seen(project, folder, letter, made, laid, lays):
        cloth, corner, grain = _cloth(project, folder, seen.fabric, seen.remnant, pictures)
        straight = _rotation(-grain)
        turn, move = _motion(seen.there, seen.on_cloth)
        out.setdefault(seen.view, {})[seen.panel] = cloth, _laid(straight @ turn, straight @ move, corner)
    return out


def off_mm(
    project: Project,
    folder: Path,
    letter: str,
    made: Sequence[Piece],
    laid: Mapping[str, Sequence[LayPiece]],
    lays: Mapping[str, Lay],
) -> dict[str, dict[str, tuple[float, float]]]:
    """How far what is seen lies from what would be, since panels are moved whole: view → panel → mean and most, mm.

    Arguments as for :func:`exact_cloths`. Measured at points spread over each piece.
    """
    out: dict[str, dict[str, tuple[float, float]]] = {}
    for seen in _seen(project, folder, letter, made, laid, lays):
        turn, move = _motion(seen.there, seen.on_cloth)
        off = np.linalg.norm(seen.there @ turn.T + move - seen.on_cloth, axis=1)
        out.setdefault(seen.view, {})[seen.panel] = float(off.mean()), float(off.max())
    return out


@dataclass(frozen=True, slots=True, eq=False)
class _Seen:
    """Points of one panel in a view, mm, shape (n, 2), with the same points on the cloth that it was laid on."""

    view: str
    panel: str
    fabric: str
    remnant: str
    there: Floats
    on_cloth: Floats


def _seen(
    project: Project,
    folder: Path,
    letter: str,
    made: Sequence[Piece],
    laid: Mapping[str, Sequence[LayPiece]],
    lays: Mapping[str, Lay],
) -> Iterator[_Seen]:
    homes = _homes(project, folder, letter)
    panels = panels_of(project)
    for fabric, lay in lays.items():
        mine = [p for p in made if p.fabric == fabric]
        by_lay_name = {lp.name: p for lp, p in zip(laid[fabric], mine, strict=True)}
        for placement in lay.placements:
            piece = by_lay_name[placement.piece]
            for view in project.views:
                for panel in _shown(piece, placement, view.side, panels.get(view.name, ()), homes):
                    points = _points_in(piece, placement, panel, homes, project, view)
                    yield _Seen(view.name, panel.id, fabric, placement.remnant, *points)


def _homes(project: Project, folder: Path, letter: str) -> dict[str, _Home]:
    """The pattern's body pieces by name, each laid onto its view; one that cannot be is left out."""
    views = {v.name: v for v in split_of(project, letter).views}
    out = {}
    for piece in pieces_of(project, folder):
        view = views.get(piece.view)
        if view is None or not shows_body(piece, view) or piece.layer != "shell":
            continue
        piece = counter_clockwise(piece)
        try:
            out[piece.name] = _Home(piece, view, laid_on_view(view, piece))
        except GeometryError:
            continue
    return out


def _home(piece: Piece, homes: Mapping[str, _Home]) -> _Home | None:
    return homes.get(piece.parent) or homes.get(piece.name)


def _shown(
    piece: Piece, placement: Placement, side: str, panels: Sequence[Panel], homes: Mapping[str, _Home]
) -> list[Panel]:
    """The panels of a view that show this copy of a piece."""
    found = [p for p in panels if p.number == piece.number and piece.number]
    home = _home(piece, homes)
    if home is not None and home.view.name != side:
        return []
    drawn = piece.side or (home.on.half.side if home is not None else "") or "left"
    wanted = {"left": "right", "right": "left"}[drawn] if placement.mirrored else drawn
    return [p for p in found if p.side in (None, "", wanted)]


def _points_in(
    piece: Piece, placement: Placement, panel: Panel, homes: Mapping[str, _Home], project: Project, view: View
) -> tuple[Floats, Floats]:
    """Points of a panel in a view's mm, and the same points on the cloth, mm; each shape (n, 2)."""
    home = _home(piece, homes)
    inside = _points(piece)
    if home is None:
        outline = view.path_to_mm(panel.outline)
        there = _points_of(shapely.Polygon(paths.flatten(outline, 0.5).points))
        here = inside.mean(axis=0) + (there - there.mean(axis=0))
        return there, _placed(here, placement)
    drawn = _as_drawn(piece, inside, home)
    fold = home.piece.fold
    other = np.zeros(len(drawn), bool)
    if fold is not None:
        away = _side_of_fold(home.piece, drawn)
        other = away < 0
        flip = reflection(fold.path)
        half = np.where(other[:, None], drawn @ flip[:, :2].T + flip[:, 2], drawn)
    else:
        half = drawn
    mirrored = placement.mirrored and fold is None
    mirrored ^= bool(piece.side and home.on.half.side and piece.side != home.on.half.side)
    seen = home.on.to_view().apply(half)
    if home.view.mirror_line is not None:
        twin = _reflected(seen, home.view.mirror_line)
        seen = np.where((other ^ mirrored)[:, None], twin, seen)
    drawing = drawing_of(view, project.views)
    if drawing is not None:
        seen = np.asarray(drawing_to_photo(drawing, view).apply(seen))
    return seen, _placed(inside, placement)


def _as_drawn(piece: Piece, points: Floats, home: _Home) -> Floats:
    """Points of a piece in the frame of the pattern: the second of two singles was mirrored in its own box."""
    if not (piece.side and home.on.half.side and piece.side != home.on.half.side):
        return points
    x0, _, x1, _ = paths.bounds(piece.outline)
    return np.asarray(points * (-1.0, 1.0) + (x0 + x1, 0.0))


def _side_of_fold(piece: Piece, points: Floats) -> Floats:
    """Positive on the half that is drawn."""
    assert piece.fold is not None  # noqa: S101 - asked only of pieces with one
    start, way = piece.fold.path.start, piece.fold.path.end - piece.fold.path.start
    away = (points - start) @ np.array([-way[1], way[0]])  # counter-clockwise: the inside is on the left
    return np.asarray(away)


def _points(piece: Piece) -> Floats:
    return _points_of(shapely.Polygon(paths.flatten(piece.outline, 0.5).points))


def _points_of(shape: shapely.Polygon) -> Floats:
    """Points well spread over a polygon, shape (n, 2)."""
    x0, y0, x1, y1 = shape.bounds
    grid = np.stack(np.meshgrid(np.linspace(x0, x1, 17), np.linspace(y0, y1, 17)), axis=-1).reshape(-1, 2)
    kept = grid[shapely.contains_xy(shape, grid[:, 0], grid[:, 1])]
    return kept if len(kept) >= 3 else np.asarray(shape.exterior.coords)[:-1]


def _placed(points: Floats, placement: Placement) -> Floats:
    return points_placed(points, mirrored=placement.mirrored, angle=placement.angle, x=placement.x, y=placement.y)


def _reflected(points: Floats, mirror: tuple[tuple[float, float], tuple[float, float]]) -> Floats:
    a, b = np.array(mirror[0]), np.array(mirror[1])
    way = (b - a) / np.linalg.norm(b - a)
    return np.asarray((points - a) @ (2 * np.outer(way, way) - np.eye(2)) + a)


def _motion(source: Floats, target: Floats) -> tuple[Floats, Floats]:
    """The motion, turned over if need be, that brings points onto others best (Kabsch 1976, without his sign rule)."""
    a, b = source.mean(axis=0), target.mean(axis=0)
    u, _, vt = np.linalg.svd((source - a).T @ (target - b))
    turn = (u @ vt).T
    return np.asarray(turn), np.asarray(b - turn @ a)


def _rotation(degrees: float) -> Floats:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([[c, -s], [s, c]])


def _laid(turn: Floats, move: Floats, corner: tuple[float, float]) -> Laid:
    """Give a motion as how the cloth lies; :func:`mockup.colourways.laying.lay` makes the same motion of it."""
    over = float(np.linalg.det(turn)) < 0
    flip = np.diag([-1.0, 1.0]) if over else np.eye(2)
    proper = turn @ flip
    angle = float(np.degrees(np.arctan2(proper[1, 0], proper[0, 0])))
    offset = -flip @ proper.T @ (move - np.array(corner))
    return Laid(-angle, (float(offset[0]), float(offset[1])), over)


def _cloth(
    project: Project, folder: Path, fabric_id: str, remnant: str, known: dict[tuple[str, str], Cloth]
) -> tuple[Cloth, tuple[float, float], float]:
    """The cloth to paint with, where its tile's upper left corner lies in the remnant's mm, and the tile's turn.

    A picture lies as the remnant does; a tile lies along the remnant's grain.
    """
    fabric = find(project, "fabric", fabric_id)
    home = folder / "fabrics" / fabric.id
    record = next((r for r in fabric.remnants if r.name == remnant), None)
    picture = None if record is None else picture_of(record, home, fabric)
    key = fabric_id, remnant if picture is not None else ""
    if key not in known:
        cloth = load_cloth(fabric, home)
        known[key] = cloth if picture is None else _of_picture(cloth, picture)
    if picture is not None:
        return known[key], picture.corner_mm, 0.0
    return known[key], (0.0, 0.0), (record.grain_deg or 0.0) if record is not None else 0.0


def _of_picture(cloth: Cloth, picture: RemnantPicture) -> Cloth:
    tile = np.asarray(srgb_to_linear(picture.rgb), np.float32)
    tile.flags.writeable = False
    return replace(cloth, tile=tile, mm_per_px=picture.mm_per_px)
