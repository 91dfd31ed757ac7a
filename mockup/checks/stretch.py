"""Stretch: a cloth that gives beside one that does not; and what the pattern needs across the body."""

from __future__ import annotations

from mockup.checks.cloth import grain_lies_across
from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.limits import PRACTICE
from mockup.checks.scene import Scene
from mockup.checks.words import at_seam, panel_words
from mockup.geometry import path as paths
from swatches.fabric import Fabric

_LIMIT = "both woven, or both knitted"


def stretch(scene: Scene) -> list[Finding]:
    """Judge every pair of cloths once by how they are made."""
    found = []
    for seam, a, b in scene.pairs_once():
        silent = [f.name for f in (a, b) if f.structure.value is None]
        if silent:
            found.append(
                Finding(
                    "stretch",
                    Grade.CANNOT_TELL,
                    at_seam(scene, seam),
                    f"not known whether {silent[0]} is woven or knitted",
                    _LIMIT,
                    PRACTICE,
                    "Pull it along and across: a knit gives at least one way.",
                    about=silent[0],
                    missing="whether it is woven or knitted",
                )
            )
        elif (a.structure.value == "knit") is not (b.structure.value == "knit"):
            found.append(
                Finding(
                    "stretch",
                    Grade.WARN,
                    at_seam(scene, seam),
                    f"{a.name} is {a.structure.value}, {b.name} {b.structure.value}",
                    _LIMIT,
                    PRACTICE,
                    "Sew a sample; stay the seam with tape and use a stitch that gives.",
                )
            )
    return found


def stretch_apart(scene: Scene) -> list[Finding]:
    """Judge every pair of cloths once by how far both give along their seam."""
    limit = scene.limits["stretch-apart"]
    found = []
    seen = set()
    for seam, a, b in scene.pairs():
        one, other = (_gives(scene, p, f, along=seam.upright) for p, f in ((seam.a, a), (seam.b, b)))
        pair = (frozenset((a.id, b.id)), seam.upright)
        if one is None or other is None or pair in seen:
            continue
        seen.add(pair)
        apart = abs(one - other)
        if apart <= limit.value:
            continue
        more, less = (a, b) if one > other else (b, a)
        found.append(
            Finding(
                "stretch", Grade.WARN, at_seam(scene, seam),
                f"along it {more.name} stretches by {max(one, other):g} %, {less.name} by {min(one, other):g} %: "
                f"up to {apart / 100 * seam.length_mm:.0f} mm on {seam.length_mm:.0f} mm",
                f"{limit} apart", limit.source,
                f"Stay the edge of {more.name} with tape and sew with it underneath.",
            )
        )  # fmt: skip
    return found


def stretch_needed(scene: Scene) -> list[Finding]:
    """Hold the stretch of each panel's cloth across the body against what the pattern needs."""
    needed, limit = scene.project.needed_stretch, scene.limits["stretch-need"]
    worn = [(p, f) for p in scene.panels.values() if (f := scene.fabric(p.id)) is not None and p.part != "pocket"]
    if not worn:
        return []
    whole = Place("the whole garment")
    knits = [f for _, f in worn if f.structure.value == "knit"]
    if needed is None:
        if not knits:
            return []
        return [
            Finding(
                "stretch-needed", Grade.CANNOT_TELL, whole,
                "how far the pattern counts on the cloth to stretch is not known", "known where a cloth is knitted",
                PRACTICE, "Look on the pattern: 'for knits', or a ruler to hold the cloth against; 0 for woven.",
                about="the garment", missing="how far it must stretch",
            )
        ]  # fmt: skip
    if needed <= 0:
        return []
    found = []
    told: set[str] = set()
    for panel, f in worn:
        gives = _gives(scene, panel.id, f, along=False)
        if gives is None and f.structure.value == "woven":
            gives = 0.0  # a woven cloth without elastane gives next to nothing; one with is measured
        x0, y0, x1, y1 = paths.bounds(paths.from_tuples(panel.outline))
        place = Place(panel_words(scene, panel.id), panel.view, ((x0 + x1) / 2, (y0 + y1) / 2))
        if gives is None:
            if f.id not in told:
                told.add(f.id)
                found.append(
                    Finding(
                        "stretch-needed", Grade.CANNOT_TELL, place, f"stretch of {f.name} across is not known",
                        f"{needed:g} %", PRACTICE,
                        "Fold it, mark 10 cm across, pull and measure: 10 cm to 12.5 cm is 25 %.",
                        about=f.name, missing="stretch",
                    )
                )  # fmt: skip
        elif gives < needed * limit.value:
            grade = Grade.STOP if f.structure.value == "woven" and gives < needed / 2 else Grade.WARN
            found.append(
                Finding(
                    "stretch-needed", grade, place,
                    f"{f.name} stretches by {gives:g} % across the body here, and the pattern needs {needed:g} %",
                    f"{needed * limit.value:g} % across", limit.source,
                    "A woven panel in a garment drafted for knits must be cut larger: use a knit here, or make a toile."
                    if f.structure.value == "woven"
                    else "Use a cloth that gives more, or lay this one so that its stretch runs round the body.",
                )
            )  # fmt: skip
    return found


def _gives(scene: Scene, panel_id: str, fabric: Fabric, *, along: bool) -> float | None:
    """Stretch of a panel's cloth in percent: up and down the garment (``along``), or across it."""
    lengthwise = along is not grain_lies_across(scene, panel_id)
    return (fabric.stretch_length if lengthwise else fabric.stretch_width).value
