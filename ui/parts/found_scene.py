"""What the page shows of what was found in a picture: its areas, its points, and how its lines were read."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from mockup.garment.landmarks import WORDS, missing_points
from mockup.garment.view import Area, View
from mockup.geometry import path as paths
from ui.parts.known_panels import OfView

PARTS = [
    ("", "not told"),
    ("sleeve", "a sleeve"),
    ("collar", "a collar"),
    ("hood", "a hood"),
    ("hood-lining", "the lining of a hood"),
    ("cuff", "a cuff"),
    ("pocket", "a pocket"),
    ("neck-facing", "a neck facing"),
    ("waistband", "a waistband"),
    ("bodice", "bodice, of the body"),
    ("skirt", "skirt, of the body"),
    ("yoke", "yoke, of the body"),
    ("section", "another section of the body"),
    ("area", "no part of the body"),
]
"""What a person can say that an area is; the first stands for what it is now."""


def found_scene(view: View) -> dict[str, Any]:
    """Areas, points and the reading of one view, as JSON takes them; px of the picture. No line changes them."""
    return dict(_found(OfView(view)))


@lru_cache(maxsize=24)
def _found(of: OfView) -> dict[str, Any]:
    view = of.view
    reading = view.reading
    return {
        "areas": [_area(a, view) for a in view.found_areas],
        "points": [
            *({"name": n, "words": point_words(n), "at": [x, y]} for n, (x, y) in sorted(view.landmarks.items())),
            *(
                {
                    "name": n,
                    "words": f"{point_words(n)}: not found, drag it to its place",
                    "at": at,
                    "missing": True,
                }
                for n, at in missing_points(view).items()
            ),
        ],
        "reading": None
        if reading is None
        else {
            "line_px": round(reading.line_width_px, 1),
            "gap_px": round(reading.gap_px, 1),
            "line_given": reading.line_given,
            "gap_given": reading.gap_given,
            "stitching": reading.stitching_is_seam,
            "no_darts": reading.darts_are_areas,
        },
    }


def point_words(name: str) -> str:
    """A point in the person's words: 'underarm, left'."""
    base, _, side = name.rpartition("-")
    if side == "centre":
        return f"middle of the {base}"
    return f"{WORDS.get(base, base)}, {side}" if side in ("left", "right") else name


def _area(area: Area, view: View) -> dict[str, Any]:
    rings = (area.outline, *area.holes)
    return {
        "id": area.id,
        "name": area.name,
        "part": area.part,
        "is": "part of the body" if area.label in view.body_labels else dict(PARTS).get(area.part, PARTS[0][1]),
        "body": area.label in view.body_labels,
        "d": "".join(_data(r) for r in rings),
    }


def _data(ring: Any) -> str:
    x, y = ring[0][0]
    flat = paths.flatten(paths.from_tuples(ring), 0.5).points
    return f"M{x:.1f} {y:.1f}L" + " ".join(f"{px:.1f} {py:.1f}" for px, py in flat[1:]) + "Z"
