"""What a person may write down of a cloth on the command line: FIELD=VALUE."""

from __future__ import annotations

from collections.abc import Sequence

from swatches.errors import InputError
from swatches.fabric import Fabric, Origin
from swatches.record import FIELDS, shown, written

PLAIN = ("name", "note", "owned")
_ORIGIN = {Origin.LABEL: "as you wrote it down", Origin.MEASURED: "measured", Origin.GUESS: "a guess"}


def changed(fabric: Fabric, changes: Sequence[str]) -> Fabric:
    """Give the fabric with FIELD=VALUE applied; what was typed has the origin 'label'.

    Raises:
        InputError: no such field, or a value that it cannot have.
    """
    for text in changes:
        field, equals, value = text.partition("=")
        field, value = field.strip().replace("-", "_"), value.strip()
        if not equals or (field not in FIELDS and field not in PLAIN):
            raise InputError(
                "FIELD=VALUE",
                expected=f"one of {', '.join(sorted((*FIELDS, *PLAIN)))}",
                got=text,
                next_step="Type it like weight=180",
            )
        fabric = written(fabric, field, value)
    return fabric


def cloth_lines(fabric: Fabric) -> list[str]:
    """Everything that is known of a cloth, a line each, as a sewist would write it down; then what is not known."""
    owned = "in the cupboard" if fabric.owned else "not bought yet"
    lines, silent = [f"{fabric.name} ({fabric.id}), {fabric.colour.word}, {fabric.kind}, {owned}"], []
    for key, field in FIELDS.items():
        text, what = shown(fabric, key, "cm"), field.what.replace("care, ", "care: ")
        if text:
            origin = fabric.care.origin if field.kind == "care" else getattr(fabric, key).origin
            lines.append(f"{what}: {text} ({_ORIGIN.get(origin, origin)})")
        else:
            silent.append(what)
    for r in fabric.remnants:
        across, along = (max(p[k] for p in r.outline) - min(p[k] for p in r.outline) for k in (0, 1))
        lines.append(f"remnant '{r.name}', {across / 10:.0f} × {along / 10:.0f} cm")
    lines += [fabric.note] if fabric.note else []
    return [*lines, *([f"Not known: {', '.join(silent)}."] if silent else [])]
