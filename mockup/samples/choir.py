"""The demo scenario: a village choir sews tunics for its winter concert from what is left in its store cupboard.

Choir, tunic and cloth are invented; the photo is rendered, and shows the toile: in calico, without pockets. The design
has two lines, front and back: a curved yoke that echoes the neck, and a level band along the hem.
"""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np

from mockup.colourways.colourway import Colourway
from mockup.geometry import path as paths
from mockup.geometry.path import XY
from mockup.samples import draft
from mockup.stylelines.styleline import End, LineKind, StyleLine

HERE = Path(__file__).parent
NAME = "Winter concert tunic"
EXPLAIN = (
    "An invented example: a village choir sews boxy pull-on tunics for its winter concert from what is left in its "
    "store cupboard. Drawings and pattern are our own; the photos of the cloth, and of the calico toile on a dress "
    "form, are rendered, not taken."
)

PIECES = HERE / "tunic.svg"
FRONT_PNG, BACK_PNG = HERE / "front.png", HERE / "back.png"
FRONT_SVG, BACK_SVG = HERE / "front.svg", HERE / "back.svg"
FORM_PHOTO = HERE / "form.jpg"

_TRUTH = json.loads((HERE / "form.json").read_text(encoding="utf-8"))
FORM_LANDMARKS: dict[str, XY] = {name: (x, y) for name, (x, y) in _TRUTH["landmarks"].items()}
"""Where the tunic's landmarks are in the photo, px; left and right are the wearer's."""
FORM_OUTLINE: tuple[XY, ...] = tuple((x, y) for x, y in _TRUTH["outline"])
"""The tunic's true outline in the photo, px, closed (the first point is not repeated)."""
FORM_AROUND: tuple[XY, ...] = (
    (552, 420), (415, 482), (98, 1120), (262, 1246), (416, 960), (404, 1566), (1094, 1566), (1086, 960), (1236, 1252),
    (1402, 1122), (1092, 486), (950, 420),
)  # fmt: skip
"""Twelve loose points drawn round the tunic in the photo by hand, px."""

MEASURES: dict[str, tuple[str, float]] = {
    "front": ("centre-front", draft.LENGTH_MM - draft.FRONT_NECK_DROP_MM),
    "back": ("centre-back", draft.LENGTH_MM - draft.BACK_NECK_DROP_MM),
}
"""One known length of each drawing: (edge, mm)."""

YOKE_FROM_UNDERARM_MM = 104.0  # up the armhole, well off the underarm, where four seams meet
YOKE_FROM_NECK_MM = {"front": 104.0, "back": 192.0}  # down the centre: the same height in front and behind
BAND_MM = 110.0


def _band_through() -> tuple[XY, ...]:
    """Points of a line parallel to the hem, in shares of the body's half width and height."""
    hem, box = draft.hem(), (draft.HEM_SIDE[0], draft.LENGTH_MM)
    found = []
    for share in (0.8, 0.6, 0.4, 0.2):
        segment, t = paths.locate(hem, share * paths.length(hem))
        along = paths.tangent(hem, segment, t)
        point = paths.points_at(hem, segment, t) + BAND_MM * np.array([-along[1], along[0]])
        found.append((float(point[0]) / box[0], float(point[1]) / box[1]))
    return tuple(found)


def _lines() -> tuple[StyleLine, ...]:
    lines = []
    for side in ("front", "back"):
        centre = f"centre-{side}"
        carries = ("", "") if side == "front" else ("line-1", "line-2")
        number = 1 if side == "front" else 3
        lines.append(
            StyleLine(
                f"line-{number}", "yoke", side, LineKind.ARC,
                End("armhole", "underarm", YOKE_FROM_UNDERARM_MM, text=f"{YOKE_FROM_UNDERARM_MM:g} mm"),
                End(centre, "neck", YOKE_FROM_NECK_MM[side]), symmetric=True, carries=carries[0],
            )
        )  # fmt: skip
        lines.append(
            StyleLine(
                f"line-{number + 1}", "hem band", side, LineKind.CURVE,
                End("side", "hem", BAND_MM, text=f"{BAND_MM:g} mm"), End(centre, "hem", BAND_MM),
                through=_band_through(), symmetric=True, carries=carries[1],
            )
        )  # fmt: skip
    return tuple(lines)


LINES: tuple[StyleLine, ...] = _lines()
"""The choir's style lines: a yoke and a hem band, front and back."""


def colourways() -> tuple[Colourway, ...]:
    """The choir's four choices, by panel id and fabric id of :data:`swatches.samples.cupboard.SWATCHES`."""
    choices = {
        "A": ("First frost", ("oat", "spruce", "check", "spruce", "check", "oat")),
        "B": ("Mulled", ("cord", "sprig", "cord", "sprig", "cord", "ochre")),
        "C": ("Clear night", ("ochre", "stars", "ticking", "stars", "ticking", "ochre")),
        "D": ("Lamplight", ("check", "cord", "ochre", "oat", "oat", "spruce")),
    }
    return tuple(_choice(letter, name, *cloths) for letter, (name, cloths) in choices.items())


def _choice(
    letter: str, name: str, yoke: str, middle: str, band: str, sleeve: str, pocket: str, facing: str
) -> Colourway:
    fabrics = {f"{side}-{n}": f for side in ("front", "back") for n, f in enumerate((yoke, middle, band), 1)}
    fabrics |= {f"sleeve-1{side}": sleeve for side in "LR"} | {f"pocket-1{side}": pocket for side in "LR"}
    return Colourway(letter, name, fabrics | {"neck-facing-1": facing})
