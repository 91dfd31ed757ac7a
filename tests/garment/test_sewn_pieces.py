"""Pieces of bodies drawn in several areas are cut by the lines of their own part: fronts with a placket, a yoke."""

from __future__ import annotations

import numpy as np
import pytest
from sewn_garments import GARMENTS

from mockup import journey
from mockup.geometry import path as paths
from mockup.pattern.apply_split import apply_split
from mockup.pattern.piece import Edge, EdgeKind, HowToCut, Piece
from mockup.stylelines.styleline import End, LineKind, StyleLine

LARGER = 1.05  # the pattern against the drawing


def pieces_of(view):
    """A pattern like the drawing, each part 5 % larger; of twins the left one, as a pair."""
    made = []
    for part in view.sections:
        if part.side == "right":
            continue
        grow = np.array([[LARGER, 0, 0], [0, LARGER, 0]])
        edges = []
        for e in part.edges:
            name = e.name.removesuffix("-left").removesuffix("-right") if part.side else e.name
            edges.append(Edge(name, paths.transformed(paths.from_tuples(e.path), grow), EdgeKind.SEAM, 5.0))
        how = HowToCut.PAIR if part.side else HowToCut.SINGLE
        made.append(Piece(part.name, tuple(edges), view=view.name, area=part.area, how=how))
    return made


def cut(folder, name, start, end, *, symmetric=True):
    garment = GARMENTS[name]
    views = {
        garment.side: garment.svg(),
        "front": garment.svg() if garment.side == "front" else GARMENTS["dress"].svg(),
    }
    project = journey.new_project(folder, views["front"], views.get("back"))
    for side, centre in {"front": GARMENTS["dress"].centre_mm, garment.side: garment.centre_mm}.items():
        project = journey.measure(project, side, f"centre-{side}", centre)
    line = StyleLine(
        "line",
        "line",
        garment.side,
        LineKind.ARC if symmetric else LineKind.STRAIGHT,
        End(*start),
        End(*end),
        (),
        symmetric=symmetric,
    )
    split = journey.split_of(project.put_line(line))
    view = next(v for v in split.views if v.name == garment.side)
    given = pieces_of(view)
    found = apply_split(given, split)
    assert found.proof.ok
    each = [sum(p.finished_area_mm2 * (2 if p.how is HowToCut.PAIR else 1) for p in ps) for ps in (found.pieces, given)]
    assert each[0] == pytest.approx(each[1], abs=1e-3)
    return found.pieces


def size(piece, name):
    return next(paths.length(e.path) for e in piece.edges if e.name.startswith(name))


def test_a_line_over_two_fronts_and_their_placket(tmp_path):
    upper, front, *rest = sorted(
        cut(tmp_path, "shirt", ("armhole", "underarm", 90.0), ("centre-front", "neck", 120.0)),
        key=lambda p: (p.area, p.finished_area_mm2),
    )
    assert [p.area for p in (upper, front, *rest)] == ["half", "half", "placket", "placket"]
    assert {p.how for p in (upper, front)} == {HowToCut.PAIR}
    assert size(front, "armhole") == pytest.approx(90.0, abs=1e-3)
    # both pieces have the line at the same place of the seam between them; left and right are drawn 0.05 mm apart
    for half, strip in zip((upper, front), rest, strict=True):
        assert size(half, "seam") == pytest.approx(size(strip, "seam"), abs=0.1)


def test_a_line_on_one_of_two_fronts_makes_two_single_pieces_of_the_pair(tmp_path):
    found = cut(
        tmp_path, "shirt", ("armhole", "underarm", 90.0, "left"), ("hem", "hem", 100.0, "left"), symmetric=False
    )
    fronts = [p for p in found if p.area == "half"]
    assert {(p.how, p.right_side_up) for p in fronts} == {(HowToCut.SINGLE, True)}
    assert sorted(p.side for p in fronts) == ["left", "left", "right"]
    (whole,) = (p for p in fronts if p.side == "right")
    parts = [p for p in fronts if p.side == "left"]
    assert sum(p.finished_area_mm2 for p in parts) == pytest.approx(whole.finished_area_mm2, abs=1e-3)
    assert len({p.name for p in found}) == len(found)
    # The other side is the mirror image: its edges come in the other order (counter-clockwise both).
    order = [e.name for e in whole.edges if e.name in ("armhole", "shoulder", "side")]
    assert len(order) == 3
    names = {f"{p.name}:{e.name}" for p in found for e in p.edges}
    assert all(e.mate in names for p in parts for e in p.edges if e.line_id)


@pytest.mark.slow  # two drawings
def test_a_distance_from_the_neck_goes_over_the_yoke(tmp_path):
    found = cut(tmp_path, "tee with a yoke", ("side", "underarm", 90.0), ("centre-back", "neck", 320.0))
    yoke = [p for p in found if p.area == "yoke"]
    assert len(yoke) == 1  # no line runs through it
    lower = max(found, key=lambda p: p.finished_area_mm2)
    upper = next(p for p in found if p not in (*yoke, lower))
    assert size(upper, "side") == pytest.approx(90.0, abs=1e-3)
    y = [np.concatenate([e.path.cubics[:, 0] for e in p.edges])[:, 1] for p in (*yoke, upper)]
    middles = []
    for piece, name in ((yoke[0], "neck"), (upper, "line")):
        path = next(e.path for e in piece.edges if e.name.startswith(name))
        at = paths.flatten(path, 0.01).points
        middles.append(float(at[np.argmin(np.abs(at[:, 0] - (at[0, 0] + at[-1, 0]) / 2)), 1]))
    assert max(y[0]) > max(y[1])
    assert middles[0] - middles[1] == pytest.approx(320.0, abs=0.05)
