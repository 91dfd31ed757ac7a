"""A colourway: one choice of a fabric for every panel."""

from __future__ import annotations

from dataclasses import dataclass, field, replace


@dataclass(frozen=True, slots=True)
class Laid:
    """How a panel's cloth lies.

    Attributes:
        grain_deg: angle of the lengthwise grain from upright, degrees, counter-clockwise; clockwise where mirrored.
        offset_mm: how far the print is moved, to the right and up in the picture.
        mirrored: whether the print is seen as in a mirror, as on the second layer of cloth folded along its length.
    """

    grain_deg: float = 0.0
    offset_mm: tuple[float, float] = (0.0, 0.0)
    mirrored: bool = False

    @property
    def grain_seen_deg(self) -> float:
        """Direction of the lengthwise grain as it is seen, counter-clockwise from upright."""
        return 0.0 - self.grain_deg if self.mirrored else self.grain_deg


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

    def laid_on(self, panel: str, side: str | None) -> Laid:
        """How cloth lies on a panel; where nobody said, the wearer's right is the image of the left."""
        return self.laid.get(panel, Laid(mirrored=side == "right"))

    def lay(self, panel: str, laid: Laid | None) -> Colourway:
        """Say how a panel's cloth lies; None: as usual."""
        rest = {k: v for k, v in self.laid.items() if k != panel}
        return replace(self, laid=rest if laid is None else rest | {panel: laid})

    def assign(self, panel: str, fabric: str | None) -> Colourway:
        """Give a panel a fabric, or leave it as it is (None)."""
        fabrics = {k: v for k, v in self.fabrics.items() if k != panel}
        if fabric is not None:
            fabrics[panel] = fabric
        return replace(self, fabrics=fabrics)
