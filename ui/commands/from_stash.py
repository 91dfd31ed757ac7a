"""``mockup from-stash``: what could be made from the cloth that there is."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import OUT_FOLDER, PROJECT
from ui.commands.terminal import absolute, forbid, say, terminal_job, whole_folder, with_json

if TYPE_CHECKING:
    from mockup.project import Project
    from mockup.proposals.line_range import Spot

_WRITE_DOWN = "Measure what is left, write it down (mockup stash edit) and assign the cloth from the stash"
_THERE = {True: "there is", False: "there is in remnants"}


@click.command("from-stash")
@click.argument("project", type=PROJECT)
@click.option("--line", "line_id", default="", help="Only ask how high and how low this line may run.")
@click.option("--choice", default="A", show_default=True, help="For these questions: which cloth is where.")
@click.option("--enough", "ask_enough", is_flag=True, help="Only ask whether --choice can be cut, and what would help.")
@click.option("--sizes", "ask_sizes", is_flag=True, help="Only ask which sizes of the pattern can be cut.")
@click.option("--piece", default="", help="Only ask which remnants make this piece, such as pocket.")
@click.option("--remnants-only", is_flag=True, help="Do not touch what is on the roll.")
@click.option("--count", type=click.IntRange(1, 12), default=6, show_default=True, help="Stop after so many designs.")
@click.option(
    "--time", "time_s", type=click.FloatRange(1, 3600), default=60, show_default=True, help="Seconds to search."
)
@click.option("--seed", type=int, default=0, show_default=True, help="Start of the random choices.")
@click.option("--out", type=OUT_FOLDER, help="Folder for the painted designs and their lays.")
@with_json
def from_stash(
    project: Path, line_id: str, choice: str, ask_enough: bool, ask_sizes: bool, piece: str, remnants_only: bool,
    count: int, time_s: float, seed: int,
    out: Path | None, as_json: bool,
) -> None:  # fmt: skip
    """Find lines and cloth for which every panel of PROJECT can be cut from its cloth, or how far one line may move.

    Exit code 1 where nothing was found.
    """
    from mockup.files import project_file
    from mockup.journey import stash_designs
    from mockup.lay.grain import held
    from swatches.errors import InputError

    loaded = project_file.load(project)
    roll = not remnants_only
    asked = [
        name
        for name, on in (("--line", line_id), ("--enough", ask_enough), ("--sizes", ask_sizes), ("--piece", piece))
        if on
    ]
    if len(asked) > 1:
        raise InputError("question", expected="one at a time", got=" and ".join(asked), next_step="Ask them in turn")
    if ask_enough or ask_sizes or piece:
        letter = choice.upper()
        if ask_enough:
            _enough(loaded, project, letter, roll, time_s, seed, out, as_json)
        elif ask_sizes:
            _sizes(loaded, project, letter, roll, seed, as_json)
        else:
            _remnants(loaded, project, letter, piece, roll, seed, as_json)
        return
    if line_id:
        _amounts_known(loaded, choice.upper(), roll)
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
    short = "" if result.short is None else result.short.said(names)
    answer = {"designs": rows, "short": short, "searched": result.said, "seconds": round(result.seconds, 1)}
    answer["files"] = [absolute((out or Path()) / p) for p in written]
    if not rows:
        lines = [f"No design was found that can be cut. {short}".strip()]
    used = {f for r in rows for f in r["shares"]}
    lines += [f"{f.name}: {w}" for f in loaded.fabrics if f.id in used for w in held(f)]
    say(as_json, answer, "\n".join([*lines, result.said]))
    if not rows:
        forbid()


def _not_written_down(loaded: Project, letter: str, roll: bool) -> dict[str, str]:
    """Id → name of the cloths of a choice of which there is neither a width with a length nor a remnant."""
    from mockup.journey import find

    used = set(find(loaded, "colourway", letter).fabrics.values())
    silent = [
        f
        for f in loaded.fabrics
        if f.id in used and f.owned and not f.remnants and not (roll and f.usable_width.value and f.length_left.value)
    ]
    return {f.id: f.name for f in silent}


def _amounts_known(loaded: Project, letter: str, roll: bool) -> None:
    """Refuse a question that every cloth must be measured for, before the search.

    Raises:
        InputError: nothing is written down of a cloth.
    """
    from swatches.errors import InputError

    silent = _not_written_down(loaded, letter, roll)
    if silent:
        raise InputError(
            f"cloth of choice {letter}",
            expected="remnants of each cloth" if not roll else "width and length, or remnants, of each cloth",
            got="nothing written down of " + " and ".join(f"'{name}'" for name in silent.values()),
            next_step=_WRITE_DOWN,
        )


def _enough(
    loaded: Project, folder: Path, letter: str, roll: bool, time_s: float, seed: int, out: Path | None, as_json: bool
) -> None:
    from mockup.journey import stash_designs
    from mockup.split.words import tenths

    with terminal_job() as job, contextlib.ExitStack() as stack:
        target = stack.enter_context(whole_folder(out)) if out is not None else None
        found = stash_designs.enough_cloth(loaded, folder, letter, roll=roll, time_s=time_s, seed=seed, job=job)
        written = [] if target is None else stash_designs.write_lays(loaded, folder, letter, found, target, roll=roll)
    names = {f.id: f.name for f in loaded.fabrics}
    files = [absolute((out or Path()) / p.name) for p in written]
    answer = {
        "choice": letter,
        "enough": not found.short,
        "lays": {fabric: _lay(lay) for fabric, lay in found.lays.items()},
        "suggestions": [
            {
                "kind": s.kind,
                "fabric": s.fabric,
                "text": s.text,
                "lays": {fabric: _lay(lay) for fabric, lay in s.lays.items()},
            }
            for s in found.suggestions
        ],
        "files": files,
    }
    lines = []
    for fabric, lay in found.lays.items():
        short = "" if lay.short_mm is None else f" Short by {tenths(lay.short_mm)}."
        silent = fabric in _not_written_down(loaded, letter, roll)
        said = (
            f"nobody has written down how much of it {_THERE[roll]}. {_WRITE_DOWN}."
            if silent
            else f"{lay.proof}{short}"
        )
        lines.append(f"{names[fabric]}: {said}")
    lines += [f"What would help: {s.text}" for s in found.suggestions]
    say(as_json, answer, "\n".join(lines))
    if found.short:
        forbid()


def _sizes(loaded: Project, folder: Path, letter: str, roll: bool, seed: int, as_json: bool) -> None:
    from mockup.journey import stash_designs

    with terminal_job() as job:
        found = stash_designs.sizes_that_fit(loaded, folder, letter, roll=roll, seed=seed, job=job)
    rows = [{"size": size, "answer": str(fits.answer), "proof": fits.proof} for size, fits in found.items()]
    say(
        as_json, {"choice": letter, "sizes": rows}, "\n".join(f"{r['size']}: {r['answer']}. {r['proof']}" for r in rows)
    )
    if all(r["answer"] != "yes" for r in rows):
        forbid()


def _remnants(loaded: Project, folder: Path, letter: str, piece: str, roll: bool, seed: int, as_json: bool) -> None:
    from mockup.journey import stash_designs

    with terminal_job() as job:
        found = stash_designs.remnants_for(loaded, folder, letter, piece, roll=roll, seed=seed, job=job)
    names = {f.id: f.name for f in loaded.fabrics}
    rows = [{"fabric": fabric, "remnant": remnant, "lay": _lay(lay)} for fabric, remnant, lay in found]
    lines = [f"{names[r['fabric']]}, {r['remnant']}: {r['lay']['answer']}" for r in rows]
    none = "No remnant is written down, and no roll with its width and length"
    if not roll:
        none = "No remnant is written down"
    nothing = f"{none}: nothing can be said of '{piece}'. {_WRITE_DOWN}."
    say(as_json, {"piece": piece, "remnants": rows}, "\n".join(lines) or nothing)
    if all(r["lay"]["answer"] != "yes" for r in rows):
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
