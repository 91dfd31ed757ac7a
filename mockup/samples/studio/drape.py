"""Let the sewn tunic fall on the dress form until it hangs still.

Extended position-based dynamics with small steps (Macklin, Müller & Chentanez 2016; Macklin et al. 2019, from memory):
edges keep their length on the flat piece, opposite corners of neighbouring triangles resist bending, the form pushes
out. Constraints that share no vertex are solved together, so that every step is array work and its result does not
depend on threads.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator

from mockup.geometry.path import Floats
from mockup.samples.studio.dummy import push_out
from mockup.samples.studio.sewn import Ints, Sewn

GRAVITY = 9810.0  # mm/s²


@dataclass(frozen=True, slots=True, eq=False)
class _Springs:
    """Pairs of vertices with their rest length, in batches that share no vertex."""

    batches: tuple[tuple[Ints, Ints, Floats], ...]


def drape(
    sewn: Sewn, start: Floats, *, seconds: float, passes: int, step: float = 1 / 900, bend: float = 2e-6
) -> Floats:
    """Simulate and give the vertices at rest, shape (n, 3), mm.

    Args:
        sewn: the garment.
        start: where its vertices start, shape (n, 3).
        seconds: simulated time.
        passes: how often a step pulls the edges to their length; a finer mesh needs more.
        step: length of a step.
        bend: compliance against bending, larger is softer.
    """
    edges, rest = _edges(sewn)
    across, apart = _opposites(sewn)
    stretch, bending = _batched(edges, rest), _batched(across, apart)
    p = start.copy()
    v = np.zeros_like(p)
    n = round(seconds / step)
    soft_bend = bend / step**2
    for k in range(n):
        progress = k / n
        v[:, 1] -= GRAVITY * step
        v *= 1 - step * (6.0 if progress < 0.7 else 14.0)
        size = np.linalg.norm(v, axis=1, keepdims=True)
        v *= np.minimum(1, 1500 / np.maximum(size, 1e-9))
        before = p.copy()
        p += v * step
        for i, j, length in bending.batches:
            _pull(p, i, j, length, soft_bend)
        for _ in range(passes):
            for i, j, length in stretch.batches:
                _pull(p, i, j, length, 0.0)
        p, touching = push_out(p)
        moved = p - before
        moved[touching] *= 0.25  # cloth on cloth rubs
        p = before + moved
        v = moved / step
    for _ in range(12):
        for i, j, length in stretch.batches:
            _pull(p, i, j, length, 0.0)
        p, _touching = push_out(p)
    return p


def onto(fine: Sewn, coarse: Sewn, draped: Floats) -> Floats:
    """Carry a coarse mesh's draped shape onto a finer mesh of the same pieces, shape (n, 3)."""
    count = len(fine.start)
    total, share = np.zeros((count, 3)), np.zeros(count)
    for panel in range(int(fine.panel.max()) + 1):
        here, there = fine.panel == panel, coarse.panel == panel
        known, places = coarse.flat[there], draped[coarse.corner_vertex[there]]
        found = LinearNDInterpolator(known, places)(fine.flat[here])
        lost = np.isnan(found[:, 0])
        found[lost] = NearestNDInterpolator(known, places)(fine.flat[here][lost])
        vertex = fine.corner_vertex[here]
        for k in range(3):
            total[:, k] += np.bincount(vertex, found[:, k], count)
        share += np.bincount(vertex, minlength=count)
    return np.asarray(total / share[:, None])


def _pull(p: Floats, i: Ints, j: Ints, length: Floats, soft: float) -> None:
    d = p[j] - p[i]
    size = np.sqrt(np.einsum("ij,ij->i", d, d))
    share = (size - length) / (np.maximum(size, 1e-9) * (2.0 + soft))
    d *= share[:, None]
    p[i] += d
    p[j] -= d


def _edges(sewn: Sewn) -> tuple[Ints, Floats]:
    pairs = np.concatenate([sewn.faces[:, [0, 1]], sewn.faces[:, [1, 2]], sewn.faces[:, [2, 0]]])
    lengths = np.linalg.norm(sewn.flat[pairs[:, 0]] - sewn.flat[pairs[:, 1]], axis=1)
    return _unique(np.sort(sewn.corner_vertex[pairs], axis=1), lengths)


def _opposites(sewn: Sewn) -> tuple[Ints, Floats]:
    """Opposite corners of triangles that share an edge, across seams too, with their distance when flat."""
    corner = sewn.faces
    sides = np.concatenate([corner[:, [0, 1, 2]], corner[:, [1, 2, 0]], corner[:, [2, 0, 1]]])
    ends = np.sort(sewn.corner_vertex[sides[:, :2]], axis=1)
    order = np.lexsort((ends[:, 1], ends[:, 0]))
    ends, sides = ends[order], sides[order]
    same = np.flatnonzero((ends[1:] == ends[:-1]).all(axis=1))
    a, b = sides[same], sides[same + 1]

    def height(side: Ints) -> tuple[Floats, Floats]:
        """Distance of the third corner from the side, and how far along it lies from the lower vertex."""
        p, q, r = (sewn.flat[side[:, k]] for k in range(3))
        along = q - p
        size = np.linalg.norm(along, axis=1)
        t = np.einsum("ij,ij->i", r - p, along) / size
        off = np.abs(along[:, 0] * (r - p)[:, 1] - along[:, 1] * (r - p)[:, 0]) / size
        flipped = sewn.corner_vertex[side[:, 0]] > sewn.corner_vertex[side[:, 1]]
        return off, np.where(flipped, size - t, t)

    (ha, ta), (hb, tb) = height(a), height(b)
    return _unique(
        np.sort(np.stack([sewn.corner_vertex[a[:, 2]], sewn.corner_vertex[b[:, 2]]], axis=1), axis=1),
        np.hypot(ha + hb, ta - tb),
    )


def _unique(pairs: Ints, lengths: Floats) -> tuple[Ints, Floats]:
    found, index = np.unique(pairs, axis=0, return_index=True)
    keep = found[:, 0] != found[:, 1]
    return found[keep], lengths[index][keep]


def _batched(pairs: Ints, lengths: Floats) -> _Springs:
    """Give every pair the first batch in which neither of its vertices is used yet."""
    used: dict[int, set[int]] = {}
    batch = np.empty(len(pairs), dtype=np.int64)
    for k, (i, j) in enumerate(pairs.tolist()):
        a, b = used.setdefault(i, set()), used.setdefault(j, set())
        c = 0
        while c in a or c in b:
            c += 1
        a.add(c)
        b.add(c)
        batch[k] = c
    parts = []
    for c in range(int(batch.max()) + 1):
        here = batch == c
        parts.append((pairs[here, 0].copy(), pairs[here, 1].copy(), lengths[here].copy()))
    return _Springs(tuple(parts))
