"""``mockup lay``: how the pieces lie on a width or on scraps, and how much to buy."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import FILE, LENGTH, OUT_FOLDER, PROJECT, FiniteRange, LengthKind
from ui.commands.lay_asked import Asked, fits_scraps, one_cloth, records, repeat_of, sold_by_yard, unit_of
from ui.commands.lay_table import sold_length, table
from ui.commands.terminal import absolute, forbid, say, terminal_job, whole_folder, with_json

if TYPE_CHECKING:
    from mockup.lay.lay import Lay, LayPiece, Scrap
    from swatches.job import Job

PRICED = ("metre", "yard")
OUTLINES = ".json"  # a list of outlines; any other file is of pattern pieces, or is refused as such
SECONDS = FiniteRange(0, 3600)


@click.command("lay")
@click.argument("pieces", type=FILE)
@click.option("--width", type=LengthKind(1.0, 10_000.0), help="Usable width of the cloth, such as 140cm.")
@click.option("--widths", type=click.Choice(["metric", "inch", "all"]), help="A table over the usual widths instead.")
@click.option("--scraps", type=FILE, help="JSON list of the scraps to lay on, instead of a width.")
@click.option("--fabric", help="Lay only the pieces of this cloth; without it, every cloth is laid on its own.")
@click.option("--clearance", type=LENGTH, default="0", show_default=True, help="Least distance between pieces.")
@click.option("--border", type=LENGTH, default="0", show_default=True, help="Least distance to the cloth's edges.")
@click.option(
    "--selvedges",
    type=LENGTH,
    default="0",
    show_default=True,
    help="Both selvedges together, taken off a width as sold.",
)
@click.option(
    "--folded", is_flag=True, help="Fold the cloth lengthwise: halves on the fold, pairs through both layers."
)
@click.option("--one-way", is_flag=True, help="All pieces must point one way (nap, or a print with an up).")
@click.option(
    "--cross-grain",
    "cross",
    multiple=True,
    metavar="PIECE",
    help="Piece that may lie across the grain; the answer says so where one does.",
)
@click.option(
    "--bias", multiple=True, metavar="PIECE", help="Piece that may lie on the bias; the answer says so where one does."
)
@click.option("--knit", is_flag=True, help="The cloth is a knit: nothing may lie off the grain.")
@click.option("--project", type=PROJECT, help="Garment that knows these cloths: a knit or a one-way cloth is laid so.")
@click.option("--repeat", metavar="ACROSSxALONG", help="Repeat of a stripe or check, such as 0x6cm.")
@click.option("--match", "seams", multiple=True, metavar="SEAM", help="Prints meet here: front:side=back:side.")
@click.option("--shrinkage", type=float, default=0.0, show_default=True, help="Percent lengthwise to allow for.")
@click.option("--price", type=FiniteRange(0), help="Of a metre or a yard; see --shop.")
@click.option(
    "--shop",
    type=click.Choice(PRICED),
    help="The shop sells by the metre, in steps of 10 cm, or by the yard, in eighths; else as --width is typed.",
)
@click.option(
    "--time", "time_s", type=SECONDS, default=10, show_default=True, help="Seconds to search, all cloths together."
)
@click.option("--seed", type=int, default=0, show_default=True, help="Start of the random choices.")
@click.option("--out", type=OUT_FOLDER, help="Folder for lay.json and the lay plan as SVG and PDF.")
@with_json
def lay(
    pieces: Path, width: Any, widths: str | None, scraps: Path | None, fabric: str | None, clearance: Any, border: Any,
    selvedges: Any, folded: bool, one_way: bool, cross: tuple[str, ...], bias: tuple[str, ...], knit: bool,
    project: Path | None, repeat: str | None, seams: tuple[str, ...], shrinkage: float, price: float | None,
    shop: str | None, time_s: float, seed: int, out: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Lay PIECES (JSON list, or SVG) on cloth of one width, as short as can be found, or on scraps.

    Pieces of different cloths are laid apart. Lengths are said, and drawn on the plan, in the unit of --width.

    For programs, a placement in the JSON means: mirror about the outline's own y axis if mirrored, turn
    counter-clockwise by the angle about (0, 0), move by x, y; mm, y up. On a width, x runs across the cloth from one
    selvedge and y along it; on folded cloth, x from the fold.
    """
    from mockup.lay.exact import off_grain
    from mockup.lay.grain import refuse_off_grain
    from mockup.lay.lay_file import lay_json, read_scraps

    one_cloth(width, widths, scraps)
    if scraps is not None:
        fits_scraps(folded=folded, selvedges=selvedges.mm > 0, price=price is not None, shrinkage=shrinkage != 0)
    cloths = _chosen(_read(pieces, on_fold=folded, seams=seams), fabric, on_scraps=scraps is not None)
    asked = Asked(
        clearance.mm, border.mm, one_way, repeat_of(repeat), time_s, seed, folded, shrinkage,
        sold_by_yard(shop, width, widths), price, unit_of(width), records(project, cloths),
    )  # fmt: skip
    wanted = _turned(tuple(p for mine in cloths.values() for p in mine), cross, bias, knit)
    by_name = {p.name: p for p in wanted}
    cloths = {name: tuple(by_name[p.name] for p in mine) for name, mine in cloths.items()}
    for name, known in asked.known.items():
        refuse_off_grain(known, cloths[name])
    if widths is not None:
        table(cloths, widths, selvedges.mm, asked, as_json)
        return
    usable = 0.0 if width is None else width.mm - selvedges.mm
    if len(cloths) > 1:
        found, drawn, answer, text = _each(cloths, usable, asked)
    else:
        name = next(iter(cloths))
        asked = asked.on(name)
        cloth = () if scraps is None else tuple(_as_asked(scrap, asked) for scrap in read_scraps(scraps))
        with terminal_job() as job:
            found = _laid(wanted, cloth, usable, asked, job)
        drawn = cloth or _drawn(found, wanted, usable, asked)
        answer = lay_json(found) | _bought(found, asked)
        off = off_grain(by_name, {s.name: s for s in drawn}, found.placements)
        answer["warnings"] = [*asked.words(name), *off]
        text = "\n".join([_sentence(found, answer, asked), *answer["warnings"]])
    if out is not None:
        answer["files"] = _written(out, answer, found, wanted, drawn, pieces.stem, asked)
    say(as_json, answer, text)
    if str(found.answer) != "yes":
        forbid()


