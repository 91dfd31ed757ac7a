"""A count as an object for programs, and as plain sentences for people."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from mockup.polls.count import Count
from swatches.errors import Failure
from swatches.words import counted


def count_json(result: Count) -> dict[str, Any]:
    """Give the count as a JSON object keyed by letters."""
    fitted = result.bradley_terry
    return {
        "votes": result.votes,
        "counts": dict(zip(result.choices, result.counts, strict=True)),
        "wilson": {letter: list(bounds) for letter, bounds in zip(result.choices, result.wilson, strict=True)},
        "borda": dict(zip(result.choices, result.borda, strict=True)),
        "bradley_terry": None if isinstance(fitted, Failure) else dict(zip(result.choices, fitted, strict=True)),
        "bradley_terry_note": fitted.reason if isinstance(fitted, Failure) else result.bradley_terry_note,
        "head_to_head": {
            a: {b: int(result.head_to_head[i, j]) for j, b in enumerate(result.choices) if i != j}
            for i, a in enumerate(result.choices)
        },
        "first_places_winner": result.first_places_winner,
        "borda_winner": result.borda_winner,
        "head_to_head_winner": result.head_to_head_winner,
        "methods_disagree": result.methods_disagree,
        "too_close": result.too_close,
    }


def count_text(result: Count, warnings: Sequence[str] = ()) -> str:
    """Give the count in sentences: counts first, then what may be concluded."""
    lines = [counted(result.votes, "vote").capitalize()]
    order = sorted(range(len(result.choices)), key=lambda k: (-result.counts[k], result.choices[k]))
    for k in order:
        low, high = result.wilson[k]
        share = result.counts[k] / result.votes if result.votes else 0.0
        lines.append(
            f"  {result.choices[k]}  {result.counts[k]:>5}  {share:>4.0%}   "
            f"(if these voters were a random sample, anywhere from {low:.0%} to {high:.0%})"
        )
    if result.too_close:
        lines.append(result.too_close[0].upper() + result.too_close[1:] + ".")
    lines.extend(_ranks(result))
    if result.methods_disagree:
        lines.append(
            f"The methods disagree: most first places {result.first_places_winner or 'tied'}, "
            f"best by all ranks {result.borda_winner or 'tied'}, "
            f"beats each other choice {result.head_to_head_winner or 'none'}."
        )
    elif result.head_to_head_winner and not result.too_close:
        lines.append(f"{result.head_to_head_winner} beats each other choice.")
    lines.extend(f"Not counted: {warning}." for warning in warnings)
    return "\n".join(lines)


def _ranks(result: Count) -> list[str]:
    """What lower ranks say: points by all ranks, and each choice against those with fewer; nothing without ranks."""
    n, table = len(result.choices), result.head_to_head
    if all(table[i, j] == result.counts[i] for i in range(n) for j in range(n) if i != j):
        return []  # nobody ranked: first places say all of it
    order = sorted(range(n), key=lambda k: (-result.borda[k], result.choices[k]))
    points = ", ".join(f"{result.choices[k]} {result.borda[k]:g}" for k in order)
    lines = [f"By all ranks, {n - 1} points for a first place and none for the last: {points}."]
    for place, k in enumerate(order[:-1]):
        duels = ", ".join(f"{result.choices[j]} {table[k, j]} to {table[j, k]}" for j in order[place + 1 :])
        lines.append(f"Head to head, {result.choices[k]} against {duels}.")
    return lines
