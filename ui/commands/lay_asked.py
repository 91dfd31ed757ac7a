"""What the options of ``mockup lay`` say, and what does not go together."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from swatches.fabric import Fabric

_SPOKEN = {"cm": "cm", "m": "cm", "in": "in", "yd": "in"}


@dataclass(frozen=True, slots=True)
class Asked:
    """What the options say; ``unit`` is what lengths are said in: 'mm', 'cm' or 'in'; ``known``: records of cloths."""

    clearance_mm: float
    border_mm: float
    nap: bool
    repeat_mm: tuple[float, float] | None
    time_s: float
    seed: int
    folded: bool
    shrinkage: float
    by_yard: bool
    price: float | None
    unit: str = "mm"
    known: Mapping[str, Fabric] = field(default_factory=dict)

    def on(self, cloth: str) -> Asked:
        """The same for one cloth: one that its record says, or leaves open, to be one-way is laid so."""
        from mockup.lay.grain import lies_one_way

        return replace(self, nap=self.nap or (cloth in self.known and lies_one_way(self.known[cloth])))

    def words(self, cloth: str) -> list[str]:
        """What the record of a cloth asks of how its pieces lie, one sentence each."""
        from mockup.lay.grain import held

        return [f"{self.known[cloth].name}: {w}" for w in held(self.known[cloth])] if cloth in self.known else []


def unit_of(width: Any) -> str:
    """The unit of a typed width: who types cm or inches has a tape that shows them."""
    return "mm" if width is None else _SPOKEN.get(width.unit, "mm")


def sold_by_yard(shop: str | None, width: Any, widths: str | None) -> bool:
    """Whether the shop sells by the yard: by what is said, or else by the unit that widths are given in."""
    return shop == "yard" if shop is not None else unit_of(width) == "in" or widths == "inch"


def one_cloth(width: Any, widths: str | None, scraps: Any) -> None:
    """Refuse a lay that is asked for on nothing, or on several kinds of cloth at once."""
    from swatches.errors import InputError

    given = [n for n, v in (("--width", width), ("--widths", widths), ("--scraps", scraps)) if v is not None]
    if len(given) != 1:
        step = "Keep one of them" if given else "Add one, such as --width 140cm"
        raise InputError("cloth", expected="--width or --scraps", got=" and ".join(given) or "neither", next_step=step)


def fits_scraps(*, folded: bool, selvedges: bool, price: bool, shrinkage: bool) -> None:
    """Refuse what only cloth of a width has; scraps are measured without selvedges, and are not bought."""
    from swatches.errors import InputError

    if folded:
        step = "Lay scraps in a single layer"
        raise InputError("--folded", expected="cloth of a width", got="scraps", next_step=step)
    asked = (("--selvedges", selvedges), ("--price", price), ("--shrinkage", shrinkage))
    wrong = [name for name, given in asked if given]
    if wrong:
        raise InputError(
            " and ".join(wrong),
            expected="cloth of a width",
            got="scraps",
            next_step=f"Leave {'it' if len(wrong) == 1 else 'them'} out, or give --width instead",
        )


def repeat_of(text: str | None) -> tuple[float, float] | None:
    """Read a repeat like '0x6cm', across and along, in mm."""
    from swatches.errors import InputError
    from swatches.units import length

    if text is None:
        return None
    parts = text.replace("×", "x").split("x")
    if len(parts) != 2:
        raise InputError("--repeat", expected="two lengths", got=text, next_step="Write it like 0x6cm")
    across, along = (length(p, what="repeat", minimum_mm=0.0).mm for p in parts)
    return across, along


def records(project: Path | None, cloths: Collection[str]) -> dict[str, Fabric]:
    """What a garment knows of the cloths that pieces name; empty without a garment.

    Raises:
        InputError: it has none of them.
    """
    from mockup.files import project_file
    from swatches.errors import InputError

    if project is None:
        return {}
    loaded = project_file.load(project)
    found = {f.id: f for f in loaded.fabrics if f.id in cloths}
    if not found:
        raise InputError(
            "--project", expected=f"a garment with a cloth of these pieces: {', '.join(cloths)}",
            got=", ".join(f.id for f in loaded.fabrics) or "one without cloth",
            next_step="Name the garment that they were cut from",
        )  # fmt: skip
    return found
