"""``mockup limits`` and ``facts``: the limits of the checks, and what is known of the garment as a whole."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from ui.commands.kinds import PROJECT, FiniteRange
from ui.commands.terminal import say, with_json


@click.command("limits")
@click.argument("project", type=PROJECT)
@click.option("--set", "changed", multiple=True, metavar="NAME=NUMBER", help="A limit of your own; repeatable.")
@click.option("--reset", multiple=True, metavar="NAME", help="A limit that goes back to ours; 'all' for all of them.")
@with_json
def limits(project: Path, changed: tuple[str, ...], reset: tuple[str, ...], as_json: bool) -> None:
    """Show the limits of the checks, each with its source; set some of your own, kept in the project."""
    from mockup.checks.limits import limits as table
    from mockup.files import project_file
    from mockup.journey.knowing import set_limits

    loaded = project_file.load(project)
    wanted: dict[str, float | None] = dict.fromkeys(loaded.limits if "all" in reset else reset)
    wanted |= dict(limit_of(text, "--set") for text in changed)
    if wanted:
        loaded = project_file.save(set_limits(loaded, wanted), project)
    rows = [
        {"name": name, "value": limit.value, "unit": limit.unit, "limits": limit.words, "source": limit.source}
        for name, limit in table(loaded.limits).items()
    ]
    text = [f"{r['name']:<18} {r['value']:>7g} {r['unit']:<11} {r['limits']} ({r['source']})" for r in rows]
    say(as_json, {"limits": rows, "revision": loaded.revision}, "\n".join(text))


@click.command("facts")
@click.argument("project", type=PROJECT)
@click.option(
    "--closure",
    "closures",
    multiple=True,
    metavar="KIND:EDGE:FROM-TO",
    help="Where it opens: zip, buttons or slit, such as zip:centre-back:0-220mm; repeatable. 'none': it is pulled on.",
)
@click.option(
    "--needed-stretch",
    type=FiniteRange(0, 300),
    help="Percent that the pattern counts on across the body; 0 for woven.",
)
@click.option("--ease", multiple=True, metavar="PIECE:EDGE=LENGTH", help="Length that is eased in there; repeatable.")
@with_json
def facts(
    project: Path, closures: tuple[str, ...], needed_stretch: float | None, ease: tuple[str, ...], as_json: bool
) -> None:
    """Say what is known of the garment as a whole: where it opens, how far it must stretch, what is eased in."""
    from dataclasses import asdict

    from mockup.files import project_file
    from mockup.journey.knowing import set_closures, set_ease, set_stretch

    loaded = before = project_file.load(project)
    if closures:
        found = () if closures == ("none",) else tuple(closure_of(text) for text in closures)
        loaded = set_closures(loaded, found)
    if needed_stretch is not None:
        loaded = set_stretch(loaded, needed_stretch)
    if ease:
        loaded = set_ease(loaded, dict(_ease(text) for text in ease))
    if loaded != before:
        loaded = project_file.save(loaded, project)
    known = None if loaded.closures is None else [asdict(c) for c in loaded.closures]
    answer = {
        "closures": known,
        "needed_stretch_percent": loaded.needed_stretch,
        "ease_mm": loaded.ease,
        "revision": loaded.revision,
    }
    opens = "not known" if known is None else "pulled on" if not known else ""
    lines = [f"Opens: {opens}"] if opens else []
    lines += [
        f"Opens: {c['kind']} at the {c['edge']}, {c['start_mm']:g} to {c['end_mm']:g} mm down" for c in known or ()
    ]
    stretch = "not known" if loaded.needed_stretch is None else f"{loaded.needed_stretch:g} %"
    lines += [f"Stretch that the pattern needs across: {stretch}"]
    lines += [f"Eased in at {edge}: {mm:g} mm" for edge, mm in loaded.ease.items()]
    say(as_json, answer, "\n".join(lines))


def limit_of(text: str, option: str) -> tuple[str, float]:
    """Read 'weight-ratio=2'.

    Raises:
        InputError: it is no name, equals sign and number.
    """
    from swatches.errors import InputError

    name, _, number = text.partition("=")
    try:
        return name.strip(), float(number)
    except ValueError as error:
        raise InputError(option, expected="NAME=NUMBER", got=text, next_step="Write it like weight-ratio=2") from error


def closure_of(text: str) -> Any:
    """Read 'zip:centre-back:0-220mm' or 'zip:side-left:5 cm-25 cm'.

    Raises:
        InputError: it is not written so.
    """
    from mockup.project import Closure
    from swatches.errors import InputError
    from swatches.units import length

    parts = text.split(":")
    begin, dash, end = parts[2].partition("-") if len(parts) == 3 else ("", "", "")
    if not dash:
        raise InputError(
            "--closure", expected="KIND:EDGE:FROM-TO", got=text, next_step="Type it like zip:centre-back:0-220mm"
        )
    low, high = (length(part.strip(), what="--closure", minimum_mm=0.0).mm for part in (begin, end))
    return Closure(parts[0].strip(), parts[1].strip(), low, high)


def _ease(text: str) -> tuple[str, float]:
    from swatches.errors import InputError
    from swatches.units import length

    edge, equals, mm = text.rpartition("=")
    if not equals:
        raise InputError("--ease", expected="PIECE:EDGE=LENGTH", got=text, next_step="Type it like sleeve:cap=12mm")
    return edge.strip(), length(mm, what="--ease", minimum_mm=0.0).mm
