"""What is known of the garment as a whole, and the person's own limits for the checks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from mockup.checks.limits import DEFAULTS, limits
from mockup.project import Closure, Project
from swatches.errors import InputError

KINDS = ("zip", "buttons", "slit")
EDGES = ("centre-front", "centre-back", "side-left", "side-right", "shoulder-left", "shoulder-right")
_LONGEST_MM = 3000.0


def set_limits(project: Project, changes: Mapping[str, float | None]) -> Project:
    """Set limits of the person's own, or put some back to ours (None).

    Raises:
        InputError: no such limit, or no positive number.
    """
    wanted = dict(project.limits)
    for name, value in changes.items():
        if value is None:
            if name not in DEFAULTS:
                limits({name: 1.0})  # says which there are
            wanted.pop(name, None)
        else:
            limits({name: value})
            wanted[name] = float(value)
    return replace(project, limits=wanted)


def set_closures(project: Project, closures: tuple[Closure, ...] | None) -> Project:
    """Say where the garment opens; an empty tuple: it is pulled on; None: not known.

    Raises:
        InputError: an unknown kind or edge, or distances that are no stretch of an edge.
    """
    for one in closures or ():
        if one.kind not in KINDS or one.edge not in EDGES:
            raise InputError(
                "closure",
                expected=f"{', '.join(KINDS)} on one of {', '.join(EDGES)}",
                got=f"{one.kind} on {one.edge}",
                next_step="Type it like zip:centre-back:0-220mm",
            )
        if not 0 <= one.start_mm < one.end_mm <= _LONGEST_MM:
            raise InputError(
                "closure",
                expected=f"two distances down the edge, up to {_LONGEST_MM:g} mm, the lower one larger",
                got=f"{one.start_mm:g} to {one.end_mm:g} mm",
                next_step="Measure from the upper end of that edge",
            )
    return replace(project, closures=closures)


def set_stretch(project: Project, percent: float | None) -> Project:
    """Say how far the pattern counts on the cloth to stretch across the body; 0 for woven cloth, None: not known.

    Raises:
        InputError: no percentage from 0 to 300.
    """
    if percent is not None and not (math.isfinite(percent) and 0 <= percent <= 300):
        raise InputError(
            "needed stretch",
            expected="0 to 300 percent",
            got=f"{percent}",
            next_step="10 cm that must reach 12.5 cm is 25",
        )
    return replace(project, needed_stretch=percent)


def set_ease(project: Project, ease: Mapping[str, float]) -> Project:
    """Say how much length is eased in at edges, 'piece:edge' → mm; 0 takes it back.

    Raises:
        InputError: a negative or endless length, or no edge.
    """
    new = dict(project.ease)
    for edge, mm in ease.items():
        if ":" not in edge or not (math.isfinite(mm) and 0 <= mm <= 200):
            raise InputError(
                "ease", expected="PIECE:EDGE and up to 200 mm", got=f"{edge}={mm}", next_step="Like sleeve:cap=12mm"
            )
        new.pop(edge, None)
        if mm > 0:
            new[edge] = float(mm)
    return replace(project, ease=new)
