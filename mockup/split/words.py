"""How an edge is called in a sentence, and how long something is there."""

from __future__ import annotations

import math
import re

_CENTRE = re.compile(r"\bcentre-(front|back)\b")
_SIDED = re.compile(r"^(?P<edge>.+)-(?P<side>left|right)$")


def edge_said(name: str) -> str:
    """An edge's name as a sentence has it: 'centre front', 'wearer's left side'; a line's own name stays as it is."""
    sided = _SIDED.match(name)
    if sided is not None:
        return f"wearer's {sided['side']} {edge_said(sided['edge'])}"
    return _CENTRE.sub(r"centre \1", name)


def tenths(mm: float) -> str:
    """A length to a tenth of a mm, without a needless decimal: '680 mm', '12.4 mm'."""
    return f"{round(mm, 1) + 0.0:.6g} mm"


def room_said(mm: float) -> str:
    """How far one may go, rounded down to a tenth, so that who types it is not refused: '0 to 680 mm'."""
    return f"0 to {math.floor(mm * 10 + 1e-5) / 10:.6g} mm"
