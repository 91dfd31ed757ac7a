"""``mockup check``: will it sew, wash and show?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import ALLOWANCE, PROJECT
from ui.commands.limits import limit_of
from ui.commands.terminal import forbid, say, terminal_job, with_json

if TYPE_CHECKING:
    from mockup.checks.spoken import Spoken


@click.command("check")
@click.argument("project", type=PROJECT)
@click.option(
    "--choice", help="Letter of the choice; without it the first one, or the lines alone where there is none."
)
@click.option("--allowance", type=ALLOWANCE, default="15mm", show_default=True, help="Seam allowance of the lines.")
@click.option(
    "--limit", "changed", multiple=True, metavar="NAME=NUMBER", help="Set a limit, such as weight-ratio=2; repeatable."
)
@click.option("--lay", is_flag=True, help="Lay the pieces on their cloth too, to see whether it is enough.")
@with_json
def check(
    project: Path, choice: str | None, allowance: Any, changed: tuple[str, ...], lay: bool, as_json: bool
) -> None:
    """Say what stands in the way of sewing, washing and seeing one choice; exit code 1 where something forbids.

    Where no cloth is chosen yet, the lines alone are looked at, and the seams of the pieces.
    The limits are the project's (see mockup limits); --limit sets one for this time.
    """
    from mockup.checks.finding import Grade
    from mockup.checks.spoken import spoken
    from mockup.files import project_file
    from mockup.journey.checking import NO_CLOTH, findings

    loaded, table = project_file.load(project), dict(limit_of(text, "--limit") for text in changed)
    letter = choice.upper() if choice else next((c.letter for c in loaded.colourways), "")
    with terminal_job() as job:
        found = findings(loaded, project, letter, allowance=allowance, changed=table, lays=lay, job=job)
    lines = [_said(line) for line in spoken(found)] or ["Nothing found."]
    notes = [] if any(c.fabrics for c in loaded.colourways if c.letter == letter) else [NO_CLOTH]
    say(
        as_json,
        {"choice": letter or None, "findings": [f.to_json() for f in found], "notes": notes},
        "\n".join([*notes, *lines]),
    )
    if any(f.grade is Grade.STOP for f in found):
        forbid()


def _said(line: Spoken) -> str:
    """A finding as lines of text: where, what and the limit; of what is not known, how to find out below it."""
    from mockup.checks.spoken import UNFOLD

    where = f"{line.where}: " if line.origin else ""
    origin = f" ({line.origin.rstrip('.')})" if line.origin else ""
    text = line.text.replace(UNFOLD, "To find out:")
    return "\n".join([f"{line.grade.value:<11}  {where}{text}{origin}", *(f"{'':<15}{one}" for one in line.more)])
