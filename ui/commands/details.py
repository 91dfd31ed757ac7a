"""``mockup detail``: what is sewn into the garment already, so that lines are warned of it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from ui.commands.kinds import PROJECT
from ui.commands.line_shapes import two_lengths
from ui.commands.terminal import say, with_json


@click.group("detail")
def detail() -> None:
    """Mark darts, pleats, pockets and openings inside a panel, so that lines are warned of them.

    Darts of the project's pattern pieces need no mark.
    """


@detail.command("add")
@click.argument("project", type=PROJECT)
@click.argument("kind", type=click.Choice(("dart", "pleat", "pocket", "closure")))
@click.option("--on", "side", type=click.Choice(("front", "back")), default="front", show_default=True, help="Side.")
@click.option(
    "--at", "places", multiple=True, metavar="ACROSS,UP", help="A place of it: from the centre line, and above the hem;"
    " from a dart's opening to its tip; repeatable.",
)  # fmt: skip
@click.option("--wearers", type=click.Choice(("left", "right")), help="Only on this side of the wearer; else on both.")
@with_json
def add(project: Path, kind: str, side: str, places: tuple[str, ...], wearers: str | None, as_json: bool) -> None:
    """Mark a dart, pleat, pocket or closure of PROJECT by a stroke over it."""
    from mockup.files import project_file
    from mockup.journey.sewn_in import add_detail
    from mockup.stylelines import edges
    from mockup.stylelines.panels import primary_views
    from swatches.errors import InputError

    loaded = project_file.load(project)
    view = next((v for v in primary_views(loaded.views) if v.side == side), None)
    if view is None:
        raise InputError("--on", expected="a side that has a picture", got=side, next_step="Add its picture first")
    x, foot, _, _ = edges.body_box(view)
    sign = edges.left_sign(view) * (-1.0 if wearers == "right" else 1.0)
    spots = [two_lengths(text, "--at") for text in places]
    points = [edges.mm_to_shares(view, (x + sign * across, foot + up)) for across, up in spots]
    new = add_detail(loaded, side, kind, points, both=wearers is None)
    saved = project_file.save(new, project)
    rows = [_row(d) for d in saved.details if d not in loaded.details]
    say(as_json, {"details": rows, "revision": saved.revision}, "\n".join(_text(r) for r in rows))


@detail.command("list")
@click.argument("project", type=PROJECT)
@with_json
def list_details(project: Path, as_json: bool) -> None:
    """List what is marked in PROJECT, and the darts of its pattern pieces."""
    from mockup.files import project_file
    from mockup.journey.sewn_in import with_darts

    rows = [_row(d) for d in with_darts(project_file.load(project), project).details]
    none = "Nothing is marked; mark a dart with: mockup detail add"
    say(as_json, {"details": rows}, "\n".join(_text(r) for r in rows) or none)


@detail.command("remove")
@click.argument("project", type=PROJECT)
@click.argument("detail_id", metavar="DETAIL")
@with_json
def remove(project: Path, detail_id: str, as_json: bool) -> None:
    """Take the mark DETAIL away."""
    from mockup.files import project_file
    from mockup.journey.sewn_in import remove_detail

    saved = project_file.save(remove_detail(project_file.load(project), detail_id), project)
    answer = {"removed": detail_id, "details": [_row(d) for d in saved.details], "revision": saved.revision}
    say(as_json, answer, f"{detail_id} removed, {len(saved.details)} left")


def _row(item: Any) -> dict[str, Any]:
    return {
        "id": item.id,
        "kind": item.kind,
        "name": item.word,
        "side": item.side,
        "points": [list(p) for p in item.points],
        "marked": item.id.startswith(("detail-", "drawn-")),
    }


def _text(row: dict[str, Any]) -> str:
    return f"{row['id']}  {row['name']}, {row['side']}{'' if row['marked'] else ' (of the pattern)'}"
