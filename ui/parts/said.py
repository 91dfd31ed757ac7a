"""What the page says beside the thing that it is about."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Said:
    """One sentence beside the thing it is about: 'garment', 'cloth', 'lines', 'sew', 'print' or 'table'.

    ``kind`` is 'note', 'hint' or 'error'; ``in_hand`` is the id of a cloth that the person shall hold now; ``view`` and
    ``point``, picture px, are where in a picture it is.
    """

    place: str
    text: str
    kind: str = "note"
    in_hand: str = ""
    view: str = ""
    point: tuple[float, float] | None = None
