"""What a person may write down of a cloth on the command line: FIELD=VALUE."""

from __future__ import annotations

from collections.abc import Sequence

from swatches.errors import InputError
from swatches.fabric import Fabric
from swatches.record import FIELDS, written

PLAIN = ("name", "note", "owned")


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
