"""``mockup split``, ``unfold``, ``print``: lines as a file, pieces on paper; and what the commands of pieces share."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import DATE, FILE, OUT_FILE, OUT_PDF, PROJECT
from ui.commands.pieces_read import described
from ui.commands.terminal import absolute, say, terminal_job, with_json

if TYPE_CHECKING:
    from mockup.pattern.piece import Piece


@click.command("split")
@click.argument("project", type=PROJECT)
@click.option("--choice", default="", help="Letter of the choice whose fabrics are written; without it, none are.")
@click.option("--out", type=OUT_FILE, help="The split file; without it, the answer is printed.")
@with_json
def split(project: Path, choice: str, out: Path | None, as_json: bool) -> None:
    """Write all style lines of PROJECT as geometry in mm, for this and other programs."""
    import json

    from mockup import journey
    from mockup.files import project_file
    from swatches.safe_write import write_whole
    from swatches.words import counted

    text = journey.write_split(project_file.load(project), choice.upper())
    if out is None:
        say(True, json.loads(text), "")
        return
    write_whole(out, text.encode(), what="--out")
    found = json.loads(text)
    lines = sum(len(view["lines"]) for view in found["views"])
    answer = {
        "split": absolute(out),
        "views": [view["name"] for view in found["views"]],
        "lines": lines,
        "panels": sum(len(view["panels"]) for view in found["views"]),
        "files": [absolute(out)],
    }
    say(as_json, answer, f"{out}: {counted(lines, 'line')}")


@click.command("unfold")
@click.argument("pieces_file", type=FILE, metavar="PIECES")
@click.option("--out", type=OUT_FILE, help="SVG with the pieces unfolded.")
@with_json
def unfold(pieces_file: Path, out: Path | None, as_json: bool) -> None:
    """Unfold the pieces that are cut on the fold."""
    from mockup.files import svg
    from mockup.pattern.cutting_list import how_to_cut
    from mockup.pattern.unfold import unfolded
    from swatches.safe_write import write_whole

    found, warnings = [], []
    for piece in read_any(pieces_file):
        if piece.fold is None:
            found.append(piece)
            continue
        whole, said = unfolded(piece)
        found.append(whole)
        warnings += said
    answer: dict[str, Any] = {"pieces": [described(piece) for piece in found], "warnings": warnings, "files": []}
    if out is not None:
        write_whole(out, svg.write_pieces(found).encode(), what="--out")
        answer["files"] = [absolute(out)]
    say(as_json, answer, "\n".join([*(f"{p.name}: {how_to_cut(p)}" for p in found), *warnings]))


@click.command("print")
@click.argument("pieces_file", type=FILE, metavar="PIECES")
@click.option("--paper", default="A4", show_default=True, help="A4, Letter, A0, roll36 or projector.")
@click.option("--title", default="", help="Title on every sheet.")
@click.option("--date", type=DATE, default="", help="Date on every sheet, such as 2026-11-24.")
@click.option("--project", type=PROJECT, help="Name cloths as this project does.")
@click.option("--out", type=OUT_PDF, required=True, help="The PDF, at 1:1.")
@with_json
def print_(
    pieces_file: Path, paper: str, title: str, date: str, project: Path | None, out: Path, as_json: bool
) -> None:
    """Print PIECES at full size, with joins, a map of the sheets and squares to check the scale by."""
    import io

    import pypdfium2

    from mockup.sheets.printed_pieces import pieces_pdf
    from swatches.safe_write import write_whole

    cloths = cloth_names(project)
    given = read_any(pieces_file)
    with terminal_job() as job:
        data = pieces_pdf(given, paper=paper, title=title or pieces_file.stem, date=date, fabric_names=cloths, job=job)
    write_whole(out, data, what="--out")
    document = pypdfium2.PdfDocument(io.BytesIO(data))
    count = len(document)
    document.close()
    answer = {"pdf": absolute(out), "paper": paper, "sheets": count, "pieces": len(given), "files": [absolute(out)]}
    say(
        as_json,
        answer,
        f"{out}: {count} sheet{'s' if count != 1 else ''} of {paper}; print at 100 % and measure the squares",
    )


def read_any(path: Path) -> tuple[Piece, ...]:
    """Read pieces from a file of any kind, by what it is; in a process of its own, since it may be a stranger's."""
    from mockup.files.reading import is_picture, read
    from swatches.errors import FileFormatError, PictureError

    try:
        return read(path).pieces
    except PictureError as error:
        if not is_picture(path):
            raise
        raise FileFormatError(
            path.name,
            expected="pattern pieces as SVG, DXF or PDF",
            got="a picture",
            next_step="Give the file of the pieces; a photo of a paper piece needs the printed sheet or cards beside it"
            " (mockup pieces read)",
        ) from error


def cloth_names(project: Path | None) -> dict[str, str]:
    """What a project calls its cloths, by id: a file of pieces carries ids only."""
    from mockup.files import project_file
    from mockup.journey.cloths import fabric_names

    return {} if project is None else fabric_names(project_file.load(project))


def cut_area(piece: Piece) -> float:
    """Area inside the cut line, mm²."""
    from mockup.pattern.allowance import cut_outline

    return cut_outline(piece).area_mm2


def proof_figures(proof: Any) -> dict[str, Any]:
    """Give the proof's three figures and whether it holds."""
    return {
        "area_error_mm2": proof.area_error_mm2,
        "stitch_difference_mm": proof.stitch_difference_mm,
        "rejoin_error_mm": proof.rejoin_error_mm,
        "ok": proof.ok,
    }