def _read(path: Path, *, on_fold: bool, seams: Sequence[str]) -> dict[str, tuple[LayPiece, ...]]:
    """Read the pieces of a lay by their cloth; a JSON list is of one."""
    from mockup.lay.need import lay_pieces, matched
    from mockup.lay.several import UNNAMED, by_cloth
    from ui.commands.pieces import read_any

    if path.suffix.lower() == OUTLINES:
        return {UNNAMED: read_any_pieces(path, on_fold=on_fold, seams=seams)}
    found = read_any(path)
    return by_cloth(found, matched(found, lay_pieces(found, on_fold=on_fold), seams))


def _chosen(
    cloths: dict[str, tuple[LayPiece, ...]], fabric: str | None, *, on_scraps: bool
) -> dict[str, tuple[LayPiece, ...]]:
    """The cloth that was asked for, or all of them."""
    from swatches.errors import InputError

    known = ", ".join(cloths)
    if fabric is not None:
        if fabric not in cloths:
            raise InputError(
                "--fabric", expected=f"a cloth of these pieces: {known}", got=fabric, next_step="Name one of them"
            )
        return {fabric: cloths[fabric]}
    if on_scraps and len(cloths) > 1:
        raise InputError(
            "pieces for scraps",
            expected="pieces of one cloth",
            got=f"pieces of {known}",
            next_step=f"Lay one cloth at a time, such as --fabric '{next(iter(cloths))}'",
        )
    return cloths


def _each(
    cloths: dict[str, tuple[LayPiece, ...]], usable_mm: float, asked: Asked
) -> tuple[Lay, tuple[Scrap, ...], dict[str, Any], str]:
    """Lay every cloth on its own: the answer to all of them, the cloths, the object to print, and the sentences."""
    from mockup.lay.exact import off_grain
    from mockup.lay.lay_file import lay_json
    from mockup.lay.several import on_cloth, together
    from swatches.job import Part

    lays: dict[str, Lay] = {}
    all_drawn: list[Scrap] = []
    rows: list[dict[str, Any]] = []
    lines: list[str] = []
    with terminal_job() as job:
        for k, (name, wanted) in enumerate(cloths.items()):
            mine = replace(asked.on(name), time_s=asked.time_s / len(cloths))
            found = _laid(wanted, (), usable_mm, mine, Part(job, k / len(cloths), (k + 1) / len(cloths)))
            lays[name], drawn = on_cloth(name, found, _drawn(found, wanted, usable_mm, mine))
            all_drawn += drawn
            bought = _bought(found, asked)
            off = off_grain({p.name: p for p in wanted}, {s.name: s for s in drawn}, lays[name].placements)
            warnings = [*asked.words(name), *off]
            one = lay_json(found) | bought
            del one["placements"]  # they stand with those of the other cloths, by the cloth's name
            rows.append({"fabric": name} | one | {"warnings": warnings})
            lines += [f"{name}: {_sentence(found, bought, asked)}", *warnings]
    whole = together(lays)
    answer = lay_json(whole)
    for key in ("buy_mm", "cost"):
        values = [row[key] for row in rows]
        answer[key] = None if None in values else round(sum(values), 2)
    answer["warnings"] = [warning for row in rows for warning in row["warnings"]]
    answer["cloths"] = rows
    if answer["cost"] is not None:
        lines.append(f"All cloths together: {answer['cost']:.2f}.")
    return whole, tuple(all_drawn), answer, "\n".join(lines)


