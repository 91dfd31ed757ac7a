"""What 'Which cloth?' says of the first cloth of a garment: the next step that is left."""

from __future__ import annotations

from dataclasses import replace

from swatches.job import QUIET
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
