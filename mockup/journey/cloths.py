"""The project's cloth: read from photos, plain colours, kept under ids of their own."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace
from pathlib import Path

from mockup.journey.known import Source
from mockup.project import Project
from swatches.cloth import plain
from swatches.colour import colour_word
from swatches.fabric import Fabric
from swatches.fabric_file import TILE_NAME, write_fabric
from swatches.job import QUIET, Job
from swatches.photo import Picture, read_photo
from swatches.read_swatch import SwatchReading, read_swatch


def plain_fabric(colour: str, name: str = "") -> Fabric:
    """Make a fabric of a plain colour '#rrggbb'; without a name it is called by its colour."""
    fabric = plain("colour", name or "colour", colour)
    return fabric if name else replace(fabric, name=colour_word(fabric.colour.lab))


def read_fabric(source: Source, *, reference: str | float = "none", name: str = "", job: Job = QUIET) -> SwatchReading:
    """Read a cloth from its photo; see :func:`swatches.read_swatch.read_swatch`."""
    return read_swatch(read_photo(source, what="photo of the cloth"), reference=reference, name=name or None, job=job)


def put_fabric(
    folder: Path, project: Project, found: SwatchReading | Fabric, *, tile: Picture | None = None, fabric_id: str = ""
) -> tuple[Project, Fabric]:
    """Add a cloth to the project under an id of its own, and write it into the folder; ``tile`` goes with a fabric."""
    fabric, tile = (found, tile) if isinstance(found, Fabric) else (found.fabric, found.tile)
    fabric = replace(fabric, id=fabric_id or _free_id(fabric.name, {f.id for f in project.fabrics}))
    if tile is not None and fabric.texture is not None:
        fabric = replace(fabric, texture=replace(fabric.texture, file=TILE_NAME))
    write_fabric(fabric, folder / "fabrics" / fabric.id, tile)
    return project.put_fabric(fabric), fabric


def fabric_names(project: Project) -> dict[str, str]:
    """Fabric id → the person's word."""
    return {f.id: f.name for f in project.fabrics}


def _free_id(name: str, taken: set[str]) -> str:
    plain_name = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    base = re.sub(r"[^a-z0-9]+", "-", plain_name).strip("-")[:40] or "cloth"
    number, found = 1, base
    while found in taken:
        number += 1
        found = f"{base}-{number}"
    return found
