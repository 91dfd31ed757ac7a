"""Lay on cloth that is folded lengthwise, right sides together: halves along the fold, pairs through both layers.

What is cut once, and is no half, would come out twice: it is laid on the same cloth opened out, after the folded part.
That is how sewing instructions have it (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import Polygon

from mockup.lay.lay import Answer, Lay, LayPiece, Scrap, all_lie, angle_of, points_placed, turns_on
from mockup.lay.rows import CLOTH, cloth_of, simple_lay
from mockup.lay.strip import lay_on_width
from mockup.lay.valid import checked, checked_distances, checked_width
from mockup.split.words import tenths
from swatches.errors import Failure
from swatches.job import QUIET, Job, Part

FOLDED = "folded cloth"
"""Name of the folded part in placements; the part that is opened out is :data:`mockup.lay.rows.CLOTH`."""


def through_both(pieces: Sequence[LayPiece]) -> tuple[tuple[LayPiece, ...], tuple[LayPiece, ...]]:
    """Part pieces for folded cloth: those cut through both layers, once for two, and those cut on the opened cloth."""
    both, single = [], []
    for piece in pieces:
        if piece.fold is not None:
            both.append(piece)
        elif piece.mirror and piece.count % 2 == 0:
            both.append(replace(piece, count=piece.count // 2, mirror=False, either=True))
        else:
            single.append(piece)
    return tuple(both), tuple(single)


def lay_folded(
    pieces: Sequence[LayPiece],
    width_mm: float,
    *,
    clearance_mm: float = 0.0,
    border_mm: float = 0.0,
    nap: bool = False,
    repeat_mm: tuple[float, float] | None = None,
    time_s: float = 4.0,
    seed: int = 0,
    job: Job = QUIET,
) -> Lay | Failure:
    """Find a short lay on folded cloth.

    Args:
        pieces: halves with their fold, pairs, and single pieces.
        width_mm: usable width of the cloth before it is folded.
        clearance_mm: least distance between pieces.
        border_mm: least distance to the selvedges and both ends.
        nap: whether all pieces must point one way.
        repeat_mm: as for :func:`~mockup.lay.strip.lay_on_width`.
        time_s: time for the search.
        seed: of the random choices.
        job: progress and cancellation.

    Returns:
        A lay with placements on :data:`FOLDED` (from the fold at x = 0 to half the width) and on the cloth opened out;
        ``length_mm`` is of both together, ``density`` of the cloth as one layer. 'No' when a piece is wider than half
        the cloth. A :class:`Failure` if none was found.

    Raises:
        InputError: width, clearance or border make no sense, or a piece cannot be laid.
    """
    checked_width(width_mm, border_mm)
    checked(pieces)
    checked_distances(pieces, clearance_mm, border_mm)
    both, single = through_both(pieces)
    lays: list[tuple[str, Lay]] = []
    if both:
        wide = next((p for p in both if _width(p) > width_mm / 2 - border_mm + 1e-9), None)
        if wide is not None:
            over = _width(wide) - (width_mm / 2 - border_mm)
            said = f"'{wide.name}' is {tenths(over)} wider than the folded cloth; opened out it may still lie."
            return Lay(Answer.NO, said, short_mm=over)
        lay = simple_lay(
            both, width_mm / 2, clearance_mm=clearance_mm, border_mm=border_mm, nap=nap,
            repeat_mm=repeat_mm, folded=True, seed=seed,
            time_s=time_s * (0.6 if single else 1.0), job=Part(job, 0.0, 0.6),
        )  # fmt: skip
        if lay is None:
            return Failure("No lay was found on the folded cloth.", "Open the pieces out, or give it more time")
        lays.append((FOLDED, lay))
    if single:
        found = lay_on_width(
            single, width_mm, clearance_mm=clearance_mm, border_mm=border_mm, nap=nap, repeat_mm=repeat_mm,
            time_s=0.4 * time_s, seed=seed, job=Part(job, 0.6, 1.0),
        )  # fmt: skip
        if not isinstance(found, Lay) or found.answer is not Answer.YES:
            return found
        lays.append((CLOTH, found))
    length = sum(lay.length_mm or 0.0 for _, lay in lays)
    area = sum(Polygon(p.outline).area * p.count * (2 if p.fold is not None else 1) for p in pieces)
    count = sum(len(lay.placements) for _, lay in lays)
    said = f"{all_lie(count, 'outline')} on the grain and apart, checked exactly"
    if both and single:
        said += f"; {_metres(lays[0][1])} folded, then {_metres(lays[1][1])} opened out for what is cut once"
    return Lay(
        Answer.YES,
        f"{said}.",
        tuple(replace(p, remnant=name) for name, lay in lays for p in lay.placements),
        length_mm=length,
        density=area / (width_mm * length),
    )


def cloths_of(
    lay: Lay, pieces: Sequence[LayPiece], width_mm: float, *, border_mm: float = 0.0, nap: bool = False,
    repeat_mm: tuple[float, float] | None = None,
) -> tuple[Scrap, ...]:  # fmt: skip
    """Give the folded part and the part opened out as scraps, each as long as its pieces."""
    by_name = {p.name: p for p in pieces}
    out = []
    for name, width in ((FOLDED, width_mm / 2), (CLOTH, width_mm)):
        mine = [p for p in lay.placements if p.remnant == name]
        if mine:
            tops = [
                points_placed(by_name[p.piece].outline, mirrored=p.mirrored, angle=p.angle, x=p.x, y=p.y)[:, 1].max()
                for p in mine
            ]
            length = float(max(tops)) + border_mm
            out.append(cloth_of(width, length, nap=nap, repeat_mm=repeat_mm, folded=name == FOLDED, name=name))
    return tuple(out)


def _width(piece: LayPiece) -> float:
    return min(
        float(np.ptp(points_placed(piece.outline, mirrored=False, angle=_angle(piece, t), x=0.0, y=0.0)[:, 0]))
        for t in turns_on(piece, Scrap("", ()))
    )


def _angle(piece: LayPiece, turn: float) -> float:
    return angle_of(piece, 0.0, turn, mirrored=False)


def _metres(lay: Lay) -> str:
    return f"{(lay.length_mm or 0.0) / 1000:.2f} m"
