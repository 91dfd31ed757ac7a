"""A whole garment: examples worked by hand, twins of one cloth and of two, sleeves, names, mates, lists, the proof."""

import dataclasses
import re

import numpy as np
import pytest
from tunic import asymmetrical, half, level_line, side_lines, sleeve, split_of, view, whole_view

from mockup.files.reading import Said, read
from mockup.files.svg import write_pieces
from mockup.geometry import path as paths
from mockup.geometry.curve import circular_arc
from mockup.geometry.ruler import Ruler
from mockup.pattern.apply_split import apply_split
from mockup.pattern.cutting_list import cutting_list, how_to_cut
from mockup.pattern.darts import sewn_length, with_dart
from mockup.pattern.piece import EdgeKind, HowToCut, mirrored
from mockup.pattern.two_singles import drawn_side
from mockup.pattern.unfold import unfolded
from mockup.pattern.walk import walk
from mockup.split.split import Anchor, SplitLine, SplitPanel
from swatches.errors import Cancelled, GeometryError


def renumbered(seen, first):
    panels = tuple(dataclasses.replace(p, number=p.number + first) for p in seen.panels)
    return dataclasses.replace(seen, panels=panels)


def sleeves(left="wool", right="wool"):
    square = paths.polyline([(400, 0), (500, 0), (500, 100), (400, 100)], close=True).to_tuples()
    return (
        SplitPanel("sleeve-1L", "sleeve", square, left, 9, "left", "sleeve"),
        SplitPanel("sleeve-1R", "sleeve", square, right, 9, "right", "sleeve"),
    )


def test_a_level_line_keeps_both_pieces_on_the_fold():
    front, back = half("front"), half("back")
    split = split_of(
        view(front, [level_line(front, 200, 1.05, 0.97)], sx=1.05, sy=0.97),
        renumbered(view(back, [level_line(back, 200, 1.05, 0.97)], sx=1.05, sy=0.97), 2),
    )
    cut = apply_split([front, back], split)
    assert [p.number for p in cut.pieces] == [1, 2, 3, 4]
    assert {p.how for p in cut.pieces} == {HowToCut.ON_FOLD}
    assert [how_to_cut(p) for p in cut.pieces] == ["cut 1 on fold"] * 4
    assert [p.fabric for p in cut.pieces] == ["cloth-1", "cloth-2", "cloth-1", "cloth-2"]
    assert cut.proof.ok
    assert cut.warnings == ()
    total = sum(p.finished_area_mm2 for p in cut.pieces)
    assert total == pytest.approx(front.finished_area_mm2 + back.finished_area_mm2, rel=1e-9)


def test_front_and_back_meet_at_the_side_seam():
    front, back = half("front"), half("back")
    split = split_of(view(front, [level_line(front, 200)]), renumbered(view(back, [level_line(back, 200)]), 2))
    cut = apply_split([front, back], split)
    named = {p.name: p for p in cut.pieces}
    for piece in cut.pieces:
        side = piece.edge("side")
        other = named[side.mate.partition(":")[0]]
        assert other.view != piece.view
        assert other.edge("side").mate == f"{piece.name}:side"
        assert paths.length(other.edge("side").path) == pytest.approx(paths.length(side.path), abs=1e-3)


