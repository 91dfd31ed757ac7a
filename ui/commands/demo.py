"""``mockup demo``: the whole walk on the built-in example."""

from __future__ import annotations

from pathlib import Path

import click

from ui.commands.kinds import OUT_FOLDER
from ui.commands.terminal import absolute, say, terminal_job, whole_folder, with_json


@click.command("demo")
@click.option("--out", type=OUT_FOLDER, required=True, help="Folder for everything that comes out.")
@with_json
def demo(out: Path, as_json: bool) -> None:
    """Run the whole walk on the built-in example, a village choir's tunic; your own cloth is never touched."""
    from mockup.demo import demo as walk

    with terminal_job() as job, whole_folder(out) as folder:
        answer = walk(folder, job)
        seconds = job.seconds
        found = [Path(path).relative_to(folder) for path in answer["files"]]
    answer["out"] = absolute(out)
    answer["files"] = [absolute(out / path) for path in found]
    answer["seconds"] = round(seconds, 2)
    proof = answer["proof"]
    text = (
        f"{len(found)} files in {out}, {len(answer['pieces'])} pieces, in {seconds:.0f} s.\n"
        f"{proof['sentence']}\n"
        f"Look at {out / 'sheet.png'} first, then at {out / 'summary.md'}."
    )
    say(as_json, answer, text)
