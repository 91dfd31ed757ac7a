"""The scale of a view: from one known length, or from the other side of the garment.

Front and back are sewn together at the side seams, so those are equally long (common practice, no source); what is
measured on one side therefore scales the other, and two measures that do not fit each other are told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np

from mockup.garment.landmarks import with_origin
from mockup.garment.view import View
from mockup.geometry import path as paths
from swatches.errors import GeometryError

APART = 0.05
"""Our own choice: two scales that differ by more than this are doubted."""
_SIDES = ("left", "right")


def set_measure(view: View, measure: str, mm: float) -> View:
    """Set the scale from one known length.

    Args:
        view: the view.
        measure: 'centre-front' or 'centre-back' (neck or waist to hem on the mirror line), or an edge's name, with or
            without its side.
        mm: its length on the garment.

    Raises:
        GeometryError: no such measure here, or a length that is not positive.
    """
    if not (np.isfinite(mm) and mm > 0):
        raise GeometryError(measure, expected="a length above 0", got=f"{mm:g} mm", next_step="Type it like 680mm")
    lengths = measures(view)
    if measure not in lengths:
        raise GeometryError(
            "known length",
            expected=f"one of {', '.join(lengths)}",
            got=measure,
            next_step="Measure one of these on the garment",
        )
    return with_origin(view).with_scale(mm / lengths[measure])


def measures(view: View) -> dict[str, float]:
    """Lengths that a scale can be set from: name → px."""
    found: dict[str, float] = {}
    top = view.landmarks.get("neck-centre") or view.landmarks.get("waist-centre")
    hem = view.landmarks.get("hem-centre")
    if top and hem and hem[1] - top[1] > 1:
        found[f"centre-{view.side}"] = hem[1] - top[1]
    for edge in view.edges:
        size = paths.length(paths.from_tuples(edge.path))
        found[edge.name] = size
        base, _, side = edge.name.rpartition("-")
        if side in _SIDES:
            other = next((e for e in view.edges if e.name == f"{base}-{'right' if side == 'left' else 'left'}"), None)
            found[base] = (size + paths.length(paths.from_tuples(other.path))) / 2 if other else size
    return found


def from_top(view: View) -> str:
    """From where to where its centre is measured, in words: 'neck to hem', of skirts and trousers 'waist to hem'."""
    waisted = "neck-centre" not in view.landmarks and any(name.startswith("waist") for name in view.landmarks)
    return "waist to hem" if waisted else "neck to hem"


def scaled_like(view: View, known: View) -> View:
    """Scale a view so that it fits another of the same garment; its scale stays a guess of its own.

    By the side seams, where both views have the same kind of body; else by the height of the body. A photo of the side
    that the known view shows takes over that its scale is measured.
    """
    factor = _fitting(view, known)
    measured = known.scale_measured and view.side == known.side
    return replace(view, mm_per_px=factor, scale_measured=measured or view.scale_measured)


def scale_doubts(views: Sequence[View]) -> tuple[str, ...]:
    """Say which measured views do not fit each other: a figure was mistyped, or a drawing is not to scale."""
    found = []
    for a, b in combinations([v for v in views if v.scale_measured], 2):
        if a.side == b.side:
            continue
        ratio = b.mm_per_px / _fitting(b, a)
        longer, shorter = (b, a) if ratio > 1 else (a, b)
        ratio = max(ratio, 1 / ratio)
        if ratio - 1 > APART:
            what = "side seam" if _sides_px(a) and _sides_px(b) else "body"
            than = f"{ratio - 1:.0%} longer than" if ratio < 2 else f"{ratio:.1f} times as long as"
            found.append(
                f"By the lengths given, the {what} of the {longer.side} is {than} that of the {shorter.side}. "
                "They are sewn together: check both lengths, or whether the drawings are to scale."
            )
    return tuple(found)


def height_px(view: View) -> float:
    """Height of the body, px."""
    _, top, _, bottom = paths.bounds(paths.from_tuples(view.body.outline))
    return bottom - top


def _fitting(view: View, known: View) -> float:
    """Mm a px that make a view fit another."""
    mine, theirs = _sides_px(view), _sides_px(known)
    if mine and theirs and view.kind == known.kind:
        return known.mm_per_px * theirs / mine
    return known.mm_per_px * height_px(known) / height_px(view)


def _sides_px(view: View) -> float:
    """Length of the side seam, px; 0 where it is not known from underarm or waist to hem on both sides."""
    tops = {k.rpartition("-")[0] for k in view.landmarks} & {"underarm", "waist"}
    both = {f"side-{s}" for s in _SIDES} <= {e.name for e in view.edges}
    return measures(view)["side"] if both and tops else 0.0