def test_an_asymmetrical_curve_unfolds_front_and_back_right_side_up():
    front, back = half("front"), half("back")
    on_front = asymmetrical(front)
    # Carried on at the left side seam at the same distance from the hem, across the back to the same side's armhole.
    _, edges = whole_view(back)
    a = Ruler(edges["side-left"])
    start = a.point(a.total - 150.0)
    armhole = Ruler(edges["armhole-right"])
    end = armhole.point(armhole.total - 80.0)
    path = paths.polyline([start, end])
    on_back = SplitLine(
        "line-3", "swoop", path.to_tuples(), False,
        Anchor("side", "hem", 150.0), Anchor("armhole", "shoulder", 80.0), "left", "right",
    )  # fmt: skip
    split = split_of(view(front, [on_front], sx=1.06, sy=0.95), renumbered(view(back, [on_back]), 2))
    cut = apply_split([front, back, sleeve()], split)
    body = [p for p in cut.pieces if p.area == "body"]
    assert len(body) == 4
    assert {p.how for p in body} == {HowToCut.SINGLE}
    assert all(p.right_side_up for p in body)
    assert {how_to_cut(p) for p in body} == {"cut 1, right side up"}
    assert cut.proof.ok
    # Front and back meet: both left side seams are divided at 150 mm from the hem.
    for view_name in ("front", "back"):
        (lower,) = [p for p in body if p.view == view_name and any(e.name == "hem" for e in p.edges)]
        assert paths.length(lower.edge("side-left").path) == pytest.approx(150, abs=0.01)
        # The wearer's left is at +x on a front and at −x on a back, right side up.
        x = lower.edge("side-left").path.start[0]
        assert (x > 0) == (view_name == "front")
    assert sum(p.finished_area_mm2 for p in body) == pytest.approx(
        2 * (front.finished_area_mm2 + back.finished_area_mm2), rel=1e-9
    )


def twins(seen):
    """The two side panels share number 1 and have a side; the middle is 2."""
    panels = []
    for p in seen.panels:
        x0, _, x1, _ = paths.bounds(paths.from_tuples(p.outline))
        middle = x0 < 0 < x1
        side = None if middle else ("left" if x0 > 0 else "right")
        panels.append(
            dataclasses.replace(p, number=2 if middle else 1, side=side, name="centre" if middle else "side panel")
        )
    return dataclasses.replace(seen, panels=tuple(panels))


def test_side_panels_of_one_cloth_are_a_pair():
    piece = half()
    seen = twins(view(piece, side_lines(piece)))
    by_side = tuple(dataclasses.replace(p, fabric="red" if p.number == 1 else "blue") for p in seen.panels)
    cut = apply_split([piece], split_of(dataclasses.replace(seen, panels=by_side)))
    side, centre = cut.pieces
    assert (side.name, side.how, side.fabric, how_to_cut(side)) == ("side panel", HowToCut.PAIR, "red", "cut a pair")
    assert (centre.how, centre.fabric) == (HowToCut.ON_FOLD, "blue")
    assert side.edge("side panel").mate == "centre:side panel"


def test_side_panels_of_two_cloths_are_two_singles_one_mirrored():
    piece = half()
    seen = twins(view(piece, side_lines(piece)))
    cloth = {"left": "red", "right": "green", None: "blue"}
    seen = dataclasses.replace(seen, panels=tuple(dataclasses.replace(p, fabric=cloth[p.side]) for p in seen.panels))
    cut = apply_split([piece], split_of(seen))
    left, right, centre = cut.pieces
    assert [(p.name, p.side, p.fabric) for p in (left, right)] == [
        ("side panel, left", "left", "red"),
        ("side panel, right", "right", "green"),
    ]
    assert left.number == right.number == 1
    assert left.right_side_up
    assert right.right_side_up
    assert left.how is right.how is HowToCut.SINGLE
    # One is the mirror image of the other, each as seen from its right side: the left's side seam is at its +x.
    assert paths.bounds(left.edge("side").path)[0] > paths.bounds(left.edge("side panel").path)[0]
    assert paths.bounds(right.edge("side").path)[0] < paths.bounds(right.edge("side panel").path)[0]
    assert right.finished_area_mm2 == pytest.approx(left.finished_area_mm2, rel=1e-12)
    assert centre.fabric == "blue"
    assert cut.proof.ok


def test_sleeves_take_number_and_cloth_from_their_panels():
    piece = half()
    seen = view(piece, [level_line(piece, 200)])
    same = apply_split([piece, sleeve()], split_of(dataclasses.replace(seen, panels=(*seen.panels, *sleeves()))))
    found = next(p for p in same.pieces if p.area == "sleeve")
    assert (found.number, found.fabric, how_to_cut(found)) == (9, "wool", "cut a pair")
    differ = dataclasses.replace(seen, panels=(*seen.panels, *sleeves("wool", "linen")))
    two = [p for p in apply_split([piece, sleeve()], split_of(differ)).pieces if p.area == "sleeve"]
    assert [(p.name, p.fabric, p.number) for p in two] == [("sleeve, left", "wool", 9), ("sleeve, right", "linen", 9)]
    # The drawn sleeve has the cap's front at +x: seen from outside that is the right arm's, so the left is mirrored.
    right = two[1]
    assert right.edge("cap-front").path.start[0] > 0
    left = two[0]
    middle = np.mean(paths.bounds(left.outline)[::2])
    assert left.edge("cap-front").path.start[0] < middle or left.edge("cap-front").path.end[0] < middle


