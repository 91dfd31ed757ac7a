"""``mockup swatch``: a photo of a cloth becomes a fabric, and the sheet that makes its scale known."""

from __future__ import annotations

from pathlib import Path

import click

from ui.commands.kinds import FILE, OUT_FOLDER, numbers
from ui.commands.terminal import absolute, say, terminal_job, whole_folder, with_json

_WORDS = ("none", "sheet", "a4", "letter", "card", "cards", "chart")


@click.command("swatch")
@click.argument("photo", type=FILE, required=False)
@click.option(
    "--reference", default="none", show_default=True, metavar="|".join((*_WORDS, "MM_PER_PX")),
    help="What lies beside the cloth and tells its size.",
)  # fmt: skip
@click.option("--area", metavar="X,Y,W,H", help="Part of the photo that shows only the cloth, px.")
@click.option("--name", default="", help="What you call the cloth.")
@click.option("--sheet", type=click.Choice(["A4", "Letter"], case_sensitive=False), help="Write the reference sheet.")
@click.option("--out", type=OUT_FOLDER, help="Folder for fabric.json and the tile; with --sheet, the PDF.")
@with_json
def swatch(
    photo: Path | None, reference: str, area: str | None, name: str, sheet: str | None, out: Path | None, as_json: bool
) -> None:
    """Read a cloth from PHOTO: colour, scale, repeat and a seamless tile. Or write the reference sheet.

    Print the sheet at 100 %, lay the cloth in its middle, and take the photo from above in daylight.
    """
    from swatches.errors import InputError

    if sheet is not None:
        if out is None:
            raise InputError("--out", expected="a file for the sheet", got="nothing", next_step="Add --out sheet.pdf")
        _sheet(sheet, out, as_json)
        return
    if photo is None:
        raise InputError("PHOTO", expected="a photo, or --sheet", got="nothing", next_step="Name a photo of the cloth")
    from dataclasses import replace

    from swatches.fabric_file import write_fabric
    from swatches.photo import read_photo
    from swatches.read_swatch import read_swatch

    scale = _reference(reference)
    box = None if area is None else tuple(int(n) for n in numbers(area, 4, what="--area"))
    with terminal_job() as job:
        reading = read_swatch(
            read_photo(photo, what="photo of the cloth"), reference=scale, area=box, name=name or None, job=job
        )
    answer = dict(reading.to_json())
    if out is not None:
        with whole_folder(out) as folder:
            written = write_fabric(replace(reading.fabric), folder, reading.tile)
            names = sorted(p.name for p in folder.iterdir())
        answer["fabric"] = absolute(out / written.name)
        answer["files"] = [absolute(out / n) for n in names]
    colour = reading.fabric.colour
    text = f"{reading.fabric.name}: {colour.word}, expected to differ by {colour.expected_delta_e:.1f} (CIEDE2000)"
    say(as_json, answer, "\n".join([text, *reading.warnings]))


def _sheet(paper: str, out: Path, as_json: bool) -> None:
    from swatches.reference import sheet_pdf
    from swatches.safe_write import write_whole

    name = {"a4": "A4", "letter": "Letter"}[paper.lower()]
    write_whole(out, sheet_pdf(name), what="--out")
    answer = {"sheet": absolute(out), "paper": name, "files": [absolute(out)]}
    say(as_json, answer, f"{out}: print at 100 %, then measure its bar")


def _reference(text: str) -> str | float:
    from swatches.errors import InputError

    if text.lower() in _WORDS:
        return text.lower()
    try:
        value = float(text)
    except ValueError:
        value = 0.0
    if not 1e-4 <= value <= 1e3:
        raise InputError(
            "--reference",
            expected=f"one of {', '.join(_WORDS)}, or mm per px",
            got=text,
            next_step="Type it like sheet",
        )
    return value
