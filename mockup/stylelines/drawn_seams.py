"""Seams that the garment has already, as the lines that part its panels beside the style lines."""

from __future__ import annotations

from collections.abc import Sequence

from mockup.garment.view import DrawnSeam, View
from mockup.geometry.faces import faces
from mockup.geometry.path import Path
from mockup.stylelines import edges
from mockup.stylelines.on_photo import carry_line, drawing_of, drawing_to_photo
from mockup.stylelines.styleline import End, LineKind, StyleLine
from swatches.errors import GeometryError

_APART = ((0.5, 0.5),)


def placed_seams(view: View, views: Sequence[View]) -> tuple[tuple[StyleLine, Path], ...]:
    """Give the drawn seams of a view's body as lines, in view mm.

    On a photo they are carried over from the drawing of its side; one that does not part the photo's body is left out,
    since the cloth is one there.
    """
    drawing = drawing_of(view, views)
    if drawing is None or view.seams:
        return tuple((_as_line(s, view.side), view.path_to_mm(s.path)) for s in view.seams)
    if not drawing.seams:
        return ()
    mapped = drawing_to_photo(drawing, view)
    pairs = [(edges.body_outline(drawing), edges.body_outline(view))]
    found: list[tuple[StyleLine, Path]] = []
    for seam in drawing.seams:
        drawn = drawing.path_to_mm(seam.path)
        carried = carry_line(drawn, mapped, pairs)
        try:
            faces(pairs[0][1], [*(path for _, path in found), carried])
        except GeometryError:
            continue
        pairs.append((drawn, carried))
        found.append((_as_line(seam, view.side), carried))
    return tuple(found)


def _as_line(seam: DrawnSeam, side: str) -> StyleLine:
    """A seam in the words of a style line; it is known by its id alone and placed by its own path."""
    end = End(f"{seam.id} of the garment".replace("-left", "").replace("-right", ""), "", 0.0, seam.side)
    lone = not seam.symmetric and seam.side is None
    return StyleLine(
        seam.id, seam.name, side, LineKind.CURVE, end, end, _APART if lone else (), symmetric=seam.symmetric
    )