def test_which_arm_a_sleeve_is_follows_from_its_cap():
    assert drawn_side(sleeve()) == "right"
    assert drawn_side(mirrored(sleeve())) == "left"
    rolled = sleeve()
    rolled = rolled.with_(edges=(*rolled.edges[3:], *rolled.edges[:3]))
    assert drawn_side(rolled) == "right"
    assert drawn_side(half()) is None


def test_a_piece_that_no_panel_shows_stays_and_is_said():
    piece = half()
    cut = apply_split([piece, sleeve()], split_of(view(piece, [level_line(piece, 200)])))
    assert any("No panel of the picture shows sleeve" in w for w in cut.warnings)
    kept = next(p for p in cut.pieces if p.area == "sleeve")
    assert kept.number == 3  # after the panels
    assert kept.fabric == ""


def test_a_view_without_lines_names_its_piece():
    piece = half()
    (whole,) = apply_split([piece], split_of(view(piece))).pieces
    assert (whole.number, whole.name, whole.fabric, whole.how) == (1, "front panel 1", "cloth-1", HowToCut.ON_FOLD)


def test_the_cutting_list_counts_both_halves():
    piece = half()
    rows = cutting_list(
        apply_split([piece, sleeve()], split_of(view(piece, [level_line(piece, 200)]))).pieces, {"cloth-1": "red wool"}
    )
    assert [r.number for r in rows] == [1, 2, 3]
    assert [r.how for r in rows] == ["cut 1 on fold", "cut 1 on fold", "cut a pair"]
    assert [r.how_many for r in rows] == [1, 1, 2]
    assert [r.fabric for r in rows] == ["red wool", "cloth-2", "not chosen yet"]
    assert sum(r.finished_area_mm2 for r in rows[:2]) == pytest.approx(2 * piece.finished_area_mm2, rel=1e-9)
    assert rows[0].width_mm == pytest.approx(2 * (300 + 15), rel=0.02)


def test_the_same_split_gives_the_same_pieces():
    piece = half()
    split = split_of(view(piece, [level_line(piece, 200)]))
    a, b = apply_split([piece], split), apply_split([piece], split)
    for p, q in zip(a.pieces, b.pieces, strict=True):
        assert np.array_equal(p.outline.cubics, q.outline.cubics)


def test_it_can_be_stopped():
    class Stopped:
        cancelled = True

        def step(self, text, done=None):
            raise AssertionError("a cancelled job does no step")

    with pytest.raises(Cancelled):
        apply_split([half()], split_of(view(half())), job=Stopped())


def enclosed(symmetric, on_top):
    x = 0 if symmetric else 120
    return SplitLine("c", "badge", circular_arc((x, 300), 50, 20, 380).to_tuples(), symmetric, on_top=on_top)


@pytest.mark.parametrize("symmetric", [True, False])
@pytest.mark.parametrize("on_top", [True, False])
def test_a_shape_inside_a_panel_is_let_in_or_sewn_on(symmetric, on_top):
    front = half("front")
    made = apply_split([front], split_of(view(front, [enclosed(symmetric, on_top)])))
    assert made.proof.ok, made.proof.sentence
    badge, base = made.pieces  # the shape is the lower of the two panels
    assert badge.how is base.how is (HowToCut.ON_FOLD if symmetric else HowToCut.SINGLE)
    whole = front.finished_area_mm2 * (1 if symmetric else 2)
    shape = np.pi * 2500 / (2 if symmetric else 1)
    assert badge.finished_area_mm2 == pytest.approx(shape, rel=1e-5)
    assert base.finished_area_mm2 == pytest.approx(whole if on_top else whole - shape, rel=1e-7)
    assert [m.name for m in base.marks] == (["badge"] if on_top else [])
    assert badge.edge("badge").mate == ("" if on_top else f"{base.name}:badge")
    assert len(base.holes) == (1 if not on_top and not symmetric else 0)


