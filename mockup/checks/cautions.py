"""Cautions that no figure decides: children's clothing, and goods for sale."""

from __future__ import annotations

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.scene import Scene

_WHOLE = Place("the whole garment")


def cautions(scene: Scene) -> list[Finding]:
    """Say the two usual cautions once a choice has cloth."""
    if not scene.used():
        return []
    return [
        Finding(
            "caution",
            Grade.NOTE,
            _WHOLE,
            "if it is for a child",
            "local safety law",
            "e.g. 16 CFR 1615 and 1616 (nightwear), CPSC on drawstrings",
            "Nightwear and cords at hood and neck have safety rules: follow those where you live.",
            plain="If it is for a child, safety rules hold",
        ),
        Finding(
            "caution",
            Grade.NOTE,
            _WHOLE,
            "if it is for sale",
            "local labelling law",
            "e.g. 16 CFR 303 and 423, EU 1007/2011",
            "Fibre and care labels are regulated: follow the rules where you sell, and ask if in doubt.",
            plain="If it is for sale, labelling rules hold",
        ),
    ]
