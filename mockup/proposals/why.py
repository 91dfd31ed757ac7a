"""Say in plain words what a choice of cloth is good for, and what it gives up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from mockup.checks.cloth import enough_cloth
from mockup.checks.finding import Grade
from mockup.checks.scene import Scene
from mockup.colourways.colourway import Colourway
from mockup.proposals import figures as fig
from mockup.proposals.figures import FIGURES, Floats, Problem
from swatches.care import Treatment
from swatches.fabric import Kind

_MUCH = 0.5  # of the span of a figure: others are much better


def reasons(scene: Scene, p: Problem, row: NDArray[np.int16], values: Floats) -> tuple[str, ...]:
    """Say each figure of one assignment as a sentence; limits come from the checks' table."""
    least, ratio = scene.limits["contrast"].value, scene.limits["luminance-ratio"].value
    said = []
    alike = _most_alike(p, row, fig.CONTRAST)
    if alike is None:
        said.append("One cloth all over: no line shows.")
    else:
        shows = "clearly" if values[fig.CONTRAST] >= 2 * least else "" if values[fig.CONTRAST] >= least else "hardly"
        differ = "differ" if shows == "" else f"{shows} differ"
        several = len(np.unique(row)) > 2
        said.append(f"Of all neighbours {alike} are most alike; they {differ}." if several else f"{alike} {differ}.")
        if values[fig.LIGHT] >= ratio:
            said.append("Light stands against dark everywhere, so the lines show in grey too.")
        else:
            close = _most_alike(p, row, fig.LIGHT)
            said.append(f"{close} differ by hue more than by light and dark.")
        confused = _most_alike(p, row, fig.TOLD_APART)
        if values[fig.TOLD_APART] >= least:
            said.append("Colour-blind viewers can tell all neighbours apart.")
        else:
            said.append(f"Colour-blind viewers may not tell {confused} apart.")
    if p.areas is not None and values[fig.USED_UP] > 0:
        said.append(f"Uses up {values[fig.USED_UP]:.0%} of the cloth that is taken out for it.".replace("%", " %"))
        said += _tight(scene, p, row, p.areas)
    said.append(_weights(p, row, int(values[fig.CLASHES])))
    said.append(_washing(p, row, int(values[fig.WASH])))
    said.append(_buying(p, row, float(values[fig.TO_BUY])))
    return tuple(said)


def best_for(scene: Scene, standing: Floats, varies: NDArray[np.bool_], values: Floats) -> tuple[str, ...]:
    """Name the figures in which no other choice of as many cloths is better; none that is poor in all of them.

    Args:
        scene: for its limits.
        standing: where each figure lies between the worst (0) and the best (1), shape (7,).
        varies: whether the choices differ in it, shape (7,).
        values: the figures, shape (7,).
    """
    poor = {i for i in (fig.CONTRAST, fig.TOLD_APART) if values[i] < scene.limits["contrast"].value}
    return tuple(f.words for i, f in enumerate(FIGURES) if standing[i] == 1.0 and varies[i] and i not in poor)


def gives_up(scene: Scene, standing: Floats, values: Floats) -> tuple[str, ...]:
    """Name the figures in which others of as many cloths are much better, the largest gap first.

    What is good enough all the same is not named, nor what is not known: the sentences say so.
    """
    least, order = scene.limits["contrast"].value, np.argsort(standing, kind="stable")
    fine = {fig.CONTRAST: values[fig.CONTRAST] >= 2 * least, fig.TOLD_APART: values[fig.TOLD_APART] >= least,
            fig.WASH: values[fig.WASH] == fig.NOT_SAID}  # fmt: skip
    return tuple(FIGURES[i].words for i in order if standing[i] < 1 - _MUCH and not fine.get(int(i), False))


