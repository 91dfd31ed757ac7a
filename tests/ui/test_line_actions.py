"""What can be done to a line on the page: its kind, its cost, the V at the seam, and shapes that enclose cloth."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
import shapely

from mockup import journey
from mockup.files import project_file
from mockup.garment.view import DrawnSeam
from mockup.geometry import path as paths
from mockup.geometry.curve import min_radius
from mockup.samples import choir
from mockup.stylelines import edges
from mockup.stylelines.anchor import place_line
from mockup.stylelines.seam import seam_v, trued
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import InputError, MockupError
from ui.parts import actions
from ui.parts.known_panels import panels_of
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions
from ui.questions import lines


def line_of(session: Session, line_id: str) -> dict[str, Any]:
    return next(x for x in scene(session)["lines"] if x["id"] == line_id)


MOON = {
    "do": "draw", "side": "front", "kind": "curve", "symmetric": True, "through": [[0.3, 0.65], [0.35, 0.55]],
    "start": {"edge": "centre-front", "landmark": "neck", "distance_mm": 180},
    "end": {"edge": "centre-front", "landmark": "neck", "distance_mm": 360},
}  # fmt: skip


def test_every_kind_of_line_can_be_chosen_and_undone(session: Session) -> None:
    view = session.need().view("front")
    before = session.need().line("line-2")
    shapes = set()
    for kind in ("straight", "polyline", "curve", "arc", "curve"):
        actions.act(session, {"do": "kind", "line": "line-2", "kind": kind})
        line = session.need().line("line-2")
        assert line.kind == kind
        path = place_line(line, view)
        assert (line.start, line.end) == (before.start, before.end), "its ends stay"
        shapes.add(round(paths.length(path), 3))
    assert len(shapes) >= 2
    for _ in range(5):
        session.undo()
    assert session.need().line("line-2") == before
    with pytest.raises(InputError):
        actions.act(session, {"do": "kind", "line": "line-2", "kind": "zigzag"})


def test_a_line_says_what_it_costs(session: Session) -> None:
    project = session.need()
    size = paths.length(place_line(project.line("line-2"), project.view("front")))
    cost = line_of(session, "line-2")["cost"]
    # The two allowances of a seam take 2 × width × length, whatever its curve (Lw ± θw²/2 a side).
    assert cost == {"seams": 1, "seam_mm": pytest.approx(size), "cloth_mm2": pytest.approx(2 * 15 * size)}
    said = lines._add(session, "band", "both", "100 mm", "80 mm")
    assert said is not None
    assert "4 seams" in said.text
    assert "cm²" in said.text
    actions.take_unit(session, "in", [])
    assert "in²" in lines.cost_words(session, ["line-2"])


def test_a_v_at_a_flared_side_is_said_and_trued(session: Session) -> None:
    project = session.need()
    level = replace(project.line("line-2"), kind=LineKind.STRAIGHT, through=())
    back = replace(project.line("line-4"), kind=LineKind.STRAIGHT, through=())
    session.keep(project.put_line(level).put_line(back), "two level lines")
    v = line_of(session, "line-2")["v_deg"]
    views = session.need().view("front"), session.need().view("back")
    assert v == pytest.approx(seam_v(level, back, *views), abs=0.05)
    assert v > 1
    actions.act(session, {"do": "true", "line": "line-2"})
    new = session.need()
    assert abs(seam_v(new.line("line-2"), new.line("line-4"), *views)) < 0.5
    assert line_of(session, "line-2")["v_deg"] is None
    assert new.line("line-2").start == level.start
    assert session.undo() == "trued hem band at the side seam"
    # A steep V is bent over a longer stretch, so that it is no tight curve: 4 allowances of 15 mm (our own limit).
    steep = replace(level, end=replace(level.end, distance_mm=level.end.distance_mm + 65.0))
    session.keep(session.need().put_line(steep), "a steep line")
    assert seam_v(steep, back, *views) - v > 10
    actions.act(session, {"do": "true", "line": "line-2"})
    bent = place_line(session.need().line("line-2"), views[0])
    assert abs(min_radius(bent)[0]) >= 60
    assert abs(min_radius(place_line(trued(steep, views[0]), views[0]))[0]) < 60, "over 6 cm it would be one"
    session.undo()
    # One that runs almost along the seam cannot be bent square to it without a curve tighter than its allowance.
    seam, along = edges.along_edge(level.start, views[0])
    x, y = paths.point_at_distance(seam.path, along - 40 if seam.path.start[1] < seam.path.end[1] else along + 40)
    near = edges.mm_to_shares(views[0], (x * (1 - 8 / abs(x)), y))  # 40 mm down the seam and 8 mm off it
    beside = replace(level, kind=LineKind.CURVE, through=(near,))
    session.keep(session.need().put_line(beside), "a line beside the seam")
    before = session.need().lines
    session.state = replace(session.state, allowance="25 mm")
    said = actions.act(session, {"do": "true", "line": "line-2"})
    assert said is not None
    assert said.kind == "error"
    assert "too tight a curve to sew" in said.text
    assert session.need().lines == before
    session.undo()
    session.undo()
    said = actions.act(session, {"do": "true", "line": "line-1"})
    assert said is not None
    assert said.kind == "error", "a yoke from armhole to armhole meets the back nowhere"


def test_a_shape_that_encloses_cloth_is_asked_about(session: Session) -> None:
    said = actions.act(session, dict(MOON))
    assert said is not None
    assert "let in, or applied on top" in said.text
    moon = session.need().lines[-1]
    assert line_of(session, moon.id)["encloses"]
    assert not line_of(session, "line-1")["encloses"]
    assert moon.name in {p.name for p in panels_of(session.need())["front"]}, "its panel is called by the line"
    let_in = line_of(session, moon.id)["cost"]
    actions.act(session, {"do": "enclosed", "line": moon.id, "how": "on top"})
    assert session.need().line(moon.id).enclosed == "on top"
    on_top = line_of(session, moon.id)["cost"]
    path = place_line(session.need().line(moon.id), session.need().view("front"))
    area = abs(paths.signed_area(path))
    assert on_top["cloth_mm2"] == pytest.approx(area + 15 * paths.length(path))
    assert let_in["cloth_mm2"] == pytest.approx(30 * paths.length(path))
    assert math.isclose(on_top["seam_mm"], let_in["seam_mm"])
    folder = session.folder
    assert project_file.load(folder).line(moon.id).enclosed == "on top", "it is kept in the project"
    with pytest.raises(InputError):
        actions.act(session, {"do": "enclosed", "line": moon.id, "how": "glued"})


def test_a_project_from_before_still_opens(session: Session) -> None:
    file = session.folder / project_file.PROJECT_FILE
    text = file.read_text("utf-8")
    assert '"enclosed"' in text
    older = text.replace('"enclosed": ""', '"older": ""')
    assert '"enclosed"' not in older
    file.write_text(older.replace(',\n   "older": ""', "").replace(', "older": ""', ""), "utf-8")
    assert project_file.load(session.folder).lines == session.need().lines


def test_every_usual_line_lies_on_the_tunic(session: Session) -> None:
    for kind, usual in lines.USUAL.items():
        a, b = (f"{mm:g} mm" for mm in usual.usual)
        session.keep(replace(session.need(), lines=()), "no lines")
        said = lines._add(session, kind, "both", a, b)
        assert said is not None, kind
        assert said.kind == "note", f"{kind}: {said.text}"
        assert {x.side for x in session.need().lines} == {"front", "back"}, kind


def test_what_is_applied_on_top_leaves_the_piece_below_whole(session: Session) -> None:
    project, _ = journey.put_pieces(session.folder, session.need(), choir.PIECES)
    session.keep(replace(project, lines=()), "pieces and no lines")
    actions.act(session, dict(MOON))
    moon = session.need().lines[0]
    let_in = journey.cut(session.need(), session.folder)
    actions.act(session, {"do": "enclosed", "line": moon.id, "how": "on top"})
    on_top = journey.cut(session.need(), session.folder)
    whole = next(p for p in on_top.pieces if p.name == "front")
    patch = next(p for p in on_top.pieces if p.name == moon.name)
    with_hole = max((p for p in let_in.pieces if p.number == 1), key=lambda p: p.finished_area_mm2)
    assert whole.finished_area_mm2 == pytest.approx(with_hole.finished_area_mm2 + patch.finished_area_mm2, rel=1e-6)
    assert on_top.proof.ok


def test_a_line_pressed_onto_a_drawn_seam_is_told_that_it_goes_on(session: Session) -> None:
    project = session.need()
    view = project.view("front")
    waist = StyleLine(
        "w", "w", "front", LineKind.STRAIGHT, End("side", "underarm", 150.0), End("centre-front", "hem", 330.0),
        symmetric=True,
    )  # fmt: skip
    path = paths.transformed(place_line(waist, view), view.mm_to_px)
    sewn = replace(view, seams=(DrawnSeam("seam-1", "waist seam", path.to_tuples(), symmetric=True),))
    views = tuple(sewn if v.name == "front" else v for v in project.views)
    session.keep(replace(project, lines=(), views=views), "a waist seam")
    x, y = paths.point_at_distance(place_line(waist, view), 120.0)
    off = edges.mm_to_shares(view, (float(x), float(y) + 3.0))
    pressed = {
        "do": "draw", "side": "front", "kind": "curve", "symmetric": True,
        "start": {"edge": "hem", "landmark": "hem", "distance_mm": 100},
        "end": {"edge": "centre-front", "landmark": "neck", "distance_mm": 150},
    }  # fmt: skip
    said = actions.act(session, {**pressed, "through": [list(off)]})
    assert said is not None
    assert "A drawn seam is no end for a line yet: it goes on over the waist seam to the edge." in said.text
    session.undo()
    said = actions.act(session, {**pressed, "through": [[off[0], off[1] - 0.15]]})
    assert said is not None
    assert "no end" not in said.text


FREE = {"edge": "free", "landmark": "", "distance_mm": 0}


def drawn_shape(session: Session) -> str:
    """Draw a closed shape by hand beside the middle of the front; gives its id."""
    points = [[0.3, 0.45], [0.55, 0.45], [0.55, 0.6], [0.3, 0.6]]
    said = actions.act(
        session, {"do": "draw", "side": "front", "kind": "curve", "start": FREE, "end": FREE, "through": points}
    )
    assert "let in, or applied on top" in said.text
    return session.need().lines[-1].id


def test_a_closed_shape_is_asked_about_sized_mirrored_and_undone(sessions: Sessions, session: Session) -> None:
    before = session.need()
    shape = drawn_shape(session)
    (row,) = [x for x in scene(session)["lines"] if x["id"] == shape]
    assert row["free"]
    assert row["encloses"]
    names = {p["name"] for v in scene(session)["views"] if v["name"] == "front" for p in v["panels"]}
    assert session.need().line(shape).name in names, "the cloth inside is a panel of its own"
    for which, text, mm in (("wide", "7 cm", 70), ("high", "2 in", 50.8), ("across", "8cm", 80), ("up", "45 cm", 450)):
        actions.act(session, {"do": "box", "line": shape, "which": which, "text": text})
        (row,) = [x for x in scene(session)["lines"] if x["id"] == shape]
        assert row["box"][which] == pytest.approx(mm, abs=0.01)
    actions.act(session, {"do": "mirror", "line": shape})
    other = session.need().lines[-1]
    assert other.through == tuple((-x, y) for x, y in session.need().line(shape).through)
    actions.act(session, {"do": "enclosed", "line": shape, "how": "on top"})
    assert {session.need().line(x).enclosed for x in (shape, other.id)} == {"on top"}
    actions.act(session, {"do": "kind", "line": shape, "kind": "arc"})
    assert [str(session.need().line(x).kind) for x in (shape, other.id)] == ["arc", "arc"]
    with pytest.raises(InputError):
        actions.act(session, {"do": "type", "line": shape, "which": "start", "text": "5 cm"})
    with pytest.raises(MockupError):
        actions.act(session, {"do": "kind", "line": shape, "kind": "straight"})
    # What is on disk is what is shown: a server that starts again finds the shape.
    again = Sessions(sessions.home.parent).get(session.word).need()
    assert again.line(shape) == session.need().line(shape)
    for _ in range(8):
        session.undo()
    assert session.need().lines == before.lines
    assert session.redo().startswith("drew")


def test_a_shape_that_leaves_the_garment_says_where(session: Session) -> None:
    shape = drawn_shape(session)
    with pytest.raises(MockupError, match="leaves the garment"):
        actions.act(session, {"do": "box", "line": shape, "which": "wide", "text": "90 cm"})


def test_the_number_of_a_panel_does_not_lie_in_a_shape_that_is_let_into_it(session: Session) -> None:
    session.keep(replace(session.need(), lines=()), "no lines")
    middle = [[-0.5, 0.2], [0.5, 0.2], [0.5, 0.75], [-0.5, 0.75]]
    actions.act(
        session, {"do": "draw", "side": "front", "kind": "polyline", "start": FREE, "end": FREE, "through": middle}
    )
    shape = panels_of(session.need())["front"]
    shown = {p["id"]: p for p in scene(session)["views"][0]["panels"]}
    holding = [p for p in shape if p.holes]
    assert holding, "the shape lies in a panel"
    for panel in holding:
        at = shapely.Point(shown[panel.id]["label"])
        for hole in panel.holes:
            assert not shapely.Polygon(paths.flatten(paths.from_tuples(hole), 1.0).points).contains(at)


def test_a_mirrored_straight_line_meets_in_a_point_or_runs_over_the_middle(session: Session) -> None:
    straight = replace(session.need().line("line-2"), kind=LineKind.STRAIGHT, symmetric=True, kinked=False, through=())
    lines_now = tuple(straight if line.id == straight.id else line for line in session.need().lines)
    session.keep(replace(session.need(), lines=lines_now), "a straight line")

    def bend() -> float:
        """The most that the line turns at one place, degrees."""
        path = place_line(session.need().line("line-2"), session.need().view("front"))
        legs = [(c[0], c[1], c[2], c[3]) for c in path.cubics]
        turns = []
        for one, two in pairwise(legs):
            (x, y), (u, v) = one[3] - one[2], two[1] - two[0]
            turns.append(math.degrees(abs(math.atan2(x * v - y * u, x * u + y * v))))
        return max(turns)

    assert bend() < 0.1
    actions.act(session, {"do": "point", "line": "line-2"})
    assert bend() > 1
    actions.act(session, {"do": "point", "line": "line-2"})
    assert bend() < 0.1
