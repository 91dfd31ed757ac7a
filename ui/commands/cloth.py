"""``mockup swatch``: a photo of a cloth becomes a fabric, and the sheet that makes its scale known."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import FILE, LENGTH, OUT_FOLDER, numbers
from ui.commands.terminal import absolute, say, terminal_job, whole_folder, with_json

if TYPE_CHECKING:  # a command begins sooner without what it does not use
    import numpy as np
    from numpy.typing import NDArray

    from swatches.fabric import Remnant
    from swatches.outline import Outline
    from swatches.read_swatch import SwatchReading

_WORDS = ("none", "sheet", "a4", "letter", "card", "cards", "chart")
_KINDS = ("solid", "melange", "stripe", "check", "print")


@click.command("swatch")
@click.argument("photo", type=FILE, required=False)
@click.option(
    "--reference", default="none", show_default=True, metavar="|".join((*_WORDS, "MM_PER_PX")),
    help="What lies beside the cloth and tells its size.",
)  # fmt: skip
@click.option(
    "--area",
    metavar="X,Y,W,H",
    help="An upright box in the photo that shows only the cloth, px: tells where it is, and is no piece's outline.",
)
@click.option(
    "--outline",
    metavar="X,Y,X,Y,…",
    help="Points round the cloth, px, three or more, of any shape: also the outline of the piece. Instead of --area.",
)
@click.option("--corners", metavar="X,Y,…", help="Corners of paper, card or chart, px, clockwise from the top left.")
@click.option("--bar", type=LENGTH, help="What the sheet's 100 mm bar measures.")
@click.option("--distance", type=LENGTH, help="With cards: tape distance between the middles of cards 1 and 2.")
@click.option("--paper-size", metavar="W,H", help="Measured width and height of the plain paper.")
@click.option("--kind", type=click.Choice(_KINDS), help="What it shows, over what is found.")
@click.option("--repeat", metavar="W,H", help="Repeat across and along the cloth, over what is found; 0 for none.")
@click.option("--pieces", is_flag=True, help="Keep the pieces in the photo as remnants.")
@click.option("--name", default="", help="What you call the cloth.")
@click.option("--sheet", type=click.Choice(["A4", "Letter"], case_sensitive=False), help="Write the reference sheet.")
@click.option("--cards", type=click.Choice(["A4", "Letter"], case_sensitive=False), help="Write the four loose cards.")
@click.option("--out", type=OUT_FOLDER, help="Folder for fabric.json and the tile; with --sheet or --cards, the PDF.")
@with_json
def swatch(
    photo: Path | None, reference: str, area: str | None, outline: str | None, corners: str | None, bar: Any,
    distance: Any, paper_size: str | None, kind: str | None, repeat: str | None, pieces: bool, name: str,
    sheet: str | None, cards: str | None, out: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Read a cloth from PHOTO: colour, scale, repeat and a seamless tile. Or write the reference sheet, or loose cards.

    Print the sheet at 100 %, lay the cloth in its middle, and take the photo from above in daylight. Round a piece that
    is larger than the sheet, lay the four loose cards.
    """
    from swatches.errors import InputError

    if sheet is not None or cards is not None:
        _print(sheet, cards, out, as_json)
        return
    if photo is None:
        raise InputError(
            "PHOTO", expected="a photo, --sheet or --cards", got="nothing", next_step="Name a photo of the cloth"
        )
    if area is not None and outline is not None:
        raise InputError(
            "--area and --outline",
            expected="one of the two",
            got="both",
            next_step="Leave --area out: the outline says more",
        )
    from dataclasses import replace

    import numpy as np

    from swatches.fabric import Kind
    from swatches.fabric_file import write_fabric
    from swatches.photo import read_photo
    from swatches.read_swatch import read_swatch
    from swatches.remnants import remnants_of

    with terminal_job() as job:
        reading = read_swatch(
            read_photo(photo, what="photo of the cloth"),
            reference=_reference(reference),
            area=None if area is None else tuple(numbers(area, 4, what="--area")),
            outline_px=None if outline is None else _points(outline),
            bar_mm=None if bar is None else bar.mm,
            distance_mm=None if distance is None else distance.mm,
            paper_mm=_two_lengths(paper_size, "--paper-size"),
            corners_px=None if corners is None else np.array(numbers(corners, 8, what="--corners")).reshape(4, 2),
            kind=None if kind is None else Kind(kind),
            repeat_mm=_two_lengths(repeat, "--repeat"),
            name=name or None,
            job=job,
        )
    if pieces:
        reading = replace(reading, fabric=replace(reading.fabric, remnants=remnants_of(reading.outlines)))
    answer = dict(reading.to_json())
    if out is not None:
        with whole_folder(out) as folder:
            written = write_fabric(reading.fabric, folder, reading.tile)
            names = sorted(p.name for p in folder.iterdir())
        answer["fabric"] = absolute(out / written.name)
        answer["files"] = [absolute(out / n) for n in names]
    colour = reading.fabric.colour
    text = f"{reading.fabric.name}: {colour.word}; {_how_true(colour.expected_delta_e)}"
    if pieces:
        sizes = (f"{r.name}, {o.area_mm2 / 100:.0f} cm²" for r, o in _with_outlines(reading))
        text += f"\nremnants: {'; '.join(sizes)}"
    say(as_json, answer, "\n".join([text, *reading.warnings]))