def not_known(p: Problem, areas_by: str) -> tuple[str, ...]:
    """Say what is not known of the cloths, and how; 'cannot tell' is never silence."""
    notes = []
    if areas_by:
        notes.append(f"How much cloth each panel takes {areas_by}; only a lay can promise that it is enough.")
    else:
        notes.append("No length of the garment is known yet, so nobody can say whether the cloth is enough.")
    for words, missing in (
        ("how much is left of", [f.name for f in p.fabrics if f.owned and fig.cloth_left(f) is None]),
        ("the weight of", [f.name for f in p.fabrics if f.weight.value is None]),
        ("how to wash", [f.name for f, rank in zip(p.fabrics, p.wash, strict=True) if rank < 0]),
        ("the price of", [f.name for f in p.fabrics if not f.owned and f.price_per_metre.value is None]),
    ):
        if missing:
            notes.append(f"Cannot tell: {words} {_listed(missing)} is not known.")
    printed = [f.name for f in p.fabrics if f.kind not in (Kind.SOLID, Kind.MELANGE)]
    if printed:
        notes.append(f"Patterned cloth ({_listed(printed)}) is compared by its colour as seen from afar.")
    return tuple(notes)


def _most_alike(p: Problem, row: NDArray[np.int16], column: int) -> str | None:
    """Name the two cloths that meet somewhere and are most alike in one of the pairwise figures."""
    n = len(p.fabrics)
    found = min(
        ((float(p.tables[m, row[x.a] * n + row[x.b], column]), m) for m, x in enumerate(p.meetings)), default=None
    )
    if found is None or not np.isfinite(found[0]):
        return None
    meeting = p.meetings[found[1]]
    a, b = (p.fabrics[int(row[g])].name for g in (meeting.a, meeting.b))
    return _listed([a, b])


def _tight(scene: Scene, p: Problem, row: NDArray[np.int16], areas: Floats) -> list[str]:
    """Say of which cloth nearly all is needed, as the check of enough cloth judges it."""
    cut: dict[str, float] = {}
    for f, area in zip(row, areas, strict=True):
        cut[p.fabrics[f].id] = cut.get(p.fabrics[f].id, 0.0) + float(area)
    worn = {panel: p.fabrics[f].id for group, f in zip(p.groups, row, strict=True) for panel in group.panels}
    found = enough_cloth(replace(scene, colourway=Colourway("", "", worn), cut_mm2=cut))
    return [f"{_capital(x.place.words)}: {x.figure}. {x.advice}" for x in found if x.grade is Grade.WARN]


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _weights(p: Problem, row: NDArray[np.int16], clashes: int) -> str:
    if clashes == 0:
        return "No heavy cloth hangs from a light one."
    silent = [p.fabrics[i].name for i in sorted({int(i) for i in row}) if p.fabrics[i].weight.value is None]
    seams = "1 seam" if clashes == 1 else f"{clashes} seams"
    if silent:
        return f"At {seams} a heavier cloth hangs from a lighter one or that cannot be told: weigh {_listed(silent)}."
    return f"At {seams} a heavier cloth hangs from a lighter one: stay or underline there."


def _washing(p: Problem, row: NDArray[np.int16], rank: int) -> str:
    used = sorted({int(i) for i in row})
    if rank < 0:
        silent = [p.fabrics[i].name for i in used if p.wash[i] < 0]
        return f"How to wash it cannot be told: ask about {_listed(silent)}."
    decides = next(p.fabrics[i].name for i in used if p.wash[i] == rank)
    return f"Care: {Treatment('wash', rank).words}; {_listed([decides])} decides."


def _buying(p: Problem, row: NDArray[np.int16], amount: float) -> str:
    wanted = [p.fabrics[i].name for i in sorted({int(i) for i in row}) if not p.fabrics[i].owned]
    if not wanted:
        silent = [p.fabrics[i].name for i in sorted({int(i) for i in row}) if fig.cloth_left(p.fabrics[i]) is None]
        if silent:
            return (
                f"All of it is yours; whether it is enough cannot be told: measure what is left of {_listed(silent)}."
            )
        if p.areas is None:
            return "All of it is yours; whether it is enough cannot be told without a length of the garment."
        return "Nothing has to be bought."
    how_much = {"price": f"for at least {amount:.2f}", "m²": f"at least {amount:.2f} m²"}.get(
        p.to_buy, f"{100 * amount:.0f} % of the garment"
    )
    return f"To buy: {_listed(wanted)}, {how_much}."


def _listed(names: Sequence[str]) -> str:
    said = [f"'{name}'" for name in names]  # a person's name for a cloth may hold commas
    return said[0] if len(said) == 1 else ", ".join(said[:-1]) + " and " + said[-1]
