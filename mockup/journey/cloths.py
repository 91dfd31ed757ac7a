"""The project's cloth: read from photos, plain colours, kept under ids of their own."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from mockup.journey.known import Source
from mockup.project import Project
from swatches.cloth import plain
from swatches.colour import colour_word
from swatches.fabric import Fabric
from swatches.fabric_file import TILE_NAME, write_fabric
from swatches.job import QUIET, Job
from swatches.kept import Asked, keep_reading
from swatches.naming import free_id
from swatches.photo import Photo, Picture, png_bytes, read_photo
from swatches.read_swatch import SwatchReading, read_swatch
from swatches.safe_write import write_whole


@dataclass(frozen=True, slots=True, eq=False)
class ClothRead:
    """A photo of cloth, how it was asked to be read, and what it told."""

    photo: Photo
    asked: Asked
    reading: SwatchReading


def plain_fabric(colour: str, name: str = "") -> Fabric:
    """Make a fabric of a plain colour '#rrggbb'; without a name it is called by its colour."""
    fabric = plain("colour", name or "colour", colour)
    return fabric if name else replace(fabric, name=colour_word(fabric.colour.lab))


def read_fabric(source: Source, *, reference: str | float = "none", name: str = "", job: Job = QUIET) -> SwatchReading:
    """Read a cloth from its photo; see :func:`swatches.read_swatch.read_swatch`."""
    return read_swatch(read_photo(source, what="photo of the cloth"), reference=reference, name=name or None, job=job)


def read_cloth(photo: Photo, asked: Asked, *, name: str = "", job: Job = QUIET) -> ClothRead:
    """Read a cloth from its photo and keep together what is needed to look at the reading and to correct it."""
    return ClothRead(photo, asked, read_swatch(photo, name=name or None, job=job, **asked.options()))


def put_fabric(
    folder: Path,
    project: Project,
    found: SwatchReading | Fabric | ClothRead,
    *,
    tile: Picture | None = None,
    fabric_id: str = "",
) -> tuple[Project, Fabric]:
    """Add a cloth to the project under an id of its own, and write it into the folder; ``tile`` goes with a fabric.

    The same cloth again (the same record and the same tile) is the one that is there already. With ``fabric_id`` it is
    put under that id, whatever was there.
    """
    read = found if isinstance(found, ClothRead) else None
    told = found.reading if isinstance(found, ClothRead) else found
    fabric, tile = (told, tile) if isinstance(told, Fabric) else (told.fabric, told.tile)
    fabric = replace(fabric, reading="")
    if tile is not None and fabric.texture is not None:
        fabric = replace(fabric, texture=replace(fabric.texture, file=TILE_NAME))
    same = None if fabric_id else _same(folder, project, fabric, tile)
    if same is not None:
        return project, same
    fabric = replace(fabric, id=fabric_id or free_id(fabric.name, {f.id for f in project.fabrics}))
    if read is not None:
        name = keep_reading(folder / "fabrics" / fabric.id, read.photo, read.reading, read.asked)
        fabric = replace(fabric, reading=name)
    write_fabric(fabric, folder / "fabrics" / fabric.id, tile)
    return project.put_fabric(fabric), fabric


def put_reading(folder: Path, project: Project, fabric_id: str, read: ClothRead) -> tuple[Project, Fabric]:
    """Put a new reading of its photo in a cloth's place: looks and scale change, what is written down of it stays.

    The tile gets a name of its own, so that an older state of the project still finds the older one.
    """
    old = project.fabric(fabric_id)
    home = folder / "fabrics" / fabric_id
    new = read.reading.fabric
    texture = new.texture
    if texture is not None and read.reading.tile is not None:
        data = png_bytes(read.reading.tile)
        texture = replace(texture, file=f"tile-{hashlib.sha256(data).hexdigest()[:16]}.png")
        write_whole(home / texture.file, data, what="fabric's tile")
    fabric = replace(
        old,
        colour=new.colour,
        kind=new.kind,
        texture=texture,
        warnings=new.warnings,
        reading=keep_reading(home, read.photo, read.reading, read.asked),
    )
    write_fabric(fabric, home)
    return project.put_fabric(fabric), fabric


def fabric_names(project: Project) -> dict[str, str]:
    """Fabric id → the person's word."""
    return {f.id: f.name for f in project.fabrics}


def _same(folder: Path, project: Project, fabric: Fabric, tile: Picture | None) -> Fabric | None:
    """The cloth of the project that has the same record and the same tile, or None."""
    for there in project.fabrics:
        if replace(there, id=fabric.id, reading="") != fabric:
            continue
        file = folder / "fabrics" / there.id / TILE_NAME
        if tile is None or (file.is_file() and np.array_equal(read_photo(file).rgb8, tile)):
            return there
    return None