def read_any_pieces(path: Path, *, on_fold: bool = False, seams: Sequence[str] = ()) -> tuple[LayPiece, ...]:
    """Read the pieces of a lay from a JSON list, or from an SVG of pattern pieces with their allowances."""
    from mockup.lay.lay_file import read_lay_pieces
    from mockup.lay.need import lay_pieces, matched
    from swatches.errors import InputError
    from ui.commands.pieces import read_any

    if path.suffix.lower() != OUTLINES:
        found = read_any(path)
        return matched(found, lay_pieces(found, on_fold=on_fold), seams)
    if seams:
        raise InputError(
            "--match",
            expected="pattern pieces with named edges",
            got="a list of outlines",
            next_step='Give each piece its "match" in the list',
        )
    return read_lay_pieces(path)


def _laid(wanted: Sequence[LayPiece], cloth: Sequence[Scrap], usable_mm: float, asked: Asked, job: Job) -> Lay:
    from mockup.lay.folded import lay_folded
    from mockup.lay.lay import Answer, Lay
    from mockup.lay.scraps import lay_on_scraps
    from mockup.lay.strip import lay_on_width

    distances = {"clearance_mm": asked.clearance_mm, "border_mm": asked.border_mm}
    if cloth:
        return lay_on_scraps(wanted, cloth, **distances, time_s=asked.time_s, seed=asked.seed, job=job)
    on_width = lay_folded if asked.folded else lay_on_width
    found = on_width(
        wanted, usable_mm, **distances, nap=asked.nap, repeat_mm=asked.repeat_mm,
        time_s=asked.time_s, seed=asked.seed, job=job,
    )  # fmt: skip
    return found if isinstance(found, Lay) else Lay(Answer.NOT_FOUND, f"{found.reason} {found.advice}.")


def _drawn(found: Lay, wanted: Sequence[LayPiece], usable_mm: float, asked: Asked) -> tuple[Scrap, ...]:
    from mockup.lay.folded import cloths_of
    from mockup.lay.rows import cloth_of

    if asked.folded:
        return cloths_of(found, wanted, usable_mm, border_mm=asked.border_mm, nap=asked.nap, repeat_mm=asked.repeat_mm)
    return (cloth_of(usable_mm, found.length_mm or 1.0, nap=asked.nap, repeat_mm=asked.repeat_mm),)


def _bought(found: Lay, asked: Asked) -> dict[str, Any]:
    from mockup.lay.need import EIGHTH_YARD_MM, STEP_MM, to_buy
    from mockup.lay.widths import YARD_MM

    buy = to_buy(found.length_mm or 0.0, asked.shrinkage, EIGHTH_YARD_MM if asked.by_yard else STEP_MM)
    if found.length_mm is None:
        return {"buy_mm": None, "cost": None}
    cost = None if asked.price is None else round(asked.price * buy / (YARD_MM if asked.by_yard else 1000.0), 2)
    return {"buy_mm": buy, "cost": cost}


def _sentence(found: Lay, answer: dict[str, Any], asked: Asked) -> str:
    from mockup.checks.in_unit import in_unit
    from mockup.split.words import tenths

    text = found.proof
    if found.short_mm is not None:
        text += f" Short by {tenths(found.short_mm)}."
    if found.length_mm is not None:
        text += f" Length: {found.length_mm:.0f} mm, {100 * (found.density or 0):.1f} % of the cloth used."
        text += f" Buy {sold_length(answer['buy_mm'], asked)}" + (
            f", {answer['cost']:.2f}." if answer["cost"] is not None else "."
        )
    return in_unit(text, asked.unit)


def _written(
    out: Path, answer: dict[str, Any], found: Lay, wanted: Sequence[LayPiece], drawn: Sequence[Scrap], title: str,
    asked: Asked,
) -> list[str]:  # fmt: skip
    from mockup.sheets.lay_plan import lay_pdf, lay_svg

    with whole_folder(out) as folder:
        (folder / "lay.json").write_text(json.dumps(answer, indent=2) + "\n", encoding="utf-8")
        if found.placements:
            (folder / "lay.svg").write_text(
                lay_svg(found, wanted, drawn, title=title, unit=asked.unit), encoding="utf-8"
            )
            (folder / "lay.pdf").write_bytes(lay_pdf(found, wanted, drawn, title=title, unit=asked.unit))
    return [absolute(out / name) for name in ("lay.json", "lay.svg", "lay.pdf") if (out / name).exists()]


def _as_asked(scrap: Scrap, asked: Asked) -> Scrap:
    repeat = scrap.repeat_mm if scrap.repeat_mm is not None else asked.repeat_mm
    return replace(scrap, nap=scrap.nap or asked.nap, repeat_mm=repeat)


def _turned(
    wanted: tuple[LayPiece, ...], cross: Sequence[str], bias: Sequence[str], knit: bool
) -> tuple[LayPiece, ...]:
    from mockup.lay.grain import BIAS, CROSS, allow_turns

    return allow_turns(allow_turns(wanted, cross, CROSS, knit=knit), bias, BIAS, knit=knit)
