"""Points of a view for findings."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from mockup.garment.view import View
from mockup.geometry.path import XY
from swatches.units import MmPoints


def px_of(view: View, point: ArrayLike) -> XY:
    """A point in view mm, shape (2,), as px of the view's picture."""
    x, y = view.points_to_px(MmPoints(np.asarray(point, dtype=np.float64)[None]))[0]
    return float(x), float(y)