def _with_outlines(reading: SwatchReading) -> zip[tuple[Remnant, Outline]]:
    return zip(reading.fabric.remnants, reading.outlines, strict=True)


def _points(text: str) -> NDArray[np.float64]:
    import numpy as np

    from swatches.errors import InputError

    parts = text.replace(" ", ",").split(",")
    try:
        found = np.array([float(part) for part in parts if part], np.float64)
    except ValueError:
        found = np.zeros(0)
    if len(found) < 6 or len(found) % 2 or not np.isfinite(found).all() or np.abs(found).max() > 1e6:
        raise InputError(
            "--outline", expected="three points or more, px", got=text[:40],
            next_step="Type it like 120,80,900,75,880,640,130,600: across and down of each point, round the cloth",
        )  # fmt: skip
    return found.reshape(-1, 2)


def _how_true(error: float) -> str:
    """How far the colour may be off, in words and then as a figure.

    Where the words change is our own choice: about 1 is what eyes can just tell side by side, and 5 is seen
    without looking for it.
    """
    if error <= 1.0:
        words = "its colour is as true as eyes can tell"
    elif error <= 2.5:
        words = "its colour may be off by a little, seen only beside the cloth"
    elif error <= 5.0:
        words = "its colour may be off so far that it shows beside the cloth"
    else:
        words = "its colour may be clearly off"
    return f"{words} (by {error:.1f}, as CIEDE2000 counts)"


def _print(sheet: str | None, cards: str | None, out: Path | None, as_json: bool) -> None:
    """Write the reference sheet or the page of loose cards."""
    from swatches.errors import InputError
    from swatches.reference import cards_pdf, sheet_pdf
    from swatches.safe_write import write_whole

    if sheet is not None and cards is not None:
        raise InputError(
            "--sheet and --cards", expected="one of the two", got="both", next_step="Write them one after the other"
        )
    kind, next_step = (
        ("sheet", "measure its bar") if sheet is not None else ("cards", "measure the bar and cut them apart")
    )
    if out is None:
        raise InputError("--out", expected=f"a file for the {kind}", got="nothing", next_step=f"Add --out {kind}.pdf")
    name = {"a4": "A4", "letter": "Letter"}[(sheet or cards or "").lower()]
    write_whole(out, sheet_pdf(name) if sheet is not None else cards_pdf(name), what="--out")
    answer = {kind: absolute(out), "paper": name, "files": [absolute(out)]}
    say(as_json, answer, f"{out}: print at 100 %, then {next_step}")


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


def _two_lengths(text: str | None, what: str) -> tuple[float, float] | None:
    from swatches.errors import InputError
    from swatches.units import length

    if text is None:
        return None
    parts = text.split(",")
    if len(parts) != 2:
        raise InputError(what, expected="two lengths", got=repr(text), next_step="Write them like 18mm,24mm")
    first, second = (length(part, what=what, minimum_mm=0.0).mm for part in parts)
    return first, second
