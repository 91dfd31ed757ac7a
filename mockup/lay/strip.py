"""Lay pieces on cloth of a given width, as short as can be found.

The cloth's length runs along +y and its width along x, from 0 to the width. The solver (spyrrow, a port of the sparrow
algorithm by Gardeyn, Vanden Berghe and Wauters, 2025) works in a child process; its answer is checked again, exactly,
on the full outlines, and where it fails the greedy lay stands in for it.
"""

from __future__ import annotations

import contextlib
import json
import queue
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from shapely.geometry import Polygon

from mockup.lay.greedy import Copy, needed
from mockup.lay.lay import Answer, Lay, LayPiece, Placement, allowed_turns, angle_of, points_placed
from mockup.lay.rows import CLOTH, simple_lay, verified
from mockup.lay.valid import checked, checked_distances, checked_width
from mockup.split.words import tenths
from swatches.errors import Failure, InputError
from swatches.job import QUIET, Job, check

_GRACE_S, _GRACE = 3.0, 0.1  # the solver may overrun its time by the larger of the two before it is stopped
_SMOOTH_MM = 0.2  # outlines go to the solver with fewer points, outward by at most this
_MANY_POINTS = 60
_SINGLE = 2e-5  # the solver reckons in single precision: pieces are kept apart by this share of the width


def lay_on_width(
    pieces: Sequence[LayPiece],
    width_mm: float,
    *,
    clearance_mm: float = 0.0,
    border_mm: float = 0.0,
    nap: bool = False,
    repeat_mm: tuple[float, float] | None = None,
    time_s: float = 10.0,
    seed: int = 0,
    workers: int = 1,
    job: Job = QUIET,
) -> Lay | Failure:
    """Find a short lay on a width.

    Args:
        pieces: what to lay.
        width_mm: usable width.
        clearance_mm: least distance between pieces.
        border_mm: least distance to the selvedges and to both ends.
        nap: whether all pieces must point one way.
        repeat_mm: repeat of a stripe or check across and along the cloth, 0 for none: pieces with a match are then laid
            so that their prints meet, on cells, which the solver cannot do.
        time_s: time for the solver, seconds; 0 gives the greedy lay, which is the same every time.
        seed: of the random choices. Where the time ends the search, a faster machine may find a shorter lay.
        workers: threads of the solver.
        job: progress and cancellation.

    Returns:
        A lay with answer 'yes', its ``length_mm`` and ``density``, or 'no' when a piece is wider than the cloth; the
        proof says when the solver failed and the greedy lay stands in. A :class:`Failure` if not even that was found.

    Raises:
        InputError: width, clearance or border make no sense, or a piece cannot be laid.
        Cancelled: the job was cancelled.
    """
    checked_width(width_mm, border_mm)
    checked(pieces)
    checked_distances(pieces, clearance_mm, border_mm)
    too_wide = next((p for p in pieces if _least_width(p, nap) > width_mm - 2 * border_mm + 1e-9), None)
    if too_wide is not None:
        over = _least_width(too_wide, nap) - (width_mm - 2 * border_mm)
        return Lay(
            Answer.NO,
            f"'{too_wide.name}' is {tenths(over)} wider than the cloth between its borders, however it is turned.",
            short_mm=over,
        )
    on_fold = next((p for p in pieces if p.fold is not None), None)
    if on_fold is not None:
        raise InputError(
            f"piece '{on_fold.name}'",
            expected="a whole piece, on cloth that lies in a single layer",
            got="a half to be cut on the fold",
            next_step="Fold the cloth, or open the piece out",
        )
    note = ""
    best: Lay | None = None
    matched = repeat_mm is not None and max(repeat_mm) > 0 and any(p.match for p in pieces)
    if matched:
        best = simple_lay(
            pieces,
            width_mm,
            clearance_mm=clearance_mm,
            border_mm=border_mm,
            nap=nap,
            repeat_mm=repeat_mm,
            time_s=time_s,
            seed=seed,
            job=job,
        )
    elif time_s > 0:
        found = _solve(pieces, width_mm, clearance_mm, border_mm, nap, time_s, seed, workers, job)
        best, note = (found, "") if isinstance(found, Lay) else (None, f" {found.reason}")
    if best is None and not matched:
        best = simple_lay(pieces, width_mm, clearance_mm=clearance_mm, border_mm=border_mm, nap=nap, seed=seed, job=job)
    if best is None:
        return Failure(f"No lay was found that keeps its distances.{note}", "Give it more time, or a wider cloth")
    return replace(best, proof=best.proof + note)


