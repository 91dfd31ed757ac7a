"""How a cloth holds its pieces: to the grain, and one way; and leave to lie across the grain or on the bias."""

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
    return fabric.structure.value == "knit" or _stretch(fabric) > _STRETCHES


def lies_one_way(fabric: Fabric) -> bool:
    """Whether all pieces must point one way: nap, a print with an up; or not known, where that is right either way."""
    return fabric.nap.value is not False or _print_has_up(fabric)


def taken_one_way(fabric: Fabric) -> str:
    """Say that a cloth lies one way only because nobody knows its nap; empty where that is known, or its print says."""
    unknown = fabric.nap.value is None and not _print_has_up(fabric)
    return "counted as one-way, because its nap is not known" if unknown else ""


def held(fabric: Fabric) -> tuple[str, ...]:
    """What a cloth's record asks of how pieces lie on it, and what is taken for granted, one sentence each."""
    said = []
    if must_keep_grain(fabric):
        why = "It is a knit" if fabric.structure.value == "knit" else f"It stretches by {_stretch(fabric):g} %"
        said.append(f"{why}: every piece keeps to its grain, so that the stretch goes round the body.")
    if fabric.nap.value or _print_has_up(fabric):
        why = "It has a nap" if fabric.nap.value and not _print_has_up(fabric) else "Its print has an up and a down"
        said.append(f"{why}: all pieces point one way.")
    elif taken_one_way(fabric):
        said.append(f"It is {taken_one_way(fabric)}.")
    return tuple(said)


def refuse_off_grain(fabric: Fabric, pieces: Sequence[LayPiece]) -> None:
    """Refuse leave to lie off the grain on a cloth that must keep it.

    Raises:
        InputError: the cloth is a knit or stretches, and a piece may lie otherwise than along its grain.
    """
    loose = next((p for p in pieces if any(turn % 180.0 for turn in p.turns)), None)
    if loose is not None and must_keep_grain(fabric):
        raise InputError(
            f"'{loose.name}'",
            expected="a woven cloth that hardly stretches, for a piece across the grain or on the bias",
            got=f"{fabric.name}, a knit" if fabric.structure.value == "knit" else
            f"{fabric.name}, which stretches by {_stretch(fabric):g} %",
            next_step="Leave its grain as it is, or take another cloth",
        )  # fmt: skip


def _stretch(fabric: Fabric) -> float:
    return max(fabric.stretch_width.value or 0.0, fabric.stretch_length.value or 0.0)


def _print_has_up(fabric: Fabric) -> bool:
    return bool(fabric.texture is not None and fabric.texture.one_way)