def test_a_half_with_a_shape_on_the_fold_is_unfolded_with_its_hole():
    front = half("front")
    badge, base = apply_split([front], split_of(view(front, [enclosed(True, False)]))).pieces
    whole, warnings = unfolded(base)
    assert len(whole.holes) == 1
    assert warnings == ()
    assert whole.finished_area_mm2 == pytest.approx(2 * base.finished_area_mm2, rel=1e-9)
    assert unfolded(badge)[0].finished_area_mm2 == pytest.approx(np.pi * 2500, rel=1e-5)
    total = paths.length(whole.edge("badge").path)
    assert total == pytest.approx(2 * np.pi * 50, rel=1e-5)
    assert all(0 <= n.distance_mm <= total for n in whole.notches if n.edge == "badge")


def test_a_pattern_without_a_grainline_takes_it_from_its_centre_and_says_so():
    front = half("front").with_(grainline=None)
    made = apply_split([front], split_of(view(front, [level_line(front, 200)])))
    assert "front has no grainline: it is taken parallel to its centre-front" in made.warnings[0]
    for piece in made.pieces:
        tail, head = piece.grainline
        assert tail[0] == pytest.approx(head[0])  # the centre is upright
        assert head[1] > tail[1]
    cuff = sleeve().with_(grainline=None)
    assert "no straight centre" in apply_split([cuff], split_of(view(front, []))).warnings[0]


def test_typed_distances_on_a_pattern_with_a_dart_are_with_the_dart_closed():
    # The picture knows no dart: 380 mm up the side from the hem are measured on the sewn seam.
    plain = half("front")
    front = with_dart(plain, "bust dart", "side", 250.0, 24.0, 135.0)
    made = apply_split([front], split_of(view(plain, [level_line(plain, 380)])))
    assert made.proof.ok, made.proof.sentence
    lower = next(p for p in made.pieces if any(e.name == "hem" for e in p.edges))
    assert sewn_length(lower, "side") == pytest.approx(380, abs=0.01)  # our aim: typed ends ≤ 0.01 mm
    assert [d.name for d in lower.darts] == ["bust dart"]
    over = apply_split([front], split_of(view(plain, [level_line(plain, 380), *side_lines(plain)])))
    assert over.proof.ok, over.proof.sentence
    assert walk(over.pieces).worst_mm < 1e-6
    assert any("laid with the bust dart folded" in text for text in over.warnings)
    # Names on the paper and in the warnings are the same: no part is called by the name that it had during the cut.
    folded = [text for text in over.warnings if "folded away" in text]
    assert folded
    called = {name for text in folded for name in text.removeprefix("In ").split(" the bust dart")[0].split(" and ")}
    assert called <= {piece.name for piece in over.pieces}
    assert not any(re.search(r"\bfront \d", text) for text in over.warnings), over.warnings


def test_one_sided_lines_on_half_of_a_pair_are_refused_with_a_way_that_leads_on(tmp_path):
    whole = half("front")
    pair = whole.with_(
        how=HowToCut.PAIR,
        edges=tuple(
            dataclasses.replace(e, kind=EdgeKind.SEAM, allowance_mm=15.0) if e.kind is EdgeKind.FOLD else e
            for e in whole.edges
        ),
    )
    split = split_of(view(whole, [asymmetrical(whole, 1.0, 1.0)]))
    with pytest.raises(GeometryError, match="--fold front:centre-front") as caught:
        apply_split([pair], split)
    # The advice, followed as it is written.
    (said,) = re.findall(r"--fold (\S+:\S+?)\.?$", str(caught.value))
    file = tmp_path / "front.svg"
    file.write_text(write_pieces([pair]), "utf-8")
    again = read(file, Said(folds=(said,))).pieces
    made = apply_split(again, split)
    assert made.proof.ok
    assert len(made.pieces) == 2
    assert all(p.right_side_up for p in made.pieces)
