"""``mockup poll``: what voters say of the choices."""

from __future__ import annotations

from pathlib import Path

import click

from ui.commands.kinds import FILE
from ui.commands.terminal import say, with_json


@click.group("poll")
def poll() -> None:
    """Count votes on lettered choices."""


@poll.command("count")
@click.argument("votes", type=FILE)
@click.option("--choices", default="", help="Letters on offer, such as ABCD; without it, those that were voted for.")
@with_json
def count_votes(votes: Path, choices: str, as_json: bool) -> None:
    """Count VOTES, a CSV file with the columns voter,choice or voter,first,second,…

    Each voter counts once. Intervals are what they would be if these voters were a random sample; people who choose
    themselves to vote are not one.
    """
    from mockup.polls.ballot import MAX_BYTES, read_votes
    from mockup.polls.count import count
    from mockup.polls.report import count_json, count_text

    ballots = read_votes(_at_most(votes, MAX_BYTES), offered=tuple(choices), what=str(votes))
    result = count(ballots)
    say(as_json, {**count_json(result), "warnings": list(ballots.warnings)}, count_text(result, ballots.warnings))


def _at_most(path: Path, size: int) -> bytes:
    """Read no more than one byte over the limit, so that the reader can refuse a huge file without loading it."""
    with path.open("rb") as stream:
        return stream.read(size + 1)
