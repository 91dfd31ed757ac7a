"""Care: the garment bears what its most delicate cloth bears, on each axis of ISO 3758."""

from __future__ import annotations

from mockup.checks.finding import Finding, Grade, Place
from mockup.checks.scene import Scene
from swatches.care import AXES, AXIS_WORDS, care_line, harmed_by_both, mildest, treatment

_SOURCE = "ISO 3758:2023: the most severe treatment without lasting damage, so the least severe of a mix"
_ASK = {
    "wash": "Look for its care label, or wash a 20 cm square and measure it.",
    "iron": "Try the iron on a scrap, cool first; a hot iron can melt, mark or burn.",
}


def care(scene: Scene) -> list[Finding]:
    """Give the resulting care, what decides it, and what is not known."""
    used = scene.used()
    if not used:
        return []
    whole = Place("the whole garment")
    cares = [f.care.value or {} for f in used]
    found = []
    if harmed_by_both(cares):
        found.append(
            Finding(
                "care",
                Grade.STOP,
                whole,
                "one cloth bears no washing, another no dry cleaning",
                "at least one way to clean it",
                "16 CFR 423.6(b): such a garment is 'do not wash, do not dry-clean'",
                "Take another cloth, or make the delicate part so that it comes off.",
            )
        )
    for axis in ("wash", "iron"):
        silent = [f.name for f, known in zip(used, cares, strict=True) if treatment(axis, known.get(axis, "")) is None]
        for name in silent:
            found.append(
                Finding(
                    "care",
                    Grade.CANNOT_TELL,
                    whole,
                    f"{AXIS_WORDS[axis]} of {name} is not known",
                    "known for each cloth",
                    _SOURCE,
                    _ASK[axis],
                    about=name,
                    missing={"wash": "how to wash it", "iron": "how to iron it"}[axis],
                )
            )
        decided = mildest(axis, cares)
        hardiest = max((t.rank for t in (treatment(axis, c.get(axis, "")) for c in cares) if t), default=0)
        if decided and hardiest - decided[0].rank >= (3 if axis == "wash" else 2):
            found.append(
                Finding(
                    "care",
                    Grade.WARN,
                    whole,
                    f"{used[decided[1]].name} allows only '{decided[0].words}'",
                    "the cloths bear about the same",
                    _SOURCE,
                    f"Treat the whole garment by '{decided[0].words}', or take a hardier cloth.",
                )
            )
    found.append(
        Finding(
            "care",
            Grade.NOTE,
            whole,
            care_line(cares),
            f"the {len(AXES)} axes of ISO 3758",
            _SOURCE,
            "This is no care label: goods for sale have labelling rules of their own; ask your local authority.",
            plain=f"Care for the whole garment: {care_line(cares)}",
        )
    )
    return found
