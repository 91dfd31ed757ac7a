"""``mockup check``: will it sew, wash and show?"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from ui.commands.kinds import LENGTH, PROJECT
from ui.commands.terminal import forbid, say, terminal_job, with_json


@click.command("check")
@click.argument("project", type=PROJECT)
@click.option("--choice", default="A", show_default=True, help="Letter of the choice.")
@click.option("--allowance", type=LENGTH, default="15mm", show_default=True, help="Seam allowance of the lines.")
@click.option(
    "--limit", "changed", multiple=True, metavar="NAME=NUMBER", help="Set a limit, such as weight-ratio=2; repeatable."
)
@with_json
def check(project: Path, choice: str, allowance: Any, changed: tuple[str, ...], as_json: bool) -> None:
    """Say what stands in the way of sewing, washing and seeing one choice; exit code 1 where something forbids."""
    from mockup.checks.finding import Grade
    from mockup.files import project_file
    from mockup.journey.checking import findings

    loaded, table = project_file.load(project), dict(_limit(text) for text in changed)
    with terminal_job() as job:
        found = findings(loaded, project, choice.upper(), allowance=allowance, changed=table, job=job)
    lines = [
        f"{f.grade.value:<11}  {f.place.words}: {f.figure} (limit: {f.limit}; {f.source}). {f.advice}" for f in found
    ]
    say(
        as_json,
        {"choice": choice.upper(), "findings": [f.to_json() for f in found]},
        "\n".join(lines) or "Nothing found.",
    )
    if any(f.grade is Grade.STOP for f in found):
        forbid()


def _limit(text: str) -> tuple[str, float]:
    from swatches.errors import InputError

    name, _, number = text.partition("=")
    try:
        return name.strip(), float(number)
    except ValueError as error:
        raise InputError(
            "--limit", expected="NAME=NUMBER", got=text, next_step="Write it like weight-ratio=2"
        ) from error
