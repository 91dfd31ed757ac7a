"""``mockup stash``: all the cloth that a person has, or thinks of buying."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import FILE, LENGTH, OUT_FILE, FiniteRange
from ui.commands.terminal import absolute, say, with_json

if TYPE_CHECKING:
    from swatches.fabric import Fabric
    from swatches.stash import Stash


@click.group("stash")
def stash() -> None:
    """Keep your cloth: swatches, remnants and what is known of them."""


def in_folder(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the option ``--data``, passed on as ``data``."""
    kind = click.Path(path_type=Path, file_okay=False)
    return click.option("--data", type=kind, help="Folder of the stash; without it, your own.")(command)


@stash.command("add")
@click.argument("source", type=click.Path(path_type=Path), metavar="FABRIC.json|'#rrggbb'")
@click.option("--name", default="", help="What you call the cloth.")
@click.option("--not-owned", is_flag=True, help="You think of buying it.")
@in_folder
@with_json
def add(source: Path, name: str, not_owned: bool, data: Path | None, as_json: bool) -> None:
    """Add a cloth: a fabric.json that mockup swatch wrote, or a plain colour.

    Remnants of any shape come with a fabric.json of 'mockup swatch --pieces': the outline is seen in the photo, or is
    the one of --outline. A box of --area gives none.
    """
    from dataclasses import replace

    from mockup import journey
    from swatches.fabric_file import read_fabric
    from swatches.photo import read_photo

    tile = None
    if str(source).startswith("#"):
        fabric = replace(journey.plain_fabric(str(source), name), id="")
    else:
        fabric = read_fabric(source)
        folder = source if source.is_dir() else source.parent
        if fabric.texture is not None and fabric.texture.file:
            tile = read_photo(folder / Path(fabric.texture.file).name, what="tile of the cloth").rgb8
    fabric = replace(fabric, name=name or fabric.name, owned=not not_owned)
    with _open(data) as opened:
        added = opened.add(fabric, tile)
    say(as_json, {"fabric": _row(added)}, f"{added.name} is in the stash; commands call it {added.id}")


