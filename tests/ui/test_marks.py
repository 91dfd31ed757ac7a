"""Flags while drawing: where a line would be hard to sew, what is said, and what putting it right does."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from mockup.checks.of_lines import line_findings
from mockup.project import Project
from mockup.proposals.mend import mends
from mockup.stylelines import edges
from mockup.stylelines.along import points_along
from mockup.stylelines.carry import seam_miss
from mockup.stylelines.shapes import box_of, boxed, shape
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import InputError
from ui.parts import actions
from ui.parts.desk import at_once
from ui.parts.marks import ways_scene
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions


def with_line(project: Project, line: StyleLine) -> Project:
    return replace(project, lines=(line,))


def level(start: End, down: float, **more: Any) -> StyleLine:
    return StyleLine(
        "line-1", "line", "front", LineKind.CURVE, start, End("centre-front", "neck", down), symmetric=True, **more
    )


def ways_of(session: Session, mark: dict[str, Any]) -> dict[str, str]:
    """What the page is offered when a flag is opened: way → label."""
    return {w["way"]: w["label"] for w in ways_scene(session, mark)["ways"]}


def test_the_choirs_lines_are_not_warned_of(session: Session) -> None:
    assert scene(session)["marks"] == []


def test_an_end_at_the_underarm_is_flagged_there_and_moved(session: Session) -> None:
    # Two facing allowances of 15 mm and a margin meet within 35 mm of the underarm: the room that the check asks for.
    session.keep(with_line(session.need(), level(End("side", "underarm", 8.0), 330.0)), "near the underarm")
    (mark,) = scene(session)["marks"]
    front = next(v for v in scene(session)["views"] if v["name"] == "front")
    assert (mark["number"], mark["grade"], mark["end"], mark["view"]) == (1, "warn", "start", "front")
    x, y = mark["point"]
    assert 0 < x < front["size"][0]
    assert 0 < y < front["size"][1]
    assert "--" not in mark["text"]
    assert mark["mendable"]
    offered = ways_of(session, mark)
    assert set(offered) == {"above", "below"}
    assert "below the underarm" in offered["below"]
    for way, edge in (("below", "side"), ("above", "armhole")):
        actions.act(session, {"do": "mend", "line": "line-1", "code": "bulk", "end": "start", "way": way})
        assert session.need().line("line-1").start.edge == edge
        assert scene(session)["marks"] == []
        assert session.undo() == "moved line where it sews better"
    actions.take_unit(session, "in", [])
    assert " in below" in ways_of(session, mark)["below"]
    said = actions.act(session, {"do": "mend", "line": "line-1", "code": "bulk", "end": "end", "way": "above"})
    assert said is not None
    assert "not so any more" in said.text


def test_what_is_moved_takes_along_the_line_that_meets_it(session: Session) -> None:
    project = session.need()
    front = replace(project.line("line-2"), start=End("side", "underarm", 10.0), kind=LineKind.STRAIGHT, through=())
    back = replace(project.line("line-4"), start=front.start, kind=LineKind.STRAIGHT, through=())
    front = replace(front, end=End("centre-front", "hem", 400.0))
    back = replace(back, end=End("centre-back", "hem", 400.0))
    session.keep(replace(project, lines=(front, back)), "two lines at the underarm")
    way = next(iter(ways_of(session, scene(session)["marks"][0])))
    actions.act(session, {"do": "mend", "line": "line-2", "code": "bulk", "end": "start", "way": way})
    new = session.need()
    assert new.line("line-2").start == new.line("line-4").start
    assert seam_miss(new.line("line-2"), new.line("line-4"), new.view("front"), new.view("back")) <= 0.01
    assert scene(session)["marks"] == []


def test_the_points_between_go_along_when_a_suggestion_moves_an_end(session: Session) -> None:
    # The same rule as for a typed distance: each point moves by what the moved end did, less the nearer the other end.
    drawn = level(End("side", "underarm", 8.0), 330.0, through=((0.75, 0.55), (0.35, 0.5)))
    project = with_line(session.need(), drawn)
    finding = next(f.finding for f in line_findings(project) if f.finding.code == "bulk")
    mend = next(m for m in mends(project, finding) if m.way == "below")
    view = project.view("front")
    by = edges.end_point(mend.line.start, view)[1] - edges.end_point(drawn.start, view)[1]
    height = edges.body_box(view)[3]
    first, second = ((b[1] - a[1]) * height for a, b in zip(drawn.through, mend.line.through, strict=True))
    assert by < -20
    assert by < first < second < 0
    again = points_along(drawn, replace(drawn, start=mend.line.start), [view], (drawn,))
    assert mend.line.through == again.through


def test_a_kink_is_made_square_and_a_tight_curve_wider(session: Session) -> None:
    project = session.need()
    pointed = level(End("side", "underarm", 120.0), 420.0, kinked=True)
    tight = level(End("side", "underarm", 120.0), 330.0, through=((0.55, 0.50), (0.45, 0.30), (0.35, 0.50)))
    for line, code, way in ((pointed, "kink", "square"), (tight, "tight-curve", "wider")):
        drawn = with_line(project, line)
        finding = next(f.finding for f in line_findings(drawn) if f.finding.code == code)
        mend = next(m for m in mends(drawn, finding) if m.way == way)
        after = line_findings(replace(drawn, lines=mend.lines))
        assert code not in {f.finding.code for f in after}
        assert (mend.line.start, mend.line.end) == (line.start, line.end)


def test_a_corner_is_flagged_and_can_be_rounded(session: Session) -> None:
    line = level(End("side", "underarm", 150.0), 400.0, through=((0.5, 0.35),))
    session.keep(with_line(session.need(), replace(line, kind=LineKind.POLYLINE)), "a corner")
    mark = next(m for m in scene(session)["marks"] if m["code"] == "inner-corner")
    assert "clip" in mark["text"]
    if ways_of(session, mark):
        actions.act(session, {"do": "mend", "line": "line-1", "code": "inner-corner", "end": "", "way": "rounder"})
        assert "inner-corner" not in {m["code"] for m in scene(session)["marks"]}


def test_a_line_over_the_pocket_and_a_sliver_are_flagged(session: Session) -> None:
    # The pockets of the tunic lie over its lower front: a line through their middle meets both.
    session.keep(with_line(session.need(), level(End("side", "hem", 210.0), 480.0)), "through the pockets")
    assert "pocket" in {m["code"] for m in scene(session)["marks"]}
    two = [level(End("side", "hem", h), 640.0 - h) for h in (100.0, 108.0)]
    ends = [End("centre-front", "hem", mm) for mm in (100.0, 108.0)]
    lines = (replace(two[0], end=ends[0]), replace(two[1], id="line-2", end=ends[1]))
    session.keep(replace(session.need(), lines=lines), "8 mm apart")
    assert "sliver" in {m["code"] for m in scene(session)["marks"]}


def test_a_line_that_leaves_the_garment_is_flagged_where_it_does(sessions: Sessions, session: Session) -> None:
    line = next(x for x in scene(session)["lines"] if x["id"] == "line-2")
    out = {"edit": 1, "client": "one", "changes": [{**line, "kind": "curve", "through": [[1.4, 0.3]]}]}
    found = at_once(sessions, session.word, "lines", lambda s: actions.commit(s, out), edit=1)
    said = found["said"]
    assert said["kind"] == "error"
    assert said["view"] == "front"
    assert said["text"] == "The line leaves the garment here. Move its points or its ends."
    assert " mm" not in said["text"], "the flag shows the place; a pair of figures tells nobody where it is"
    front = next(v for v in found["views"] if v["name"] == "front")
    body = front["body"]
    assert abs(said["point"][0] - body["x"]) > 0.9 * body["half"], "the place is where it leaves, not its middle"


def test_no_lines_and_no_scale_give_no_flags(sessions: Sessions) -> None:
    session = sessions.get(Sessions.new_word())
    session.keep(Project("nothing yet"), "begun")
    assert scene(session)["marks"] == []


def test_a_shape_that_is_too_tight_is_made_larger(session: Session) -> None:
    view = session.need().view("front")
    small = shape(view, "round", (110.0, 400.0), (50.0, 50.0), line_id="line-1", name="dot")
    project = with_line(session.need(), small)
    finding = next(f.finding for f in line_findings(project) if f.finding.code == "tight-curve")
    # 60 mm is what 4 allowances of 15 mm ask for: from 25 mm no try reaches it, from 35 mm twice the size does.
    assert [m.way for m in mends(project, finding)] == []
    larger = replace(project, lines=(boxed(small, view, wide_mm=70.0, high_mm=70.0),))
    finding = next(f.finding for f in line_findings(larger) if f.finding.code == "tight-curve")
    (mend,) = mends(larger, finding)
    assert mend.way == "wider"
    assert box_of(mend.line, view).wide_mm == pytest.approx(140.0)


def test_a_dart_marked_on_the_page_flags_a_line_that_meets_it(session: Session) -> None:
    session.keep(with_line(session.need(), level(End("side", "underarm", 120.0), 380.0)), "a band")
    stroke = {"do": "detail", "side": "front", "kind": "dart", "points": [[0.5, 0.75], [0.5, 0.3]]}
    said = actions.act(session, stroke)
    assert said is not None
    assert "both sides" in said.text
    found = [m for m in scene(session)["marks"] if m["code"] == "dart"]
    assert len(found) == 2
    assert all(m["mendable"] and m["point"] for m in found)
    assert "runs over the dart" in found[0]["text"]
    assert [d["own"] for d in scene(session)["details"]] == [True, True]
    actions.act(session, {"do": "detail-gone", "detail": "detail-1"})
    assert len([m for m in scene(session)["marks"] if m["code"] == "dart"]) == 1
    session.undo()
    session.undo()
    assert [m for m in scene(session)["marks"] if m["code"] == "dart"] == []
    with pytest.raises(InputError):
        actions.act(session, {**stroke, "kind": "zip"})
