"""Typing an end carries the points between along: a hem band stays as high as it says, everywhere.

The height is measured from the hem, point by point; 4 1/2 in are 114.3 mm (the inch is 25.4 mm by definition).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.project import Project
from mockup.stylelines import edges, presets
from mockup.stylelines.anchor import place_line
from mockup.stylelines.carry import carry, seam_miss
from mockup.stylelines.twins import mirror_partners
from ui.parts import actions
from ui.parts.desk import at_once
from ui.parts.scene import scene
from ui.parts.session import Session, Sessions

HIGH_MM = 4.5 * 25.4


def heights(project: Project, line_id: str) -> list[float]:
    line = project.line(line_id)
    view = project.view(line.side)
    hem = edges.find_edge(view, "hem").path
    return [curve.nearest(hem, p)[2] for p in paths.flatten(place_line(line, view), 0.5).points[3:-3]]


def with_band(project: Project) -> Project:
    """A hem band of 8 cm on the front, carried over the back, and nothing else."""
    (band,) = presets.hem_band(project.view("front"), "8 cm")
    return replace(project, lines=(band, carry(band, [band], "back", project.views)))


def test_a_typed_hem_band_is_as_high_everywhere(session: Session) -> None:
    session.keep(with_band(session.need()), "a band")
    before = session.need().lines
    for line, which in (("line-1", "start"), ("line-1", "end"), (before[1].id, "end")):
        actions.act(session, {"do": "type", "line": line, "which": which, "text": "4 1/2 in"})
    now = session.need()
    for line in now.lines:
        high = heights(now, line.id)
        assert max(abs(h - HIGH_MM) for h in high) < 1.0, f"{line.side}: {min(high):.1f} to {max(high):.1f} mm"
        assert line.start.text == line.end.text == "4 1/2 in"
        assert len(line.through) == 4, "no point is lost"
    assert seam_miss(now.lines[0], now.lines[1], now.view("front"), now.view("back")) < 1e-6
    for _ in range(3):
        session.undo()
    assert session.need().lines == before


def test_what_goes_on_over_the_seam_follows_with_its_points(session: Session) -> None:
    session.keep(with_band(session.need()), "a band")
    before = next(line for line in session.need().lines if line.side == "back")
    actions.act(session, {"do": "type", "line": "line-1", "which": "start", "text": "4 1/2 in"})
    back = session.need().line(before.id)
    assert back.start.distance_mm == pytest.approx(HIGH_MM)
    rises = [new[1] - old[1] for old, new in zip(before.through, back.through, strict=True)]
    assert rises[0] > rises[1] > rises[2] > rises[3] > 0, "least near the middle, which stayed"


def test_points_moved_on_purpose_stay_where_they_were_put(session: Session) -> None:
    session.keep(with_band(session.need()), "a band")
    sent = next(x for x in scene(session)["lines"] if x["id"] == "line-1")
    own = [[0.8, 0.2], [0.4, 0.18]]
    change = {**sent, "start": {**sent["start"], "distance_mm": 100.0}, "through": own}
    actions.commit(session, {"edit": 1, "client": "one", "changes": [change]})
    assert session.need().line("line-1").through == tuple(tuple(p) for p in own)


def test_one_of_a_pair_takes_its_mirror_image_along(session: Session) -> None:
    pair = presets.princess(session.need().view("front"), 90, 110)
    session.keep(replace(session.need(), lines=pair), "two lines")
    actions.act(session, {"do": "type", "line": "line-1", "which": "end", "text": "80 mm"})
    left, right = session.need().lines
    assert left.through != pair[0].through
    assert mirror_partners([left, right]) == {"line-1": "line-2", "line-2": "line-1"}


def test_a_distance_past_the_edge_is_refused_in_the_chosen_unit(sessions: Sessions, session: Session) -> None:
    session.keep(with_band(session.need()), "a band")
    actions.take_unit(session, "cm", [])
    message = {"do": "type", "line": "line-1", "which": "start", "text": "200"}
    said = at_once(sessions, session.word, "lines", lambda s: actions.act(s, message))["said"]["text"]
    assert " mm" not in said
    whole = edges.edge_length(session.need().view("front"), "side", "left")
    assert f"0 to {int(whole) / 10:g} cm along the side from the hem instead of 200 cm" in said
