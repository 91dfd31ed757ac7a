"""Designs of the usual kinds, from the clean drawing to the cut pieces: what stays on the fold, and what does not."""

from dataclasses import replace

import pytest

from mockup import journey
from mockup.geometry import path as paths
from mockup.pattern.piece import HowToCut
from mockup.samples import choir
from mockup.stylelines import presets


@pytest.fixture(scope="module")
def tunic(tmp_path_factory, put_tunic):
    folder = tmp_path_factory.mktemp("designs") / "tunic"
    project = put_tunic(folder)
    project, _ = journey.put_pieces(folder, project, choir.PIECES)
    return project, folder


def fronts(tunic, *lines):
    project, folder = tunic
    named = tuple(replace(line, id=f"line-{k}") for k, line in enumerate(lines, 1))
    made = journey.cut(replace(project, lines=named), folder)
    return [p for p in made.pieces if p.view == "front" and p.area == "body"], made


def test_a_symmetrical_and_an_asymmetrical_line_together(tunic):
    view = tunic[0].view("front")
    yoke, diagonal = presets.yoke(view, "16cm"), presets.diagonal(view, "20cm", "25cm")
    found, made = fronts(tunic, *yoke, *diagonal)
    assert [(p.how, p.right_side_up) for p in found] == [(HowToCut.SINGLE, True)] * 3
    assert made.proof.ok
    assert made.proof.rejoin_error_mm < 1e-6
    # both ends of the yoke lie at their typed distance from the shoulder: the sleeve's armhole says how far
    seam = next(e for e in found[0].edges if e.line_id == "line-1")
    arms = [e for e in found[0].edges if e.name.startswith("armhole")]
    assert [paths.length(e.path) for e in arms] == pytest.approx([160.0, 160.0], abs=0.01)
    x = sorted([seam.path.start[0], seam.path.end[0]])
    assert x[0] + x[1] == pytest.approx(0, abs=1e-6)  # mirrored about the old fold at x = 0


def test_side_panels_of_a_traced_drawing_are_a_pair_and_the_middle_stays_on_the_fold(tunic):
    view = tunic[0].view("front")
    found, made = fronts(tunic, *presets.side_panel(view, "8cm", "10cm"))
    assert sorted(p.how for p in found) == [HowToCut.ON_FOLD, HowToCut.PAIR]
    assert made.proof.ok
