"""``mockup lay``: how the pieces lie on a width or on scraps."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import FILE, LENGTH, OUT_FOLDER
from ui.commands.terminal import absolute, forbid, say, terminal_job, whole_folder, with_json

if TYPE_CHECKING:
    from mockup.lay.lay import LayPiece, Scrap
    from swatches.errors import Failure


@click.command("lay")
@click.argument("pieces", type=FILE)
@click.option("--width", type=LENGTH, help="Usable width of the cloth, such as 140cm.")
@click.option("--scraps", type=FILE, help="JSON list of the scraps to lay on, instead of a width.")
@click.option("--clearance", type=LENGTH, default="0", show_default=True, help="Least distance between pieces.")
@click.option("--border", type=LENGTH, default="0", show_default=True, help="Least distance to the cloth's edges.")
@click.option("--one-way", is_flag=True, help="All pieces must point one way (nap, or a print with an up).")
@click.option(
    "--time", "time_s", type=click.FloatRange(0, 3600), default=10, show_default=True, help="Seconds to search."
)
@click.option("--seed", type=int, default=0, show_default=True, help="Start of the random choices.")
@click.option("--out", type=OUT_FOLDER, help="Folder for lay.json and a picture of the lay.")
@with_json
def lay(
    pieces: Path, width: Any, scraps: Path | None, clearance: Any, border: Any, one_way: bool, time_s: float, seed: int,
    out: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Lay PIECES (JSON list, or SVG) on cloth of one width, as short as can be found, or on scraps.

    A placement means: mirror about the outline's own y axis if mirrored, turn counter-clockwise by the angle about (0,
    0), move by x, y; mm, y up. On a width, x runs across the cloth from one selvedge and y along it.
    """
    from mockup.lay.exact import off_grain
    from mockup.lay.lay import Answer, Lay
    from mockup.lay.lay_file import lay_json, read_scraps
    from mockup.lay.scraps import lay_on_scraps
    from mockup.lay.strip import cloth_of, lay_on_width
    from mockup.sheets.lay_plan import lay_svg
    from swatches.errors import InputError

    if (width is None) == (scraps is None):
        got = "neither" if width is None else "both"
        raise InputError("cloth", expected="--width or --scraps", got=got, next_step="Add one, such as --width 140cm")
    distances = {"clearance_mm": clearance.mm, "border_mm": border.mm}
    wanted = read_any_pieces(pieces)
    found: Lay | Failure
    cloth: Sequence[Scrap] = ()
    with terminal_job() as job:
        if scraps is not None:
            cloth = tuple(replace(scrap, nap=scrap.nap or one_way) for scrap in read_scraps(scraps))
            found = lay_on_scraps(wanted, cloth, **distances, time_s=time_s, seed=seed, job=job)
        else:
            found = lay_on_width(wanted, width.mm, **distances, nap=one_way, time_s=time_s, seed=seed, job=job)
    if not isinstance(found, Lay):
        found = Lay(Answer.NOT_FOUND, f"{found.reason} {found.advice}.")
    answer = lay_json(found)
    drawn = tuple(cloth) or (cloth_of(width.mm, found.length_mm or 1.0, nap=one_way),)
    warnings = off_grain({p.name: p for p in wanted}, {s.name: s for s in drawn}, found.placements)
    answer["warnings"] = list(warnings)
    if out is not None:
        with whole_folder(out) as folder:
            (folder / "lay.json").write_text(json.dumps(answer, indent=2) + "\n", encoding="utf-8")
            if found.placements:
                plan = lay_svg(found, wanted, drawn, title=pieces.stem)
                (folder / "lay.svg").write_text(plan, encoding="utf-8")
        answer["files"] = [absolute(out / name) for name in ("lay.json", "lay.svg") if (out / name).exists()]
    text = found.proof
    if found.length_mm is not None:
        text += f" Length: {found.length_mm:.0f} mm, {100 * (found.density or 0):.1f} % of the cloth used."
    say(as_json, answer, "\n".join([text, *warnings]))
    if found.answer is not Answer.YES:
        forbid()


def read_any_pieces(path: Path) -> tuple[LayPiece, ...]:
    """Read the pieces of a lay from a JSON list, or from an SVG of pattern pieces with their allowances."""
    from mockup.lay.lay_file import read_lay_pieces
    from mockup.lay.need import lay_pieces
    from ui.commands.pieces import read_any

    if path.suffix.lower() in (".svg", ".dxf"):
        return lay_pieces(read_any(path))
    return read_lay_pieces(path)
