"""The choir's tunic as a project: what 'open the choir's tunic' lays on the table."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from mockup import journey
from mockup.project import Project
from mockup.samples import choir
from swatches.job import Job, Part, check
from swatches.samples import cupboard


def open_choir(folder: Path, job: Job) -> Project:
    """Make the example's project in a folder, as a person would make it; gives it unsaved."""
    job.step("Reading the drawings", 0.0)
    project = journey.new_project(
        folder,
        choir.FRONT_SVG,
        choir.BACK_SVG,
        measures=[(view, edge, mm) for view, (edge, mm) in choir.MEASURES.items()],
        name=choir.NAME,
        job=Part(job, 0.0, 0.3),
    )
    count = len(cupboard.SWATCHES)
    for at, sample in enumerate(cupboard.SWATCHES):
        check(job)
        job.step(f"Reading the swatch {sample.name}", 0.3 + 0.7 * at / count)
        reading = journey.read_fabric(sample.photo, reference="sheet", name=sample.name)
        project, fabric = journey.put_fabric(folder, project, reading, fabric_id=sample.id)
        project = project.put_fabric(sample.complete(fabric))
    project, _ = journey.put_pieces(folder, project, choir.PIECES)
    return replace(project, lines=choir.LINES, colourways=choir.colourways())
