"""Allow a piece to lie across the grain or on the bias; never on a knit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from mockup.lay.lay import LayPiece
from swatches.errors import InputError
from swatches.fabric import Fabric

CROSS = (90.0, 270.0)
BIAS = (45.0, 135.0, 225.0, 315.0)
_STRETCHES = 10.0  # percent; cloth that gives more is treated as a knit (our own choice, no source)


def allow_turns(
    pieces: Sequence[LayPiece], names: Sequence[str], more: Sequence[float], *, knit: bool = False
) -> tuple[LayPiece, ...]:
    """Let pieces lie at more turns from the grain, such as :data:`CROSS` or :data:`BIAS`.

    Where one then lies so, :func:`mockup.lay.exact.off_grain` says what that means.

    Args:
        pieces: all pieces of the lay.
        names: which of them.
        more: turns that are allowed besides.
        knit: whether the cloth is a knit, whose stretch must go round the body.

    Raises:
        InputError: the cloth is a knit, there is no such piece, or it is matched or lies on the fold.
    """
    if names and knit:
        raise InputError(
            f"'{names[0]}'",
            expected="a woven cloth for pieces across the grain or on the bias",
            got="a knit, whose stretch must go round the body",
            next_step="Leave its grain as it is, or take another cloth",
        )
    for name in names:
        piece = next((p for p in pieces if name in (p.name, p.name.partition(" ")[0], p.name.partition(" ")[2])), None)
        if piece is None or piece.match is not None or piece.fold is not None:
            raise InputError(
                f"piece '{name}'",
                expected="a piece of this lay that is neither matched nor on the fold",
                got="none of that name" if piece is None else "one whose grain must stay as it is",
                next_step=f"Name one of: {', '.join(p.name for p in pieces if p.match is None and p.fold is None)}",
            )
        wider = replace(piece, turns=(*piece.turns, *(t for t in more if t not in piece.turns)))
        pieces = [wider if p is piece else p for p in pieces]
    return tuple(pieces)


def must_keep_grain(fabric: Fabric) -> bool:
    """Whether a cloth is a knit, or stretches so much that it must be cut like one."""
    stretch = max(fabric.stretch_width.value or 0.0, fabric.stretch_length.value or 0.0)
    return fabric.structure.value == "knit" or stretch > _STRETCHES