def _solve(
    pieces: Sequence[LayPiece],
    width_mm: float,
    clearance_mm: float,
    border_mm: float,
    nap: bool,
    time_s: float,
    seed: int,
    workers: int,
    job: Job,
) -> Lay | Failure:
    apart = _SINGLE * width_mm
    kinds = sorted({(copy.piece, copy.mirrored) for copy in needed(pieces)})
    wanted = needed(pieces)
    items, frames = [], []
    for k, mirrored in kinds:
        piece = pieces[k]
        # the solver's x runs along the cloth: turned by −90°, at the grain, grown by half the clearance
        angle = angle_of(piece, 0.0, 0.0, mirrored=mirrored) - 90.0
        shape = Polygon(points_placed(piece.outline, mirrored=mirrored, angle=angle, x=0.0, y=0.0))
        grown = _grown(shape, clearance_mm / 2 + apart)
        items.append(
            {
                "shape": [list(p) for p in grown.exterior.coords[:-1]],
                "count": wanted.count(Copy(k, mirrored)),
                "turns": list(allowed_turns(piece, nap=nap)),
            }
        )
        frames.append((k, mirrored))
    height = width_mm - 2 * border_mm + clearance_mm + 2 * apart
    task = {"height": height, "seconds": time_s, "seed": seed, "items": items, "workers": workers}
    answers, trouble = _child(task, time_s, job)
    for answer in reversed(answers):
        if len(answer["items"]) != len(wanted):
            continue
        edge = border_mm - clearance_mm / 2 - apart
        placements = []
        for index, turn, x, y in sorted(answer["items"]):
            k, mirrored = frames[index]
            turn = min(items[index]["turns"], key=lambda t: abs((t - turn + 180) % 360 - 180))
            angle = angle_of(pieces[k], 0.0, turn, mirrored=mirrored)
            placements.append(Placement(pieces[k].name, CLOTH, mirrored, angle, width_mm - edge - y, x + edge))
        lay = verified(pieces, tuple(placements), width_mm, clearance_mm, border_mm, nap)
        if lay is not None:
            return replace(lay, proof=f"{lay.proof} {trouble}".strip()) if trouble else lay
    return Failure(trouble or "The solver's lay did not pass the exact check, so a simpler one is given.")


def _least_width(piece: LayPiece, nap: bool) -> float:
    widths = []
    for turn in allowed_turns(piece, nap=nap):
        p = points_placed(piece.outline, mirrored=False, angle=angle_of(piece, 0.0, turn, mirrored=False), x=0, y=0)
        widths.append(float(np.ptp(p[:, 0])))
    return min(widths, default=np.inf)


def _grown(shape: Polygon, by: float) -> Polygon:
    """Grow an outline, keeping its corners, and give it fewer points on the outer side; never smaller than asked."""
    smooth = _SMOOTH_MM if len(shape.exterior.coords) > _MANY_POINTS else 0.0
    grown = shape.buffer(by + smooth, join_style="mitre", mitre_limit=2.0)
    grown = grown.simplify(smooth) if smooth else grown
    return Polygon(grown.exterior)


def _child(task: dict[str, Any], time_s: float, job: Job) -> tuple[list[dict[str, Any]], str]:
    """Run the solver; gives its answers, the best last, and what went wrong with it, or an empty text."""
    begin = time.monotonic()
    process = subprocess.Popen(
        [sys.executable, "-m", "mockup.lay.solver"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    lines: queue.Queue[str | None] = queue.Queue()

    def read() -> None:
        assert process.stdout is not None  # noqa: S101 - it was asked for above
        with contextlib.suppress(ValueError):  # closed while reading, when the child was stopped
            for line in process.stdout:
                lines.put(line)
        lines.put(None)

    reader = threading.Thread(target=read, daemon=True)
    reader.start()
    answers: list[dict[str, Any]] = []
    trouble = ""
    try:
        with contextlib.suppress(BrokenPipeError):
            assert process.stdin is not None  # noqa: S101
            process.stdin.write(json.dumps(task))
            process.stdin.close()
        while True:
            try:
                line = lines.get(timeout=0.1)
            except queue.Empty:
                line = ""
            if line is None:
                break
            if line:
                with contextlib.suppress(json.JSONDecodeError):  # a line cut off by a crash
                    answers.append(json.loads(line))
            check(job)
            spent = time.monotonic() - begin
            width = f", {answers[-1]['width']:.0f} mm so far" if answers else ""
            job.step(f"Laying on the width{width}", min(spent / max(time_s, 0.1), 0.99))
            if spent > max(time_s, 2.0) + max(_GRACE_S, _GRACE * time_s):
                trouble = "The solver took too long and was stopped; this is the best lay it had."
                break
        if not trouble and process.wait(timeout=_GRACE_S) != 0:
            trouble = "The solver stopped with a fault; this is the best lay it had."
    except subprocess.TimeoutExpired:
        trouble = "The solver did not end and was stopped; this is the best lay it had."
    finally:
        if process.poll() is None:
            process.kill()
        process.wait()
        reader.join(timeout=1.0)
        if process.stdout is not None:
            process.stdout.close()
    if trouble and not answers:
        trouble = "The solver stopped with a fault, so a simpler lay is given."
    return answers, trouble
