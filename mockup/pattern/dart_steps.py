"""Darts in the order of construction: which are sewn when, which way they are pressed, and what became of cut ones.

All of it is common practice, no source: darts are sewn while the piece lies flat, before the seams that run over their
ends, from the wide end to the tip; the ends of the threads are tied there, not sewn back.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from mockup.pattern.dart_pressing import lies_level
from mockup.pattern.darts import openings
from mockup.pattern.piece import Dart, Edge, Piece

Edges = Mapping[str, tuple[Piece, Edge]]
DartStep = tuple[str, tuple[str, ...], str]
"""A sentence, the pieces that it works on, and the letter of a seam, or empty."""


def dart_steps(pieces: Sequence[Piece], letters: Mapping[str, str], edges: Edges) -> list[DartStep]:
    """Say how every dart of the pieces is sewn, in the order of the pieces.

    Args:
        pieces: all pieces after the split.
        letters: of the seams, by 'piece:edge'.
        edges: all edges by that name.
    """
    return [step for piece in pieces for dart in piece.darts for step in _steps(piece, dart, letters, edges)]


def _steps(piece: Piece, dart: Dart, letters: Mapping[str, str], edges: Edges) -> list[DartStep]:
    edge = piece.edge(dart.edge)
    letter = letters.get(f"{piece.name}:{edge.name}", "")
    both = "both pieces of " if piece.how == "pair" else ""
    out: list[DartStep] = []
    start = f"the {edge.name.removesuffix('-left').removesuffix('-right')}"
    if edge.line_id:
        start = f"seam {letter}" if letter else edge.name
        rest = edge.mate.rpartition(":")[0]
        text = (
            f"{edge.name.capitalize()} runs over the {dart.name}: it was laid with the dart folded and opened, so "
            f"that the dart's mouth in {piece.name} has a peak of its own. Cut along the peak; do not straighten it."
        )
        if rest in {p.name for p, _ in edges.values()}:
            text += f" In {rest} the dart is folded away already: nothing of it is sewn there."
        out.append((text, (piece.name, rest) if rest else (piece.name,), letter))
    tip = np.array(dart.tip)
    way = _way(piece, dart, tip)
    article = "" if dart.name.startswith(("the ", "The ")) else "the "
    out.append(
        (
            f"Sew {article}{dart.name} of {both}{piece.name}, right sides together: fold it so that its dashed legs "
            f"lie on each other, and sew from {start} to the tip; tie the threads there. {way}",
            (piece.name,),
            "",
        )
    )
    return out


def _way(piece: Piece, dart: Dart, tip: np.ndarray[tuple[int], np.dtype[np.float64]]) -> str:
    if lies_level(piece, tip, openings(piece, dart)):
        return "Press it down."
    if piece.area != "body":
        return "Press it as your pattern says, on both sides alike."
    return "Press it toward the centre."
