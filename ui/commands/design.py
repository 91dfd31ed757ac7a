"""``mockup panels``, ``assign``, ``paint``, ``compare``: cloth on the garment."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from ui.commands.kinds import OUT_FILE, PROJECT
from ui.commands.print_options import laid_prints, light_options, print_options, with_prints
from ui.commands.terminal import absolute, say, terminal_job, with_json


@click.command("panels")
@click.argument("project", type=PROJECT)
@with_json
def panels(project: Path, as_json: bool) -> None:
    """List the panels that the lines make."""
    from mockup import journey
    from mockup.files import project_file
    from mockup.sheets.compare import whole_percents

    loaded = project_file.load(project)
    found = journey.panels_of(loaded)
    rows: list[dict[str, Any]] = []
    known: dict[str, dict[str, Any]] = {}
    for view, members in found.items():
        for p in members:
            if p.id in known:  # a sleeve shows in both views
                known[p.id]["views"].append(view)
                continue
            fabrics = {c.letter: c.fabrics.get(p.id) for c in loaded.colourways}
            rows.append(
                {
                    "id": p.id,
                    "number": p.number,
                    "name": p.name,
                    "view": view,
                    "views": [view],
                    "area": p.area,
                    "side": p.side,
                    "twin": p.twin,
                    "share": p.share,
                    "fabrics": fabrics,
                }
            )
            known[p.id] = rows[-1]
    tenths = whole_percents([r["share"] for r in rows], 1000)
    text = [f"{r['number']:>3}  {r['id']:<18} {n / 10:5.1f} %  {r['name']}" for r, n in zip(rows, tenths, strict=True)]
    say(as_json, {"panels": rows}, "\n".join(text))


@click.command("assign")
@click.argument("project", type=PROJECT)
@click.argument("cloths", nargs=-1, metavar="[PANEL=FABRIC]…")
@click.option("--choice", default="A", show_default=True, help="Letter of the choice; a new one is made.")
@click.option("--name", default="", help="What you call the choice.")
@click.option("--copy", "source", default="", metavar="LETTER", help="Begin with the cloth of this choice.")
@click.option(
    "--swap", "swaps", multiple=True, metavar="PANEL,PANEL", help="Two panels change their cloth; repeatable."
)
@click.option("--leave", multiple=True, metavar="PANEL", help="A panel that is left as it is; repeatable.")
@click.option(
    "--follow",
    type=click.Choice(("none", "sides", "all")),
    default="none",
    show_default=True,
    help="What gets the same cloth too: nothing, the other side's twin, or also front or back of the same name.",
)
@print_options
@with_json
def assign(
    project: Path, cloths: tuple[str, ...], choice: str, name: str, source: str, swaps: tuple[str, ...],
    leave: tuple[str, ...], follow: str, shifts: tuple[str, ...], grains: tuple[str, ...], mirrors: tuple[str, ...],
    as_json: bool,
) -> None:  # fmt: skip
    """Give panels their cloth: PANEL=FABRIC.

    FABRIC is a fabric of the project or of your stash, a fabric.json, or '#rrggbb'. PANEL= without a fabric leaves the
    panel as it is. First a choice is copied, then panels get their cloth, then swaps are made. How a print lies is kept
    in the choice and goes with the panel to its pattern piece.
    """
    from dataclasses import replace

    from mockup import journey
    from mockup.files import project_file
    from mockup.journey.choices import assign_following, copy_choice, swap
    from swatches.errors import InputError

    letter = _letter(choice)
    if not (cloths or source or swaps or leave or name or shifts or grains or mirrors):
        raise InputError(
            "assign", expected="a panel with its cloth", got="nothing", next_step="Type it like front-1=oat"
        )
    loaded = project_file.load(project)
    pairs = [_pair(text) for text in cloths]
    _all_known(loaded, pairs)
    if source:
        loaded, _ = copy_choice(loaded, _letter(source), letter)
    chosen: dict[str, str | None] = {}
    for panel, fabric in pairs:
        if fabric:
            loaded, fabric = _fabric(loaded, project, fabric)
        chosen[panel] = fabric or None
    chosen |= dict.fromkeys(leave)
    loaded = assign_following(loaded, letter, chosen, follow) if chosen else journey.assign(loaded, letter, {})
    for text in swaps:
        one, comma, other = text.partition(",")
        if not comma:
            raise InputError(
                "--swap", expected="two panels with a comma", got=text, next_step="Type it like front-1,front-2"
            )
        loaded = swap(loaded, letter, one.strip(), other.strip(), follow)
    loaded = with_prints(loaded, letter, shifts=shifts, grains=grains, mirrors=mirrors, twins=follow != "none")
    if name:
        loaded = loaded.put_colourway(replace(loaded.colourway(letter), name=name))
    loaded = project_file.save(loaded, project)
    fabrics = dict(loaded.colourway(letter).fabrics)
    answer = {
        "choice": letter,
        "name": loaded.colourway(letter).name,
        "fabrics": fabrics,
        "prints": laid_prints(loaded.colourway(letter)),
        "revision": loaded.revision,
    }
    say(as_json, answer, "\n".join(f"{panel}: {fabric}" for panel, fabric in fabrics.items()))


@click.command("paint")
@click.argument("project", type=PROJECT)
@click.option("--choice", default="A", show_default=True, help="Letter of the choice.")
@click.option("--view", "view_name", default="front", show_default=True, help="Name of the view.")
@click.option("--long-side", type=click.IntRange(16, 20_000), help="Longest side in px; else the view's own size.")
@light_options
@click.option("--out", type=OUT_FILE, required=True, help="The picture, PNG or JPEG.")
@with_json
def paint(
    project: Path, choice: str, view_name: str, long_side: int | None, flare: float | None, printed: bool | None,
    out: Path, as_json: bool,
) -> None:  # fmt: skip
    """Paint one view of a choice with its cloth at true scale."""
    from mockup import journey
    from mockup.files import project_file
    from mockup.journey.painting import read_light

    loaded = project_file.load(project)
    if flare is not None or printed is not None:
        loaded = read_light(loaded, view_name, flare=flare, printed=printed)
    with terminal_job() as job:
        picture = journey.paint_view(loaded, project, _letter(choice), view_name, long_side=long_side, job=job)
    save_picture(out, picture)
    answer = {
        "picture": absolute(out),
        "width_px": picture.shape[1],
        "height_px": picture.shape[0],
        "files": [absolute(out)],
    }
    say(as_json, answer, f"{out}: {picture.shape[1]} × {picture.shape[0]} px")


@click.command("compare")
@click.argument("project", type=PROJECT)
@click.option("--out", type=OUT_FILE, required=True, help="The sheet: PNG, JPEG, or PDF with previews.")
@click.option(
    "--width-px", type=click.IntRange(400, 12_000), default=2400, show_default=True, help="Width of the sheet."
)
@click.option(
    "--seen-as",
    type=click.Choice(("usual", "grey", "protan", "deutan", "tritan")),
    default="usual",
    show_default=True,
    help="In grey, or as viewers blind to red, green or blue see it.",
)
@with_json
def compare(project: Path, out: Path, width_px: int, seen_as: str, as_json: bool) -> None:
    """Show all choices side by side on one lettered sheet, each with its shares and what it takes of each cloth.

    A PDF also shows the sheet in grey and as colour-blind viewers see it, and has everything in words.
    """
    from mockup import journey
    from mockup.files import project_file
    from swatches.safe_write import write_whole

    loaded = project_file.load(project)
    with terminal_job() as job:
        if out.suffix.lower() == ".pdf":
            write_whole(out, journey.compare_document(loaded, project, width_px=width_px, job=job), what="sheet")
        else:
            save_picture(out, journey.compare(loaded, project, width_px=width_px, seen_as=seen_as, job=job))
    letters = [c.letter for c in loaded.colourways]
    answer = {"picture": absolute(out), "choices": letters, "seen_as": seen_as, "files": [absolute(out)]}
    say(as_json, answer, f"{out}: choices {', '.join(letters)}")


def save_picture(out: Path, picture: Any) -> None:
    """Write a picture as the name says: .jpg and .jpeg are JPEG, .png is PNG."""
    from swatches.errors import InputError
    from swatches.photo import write_jpeg, write_png

    ending = out.suffix.lower()
    if ending in (".jpg", ".jpeg"):
        write_jpeg(out, picture)
    elif ending == ".png":
        write_png(out, picture)
    else:
        raise InputError(
            "--out", expected="a name that ends in .png or .jpg", got=out.name, next_step="Change the ending"
        )


def _letter(text: str) -> str:
    from swatches.errors import InputError

    letter = text.strip().upper()
    if not (len(letter) == 1 and letter.isascii() and letter.isalpha()):
        raise InputError("--choice", expected="one letter, A to Z", got=repr(text), next_step="Type it like --choice B")
    return letter


def _pair(text: str) -> tuple[str, str]:
    from swatches.errors import InputError

    panel, equals, fabric = text.partition("=")
    if not equals or not panel:
        raise InputError(
            "PANEL=FABRIC", expected="a panel, =, a fabric", got=text, next_step="Type it like front-1=oat"
        )
    return panel, fabric


def _all_known(loaded: Any, pairs: Sequence[tuple[str, str]]) -> None:
    """Refuse every panel and cloth that is none, all in one answer and before any cloth is taken in."""
    from mockup import journey
    from mockup.journey.known import unknown
    from swatches.errors import InputError, MockupError

    panels = sorted({p.id for members in journey.panels_of(loaded).values() for p in members})
    wrong: dict[str, None] = {}
    for panel, fabric in pairs:
        if panel not in panels:
            wrong[str(unknown("panel", panel, panels))] = None
        try:
            if fabric:
                _read_cloth(loaded, fabric)
        except InputError as error:
            wrong[str(error)] = None
    if wrong:
        raise MockupError(" ".join(wrong))


def _fabric(loaded: Any, project: Path, text: str) -> tuple[Any, str]:
    """Find a fabric of the project, or take in a colour or a fabric file."""
    from mockup import journey

    if any(f.id == text for f in loaded.fabrics):
        return loaded, text
    fabric, tile = _read_cloth(loaded, text)
    if text.startswith("#"):
        same = next((f.id for f in loaded.fabrics if f.texture is None and f.colour.lab == fabric.colour.lab), None)
        if same is not None:
            return loaded, same
    loaded, made = journey.put_fabric(project, loaded, fabric, tile=tile)
    return loaded, made.id


def _read_cloth(loaded: Any, text: str) -> tuple[Any, Any]:
    """The fabric that is meant, and the picture of it that a file has; nothing is taken in yet."""
    from mockup import journey
    from swatches.errors import InputError
    from swatches.fabric_file import read_fabric
    from swatches.photo import read_photo

    own = next((f for f in loaded.fabrics if f.id == text), None)
    if own is not None:
        return own, None
    if text.startswith("#"):
        return journey.plain_fabric(text), None
    path = Path(text)
    if path.exists():
        fabric = read_fabric(path)
        folder = path if path.is_dir() else path.parent
        tile = None
        if fabric.texture is not None and fabric.texture.file:
            tile = read_photo(folder / Path(fabric.texture.file).name, what="tile of the cloth").rgb8
        return fabric, tile
    if path.suffix == ".json" or len(path.parts) > 1:
        raise InputError(
            "cloth",
            expected="a fabric.json, or the folder that holds one",
            got=f"{text}, which is not there",
            next_step="Read the cloth first with: mockup swatch PHOTO --out FOLDER",
        )
    return _of_stash(text) or (journey.find(loaded, "fabric", text), None)


def _of_stash(text: str) -> tuple[Any, Any] | None:
    """A cloth of the person's own stash by its id, and its picture; None where there is no such cloth."""
    from swatches.photo import read_photo
    from swatches.stash import Stash, default_folder

    if not default_folder().is_dir():  # looking makes no stash
        return None
    with Stash(default_folder()) as stash:
        fabric = next((f for f in stash.fabrics() if f.id == text), None)
        if fabric is None:
            return None
        tile = None
        if fabric.texture is not None and fabric.texture.file:
            tile = read_photo(stash.pictures / fabric.texture.file, what="tile of the cloth").rgb8
    return fabric, tile
