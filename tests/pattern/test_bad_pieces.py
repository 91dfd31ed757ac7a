"""Bad input that reaches the engine: hems, notches, corners, slivers, a hundred thousand segments."""

import dataclasses
import itertools

import numpy as np
import pytest

from mockup.geometry import path as paths
from mockup.pattern.allowance import cut_outline
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.piece import Corner, Edge, EdgeKind, Notch, Piece
from mockup.split.split import Anchor
from swatches.errors import GeometryError


def line(*points, name="line", **more):
    return CutLine(name, name, paths.polyline(points), **more)


def skirt(hem=40.0, slant=0.0):
    points = [(0, 0), (300, 0), (300 - slant, 500), (slant, 500)]
    names = ["hem", "side", "waist", "centre"]
    edges = tuple(
        Edge(
            name,
            paths.polyline([points[k], points[(k + 1) % 4]]),
            EdgeKind.HEM if name == "hem" else EdgeKind.SEAM,
            hem if name == "hem" else 15.0,
        )
        for k, name in enumerate(names)
    )
    return Piece("skirt", edges)


@pytest.mark.parametrize("lean", [-60.0, 0.0, 45.0])
def test_a_line_through_the_hem_mirrors_it_on_both_children(lean):
    # Turned up, the hem of either child must lie on the child: each corner is the mirror image, about the hem line, of
    # the seam's cut edge above it (common practice, and derived).
    children = cut_piece(skirt(), [line((150, -10), (150 + lean, 510))], 15).children
    assert len(children) == 2
    for child in children:
        k = [e.name for e in child.edges].index("hem")
        at = [k if child.edges[k - 1].line_id else (k + 1) % len(child.edges)]
        assert child.edges[at[0]].corner is Corner.MIRRORED
        outline = paths.flatten(cut_outline(child).path, 0.001).points
        seam = next(e for e in child.edges if e.line_id)
        way = (seam.path.end - seam.path.start) / paths.length(seam.path)
        out = np.array([way[1], -way[0]])
        below = outline[outline[:, 1] < -39.9]
        for x, y in below:
            up = np.array([x, -y])  # turned up about the hem line y = 0
            inside = (up - seam.path.start) @ out
            assert inside <= 15 + 1e-3  # never beyond the seam's cut edge


@pytest.mark.parametrize(("up", "refused"), [(39.0, True), (5.5, True), (41.0, False)])
def test_a_line_within_the_depth_of_the_hem_is_refused(up, refused):
    cut = line((-10, up), (310, up))
    if not refused:
        assert len(cut_piece(skirt(), [cut], 15).children) == 2
        return
    with pytest.raises(GeometryError, match="at least 40 mm, the depth of the hem"):
        cut_piece(skirt(), [cut], 15)


def test_a_line_through_a_notch_leaves_it_out_and_says_so():
    marked = skirt().with_(notches=(Notch("side", 200.0), Notch("side", 300.0)))
    result = cut_piece(marked, [line((-10, 200), (310, 200))], 15)
    left = sorted(n.distance_mm for c in result.children for n in c.notches if n.edge == "side")
    assert left == pytest.approx([100.0])  # the one at 300 mm, counted from the cut
    assert any("notch on side" in note for note in result.notes)


def test_an_end_a_tenth_from_a_corner_snaps_and_says_so_but_a_typed_one_stays():
    free = cut_piece(skirt(), [line((0, 499.9), (300, 250))], 15)
    assert any("0.1 mm from the corner between waist and centre and now ends in it" in note for note in free.notes)
    corner = [tuple(e.path.start) for c in free.children for e in c.edges]
    assert (0.0, 499.9) not in corner
    typed = cut_piece(skirt(), [line((0, 499.9), (300, 250), start=Anchor("centre", "waist", 0.1))], 15)
    assert any("as typed; it is left there" in note for note in typed.notes)
    sliver = [e for c in typed.children for e in c.edges if e.name == "centre" and paths.length(e.path) < 1]
    assert [paths.length(e.path) for e in sliver] == pytest.approx([0.1], abs=1e-9)


@pytest.mark.parametrize("width", [4.9, 1.0, 0.3])
def test_a_sliver_is_refused_with_its_place(width):
    with pytest.raises(GeometryError, match="parts at least 5 mm wide") as caught:
        cut_piece(skirt(), [line((300 - width, -10), (300 - width, 510))], 15)
    assert caught.value.place[0] == pytest.approx(300 - width / 2, abs=0.1)
    assert len(cut_piece(skirt(), [line((294, -10), (294, 510))], 4).children) == 2


def test_a_hundred_notches_and_marks_do_no_harm():
    marked = skirt().with_(notches=tuple(Notch("side", 4.0 + 4.9 * k) for k in range(100)))
    children = cut_piece(marked, [line((-10, 251), (310, 251))], 15).children
    assert sum(n.edge == "side" for c in children for n in c.notches) == 100


def stepped(segments):
    """A wavy disc drawn in many straight steps, in four edges."""
    turn = np.linspace(0, 2 * np.pi, segments, endpoint=False)
    radius = 200 + 10 * np.sin(7 * turn)
    points = np.stack([radius * np.cos(turn), radius * np.sin(turn)], axis=1)
    bounds = np.arange(5) * segments // 4
    edges = tuple(
        Edge(f"edge {k + 1}", paths.polyline(np.vstack([points[a:b], points[b % segments]])), allowance_mm=10.0)
        for k, (a, b) in enumerate(itertools.pairwise(bounds))
    )
    return Piece("stepped", edges)


def check_stepped(segments):
    piece = stepped(segments)
    result = cut_piece(piece, [line((-300, 20), (300, 35))], 10)
    assert result.proof.ok, result.proof.sentence
    assert len(result.children) == 2
    whole = cut_outline(piece)
    assert whole.notes == ()  # no union of strips was needed
    # Steiner: A + L w + π w², for a smooth outline, on this one to the size of its steps.
    size = paths.length(piece.outline)
    steiner = piece.finished_area_mm2 + size * 10 + np.pi * 100
    assert whole.area_mm2 == pytest.approx(steiner, rel=1e-5)
    assert paths.length(whole.path) == pytest.approx(size + 2 * np.pi * 10, abs=0.05)


def test_a_thousand_steps_are_cut():
    check_stepped(1_000)


@pytest.mark.slow
def test_a_hundred_thousand_segments_are_cut():
    check_stepped(100_000)


def test_edges_of_no_length_and_repeated_points_do_no_harm():
    piece = skirt()
    side = piece.edge("side")
    still = dataclasses.replace(side, name="nothing", path=paths.Path(np.repeat(side.path.end[None], 4, axis=0)[None]))
    edges = [e for edge in piece.edges for e in ([edge, still] if edge is side else [edge])]
    result = cut_piece(piece.with_(edges=tuple(edges)), [line((-10, 200), (310, 200))], 15)
    assert result.proof.ok
    assert all(e.name != "nothing" for c in result.children for e in c.edges)
