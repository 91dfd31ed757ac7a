"""``mockup from-stash``: what could be made from the cloth that there is."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import OUT_FOLDER, PROJECT
from ui.commands.terminal import absolute, forbid, say, terminal_job, whole_folder, with_json

if TYPE_CHECKING:
    from mockup.proposals.line_range import Spot


@click.command("from-stash")
@click.argument("project", type=PROJECT)
@click.option("--line", "line_id", default="", help="Only ask how high and how low this line may run.")
@click.option(
    "--choice", default="A", show_default=True, help="With --line: the choice that says which cloth is where."
)
@click.option("--remnants-only", is_flag=True, help="Do not touch what is on the roll.")
@click.option("--count", type=click.IntRange(1, 12), default=6, show_default=True, help="Stop after so many designs.")
@click.option(
    "--time", "time_s", type=click.FloatRange(1, 3600), default=60, show_default=True, help="Seconds to search."
)
@click.option("--seed", type=int, default=0, show_default=True, help="Start of the random choices.")
@click.option("--out", type=OUT_FOLDER, help="Folder for the painted designs and their lays.")
@with_json
def from_stash(
    project: Path, line_id: str, choice: str, remnants_only: bool, count: int, time_s: float, seed: int,
    out: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Find lines and cloth for which every panel of PROJECT can be cut from its cloth, or how far one line may move.

    Exit code 1 where nothing was found.
    """
    from mockup.files import project_file
    from mockup.journey import stash_designs

    loaded = project_file.load(project)
    roll = not remnants_only
    if line_id:
        with terminal_job() as job:
            found = stash_designs.how_far(loaded, project, line_id, choice.upper(), roll=roll, seed=seed, job=job)
        answer = {
            "line": line_id,
            "highest_mm": None if found.highest is None else found.highest.up_mm,
            "lowest_mm": None if found.lowest is None else found.lowest.up_mm,
            "step_mm": found.step_mm,
            "highest": _spot(found.highest),
            "lowest": _spot(found.lowest),
            "beyond_high": _spot(found.beyond_high),
            "beyond_low": _spot(found.beyond_low),
            "looked_at_mm": list(found.looked_at),
        }
        if found.highest is None or found.lowest is None:
            say(as_json, answer, "At no position that was tried can all pieces be cut.")
            forbid()
        else:
            text = f"From {found.lowest.up_mm:+g} mm to {found.highest.up_mm:+g} mm from where it is (up is +)."
            say(as_json, answer, text)
        return
    with terminal_job() as job, contextlib.ExitStack() as stack:
        folder = stack.enter_context(whole_folder(out)) if out is not None else None
        result = stash_designs.from_stash(loaded, project, roll=roll, count=count, time_s=time_s, seed=seed, job=job)
        written = []
        if folder is not None:
            paths = stash_designs.write_designs(loaded, project, result.designs, folder, roll=roll, job=job)
            written = [path.relative_to(folder) for path in paths]
    names = {f.id: f.name for f in loaded.fabrics}
    rows: list[dict[str, Any]] = []
    for design in result.designs:
        letter = design.colourway.letter
        rows.append(
            {
                "letter": letter,
                "family": design.family,
                "position_mm": design.position_mm,
                "fabrics": dict(design.colourway.fabrics),
                "shares": design.shares,
                "left_over_mm2": design.left_over_mm2,
                "lays": {fabric: _lay(lay) for fabric, lay in design.fits.lays.items()},
                "files": [absolute((out or Path()) / p) for p in written if p.name.startswith(f"{letter}-")],
            }
        )
    lines = [
        f"{r['letter']}  {r['family']} at {r['position_mm']:g} mm: "
        + ", ".join(f"{names[f]} {100 * s:.0f} %" for f, s in sorted(r["shares"].items(), key=lambda i: -i[1]))
        for r in rows
    ]
    answer = {"designs": rows, "searched": result.said, "seconds": round(result.seconds, 1)}
    answer["files"] = [absolute((out or Path()) / p) for p in written]
    say(as_json, answer, "\n".join([*lines, result.said]))
    if not rows:
        forbid()


def _spot(spot: Spot | None) -> dict[str, Any] | None:
    if spot is None:
        return None
    return {
        "up_mm": spot.up_mm,
        "answer": str(spot.fits.answer),
        "proof": spot.fits.proof,
        "lines": {line.id: line.start.distance_mm for line in spot.lines},
        "lays": {fabric: _lay(lay) for fabric, lay in spot.fits.lays.items()},
    }


def _lay(lay: Any) -> dict[str, Any]:
    from mockup.lay.lay_file import lay_json

    return lay_json(lay)
