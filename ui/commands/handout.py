"""``mockup handout`` and ``mockup order``: how others make the same lines, and in which order the pieces are sewn."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from ui.commands.kinds import ALLOWANCE, DATE, FILE, OUT_PDF, PROJECT
from ui.commands.terminal import absolute, say, terminal_job, with_json


@click.command("handout")
@click.argument("source", type=PROJECT, metavar="PROJECT|SPLIT")
@click.option("--choice", default="", help="Letter of the choice whose cloth is shown; only of a project.")
@click.option("--pieces", "pieces_file", type=FILE, help="Cut pieces: for their list and the order of sewing.")
@click.option("--allowance", type=ALLOWANCE, default="15mm", show_default=True, help="On every new edge.")
@click.option("--my-own-pattern", "own", is_flag=True, help="The pattern is mine to pass on: show its outlines, small.")
@click.option("--paper", default="A4", show_default=True, help="A4 or Letter.")
@click.option("--title", default="", help="Title; without it, the project's name.")
@click.option("--date", type=DATE, default="", help="Date, such as 2026-12-12; only for a split file.")
@click.option("--out", type=OUT_PDF, required=True, help="The PDF.")
@with_json
def handout(
    source: Path,
    choice: str,
    pieces_file: Path | None,
    allowance: Any,
    own: bool,
    paper: str,
    title: str,
    date: str,
    out: Path,
    as_json: bool,
) -> None:
    """Tell others how to make the lines of PROJECT, or of a SPLIT file, on their own copy of the pattern."""
    import io
    from dataclasses import replace

    import pypdfium2

    from mockup import journey
    from mockup.files import project_file
    from mockup.files.split_file import read_split
    from mockup.sheets.handout import handout_pdf
    from swatches.errors import InputError
    from swatches.safe_write import write_whole
    from ui.commands.pieces import read_any

    of_split = source.is_file() and source.suffix.lower() == ".json" and source.name != project_file.PROJECT_FILE
    if choice and of_split:
        raise InputError(
            "--choice",
            expected="a project, whose choices have letters",
            got=f"the split file {source.name}",
            next_step="Name the project's folder, or leave --choice out",
        )
    if date and not of_split:
        raise InputError(
            "--date", expected="a split file", got="a project, which has a date", next_step="Leave --date out"
        )
    pieces = read_any(pieces_file) if pieces_file is not None else ()
    with terminal_job() as job:
        if of_split:
            data = handout_pdf(
                read_split(source),
                title=title or source.stem,
                date=date,
                allowance=str(allowance),
                pieces=pieces,
                own_pattern=own,
                paper=paper,
                job=job,
            )
        else:
            project = project_file.load(source)
            project = replace(project, name=title) if title else project
            zipped = source.suffix.lower() == ".zip"
            data = journey.handout(
                project,
                source if source.is_dir() else None if zipped else source.parent,
                choice.upper(),
                allowance=allowance,
                pieces=pieces,
                own_pattern=own,
                paper=paper,
                job=job,
            )
    write_whole(out, data, what="--out")
    document = pypdfium2.PdfDocument(io.BytesIO(data))
    pages = len(document)
    document.close()
    answer = {"handout": absolute(out), "pages": pages, "outlines": own, "files": [absolute(out)]}
    say(as_json, answer, f"{out}: {pages} page{'s' if pages != 1 else ''}")


@click.command("order")
@click.argument("pieces_file", type=FILE, metavar="PIECES")
@with_json
def order(pieces_file: Path, as_json: bool) -> None:
    """Say in which order PIECES are sewn: the new seams flat first, then the garment's own."""
    from mockup.pattern.construction import construction
    from ui.commands.pieces import read_any

    steps = construction(read_any(pieces_file))
    rows = [
        {"step": n, "text": s.what, "pieces": list(s.pieces), "seam": s.seam or None} for n, s in enumerate(steps, 1)
    ]
    say(as_json, {"steps": rows}, "\n".join(f"{r['step']:>3}. {r['text']}" for r in rows))
