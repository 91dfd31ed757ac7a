"""Counting votes: first places, Wilson intervals, head to head, Borda, Bradley–Terry.

Voters who choose themselves to vote carry no margin of error (AAPOR, on opt-in samples): the interval is what it
*would* be if they were a random sample, and is labelled so wherever it is shown.

References:
    Wilson 1927, J. Am. Stat. Assoc. 22, in the form of Newcombe 1998, Stat. Med. 17, method 3.
    Hunter 2004, Ann. Statist. 32, for the MM iteration of Bradley–Terry.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse.csgraph import connected_components

from mockup.polls.ballot import Ballots
from swatches.errors import Failure

Z_95 = 1.959963984540054  # two-sided 95 % point of the normal distribution


@dataclass(frozen=True, slots=True, eq=False)
class Count:
    """What a poll says.

    Attributes:
        votes: number of ballots.
        choices: letters; every tuple and array below is in this order.
        counts: first places.
        wilson: 95 % interval of each share of first places, (low, high).
        head_to_head: (n, n); how many ballots put the row above the column. A ranked choice stands above unranked ones.
        borda: points: n − 1 for the first place down to 0; unranked choices share what is left equally.
        bradley_terry: log ability relative to the first choice, or a Failure with its reason.
        bradley_terry_note: said where half a win was lent to each pair, since a choice had no win or no loss.
        first_places_winner: letter, or None when there is a tie for the most, or no vote.
        borda_winner: the same by Borda points.
        head_to_head_winner: beats each other choice, or None.
        methods_disagree: whether the winners that exist differ.
        too_close: why no winner should be called, or an empty string.
    """

    votes: int
    choices: tuple[str, ...]
    counts: tuple[int, ...]
    wilson: tuple[tuple[float, float], ...]
    head_to_head: NDArray[np.int64]
    borda: tuple[float, ...]
    bradley_terry: tuple[float, ...] | Failure
    bradley_terry_note: str
    first_places_winner: str | None
    borda_winner: str | None
    head_to_head_winner: str | None
    methods_disagree: bool
    too_close: str


def wilson(successes: int, votes: int, z: float = Z_95) -> tuple[float, float]:
    """Wilson score interval of a share; (0, 1) when there is no vote."""
    if votes == 0:
        return 0.0, 1.0
    p, zz = successes / votes, z * z
    centre = (p + zz / (2 * votes)) / (1 + zz / votes)
    half = z / (1 + zz / votes) * np.sqrt(p * (1 - p) / votes + zz / (4 * votes * votes))
    return max(0.0, float(centre - half)), min(1.0, float(centre + half))


def bradley_terry(wins: NDArray[np.float64]) -> tuple[float, ...] | Failure:
    """Log abilities by maximum likelihood, relative to the first choice.

    Args:
        wins: (n, n), how often the row beat the column; the diagonal is ignored.

    Returns:
        n log abilities, the first 0; or a Failure where no finite estimate exists: the choices do not all beat each
        other along some chain (Ford 1957).
    """
    wins = np.array(wins, dtype=np.float64)
    np.fill_diagonal(wins, 0.0)
    parts, _ = connected_components(wins > 0, directed=True, connection="strong")
    if parts > 1:
        return Failure("a choice never won, or never lost, against the others")
    games, won = wins + wins.T, wins.sum(axis=1)
    ability = np.ones(len(wins))
    for _ in range(10_000):
        new = won / (games / (ability[:, None] + ability[None, :])).sum(axis=1)
        new /= np.exp(np.log(new).mean())
        done = bool(np.abs(np.log(new / ability)).max() < 1e-13)
        ability = new
        if done:
            break
    logs = np.log(ability / ability[0])
    return tuple(float(v) for v in logs)


def count(ballots: Ballots) -> Count:
    """Count ballots by every method at once."""
    letters = ballots.choices
    n, place = len(letters), {letter: k for k, letter in enumerate(letters)}
    first, points = np.zeros(n, dtype=int), np.zeros(n)
    table = np.zeros((n, n), dtype=np.int64)
    for ballot in ballots.ballots:
        ranked = [place[letter] for letter in ballot.ranking]
        rest = [k for k in range(n) if k not in ranked]
        first[ranked[0]] += 1
        for position, k in enumerate(ranked):
            points[k] += n - 1 - position
            table[k, ranked[position + 1 :] + rest] += 1
        points[rest] += (len(rest) - 1) / 2
    votes = len(ballots.ballots)
    fitted, note = _abilities(table, votes)
    winners = (_best(letters, first), _best(letters, points), _beats_each(letters, table))
    named = {w for w in winners if w}
    return Count(
        votes=votes,
        choices=letters,
        counts=tuple(int(v) for v in first),
        wilson=tuple(wilson(int(v), votes) for v in first),
        head_to_head=table,
        borda=tuple(float(v) for v in points),
        bradley_terry=fitted,
        bradley_terry_note=note,
        first_places_winner=winners[0],
        borda_winner=winners[1],
        head_to_head_winner=winners[2],
        methods_disagree=ballots.ranked and len(named) > 1,
        too_close=_too_close(letters, first),
    )


def _abilities(table: NDArray[np.int64], votes: int) -> tuple[tuple[float, ...] | Failure, str]:
    if votes == 0 or len(table) < 2:
        return Failure("there is nothing to compare yet"), ""
    fitted = bradley_terry(table.astype(np.float64))
    if not isinstance(fitted, Failure):
        return fitted, ""
    lent = bradley_terry(table.astype(np.float64) + 0.5)
    return lent, f"{fitted.reason}; half a win was lent to each pair, so the distances are rough"


def _best(letters: tuple[str, ...], values: NDArray[np.generic]) -> str | None:
    if not len(letters) or values.max() <= 0 or (values == values.max()).sum() > 1:
        return None
    return letters[int(values.argmax())]


def _beats_each(letters: tuple[str, ...], table: NDArray[np.int64]) -> str | None:
    for k, letter in enumerate(letters):
        others = [j for j in range(len(letters)) if j != k]
        if others and all(table[k, j] > table[j, k] for j in others):
            return letter
    return None


def _too_close(letters: tuple[str, ...], first: NDArray[np.int_]) -> str:
    """Say why the two leaders cannot be told apart: the leader's share of their votes together may be a half."""
    if len(letters) < 2 or first.sum() == 0:
        return "no votes yet" if first.sum() == 0 else ""
    order = np.argsort(-first, kind="stable")
    a, b = int(first[order[0]]), int(first[order[1]])
    low, high = wilson(a, a + b)
    if low > 0.5:
        return ""
    leader, second = letters[order[0]], letters[order[1]]
    return (
        f"too close to call: {_of_both(a, b, leader, second)}; if these voters were a "
        f"random sample, its share could be anywhere from {low:.0%} to {high:.0%}"
    )


def _of_both(a: int, b: int, leader: str, second: str) -> str:
    """How the votes of the two leaders are shared, in words that hold for a single vote too."""
    if a + b == 1:
        return f"{leader} has the only vote for {leader} or {second}"
    return f"of the {a + b} votes for {leader} and {second}, {leader} has {a}"
