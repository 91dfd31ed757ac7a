"""Order of construction (common practice, no source)."""

from dataclasses import replace

from tunic import half, level_line, sleeve, split_of, view

from mockup.geometry import path as paths
from mockup.geometry.curve import arc_through
from mockup.pattern.apply_split import apply_split
from mockup.pattern.construction import construction, is_curved
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.piece import Edge, EdgeKind, Piece


def test_style_seams_come_before_the_seams_round_the_body():
    front = half()
    cut = apply_split([front, half("back"), sleeve()], split_of(view(front, [level_line(front, 200)])))
    steps = [s.what for s in construction(cut.pieces, {"cloth-1": 30.0, "cloth-2": 80.0})]
    band = next(k for k, s in enumerate(steps) if "band" in s and s.startswith("Sew"))
    shoulder = next(k for k, s in enumerate(steps) if "shoulder" in s)
    side = next(k for k, s in enumerate(steps) if "side seam" in s)
    assert band < shoulder < side
    assert any("toward front panel 1, the darker cloth" in s for s in steps)
    assert steps[-1].startswith("An iron burns")
    assert any("hems" in s for s in steps)


def test_without_colours_no_side_is_named_for_pressing():
    front = half()
    cut = apply_split([front], split_of(view(front, [level_line(front, 200)])))
    assert not any("Press seam" in s.what for s in construction(cut.pieces))


def test_curved_seams_are_staystitched_and_clipped():
    assert not is_curved(Edge("a", paths.polyline([(0, 0), (300, 0)])))
    assert is_curved(Edge("a", arc_through((0, 0), (150, 30), (300, 0))))
    assert not is_curved(Edge("a", arc_through((0, 0), (150, 1.5), (300, 0))))


def test_only_seams_that_meet_are_nested():
    lines = [
        CutLine("a", "level", paths.polyline([(-10, 150), (210, 150)])),
        CutLine("b", "upright", paths.polyline([(100, -10), (100, 310)])),
    ]
    rect = paths.polyline([(0, 0), (200, 0), (200, 300), (0, 300)], close=True)
    whole = Piece("front", (Edge("outer", rect, EdgeKind.CUT),))
    crossed = [p.with_(fabric=str(p.name)) for p in cut_piece(whole, lines, 10).children]
    shades = {p.fabric: 10.0 * n for n, p in enumerate(crossed)}
    assert any("nest" in s.what for s in construction(crossed, shades))
    parallel = [lines[0], CutLine("c", "higher", paths.polyline([(-10, 220), (210, 220)]))]
    apart = [p.with_(fabric=str(p.name)) for p in cut_piece(whole, parallel, 10).children]
    assert not any("nest" in s.what for s in construction(apart, {p.fabric: 10.0 * n for n, p in enumerate(apart)}))


def test_seams_of_the_pattern_that_name_no_other_come_before_the_hem():
    front = half()
    alone = front.with_(edges=tuple(replace(e, mate="") for e in front.edges))
    said = [s.what for s in construction(apply_split([alone], split_of(view(front, [level_line(front, 200)]))).pieces)]
    own = next(k for k, s in enumerate(said) if s.startswith("Then sew the garment as your pattern says"))
    assert own < next(k for k, s in enumerate(said) if s.startswith("Turn up the hems"))
    assert any("band" in s for s in said[:own])
