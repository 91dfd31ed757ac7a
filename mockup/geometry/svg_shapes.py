"""The shapes and transforms of SVG as svgelements reads them, for drawings and for pattern pieces alike."""

from __future__ import annotations

import numpy as np
import svgelements

from mockup.geometry.path import Floats

SHAPES = {
    "path": svgelements.Path,
    "rect": svgelements.Rect,
    "circle": svgelements.Circle,
    "ellipse": svgelements.Ellipse,
    "polygon": svgelements.Polygon,
    "polyline": svgelements.Polyline,
    "line": svgelements.SimpleLine,
}
"""Tag → class of every element that draws."""
UNREADABLE = (ValueError, TypeError, IndexError, AttributeError, ZeroDivisionError, OverflowError)
"""What svgelements raises where numbers should stand and do not."""


def transform_of(text: str) -> Floats:
    """Read a ``transform`` attribute, lengths at 96 to the inch.

    Returns:
        The affine map, shape (3, 3); its numbers may be as large as the text says, or not finite.

    Raises:
        UNREADABLE: it holds no transform.
    """
    m = svgelements.Matrix(text)
    m.render(ppi=96)
    return np.array([[m.a, m.c, m.e], [m.b, m.d, m.f], [0.0, 0.0, 1.0]], np.float64)
