"""The built-in example as a project of one's own."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

from mockup.journey.cloths import put_fabric, read_cloth
from mockup.journey.cutting import put_pieces
from mockup.journey.drawings import new_project
from mockup.journey.photos import put_photo
from mockup.project import Project
from mockup.samples import choir
from swatches.fabric import Fabric
from swatches.fabric_file import write_fabric
from swatches.job import QUIET, Job, Part, check
from swatches.kept import Asked
from swatches.photo import read_photo
from swatches.safe_write import write_whole
from swatches.samples import cupboard

_AT_ONCE = 2  # swatch photos read side by side; the libraries do most of it without the interpreter's lock

DATE = "2026-12-12"
"""Day of the invented concert; fixed, so that the example's files are the same every day."""


def open_choir(folder: Path, *, photo: bool = True, job: Job = QUIET) -> Project:
    """Lay out the choir's tunic: drawings, photo, cloth read from its swatch photos, lines, choices and pieces.

    Args:
        folder: the new project's folder.
        photo: whether the photo on the dress form is cut out too.
        job: progress and cancellation.
    """
    measures = [(view, edge, mm) for view, (edge, mm) in choir.MEASURES.items()]
    project = new_project(
        folder,
        choir.FRONT_PNG,
        choir.BACK_PNG,
        measures=measures,
        name=choir.NAME,
        date=DATE,
        job=Part(job, 0.0, 0.3),
    )
    with ThreadPoolExecutor(_AT_ONCE) as pool:
        readings = pool.map(lambda s: read_cloth(read_photo(s.photo), Asked("sheet"), name=s.name), cupboard.SWATCHES)
        for k, sample in enumerate(cupboard.SWATCHES):
            job.step(f"Reading the swatch '{sample.name}'", 0.3 + 0.5 * k / len(cupboard.SWATCHES))
            read = next(readings)
            if job.cancelled:
                pool.shutdown(cancel_futures=True)
            check(job)
            complete = replace(read, reading=replace(read.reading, fabric=sample.complete(read.reading.fabric)))
            project, fabric = put_fabric(folder, project, complete, fabric_id=sample.id)
            if sample.id in cupboard.SEEN_REMNANTS:
                project = _see_remnants(folder, project, fabric)
    if photo:
        project = put_photo(
            folder,
            project,
            choir.FORM_PHOTO,
            around=choir.FORM_AROUND,
            landmarks=choir.FORM_LANDMARKS,
            job=Part(job, 0.8, 1.0),
        )
    project, _ = put_pieces(folder, project, choir.PIECES)
    # A boxy tunic that is pulled on, drafted for woven cloth.
    return replace(project, lines=choir.LINES, colourways=choir.colourways(), closures=(), needed_stretch=0.0)


def _see_remnants(folder: Path, project: Project, fabric: Fabric) -> Project:
    """Put the pictures of a cloth's remnants into the project, so that lays are drawn over them."""
    remnants = cupboard.SEEN_REMNANTS[fabric.id]
    seen = replace(fabric, remnants=remnants)
    for remnant in remnants:
        if remnant.photo:
            data = (cupboard.HERE / remnant.photo).read_bytes()
            write_whole(folder / "fabrics" / fabric.id / remnant.photo, data, what="picture of a remnant")
    write_fabric(seen, folder / "fabrics" / fabric.id, None)
    return project.put_fabric(seen)
