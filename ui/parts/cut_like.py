"""What of a project shows in files to cut from, so that they are kept when only something else is changed."""

from __future__ import annotations

from dataclasses import replace

from mockup.project import Project
from swatches.fabric import Fabric


def cut_like(project: Project) -> Project:
    """A project with nothing but what shows in cut pieces and pictures of them; equal for two that are cut alike.

    What is only written down of a cloth goes, and cloth that no choice uses, limits and the garment's name.
    """
    used = {i for c in project.colourways for i in c.fabrics.values()}
    cloths = [f for f in project.fabrics if f.id in used]
    looks = tuple(Fabric(f.id, f.name, f.colour, f.kind, f.texture, nap=f.nap) for f in cloths)
    return replace(project, name="", revision=0, fabrics=looks, limits={}, needed_stretch=None)
