"""How far round a form a garment in a photo is bent, from how much narrower it looks than its drawing.

On an upright cylinder an arc of half width W is seen W·sin(θ)/θ wide, where θ is the angle at which its ends are seen.
Folds make a garment look narrower too, so what the widths say is the most that the angle can be, and never more than
our own choice is taken. A garment that looks as wide as its drawing lies flat.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import brentq

from mockup.garment.view import View
from mockup.geometry import path as paths
from mockup.geometry.path import Floats

ON_A_FORM_DEG = 65.0
"""Our own choice for a garment on a form: with some ease it does not turn quite to the form's side. The widths of the
choir's tunic in its photo would say 84° if it hung without folds; how much of that is folds cannot be told from one
photo, so they only bound the angle."""
_FLAT = 0.985  # of the drawing's width: what looks wider lies flat
_HEIGHTS = np.linspace(0.35, 0.9, 12)  # shares of the body's height, from the top


def turn_seen(photo: View, drawing: View) -> float:
    """Angle in degrees at which the side seams are seen: 0 for a garment that lies flat.

    Args:
        photo: the photo's view, scaled like the drawing.
        drawing: the drawing of the same side.

    Returns:
        At most :data:`ON_A_FORM_DEG`, which is given where the widths cannot be compared, since sleeves and body were
        not told apart.
    """
    sides = {"side-left", "side-right"}
    if not all(sides <= {e.name for e in v.edges} for v in (photo, drawing)):
        return ON_A_FORM_DEG
    share = float(np.median(_widths(photo) / np.maximum(_widths(drawing), 1e-9)))
    if share >= _FLAT:
        return 0.0
    widest = float(brentq(lambda t: np.sin(t) / t - max(share, 0.3), 1e-3, np.pi * 0.9))
    return min(ON_A_FORM_DEG, float(np.degrees(widest)))


def _widths(view: View) -> Floats:
    """Widths of the body, mm, at some heights of it."""
    flat = paths.flatten(paths.from_tuples(view.body.outline), 0.2).points
    top, bottom = flat[:, 1].min(), flat[:, 1].max()
    found = []
    for y in top + _HEIGHTS * (bottom - top):
        over = flat[:, 1] - y
        at = np.nonzero((over[:-1] >= 0) != (over[1:] >= 0))[0]
        share = over[at] / (over[at] - over[at + 1])
        found.append(float(np.ptp(flat[at, 0] + share * (flat[at + 1, 0] - flat[at, 0]))) if len(at) else 0.0)
    return np.array(found) * view.mm_per_px
