"""Find the assignments of cloth that are good in different ways: all of them where they can be counted out."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from mockup.proposals.figures import Assignments, Floats, Problem, cloths, compared, figures
from mockup.proposals.undominated import undominated
from swatches.job import QUIET, Job, check

EXACT_UP_TO = 400_000
"""So many assignments are all looked at; constraints take many away while they are counted."""
_GROWN = 4_000_000  # partial assignments held at once while counting
_START, _ROUNDS, _CHILDREN, _ARCHIVE = 60_000, 12, 20_000, 3_000


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """What a search found.

    Attributes:
        chosen: shape (m, groups), none of them beaten by any that was looked at.
        figures: shape (m, 7).
        possible: assignments of the open groups before any constraint.
        allowed: how many of them pass the constraints; None where not all were looked at.
        looked_at: assignments whose figures were compared.
        exact: whether every allowed one was.
    """

    chosen: Assignments
    figures: Floats
    possible: int
    allowed: int | None
    looked_at: int
    exact: bool

    @property
    def share(self) -> float:
        """Share of the possible assignments that is settled, 0 to 1: looked at, or ruled out by a constraint."""
        return 1.0 if self.exact else self.looked_at / self.possible


def search(p: Problem, *, seed: int = 0, exact_up_to: int = EXACT_UP_TO, job: Job = QUIET) -> Found:
    """Search all assignments, or a share of them where there are too many.

    The order of work does not depend on time, so the same problem and seed give the same answer.

    Args:
        p: the problem.
        seed: for the search of a share.
        exact_up_to: how many assignments are looked at one by one.
        job: progress and cancellation.
    """
    job.step("Counting choices of cloth", 0.0)
    every = grow(p, most=exact_up_to, job=job)
    if every is not None:
        check(job)
        job.step(f"Comparing {len(every)} choices", 0.5)
        measured = figures(p, every)
        stays = undominated(compared(measured, every))
        return Found(every[stays], measured[stays], p.possible, len(every), len(every), True)
    return _search_part(p, np.random.default_rng(seed), job)


def grow(p: Problem, *, most: int, rng: np.random.Generator | None = None, job: Job = QUIET) -> Assignments | None:
    """Give every assignment that passes the constraints, group by group, dropping what cannot be finished.

    Args:
        p: the problem.
        most: how many partial ones are kept. Where there are more: None without ``rng``, else a random part of them.
        rng: random numbers.
        job: cancellation.
    """
    order = sorted(range(len(p.groups)), key=lambda g: (p.allowed[g].sum(), -p.groups[g].share))
    chosen = np.full((1, len(p.groups)), -1, dtype=np.int16)
    for step, group in enumerate(order):
        check(job)
        options = np.flatnonzero(p.allowed[group]).astype(np.int16)
        if rng is None and len(chosen) * len(options) > _GROWN:
            return None
        chosen = np.repeat(chosen, len(options), axis=0)
        chosen[:, group] = np.tile(options, len(chosen) // len(options)) if len(options) else 0
        chosen = chosen[_passes(p, chosen, group, order[:step])]
        if len(chosen) > most:
            if rng is None:
                return None
            chosen = chosen[np.sort(rng.choice(len(chosen), most, replace=False))]
    return chosen[_as_a_whole(p, chosen)]


def allowed(p: Problem, chosen: Assignments) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether assignments pass every constraint, shape (n,)."""
    order = list(range(len(p.groups)))
    passes = np.ones(len(chosen), dtype=bool)
    for step, group in enumerate(order):
        passes &= p.allowed[group][chosen[:, group]]
        passes &= _passes(p, chosen, group, order[:step])
    return passes & _as_a_whole(p, chosen)


