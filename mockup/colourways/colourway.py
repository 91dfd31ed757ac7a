"""A colourway: one choice of a fabric for every panel."""

from __future__ import annotations

from dataclasses import dataclass, field, replace


@dataclass(frozen=True, slots=True)
class Laid:
    """How a panel's cloth lies: angle of the lengthwise grain from upright (degrees, counter-clockwise), and offset."""

    grain_deg: float = 0.0
    offset_mm: tuple[float, float] = (0.0, 0.0)
    mirrored: bool = False


@dataclass(frozen=True, slots=True)
class Colourway:
    """One choice.

    Attributes:
        letter: 'A', 'B', … as voters see it.
        name: the person's word, or empty.
        fabrics: panel id → fabric id; a panel that is not named is left as it is.
        laid: panel id → how its cloth lies, where it is not the default.
    """

    letter: str
    name: str = ""
    fabrics: dict[str, str] = field(default_factory=dict)
    laid: dict[str, Laid] = field(default_factory=dict)

    def assign(self, panel: str, fabric: str | None) -> Colourway:
        """Give a panel a fabric, or leave it as it is (None)."""
        fabrics = {k: v for k, v in self.fabrics.items() if k != panel}
        if fabric is not None:
            fabrics[panel] = fabric
        return replace(self, fabrics=fabrics)
