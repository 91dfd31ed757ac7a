"""Order of construction for the seams that style lines made: flat first, then the seams round the body.

Steps are common practice (no source) unless said: darts first (:mod:`mockup.pattern.dart_steps`); style seams are sewn
while the panels lie flat, short ones before the ones that cross them; curved seams are staystitched and clipped every
10 mm (published handouts agree on 1/4–1/2 in); pressing goes toward the darker cloth, unless a pressing was
chosen; at crossings allowances are nested, the seams pressed opposite ways.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.ruler import length_of
from mockup.pattern.dart_notches import dart_of_leg
from mockup.pattern.dart_steps import dart_steps
from mockup.pattern.piece import Edge, EdgeKind, Piece
from mockup.pattern.seam_parts import Edges, edges_of
from mockup.pattern.walk import seam_letters

CLIP_MM = 10.0
_FLAT_SAGITTA_MM = 2.0  # our own choice: a seam that leaves its chord by less than this is sewn like a straight one


@dataclass(frozen=True, slots=True)
class Step:
    """One step.

    Attributes:
        what: a sentence.
        pieces: names of the pieces that it joins or works on.
        seam: letter of the seam, or empty.
    """

    what: str
    pieces: tuple[str, ...] = ()
    seam: str = ""


def construction(pieces: Sequence[Piece], lightness: Mapping[str, float] | None = None) -> tuple[Step, ...]:
    """Say in which order the pieces of a split garment are sewn.

    Args:
        pieces: all pieces after the split.
        lightness: fabric id → CIELAB L of its main colour, 0 black to 100 white; without it no side is named for
            pressing.
    """
    letters = seam_letters(pieces)
    edges = edges_of(pieces)
    style: dict[str, list[str]] = {}
    others: dict[str, list[str]] = {}
    legs: dict[str, list[str]] = {}
    for key, letter in letters.items():
        edge = edges[key][1]
        (style if edge.line_id else legs if dart_of_leg(edge) else others).setdefault(letter, []).append(key)
    steps = [Step(*said) for said in dart_steps(pieces, letters, edges)]
    steps += [
        Step(f"Staystitch both sides of the curved seam {letter}, {_of(keys, edges)}, while they are cut.", (), letter)
        for letter, keys in style.items()
        if is_curved(edges[keys[0]][1])
    ]
    ordered = sorted(style, key=lambda k: (length_of(edges[style[k][0]][1].path), k))
    pressed: dict[str, str] = {}
    for letter, keys in legs.items():
        steps.append(_legs(letter, keys, edges))
    for letter in ordered:
        meets = [other for other in pressed if _meet(style[letter], style[other], edges)]
        steps += _style_seam(letter, style[letter], edges, lightness or {}, pressed, meets)
    for letter, keys in sorted(others.items(), key=lambda item: (_rank(edges[item[1][0]][1]), item[0])):
        names = tuple(dict.fromkeys(edges[k][0].name for k in keys))
        word = edges[keys[0]][1].name.removesuffix("-left").removesuffix("-right")
        steps.append(Step(f"Sew the {word} seam {letter} of {_list(names)}.", names, letter))
    if any(e.kind is EdgeKind.SEAM and not e.line_id and key not in letters for key, (_, e) in edges.items()):
        steps.append(
            Step("Then sew the garment as your pattern says: its own seams, as far as they are not named here.")
        )
    hems = tuple(dict.fromkeys(p.name for p in pieces for e in p.edges if e.kind is EdgeKind.HEM))
    if hems:
        steps.append(Step(f"Turn up the hems of {_list(hems)}.", hems))
    steps.append(
        Step(
            "Where many layers meet, trim the outer allowance to 6 mm and the inner one to 3 mm, never the seam itself."
        )
    )
    steps.append(Step("An iron burns and blades cut: test heat and pressing on a scrap of each cloth first."))
    return tuple(steps)


def is_curved(edge: Edge) -> bool:
    """Whether a seam leaves its chord by more than 2 mm."""
    points = paths.flatten(edge.path, 0.1).points
    chord = points[-1] - points[0]
    size = float(np.linalg.norm(chord))
    if size == 0:
        return True
    away = np.abs((points - points[0]) @ np.array([-chord[1], chord[0]])) / size
    return bool(away.max() > _FLAT_SAGITTA_MM)


def _style_seam(
    letter: str,
    keys: Sequence[str],
    edges: Edges,
    lightness: Mapping[str, float],
    pressed: dict[str, str],
    meets: Sequence[str],
) -> list[Step]:
    joined = tuple(dict.fromkeys(edges[k][0].name for k in keys))
    edge = edges[keys[0]][1]
    steps = [
        Step(f"Sew seam {letter}, {edge.name}: {_list(joined)}, right sides together, notches matched.", joined, letter)
    ]
    if is_curved(edge):
        steps.append(
            Step(
                f"Clip the hollow allowance of seam {letter} every {CLIP_MM:g} mm, up to the staystitching.",
                joined,
                letter,
            )
        )
    known = [(lightness[p.fabric], p.name) for p in (edges[k][0] for k in keys) if p.fabric in lightness]
    if len(known) == len(keys) and len({v for v, _ in known}) > 1:
        darker = min(known)[1]
        text = f"Press seam {letter} toward {darker}, the darker cloth."
        if meets:
            text += f" Where it meets seam {meets[0]}, nest the two: press this one the other way there if they fight."
        pressed[letter] = darker
        steps.append(Step(text, joined, letter))
    return steps


def _legs(letter: str, keys: Sequence[str], edges: Edges) -> Step:
    """A line was drawn into a dart's tip: the dart's legs are a seam now, and go on in the style seam."""
    names = tuple(dict.fromkeys(edges[k][0].name for k in keys))
    piece, edge = edges[keys[0]]
    ring = next(ring for ring in piece.rings if edge in ring)
    k = ring.index(edge)
    onward = next((e.name for e in (ring[k - 1], ring[(k + 1) % len(ring)]) if e.line_id), "")
    text = f"Sew seam {letter}, what was the {dart_of_leg(edge)}: {_list(names)}, from its wide end to its tip"
    return Step(f"{text}; {onward} goes on from there in one go." if onward else f"{text}.", names, letter)


def _meet(one: Sequence[str], other: Sequence[str], edges: Edges) -> bool:
    """Whether two seams have edges side by side on a piece, so that they cross or touch."""
    for key in one:
        piece, edge = edges[key]
        ring = next(ring for ring in piece.rings if edge in ring)
        k = ring.index(edge)
        beside = (ring[k - 1], ring[(k + 1) % len(ring)])
        if any(f"{piece.name}:{e.name}" in other for e in beside):
            return True
    return False


def _of(keys: Sequence[str], edges: Edges) -> str:
    return f"{edges[keys[0]][1].name} of {_list(tuple(dict.fromkeys(edges[k][0].name for k in keys)))}"


def _rank(edge: Edge) -> int:
    """Usual order of a garment's own seams: shoulders, neck, sleeves into armholes, then sides and underarms."""
    order = ("shoulder", "neck", "cap", "armhole", "underarm", "side")
    for n, word in enumerate(order):
        if edge.name.startswith(word):
            return n
    return len(order)


def _list(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
