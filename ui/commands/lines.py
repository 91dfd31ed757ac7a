"""``mockup line``: style lines, typed as distances."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import ANY_LENGTH, PROJECT
from ui.commands.line_shapes import FORMS, box_row, box_words, place_of, put, resized, shapes_of, sizes
from ui.commands.terminal import say, with_json

if TYPE_CHECKING:
    from mockup.project import Project

_KINDS = ("straight", "arc", "curve", "polyline")
_SIDES = ("front", "back")
_ALLOWANCE_MM = 15.0
_ENCLOSED = {None: "", True: "on top", False: "let in"}


@click.group("line")
def line() -> None:
    """Add, list, move and remove style lines.

    An end is written EDGE:LANDMARK=DISTANCE, where the distance runs along the stitch line from the landmark, such as
    armhole:underarm=104mm, side:hem='4 in', centre-front:neck=0; for a line that is not symmetrical add the wearer's
    side, such as side:underarm:left=60mm.
    """


def ends(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options that say where a line runs."""
    for option in (
        click.option(
            "--on-top/--let-in", default=None, help="What the line encloses is sewn on top, or let into a hole."
        ),
        click.option(
            "--through", multiple=True, metavar="X,Y", help="Point between: shares of half width, and height."
        ),
        click.option("--end", metavar="EDGE:LANDMARK[:SIDE]=DISTANCE", help="Where the line ends."),
        click.option("--start", metavar="EDGE:LANDMARK[:SIDE]=DISTANCE", help="Where the line starts."),
        click.option("--kind", type=click.Choice(_KINDS), help="How the points are joined."),
    ):
        command = option(command)
    return command


@line.command("add")
@click.argument("project", type=PROJECT)
@click.option(
    "--on", "side", type=click.Choice(_SIDES), default="front", show_default=True, help="Side of the garment."
)
@click.option("--name", default="", help="What you call the line.")
@ends
@sizes
@click.option(
    "--shape", "form", type=click.Choice(FORMS), help="A closed shape that ends on no edge; 'own' runs round --through."
)
@click.option("--symmetric", is_flag=True, help="Half is given, from the side to the middle; it is mirrored.")
@click.option("--kinked", is_flag=True, help="A symmetric line may meet the middle at an angle.")
@click.option("--carry", is_flag=True, help="Go on over the other side, meeting at the seam.")
@with_json
def add(
    project: Path, side: str, name: str, kind: str | None, start: str | None, end: str | None, through: tuple[str, ...],
    on_top: bool | None, at: str | None, size: str | None, wearers: str | None, form: str | None, symmetric: bool,
    kinked: bool, carry: bool, as_json: bool,
) -> None:  # fmt: skip
    """Add a style line to PROJECT: from an edge to another, or with --shape a closed one anywhere on the cloth."""
    from dataclasses import replace

    from mockup.files import project_file
    from mockup.stylelines.carry import carry as carried
    from mockup.stylelines.panels import primary_views
    from mockup.stylelines.starts import from_waist
    from mockup.stylelines.styleline import LineKind, StyleLine
    from swatches.errors import InputError

    if form is None and (start is None or end is None):
        raise InputError(
            "line",
            expected="--start and --end, or --shape",
            got="one missing",
            next_step="Add it; see mockup line --help",
        )
    loaded = before = project_file.load(project)
    taken = {x.id for x in loaded.lines}
    free = [f"line-{n}" for n in range(1, 10_000) if f"line-{n}" not in taken][:2]
    if form is not None:
        if start is not None or end is not None or kinked:
            raise InputError(
                "--shape", expected="no --start, --end or --kinked", got="one", next_step="A shape ends on no edge"
            )
        added = shapes_of(loaded, side, form, name, free, kind, _through(through), (at, size, wearers), symmetric)
    else:
        place_of((at, size, wearers), known=False)
        new = StyleLine(
            free[0], name or free[0], side, LineKind(kind or ("curve" if through else "straight")),
            _end(start or "", "--start"), _end(end or "", "--end"), _through(through), symmetric, kinked,
        )  # fmt: skip
        added = [new]
    views = primary_views(loaded.views)
    added = [
        replace(x, start=from_waist(x.start, views), end=from_waist(x.end, views), enclosed=_ENCLOSED[on_top])
        for x in added
    ]
    for x in added:
        loaded = loaded.put_line(x)
    if carry:
        for x in tuple(added):
            added.append(carried(x, loaded.lines, "back" if side == "front" else "front", loaded.views))
            loaded = loaded.put_line(added[-1])
    loaded = with_cloth_kept(before, loaded)  # a line that cannot be placed is refused before anything is written
    loaded = project_file.save(loaded, project)
    answer = {"lines": [_row(loaded, x) for x in added], "revision": loaded.revision}
    say(as_json, answer, _texts(loaded, answer["lines"]))


