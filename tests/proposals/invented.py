"""Invented garments of square panels, and invented cloths, without pictures."""

from __future__ import annotations

import numpy as np

from mockup.checks.scene import Scene, Seam
from mockup.colourways.colourway import Colourway
from mockup.garment.view import Area, View
from mockup.geometry import path as paths
from mockup.project import Project
from mockup.stylelines.panels import Panel
from swatches.fabric import Colour, Fabric, Known, Origin

SQUARE = paths.polyline([(0, 0), (0, 300), (300, 300), (300, 0)], close=True).to_tuples()
_WASH = ("", "do not wash", "hand wash", "30", "40", "60")


def known(value: object, unit: str = "") -> Known:
    return Known(value, unit, Origin.MEASURED)


def cloth(name: str, lab: tuple[float, float, float] = (50.0, 0.0, 0.0), **properties: object) -> Fabric:
    return Fabric(name, name, Colour(lab, 2.0, "invented"), **properties)


def cupboard(count: int, seed: int = 0) -> tuple[Fabric, ...]:
    """Random cloths, some of their properties unknown."""
    rng = np.random.default_rng(seed)
    found = []
    for n in range(count):
        lab = (float(rng.uniform(15, 95)), float(rng.uniform(-40, 40)), float(rng.uniform(-40, 50)))
        properties: dict[str, object] = {"owned": bool(rng.random() < 0.8)}
        if rng.random() < 0.8:
            properties["weight"] = known(float(rng.uniform(80, 400)), "g/m²")
        wash = _WASH[rng.integers(len(_WASH))]
        if wash:
            care = {"wash": wash, "professional": "do not" if rng.random() < 0.3 else "normal"}
            properties["care"] = known(care)
        if rng.random() < 0.8:
            properties["usable_width"] = known(1400.0, "mm")
            properties["length_left"] = known(float(rng.uniform(100, 900)), "mm")
        if rng.random() < 0.3:
            properties["bleeds"] = known(bool(rng.random() < 0.5))
        properties["price_per_metre"] = known(float(rng.uniform(4, 20)))
        found.append(cloth(f"cloth{n}", lab, **properties))
    return tuple(found)


def garment(fabrics: tuple[Fabric, ...], panels: int = 4, *, measured: bool = True) -> Scene:
    """A column of body panels, each hanging from the one above, and with every second one also from the one before."""
    body = Area("body", "body", 1, SQUARE, "body")
    view = View("front", "front", "front.png", "drawing", (300, 300), "", (body,), {}, 150.0, 1.0, measured, (0.0, 0.0))
    made = {
        f"front-{n}": Panel(
            f"front-{n}", n, f"part {n}", "front", "body", "body", None, None, SQUARE, 1 / panels
        )
        for n in range(1, panels + 1)
    }  # fmt: skip
    seams = []
    for n in range(1, panels):
        beside = n % 3 == 0
        above = None if beside else f"front-{n}"
        seams.append(Seam(f"front-{n}", f"front-{n + 1}", 300.0 + n, beside, above, "front", (1.0, 1.0)))
    seams += [
        Seam(f"front-{n + 2}", f"front-{n}", 120.0, True, None, "front", (2.0, 2.0)) for n in range(1, panels - 1, 2)
    ]
    return Scene(Project("p", fabrics=fabrics), Colourway("A"), (view,), made, tuple(seams), ())
