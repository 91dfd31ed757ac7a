"""A drawing with a waist seam over a dress in one piece: two cloths would fall into one cut piece, and that is said."""

from __future__ import annotations

from dataclasses import replace

import pytest
import waisted_dress as dress

from mockup import journey
from mockup.checks.finding import Grade
from mockup.colourways.colourway import Colourway
from mockup.journey.checking import findings
from mockup.project import Project

WOOL, LINEN = (replace(journey.plain_fabric(hue), id=name) for name, hue in (("wool", "#7b2d3b"), ("linen", "#e8e0cc")))


def whole_dress() -> bytes:
    """Front and back of the dress, each in one piece on the fold, without a waist seam."""
    b, fall = dress.BODICE, dress.SKIRT["hem"][1]
    low, hem = (0, 428 + fall), (dress.SKIRT["hem"][0], 428 + fall)
    groups = []
    for n, side in enumerate(("front", "back")):
        other, drop = "back" if side == "front" else "front", dress.DROP[side]
        edges = [
            dress._edge("hem", [low, hem], "hem", allowance="30mm"),
            dress._edge("side", [hem, b["waist"], b["underarm"]], allowance="15mm", mate=f"{other}:side"),
            dress._edge("armhole", dress.armhole(b)[::-1], allowance="15mm"),
            dress._edge("shoulder", [b["shoulder"], b["neck"]], allowance="15mm", mate=f"{other}:shoulder"),
            dress._edge("neck", [b["neck"], (62, drop * 0.6), (30, drop - 8), (0, drop)], allowance="10mm"),
            dress._edge(f"centre-{side}", [(0, drop), low], "fold"),
        ]
        at = f"{500 * n + 40},40"
        groups.append(
            f'<g data-piece="{side}" data-view="{side}" data-how="on fold" data-moved="{at}" '
            f'transform="translate({at.replace(",", " ")})">{"".join(edges)}</g>'
        )
    size = 'width="1000mm" height="1240mm" viewBox="0 0 1000 1240"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{"".join(groups)}</svg>'.encode()


def made(folder, pieces: bytes) -> Project:
    measures = [("front", "centre-front", 910.0), ("back", "centre-back", 990.0)]
    drawn = journey.new_project(folder, dress.drawing("front"), dress.drawing("back", 1.25), measures=measures)
    project, _ = journey.put_pieces(folder, drawn, pieces)
    return replace(project, fabrics=(WOOL, LINEN))


def with_cloth(project: Project, *, skirt: str) -> Project:
    panels = [p for found in journey.panels_of(project).values() for p in found]
    tops = {min((p for p in panels if p.view == v), key=lambda p: p.number).id for v in ("front", "back")}
    cloth = {p.id: WOOL.id if p.id in tops else skirt for p in panels}
    assert len(cloth) == 4
    return replace(project, colourways=(Colourway("A", "", cloth),))


@pytest.fixture(scope="module")
def one_piece(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    return folder, made(folder, whole_dress())


def test_two_cloths_in_one_piece_stop_and_are_said_with_the_cut(one_piece):
    folder, project = one_piece
    project = with_cloth(project, skirt=LINEN.id)
    found = [f for f in findings(project, folder) if f.code == "one-piece"]
    assert [f.grade for f in found] == [Grade.STOP] * 2, "front and back"
    assert all(f.place.point is not None for f in found)
    assert "not in your pattern" in found[0].figure
    said = [w for w in journey.cut(project, folder, "A").warnings if "not in your pattern" in w]
    assert len(said) == 2
    assert "would be one cloth where the picture has two" in said[0]


def test_one_cloth_all_over_is_fine(one_piece):
    folder, project = one_piece
    project = with_cloth(project, skirt=WOOL.id)
    assert not [f for f in findings(project, folder) if f.code == "one-piece"]
    assert not [w for w in journey.cut(project, folder, "A").warnings if "not in your pattern" in w]


def test_a_pattern_with_bodice_and_skirt_apart_is_fine(tmp_path):
    project = with_cloth(made(tmp_path, dress.pieces()), skirt=LINEN.id)
    made_of = journey.cut(project, tmp_path, "A")
    assert made_of.shared == ()
    assert not [f for f in findings(project, tmp_path) if f.code == "one-piece"]
