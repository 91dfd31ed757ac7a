"""The drafted tunic: it fits a head, its seams match, and the file says what the draft says."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from mockup.files.svg import read_pieces, write_pieces
from mockup.geometry import path as paths
from mockup.pattern.allowance import cut_line
from mockup.pattern.piece import EdgeKind, HowToCut, Piece
from mockup.samples import choir, draft

PIECES = {p.name: p for p in draft.pieces()}


def long(piece: str, edge: str) -> float:
    return paths.length(PIECES[piece].edge(edge).path)


def test_a_head_goes_through_the_neck() -> None:
    # The stitched neck at least 620 mm round, both halves of front and back (common practice, no source).
    round_neck = 2 * (long("front", "neck") + long("back", "neck"))
    assert round_neck >= draft.HEAD_MM == 620
    assert round_neck < 700, "a neck that falls off the shoulders"


def test_size_and_ease_are_what_the_draft_says() -> None:
    chest = 4 * draft.UNDERARM[0]
    assert chest == pytest.approx(draft.BODY_CHEST_MM + draft.EASE_MM)
    assert all(p.size == draft.SIZE and "104" in p.size for p in PIECES.values())
    assert 720 <= draft.LENGTH_MM <= 760


@pytest.mark.parametrize(("edge", "other"), [("side", "side"), ("shoulder", "shoulder"), ("hem", "hem")])
def test_front_and_back_share_their_seams(edge: str, other: str) -> None:
    assert long("front", edge) == pytest.approx(long("back", other), abs=1e-6)


def test_every_seam_is_as_long_as_its_mate() -> None:
    # Compare stitch lines, never cut edges; this draft has no ease, so that they are equal.
    checked = 0
    for piece in PIECES.values():
        for edge in piece.edges:
            if edge.mate:
                mate_piece, mate_edge = edge.mate.split(":")
                assert long(piece.name, edge.name) == pytest.approx(long(mate_piece, mate_edge), abs=1e-6), edge.mate
                assert PIECES[mate_piece].edge(mate_edge).mate == f"{piece.name}:{edge.name}"
                checked += 1
    assert checked == 16


@pytest.mark.parametrize("name", ["front", "back"])
def test_lines_run_true_over_fold_and_shoulder(name: str) -> None:
    # Neck and hem are square to the fold, neck and armhole square to the shoulder (common practice, no source).
    piece = PIECES[name]
    hem, neck, armhole = (piece.edge(e).path for e in ("hem", "neck", "armhole"))
    shoulder = paths.tangent(piece.edge("shoulder").path, 0, 0.5)
    np.testing.assert_allclose(paths.tangent(hem, 0, 0.0), (1, 0), atol=1e-9)
    np.testing.assert_allclose(paths.tangent(neck, 0, 1.0), (-1, 0), atol=1e-9)
    assert abs(paths.tangent(neck, 0, 0.0) @ shoulder) < 1e-9
    assert abs(paths.tangent(armhole, 0, 1.0) @ shoulder) < 1e-9
    side, foot = piece.edge("side").path, hem.end
    assert abs(paths.tangent(hem, 0, 1.0) @ paths.tangent(side, 0, 0.0)) < 1e-4
    np.testing.assert_allclose(side.start, foot)


@pytest.mark.parametrize("piece", PIECES.values(), ids=lambda p: p.name)
def test_pieces_are_whole_and_can_be_cut(piece: Piece) -> None:
    outline = shapely.Polygon(paths.flatten(piece.outline, 0.02).points)
    assert piece.outline.closed
    assert outline.is_valid
    assert piece.finished_area_mm2 > 0, "counter-clockwise"
    assert (piece.fold is not None) == (piece.how is HowToCut.ON_FOLD)
    assert piece.grainline is not None
    assert outline.contains(shapely.LineString(piece.grainline))
    cut = shapely.Polygon(paths.flatten(cut_line(piece), 0.02).points)
    assert cut.contains(outline.buffer(-0.05))
    assert cut.area > outline.area
    for notch in piece.notches:
        assert 0 <= notch.distance_mm <= paths.length(piece.edge(notch.edge).path)
    for edge in piece.edges:
        assert (edge.allowance_mm > 0) == (edge.kind in (EdgeKind.SEAM, EdgeKind.HEM))


def test_notches_meet_their_twins() -> None:
    def from_end(piece: str, edge: str, k: int) -> tuple[float, float]:
        notch = [n for n in PIECES[piece].notches if n.edge == edge][k]
        return notch.distance_mm, long(piece, edge) - notch.distance_mm

    assert from_end("front", "side", 0) == pytest.approx(from_end("back", "side", 0))
    assert from_end("front", "armhole", 0) == pytest.approx(from_end("sleeve", "cap-front", 0))
    assert from_end("back", "armhole", 0) == pytest.approx(from_end("sleeve", "cap-back", 1)[::-1])
    assert from_end("sleeve", "underarm-front", 0) == pytest.approx(from_end("sleeve", "underarm-back", 0)[::-1])
    for name in ("front", "back"):
        assert from_end(name, "neck", 0) == pytest.approx(from_end(f"{name} neck facing", "neck", 0))


def test_pocket_lies_on_the_front_where_its_mark_says() -> None:
    mark = next(m for m in PIECES["front"].marks if m.name == "pocket")
    assert paths.length(mark.path) == pytest.approx(long("pocket", "outer"), abs=1e-9)
    front = shapely.Polygon(paths.flatten(PIECES["front"].outline, 0.02).points)
    assert front.buffer(-30).contains(shapely.LineString(paths.flatten(mark.path, 0.1).points))


def test_the_file_is_the_draft() -> None:
    assert write_pieces(draft.pieces()) == write_pieces(draft.pieces()), "the same draft, the same bytes"
    for read, drafted in zip(read_pieces(choir.PIECES), draft.pieces(), strict=True):
        np.testing.assert_allclose(read.outline.cubics, drafted.outline.cubics, atol=1e-8)
        for got, edge in zip(read.edges, drafted.edges, strict=True):
            for name in ("name", "kind", "allowance_mm", "mate", "start_name", "end_name", "corner"):
                assert getattr(got, name) == getattr(edge, name), "run python -m mockup.samples.make"
        for name in ("name", "view", "area", "how", "count", "layer", "size"):
            assert getattr(read, name) == getattr(drafted, name)
        for got_notch, notch in zip(read.notches, drafted.notches, strict=True):
            assert (got_notch.edge, got_notch.count) == (notch.edge, notch.count)
            assert got_notch.distance_mm == pytest.approx(notch.distance_mm, abs=1e-6)
        np.testing.assert_allclose(read.grainline, drafted.grainline, atol=1e-6)
        assert len(read.marks) == len(drafted.marks)