@line.command("list")
@click.argument("project", type=PROJECT)
@with_json
def list_lines(project: Path, as_json: bool) -> None:
    """List the style lines of PROJECT with their lengths."""
    from mockup.files import project_file

    loaded = project_file.load(project)
    rows = [_row(loaded, x) for x in loaded.lines]
    say(as_json, {"lines": rows}, _texts(loaded, rows) or "No lines yet; add one with: mockup line add")


@line.command("move")
@click.argument("project", type=PROJECT)
@click.argument("line_id", metavar="LINE")
@ends
@sizes
@click.option("--by", type=ANY_LENGTH, help="Move both ends by this much along their edges, away from their landmarks.")
@with_json
def move(
    project: Path, line_id: str, kind: str | None, start: str | None, end: str | None, through: tuple[str, ...],
    on_top: bool | None, at: str | None, size: str | None, wearers: str | None, by: Any, as_json: bool,
) -> None:  # fmt: skip
    """Move the style line LINE; its points between, and what goes on from it on the other side, move along.

    A closed shape that ends on no edge is moved by --at and --size, and its mirror image with it.
    """
    from dataclasses import replace

    from mockup import journey
    from mockup.files import project_file
    from mockup.stylelines.along import points_along, stay_together
    from mockup.stylelines.panels import primary_views
    from mockup.stylelines.starts import from_waist
    from mockup.stylelines.styleline import LineKind, is_free
    from swatches.errors import InputError

    loaded = before = project_file.load(project)
    old = journey.find(loaded, "line", line_id)
    views = primary_views(loaded.views)
    new = resized(old, views, (at, size, wearers))
    if is_free(old) and (start is not None or end is not None or by is not None):
        raise InputError(old.name, expected="--at, --size or --through", got="an end", next_step="It ends on no edge")
    if start is not None:
        new = replace(new, start=from_waist(_end(start, "--start"), views))
    if end is not None:
        new = replace(new, end=from_waist(_end(end, "--end"), views))
    if through:
        new = replace(new, through=_through(through))
    if kind is not None:
        new = replace(new, kind=LineKind(kind))
    if on_top is not None:
        new = replace(new, enclosed=_ENCLOSED[on_top])
    if by is not None:
        new = replace(new, start=_moved(new.start, by.mm), end=_moved(new.end, by.mm))
    if new == old:
        raise InputError("line", expected="a change", got="none", next_step="Add --by 10mm, or another --start")
    loaded = put(loaded, points_along(old, new, views, loaded.lines))
    loaded = replace(loaded, lines=stay_together(loaded.lines, line_id, views))
    loaded = project_file.save(with_cloth_kept(before, loaded), project)
    answer = {
        "lines": [_row(loaded, x) for x in loaded.lines if line_id in (x.id, x.carries) or x not in before.lines],
        "revision": loaded.revision,
    }
    say(as_json, answer, _texts(loaded, answer["lines"]))


@line.command("remove")
@click.argument("project", type=PROJECT)
@click.argument("line_id", metavar="LINE")
@with_json
def remove(project: Path, line_id: str, as_json: bool) -> None:
    """Remove the style line LINE; a line that went on from it stays, by itself."""
    from dataclasses import replace

    from mockup import journey
    from mockup.files import project_file

    loaded = project_file.load(project)
    journey.find(loaded, "line", line_id)
    kept = tuple(replace(x, carries="") if x.carries == line_id else x for x in loaded.lines if x.id != line_id)
    loaded = project_file.save(with_cloth_kept(loaded, replace(loaded, lines=kept)), project)
    answer = {"removed": line_id, "lines": [_row(loaded, x) for x in kept], "revision": loaded.revision}
    say(as_json, answer, f"{line_id} removed, {len(kept)} left")


def with_cloth_kept(before: Project, after: Project) -> Project:
    """Let every part of a panel keep the cloth that lay there, when lines or areas changed and panels have other ids.

    Raises:
        GeometryError: the lines of ``after`` cannot be placed.
    """
    from mockup.journey import panels_of
    from mockup.journey.inherit import keep_cloth
    from swatches.errors import GeometryError

    try:
        old = panels_of(before)
    except GeometryError:  # what could not be placed before may be put right one by one
        return after
    return keep_cloth(after, old, panels_of(after))


