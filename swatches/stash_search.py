"""Search the stash. A cloth of which something is not known is not hidden: it comes last, with what is not known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from swatches.colour import delta_e_2000
from swatches.fabric import Fabric, Kind, Lab


@dataclass(frozen=True, slots=True)
class Wish:
    """What is looked for; None or empty: does not matter.

    Attributes:
        words: all of them occur in the name, colour word, kind or note.
        colour: near this CIELAB colour; a main colour of a print counts too.
        within: largest CIEDE2000 difference.
        weight: least and largest weight in g/m².
        fibre: holds this fibre.
        length_mm: at least so long, on the roll or in one remnant.
        width_mm: usable at least so wide.
        kind: what the surface shows.
        owned: in the cupboard, or not bought yet.
    """

    words: str = ""
    colour: Lab | None = None
    within: float = 12.0
    weight: tuple[float, float] | None = None
    fibre: str = ""
    length_mm: float | None = None
    width_mm: float | None = None
    kind: Kind | None = None
    owned: bool | None = None


@dataclass(frozen=True, slots=True)
class Match:
    """A cloth that fits, with its colour difference (None when no colour was asked) and what is not known of it."""

    fabric: Fabric
    difference: float | None
    unknown: tuple[str, ...] = ()


LEAST_PALETTE_SHARE = 0.15


def search(fabrics: Sequence[Fabric], wish: Wish) -> tuple[Match, ...]:
    """Find cloth that fits a wish: certain ones first, then by colour difference, then by name."""
    found = [match for fabric in fabrics if (match := _match(fabric, wish)) is not None]
    found.sort(key=lambda m: (len(m.unknown), m.difference or 0.0, m.fabric.name.casefold(), m.fabric.id))
    return tuple(found)


def _match(fabric: Fabric, wish: Wish) -> Match | None:
    text = f"{fabric.name} {fabric.colour.word} {fabric.kind} {fabric.note}".casefold()
    if not all(word in text for word in wish.words.casefold().split()):
        return None
    if (wish.kind is not None and fabric.kind is not wish.kind) or (
        wish.owned is not None and fabric.owned is not wish.owned
    ):
        return None
    difference = None
    if wish.colour is not None:
        colours = [fabric.colour.lab] + [lab for lab, share in fabric.colour.palette if share >= LEAST_PALETTE_SHARE]
        difference = min(float(delta_e_2000(c, wish.colour)) for c in colours)
        if difference > wish.within:
            return None
    unknown = []
    for name, answer in (
        ("weight", _weight_fits(fabric, wish)),
        ("fibre", _fibre_fits(fabric, wish)),
        ("length", _long_enough(fabric, wish)),
        ("width", _wide_enough(fabric, wish)),
    ):
        if answer is False:
            return None
        if answer is None:
            unknown.append(name)
    return Match(fabric, difference, tuple(unknown))


def _weight_fits(fabric: Fabric, wish: Wish) -> bool | None:
    if wish.weight is None:
        return True
    value = fabric.weight.value
    return None if value is None else wish.weight[0] <= value <= wish.weight[1]


def _fibre_fits(fabric: Fabric, wish: Wish) -> bool | None:
    if not wish.fibre:
        return True
    value = fabric.fibre.value
    return (
        None if value is None else any(wish.fibre.casefold() in name.casefold() for name, n in value.items() if n > 0)
    )


def _long_enough(fabric: Fabric, wish: Wish) -> bool | None:
    if wish.length_mm is None:
        return True
    lengths = [max(y for _, y in r.outline) - min(y for _, y in r.outline) for r in fabric.remnants if r.outline]
    if fabric.length_left.value is not None:
        lengths.append(fabric.length_left.value)
    return None if not lengths else max(lengths) >= wish.length_mm


def _wide_enough(fabric: Fabric, wish: Wish) -> bool | None:
    if wish.width_mm is None:
        return True
    width = fabric.usable_width.value
    return None if width is None else width >= wish.width_mm