@stash.command("list")
@click.option("--words", default="", help="Words in name, colour, kind or note.")
@click.option("--colour", metavar="'#rrggbb'", help="Near this colour.")
@click.option(
    "--within", type=FiniteRange(0, 100), default=12.0, show_default=True, help="Largest difference, CIEDE2000."
)
@click.option("--fibre", default="", help="Holds this fibre.")
@click.option("--length", type=LENGTH, help="At least so long.")
@click.option("--width", type=LENGTH, help="Usable at least so wide.")
@click.option("--owned/--not-owned", default=None, help="In the cupboard, or not bought yet.")
@in_folder
@with_json
def list_(
    words: str, colour: str | None, within: float, fibre: str, length: Any, width: Any, owned: bool | None,
    data: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """List the cloth that fits; what is not known of a cloth does not hide it, but puts it last."""
    from swatches.colour import hex_to_lab
    from swatches.stash_search import Wish, search

    wish = Wish(
        words=words,
        colour=None if colour is None else hex_to_lab(colour),
        within=within,
        fibre=fibre,
        length_mm=None if length is None else length.mm,
        width_mm=None if width is None else width.mm,
        owned=owned,
    )
    with _open(data) as opened:
        found = search(opened.fabrics(), wish)
    rows = [{**_row(m.fabric), "difference": m.difference, "unknown": list(m.unknown)} for m in found]
    lines = [_called(m.fabric) + (f" (not known: {', '.join(m.unknown)})" if m.unknown else "") for m in found]
    say(as_json, {"fabrics": rows}, "\n".join(lines) or "Nothing in the stash fits.")


@stash.command("show")
@click.argument("fabric_id", metavar="FABRIC")
@in_folder
@with_json
def show(fabric_id: str, data: Path | None, as_json: bool) -> None:
    """Show everything that is known of one cloth."""
    from swatches.fabric_file import fabric_json
    from ui.commands.fabric_fields import cloth_lines

    with _open(data) as opened:
        fabric = opened.fabric(fabric_id)
    record = json.loads(fabric_json(fabric))
    say(as_json, {"fabric": record}, "\n".join(cloth_lines(fabric)))


@stash.command("edit")
@click.argument("fabric_id", metavar="FABRIC")
@click.argument("changes", nargs=-1, required=True, metavar="FIELD=VALUE…")
@in_folder
@with_json
def edit(fabric_id: str, changes: tuple[str, ...], data: Path | None, as_json: bool) -> None:
    """Write down what you know of a cloth.

    Fields: name, note, owned, weight, fibre, usable_width, listed_width, length_left, thickness, structure, nap,
    prewashed, bleeds, faces_alike, show_through, face_photographed, stretch_width, stretch_length, shrinkage_width,
    shrinkage_length, price_per_metre, care.wash, care.bleach, care.dry, care.iron and care.professional. Weight is
    in g/m² unless you say otherwise ('6 oz/yd²', '9 oz per linear yard', '42 g for 20 × 30 cm'), fibre like
    '80 % cotton, 20 % linen', lengths are as you type them, yes or no as words; FIELD= without a value: not known.
    """
    from swatches.record import scale_note
    from ui.commands.fabric_fields import changed

    with _open(data) as opened:
        fabric = opened.change(fabric_id, lambda now: changed(now, changes), said=f"edit {fabric_id}")
    pairs = ((field.strip(), text) for field, _, text in (c.partition("=") for c in changes))
    notes = [note for note in (scale_note(field, text) for field, text in pairs) if note]
    answer = {"fabric": _row(fabric), "warnings": notes}
    say(as_json, answer, "\n".join([f"{fabric.id}: {', '.join(changes)}", *notes]))


@stash.command("use")
@click.argument("fabric_id", metavar="FABRIC")
@click.option("--length", type=LENGTH, help="Length that was cut from the roll.")
@click.option("--remnant", default="", help="Remnant that pieces were cut from.")
@click.option("--lay", type=FILE, help="lay.json whose placements on the remnant were cut.")
@click.option("--pieces", type=FILE, help="The pieces of that lay.")
@in_folder
@with_json
def use(
    fabric_id: str, length: Any, remnant: str, lay: Path | None, pieces: Path | None, data: Path | None, as_json: bool
) -> None:
    """Use up cloth after cutting: a length from the roll, or the pieces of a lay from a remnant."""
    from swatches.errors import InputError

    on_roll, on_remnant = length is not None, bool(remnant and lay and pieces)
    if on_roll == on_remnant:
        raise InputError(
            "what was cut",
            expected="--length, or --remnant with --lay and --pieces",
            got="both" if on_roll else "neither",
            next_step="Say one of them",
        )
    with _open(data) as opened:
        if on_roll:
            fabric = opened.use_length(fabric_id, length.mm)
        else:
            assert lay is not None and pieces is not None  # noqa: S101, PT018 - seen to above
            fabric = opened.use_remnant(fabric_id, remnant, _cut_outlines(lay, pieces, remnant))
    left = [r.name for r in fabric.remnants]
    rest = fabric.length_left.value
    said = "" if rest is None or not on_roll else f"{rest / 1000:.2f} m are left on the roll; "
    remnants = f"remnants: {', '.join(left)}" if left else "no remnants"
    say(as_json, {"fabric": _row(fabric), "remnants": left}, f"{fabric.id}: {said}{remnants}")


@stash.command("remove")
@click.argument("fabric_id", metavar="FABRIC")
@in_folder
@with_json
def remove(fabric_id: str, data: Path | None, as_json: bool) -> None:
    """Take a cloth out; undo brings it back."""
    with _open(data) as opened:
        opened.remove(fabric_id)
    say(as_json, {"removed": fabric_id}, f"{fabric_id} removed; mockup stash undo brings it back")


@stash.command("undo")
@in_folder
@with_json
def undo(data: Path | None, as_json: bool) -> None:
    """Undo the last change."""
    with _open(data) as opened:
        said = opened.undo()
    say(as_json, {"undone": said}, f"Undone: {said}" if said else "There is nothing to undo.")


@stash.command("export")
@click.option("--out", type=OUT_FILE, required=True, help="One zip with all cloth and its pictures.")
@in_folder
@with_json
def export(out: Path, data: Path | None, as_json: bool) -> None:
    """Write all cloth into one zip."""
    from swatches.stash_zip import export_stash
    from swatches.words import counted

    with _open(data) as opened:
        path = export_stash(opened, out)
        count = len(opened.fabrics())
    say(
        as_json,
        {"zip": absolute(path), "fabrics": count, "files": [absolute(path)]},
        f"{path}: {counted(count, 'cloth')}",
    )


@stash.command("import")
@click.argument("zip_file", type=FILE, metavar="ZIP")
@in_folder
@with_json
def import_(zip_file: Path, data: Path | None, as_json: bool) -> None:
    """Take in the cloth of a zip; ids that are taken get a number."""
    from swatches.stash_zip import import_stash

    with _open(data) as opened:
        found = import_stash(opened, zip_file)
    say(
        as_json,
        {"fabrics": [_row(f) for f in found]},
        "\n".join(map(_called, found)) or "There is no cloth in it.",
    )


def _open(data: Path | None) -> Stash:
    from swatches.stash import Stash, default_folder

    return Stash(data if data is not None else default_folder())


def _called(fabric: Fabric) -> str:
    """The word that commands take for a cloth, and its name where that is another."""
    return fabric.id if fabric.name in ("", fabric.id) else f"{fabric.id}: {fabric.name}"


def _row(fabric: Fabric) -> dict[str, Any]:
    return {
        "id": fabric.id,
        "name": fabric.name,
        "colour_lab": list(fabric.colour.lab),
        "colour_word": fabric.colour.word,
        "kind": str(fabric.kind),
        "owned": fabric.owned,
        "usable_width_mm": fabric.usable_width.value,
        "length_left_mm": fabric.length_left.value,
        "weight_g_m2": fabric.weight.value,
        "remnants": [r.name for r in fabric.remnants],
    }


def _cut_outlines(lay: Path, pieces: Path, remnant: str) -> list[list[tuple[float, float]]]:
    """Outlines of the placed pieces on one remnant, in the remnant's own mm."""
    from mockup.lay.lay import laid
    from mockup.lay.lay_file import read_placements
    from swatches.errors import InputError
    from ui.commands.lay import read_any_pieces

    by_name = {piece.name: piece for piece in read_any_pieces(pieces)}
    mine = [p for p in read_placements(lay) if p.remnant == remnant]
    if not mine or any(p.piece not in by_name for p in mine):
        raise InputError(
            "--lay",
            expected=f"a lay of these pieces on '{remnant}'",
            got=lay.name,
            next_step="Give the lay that was cut",
        )
    return [[(x, y) for x, y in laid(by_name[p.piece], p).exterior.coords[:-1]] for p in mine]