def _end(text: str, what: str) -> Any:
    from mockup.stylelines.styleline import End
    from swatches.errors import InputError
    from swatches.units import length

    place, equals, distance = text.partition("=")
    parts = [part.strip() for part in place.split(":")]
    good = equals and 2 <= len(parts) <= 3 and all(parts) and (len(parts) == 2 or parts[2] in ("left", "right"))
    if not good:
        raise InputError(
            what, expected="EDGE:LANDMARK=DISTANCE", got=text, next_step="Type it like armhole:underarm=104mm"
        )
    typed = length(distance, what=what, minimum_mm=0.0)
    return End(parts[0], parts[1], typed.mm, parts[2] if len(parts) == 3 else None, str(typed))


def _moved(end: Any, by: float) -> Any:
    from dataclasses import replace

    from swatches.errors import InputError

    if end.distance_mm + by < 0:
        raise InputError(
            "--by", expected=f"at least −{end.distance_mm:g} mm", got=f"{by:g} mm", next_step="Move it by less"
        )
    return replace(end, distance_mm=end.distance_mm + by, text="")


def _through(texts: tuple[str, ...]) -> tuple[tuple[float, float], ...]:
    from ui.commands.kinds import numbers

    return tuple((p[0], p[1]) for p in (numbers(text, 2, what="--through") for text in texts))


def _row(project: Any, item: Any) -> dict[str, Any]:
    from mockup.geometry import path as paths
    from mockup.stylelines.anchor import place_line

    view = next((v for v in project.views if v.side == item.side and v.kind == "drawing"), None)
    path = None if view is None else place_line(item, view, [x for x in project.lines if x.side == item.side])
    found: dict[str, Any] = {
        "id": item.id,
        "name": item.name,
        "side": item.side,
        "kind": str(item.kind),
        "symmetric": item.symmetric,
        "start": _end_row(item.start),
        "end": _end_row(item.end),
        "through": [list(p) for p in item.through],
        "carries": item.carries or None,
        "enclosed": item.enclosed or None,
        "box": box_row(item, view),
        "length_mm": None if path is None else paths.length(path),
        "cost": None if path is None else _cost_row(item, path),
        "scale_measured": bool(view is not None and view.scale_measured),
    }
    return found


def _cost_row(item: Any, path: Any) -> dict[str, Any]:
    """What the line costs with the usual allowance."""
    from mockup.stylelines.cost import cost
    from mockup.stylelines.styleline import encloses

    price = cost(path, _ALLOWANCE_MM, applied=encloses(item) and item.enclosed == "on top")
    return {"seams": price.seams, "seam_cm": price.seam_cm, "cloth_cm2": price.cloth_cm2, "allowance_mm": _ALLOWANCE_MM}


def _end_row(end: Any) -> dict[str, Any]:
    return {"edge": end.edge, "from": end.landmark, "distance_mm": end.distance_mm, "side": end.side, "text": end.text}


def _texts(project: Project, rows: list[dict[str, Any]]) -> str:
    from mockup.stylelines.starts import is_waisted

    waisted = any(is_waisted(v) for v in project.views)
    return "\n".join(_text(row, "waist" if waisted else "neck") for row in rows)


def _text(row: dict[str, Any], top: str) -> str:
    length = "" if row["length_mm"] is None else f", {row['length_mm']:.0f} mm"
    if row["cost"] is not None:
        length += f", takes {row['cost']['cloth_cm2']:.0f} cm² of cloth for allowances"
    guess = "" if row["scale_measured"] or row["length_mm"] is None else " (the scale is a guess)"
    if row["box"]:
        return f"{row['id']}  {row['name']}, {row['side']}: {box_words(row['box'])}{length}{guess}"
    ends = " to ".join(
        f"{e['edge']} {_distance(e)} from the {top if e['from'] == 'neck' else e['from']}"
        for e in (row["start"], row["end"])
    )
    return f"{row['id']}  {row['name']}, {row['side']}: {ends}{length}{guess}"


def _distance(end: dict[str, Any]) -> str:
    """A distance as it was typed; one that was worked out, in whole mm, which is what a tape can tell."""
    typed = end["text"] or ""
    return typed if typed and not typed.endswith(" mm") else f"{end['distance_mm']:.0f} mm"
