"""Random smooth outlines cut by random lines: no lost area, no invalid outline, or a refusal with a name."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from mockup.geometry import path as paths
from mockup.geometry.intersect import self_intersections
from mockup.geometry.path import Path
from mockup.pattern.allowance import cut_outline
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.inherit import polygon_of
from mockup.pattern.piece import Edge, EdgeKind, Notch, Piece
from swatches.errors import GeometryError

waves = st.lists(st.tuples(st.floats(-0.18, 0.18), st.floats(-0.18, 0.18)), min_size=2, max_size=4)
spots = st.tuples(st.floats(-260, 260), st.floats(-260, 260))


def outline(harmonics, points=12):
    """A smooth star-shaped outline, r = 200 (1 + Σ a cos kθ + b sin kθ), by Hermite cubics between ``points`` of it."""
    theta = np.linspace(0, 2 * np.pi, points, endpoint=False)
    r, dr = np.full(points, 200.0), np.zeros(points)
    for k, (a, b) in enumerate(harmonics, 2):
        r += 200 / k * (a * np.cos(k * theta) + b * np.sin(k * theta))
        dr += 200 * (-a * np.sin(k * theta) + b * np.cos(k * theta))
    way = np.stack([np.cos(theta), np.sin(theta)], axis=1)
    across = np.stack([-np.sin(theta), np.cos(theta)], axis=1)
    p, d = r[:, None] * way, (dr[:, None] * way + r[:, None] * across) * (2 * np.pi / points / 3)
    q, e = np.roll(p, -1, axis=0), np.roll(d, -1, axis=0)
    return np.stack([p, p + d, q - e, q], axis=1)


def piece_of(harmonics, allowances):
    """The outline as four edges with allowances of their own."""
    cubics = outline(harmonics)
    names = ("hem", "side", "neck", "armhole")
    edges = [Edge(name, Path(cubics[3 * k : 3 * k + 3]), EdgeKind.SEAM, allowances[k]) for k, name in enumerate(names)]
    return Piece(
        "piece", tuple(edges), notches=(Notch("side", 60.0), Notch("neck", 30.0)), grainline=((0, -50), (0, 50))
    )


def cut_line_of(points, name):
    a, b, c, d = (np.array(p) for p in points)
    # Both ends are led outside, so that the line is one that a person might draw.
    a, d = (p / np.linalg.norm(p) * 420 if np.linalg.norm(p) > 1 else p for p in (a, d))
    return CutLine(name, name, Path(np.array([[a, b, c, d]])))


def shape_of(centre, size, harmonics, on_top):
    """A closed line: the same kind of outline, small, somewhere on the piece or over its edge."""
    cubics = outline(harmonics, 8) * (size / 200) + np.array(centre)
    return CutLine("shape", "shape", Path(cubics), on_top=on_top)


shapes = st.one_of(
    st.none(),
    st.builds(
        shape_of,
        st.tuples(st.floats(-150, 150), st.floats(-150, 150)),
        st.floats(8, 90),
        waves,
        st.booleans(),
    ),
)
lines = st.lists(st.tuples(spots, spots, spots, spots), max_size=3)
widths = st.tuples(*(st.sampled_from([0.0, 6.0, 10.0, 15.0]) for _ in range(4)))


def check(harmonics, drawn, allowances, allowance, shape=None):
    piece = piece_of(harmonics, allowances)
    if self_intersections(piece.outline):
        return "crossing outline"
    cuts = [cut_line_of(points, f"line-{k}") for k, points in enumerate(drawn)]
    cuts += [] if shape is None else [shape]
    if not cuts:
        return "nothing to cut"
    try:
        result = cut_piece(piece, cuts, allowance)
    except GeometryError as error:
        assert error.what  # noqa: PT017  a refusal says what it is about
        return "refused"
    assert result.proof.ok, result.proof.sentence
    applied = [c for c in result.children if shape is not None and shape.on_top and c.name == "shape"]
    parts = [c for c in result.children if c not in applied]
    assert len(applied) == (shape is not None and shape.on_top)
    assert abs(sum(c.finished_area_mm2 for c in parts) - piece.finished_area_mm2) <= 1e-9 * piece.finished_area_mm2
    edges = {f"{c.name}:{e.name}": e for c in parts for e in c.all_edges}
    inherited = sum(paths.length(e.path) for e in edges.values() if not e.line_id)
    assert inherited == pytest.approx(paths.length(piece.outline), rel=1e-8)
    for edge in edges.values():
        if edge.line_id:
            assert paths.length(edge.path) == pytest.approx(paths.length(edges[edge.mate].path), abs=1e-3)
    for child in result.children:
        polygon = polygon_of(child.outlines, 0.02)
        assert polygon.is_valid
        made = cut_outline(child)
        cut = polygon_of((made.path, *made.holes), 0.02)
        assert cut.is_valid
        assert cut.area >= polygon.area - 1e-2
        for notch in child.notches:
            assert 0 <= notch.distance_mm <= paths.length(child.edge(notch.edge).path) + 1e-6
    return "cut"


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
@given(waves, lines, widths, st.sampled_from([0.0, 8.0, 15.0]), shapes)
def test_area_and_lengths_are_conserved(harmonics, drawn, allowances, allowance, shape):
    check(harmonics, drawn, allowances, allowance, shape)


@pytest.mark.slow
@settings(max_examples=2000, deadline=None, suppress_health_check=list(HealthCheck))
@given(waves, lines, widths, st.sampled_from([0.0, 8.0, 15.0]), shapes)
def test_area_and_lengths_are_conserved_2000_times(harmonics, drawn, allowances, allowance, shape):
    # Our aim: 2,000 examples, no invalid polygon, no lost area, or a named refusal; with enclosed shapes.
    check(harmonics, drawn, allowances, allowance, shape)


def test_most_random_cuts_succeed():
    rng = np.random.default_rng(1)
    outcomes = []
    for _ in range(40):
        harmonics = rng.uniform(-0.12, 0.12, (3, 2))
        drawn = [rng.uniform(-260, 260, (4, 2)) for _ in range(rng.integers(1, 3))]
        outcomes.append(check(harmonics, drawn, (0.0, 6.0, 10.0, 15.0), 10.0))
    assert outcomes.count("cut") >= 12


@pytest.mark.parametrize(
    "drawn",
    [
        [((0, 0), (0, 0), (0, 0), (2, 0)), ((0, 0), (0, 0), (0, 5), (1e-5, 0))],
        [((0, 0), (0, 1), (31, 0), (0, 2)), ((0, 0), (0, 1), (31, 0), (1, 1))],
        [((0, 0), (0, 0), (0, 0), (2, 0)), ((0, 0), (0, 0), (1, 0), (1, 1))],
        [((0.5, 0), (0, 0), (0, 0), (0, 2)), ((0.5, 0), (0, 0), (28, 0), (2, 0))],
    ],
)
def test_lines_that_run_into_each_other_are_cut_or_refused_by_name(drawn):
    # Found by the long run: two lines from one place inside that leave it in one direction.
    harmonics = [(0.0, 0.0), (0.0, 0.0)]
    assert check(harmonics, [tuple(map(np.array, line)) for line in drawn], (0.0,) * 4, 0.0) in ("cut", "refused")
