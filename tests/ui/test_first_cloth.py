"""What 'Which cloth?' says of the first cloth of a garment: the next step that is left."""

from __future__ import annotations

from dataclasses import replace

from swatches.job import QUIET
from ui.parts.scene import scene
from ui.parts.session import Session
from ui.questions import cloth_photos


def test_the_first_cloth_on_a_garment_with_lines_names_the_next_step_that_is_left(session: Session) -> None:
    project = session.need()
    session.keep(replace(project, colourways=(), fabrics=project.fabrics[:1]), "no cloth on the garment")
    said = cloth_photos.keep_colour(session, cloth_photos.mix(session, QUIET, "#7a2e35", "brick red"))
    assert said is not None
    assert "Take another cloth and press a panel" in said.text, "there are lines, and another cloth"
    session.keep(replace(project, colourways=(), fabrics=()), "no cloth at all")
    said = cloth_photos.keep_colour(session, cloth_photos.mix(session, QUIET, "#7a2e35", "brick red"))
    assert said is not None
    assert "Add another cloth" in said.text


def test_a_cloth_that_is_called_by_its_colour_says_the_colour_once(session: Session) -> None:
    cloth_photos.keep_colour(session, cloth_photos.mix(session, QUIET, "#7a2e35", ""))
    by_name = {c["name"]: c["word"] for c in scene(session)["cloths"]}
    new = session.need().fabrics[-1]
    assert by_name[new.name] == ""
    assert new.name == new.colour.word
    assert by_name["spruce"] == "dark green"
