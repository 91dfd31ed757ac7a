"""A project's text with the texts of views and cloths kept is the text that the record as a whole gives."""

from dataclasses import replace

from pydantic import TypeAdapter

from mockup import journey
from mockup.files import project_file
from mockup.files.records import write_record
from mockup.project import Project
from mockup.samples import choir


def test_kept_texts_of_views_and_cloths_change_no_sign_of_the_file(tmp_path):
    project = journey.new_project(tmp_path, choir.FRONT_SVG, choir.BACK_SVG)
    whole = TypeAdapter(Project)
    oat = journey.plain_fabric("#c9b48f", "oat")
    for changed in (
        project,
        replace(project, lines=choir.LINES),
        replace(project, fabrics=(oat,)),
        replace(project, fabrics=(oat, replace(oat, id="other", note="bought\nin May"))),
        replace(project, views=tuple(replace(v, mm_per_px=0.5) for v in project.views)),
        replace(project, views=project.views[:1]),
        replace(project, views=()),
    ):
        saved = project_file.save(changed, tmp_path, over=True)
        text = (tmp_path / project_file.PROJECT_FILE).read_text("utf-8")
        assert text == write_record(whole, saved)
        assert project_file.load(tmp_path) == saved