def _passes(
    p: Problem, chosen: Assignments, group: int, before: list[int]
) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether the cloth of a group goes with that of the groups before it: neighbours, and enough cloth."""
    n = len(p.fabrics)
    passes = np.ones(len(chosen), dtype=bool)
    for m, meeting in enumerate(p.meetings):
        if group in (meeting.a, meeting.b) and (meeting.a in before or meeting.b in before) and p.apart[m].any():
            pair = chosen[:, meeting.a].astype(np.intp) * n + chosen[:, meeting.b]
            passes &= ~p.apart[m][pair]
    if p.areas is not None and before:
        mine = chosen[:, group]
        used = p.areas[group] + (chosen[:, before] == mine[:, None]) @ p.areas[before]
        passes &= used <= p.left[mine]
    return passes


def _as_a_whole(p: Problem, chosen: Assignments) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether there are as many cloths as wanted, and a way to clean them.

    What bears neither washing nor dry cleaning is the case of 16 CFR 423.6(b); a cloth that does not say decides
    nothing.
    """
    count = cloths(chosen)
    cleanable = (p.wash[chosen].min(axis=1) != 0) | (p.clean[chosen].min(axis=1) != 0)
    return np.asarray((count >= p.cloths[0]) & (count <= p.cloths[1]) & cleanable)


def _search_part(p: Problem, rng: np.random.Generator, job: Job) -> Found:
    """Look at a random part, then change and mix the best ones, round by round."""
    seen = grow(p, most=_START, rng=rng, job=job)
    assert seen is not None  # noqa: S101 - with random numbers it always gives a part
    weights = _weights(p)
    keys = np.sort(seen @ weights)
    chosen, measured = _kept(p, seen, np.empty((0, len(p.groups)), np.int16), rng)
    for turn in range(_ROUNDS):
        check(job)
        job.step(f"Comparing choices of cloth, {len(keys)} so far", 0.3 + 0.6 * turn / _ROUNDS)
        children = _children(p, chosen, rng)
        made = children @ weights
        made, first = np.unique(made, return_index=True)
        fresh = keys[np.minimum(np.searchsorted(keys, made), len(keys) - 1)] != made if len(keys) else np.ones(0, bool)
        children, made = children[first[fresh]], made[fresh]
        passes = allowed(p, children)
        keys = np.sort(np.concatenate([keys, made[passes]]))
        chosen, measured = _kept(p, children[passes], chosen, rng)
    return Found(chosen, measured, p.possible, None, len(keys), False)


def _kept(p: Problem, new: Assignments, old: Assignments, rng: np.random.Generator) -> tuple[Assignments, Floats]:
    together = np.concatenate([old, new])
    measured = figures(p, together)
    stays = np.flatnonzero(undominated(compared(measured, together)))
    if len(stays) > _ARCHIVE:
        stays = np.sort(rng.choice(stays, _ARCHIVE, replace=False))
    return together[stays], measured[stays]


def _children(p: Problem, parents: Assignments, rng: np.random.Generator) -> Assignments:
    """Half of them one parent with one or two groups changed, half of them a mix of two parents."""
    if len(parents) == 0:
        return parents
    count, k = _CHILDREN // 2, len(p.groups)
    changed = parents[rng.integers(len(parents), size=count)]
    for times in (count, count // 3):
        rows, groups = np.arange(times), rng.integers(k, size=times)
        changed[rows, groups] = rng.integers(len(p.fabrics), size=times)
    one, other = (parents[rng.integers(len(parents), size=count)] for _ in range(2))
    mixed = np.where(rng.random((count, k)) < 0.5, one, other)
    return np.concatenate([changed, mixed]).astype(np.int16)


def _weights(p: Problem) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Numbers that turn an assignment into one whole number, different for each."""
    n = len(p.fabrics)
    if n ** len(p.groups) < 2**62:
        return np.array([n**g for g in range(len(p.groups))], dtype=np.int64)
    mixer = np.random.default_rng(math.prod((n, len(p.groups))))  # too many to number: random ones hardly ever meet
    return mixer.integers(1, 2**62, size=len(p.groups), dtype=np.int64)
