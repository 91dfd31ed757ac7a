"""Closed shapes for ``mockup line``: where they lie and how large they are, typed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from mockup.garment.view import View
    from mockup.project import Project
    from mockup.stylelines.styleline import StyleLine

FORMS = ("round", "diamond", "box", "own")
Typed = tuple[str | None, str | None, str | None]
"""``--at``, ``--size`` and ``--wearers`` as typed."""


def sizes(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the options that say where a closed shape lies."""
    for option in (
        click.option("--wearers", type=click.Choice(("left", "right")), help="On which side --at is, the wearer's."),
        click.option("--size", metavar="W,H", help="Width and height of a closed shape."),
        click.option("--at", metavar="ACROSS,UP", help="Its middle: from the centre line, and above the hem."),
    ):
        command = option(command)
    return command


def place_of(typed: Typed, *, known: bool = True) -> dict[str, Any]:
    """Read where a shape lies and how large it is, as :func:`mockup.stylelines.shapes.boxed` takes it.

    Args:
        typed: as typed.
        known: whether it is about a shape; else nothing may be typed.

    Raises:
        InputError: no two lengths, or a place for a line that has none.
    """
    from swatches.errors import InputError

    at, size, wearers = typed
    if not known and typed != (None, None, None):
        raise InputError(
            "--at, --size and --wearers", expected="a closed shape", got="a line with ends", next_step="Type its ends"
        )
    found: dict[str, Any] = {} if wearers is None else {"side": wearers}
    if at is not None:
        found["across_mm"], found["up_mm"] = two_lengths(at, "--at")
    if size is not None:
        found["wide_mm"], found["high_mm"] = two_lengths(size, "--size")
    return found


def two_lengths(text: str, what: str) -> tuple[float, float]:
    """Read two lengths with a comma between them, mm; ``InputError`` where they are none."""
    from swatches.errors import InputError
    from swatches.units import length

    parts = text.split(",")
    if len(parts) == 4:  # 7,5 cm,20,5 cm: commas of decimals
        parts = [",".join(parts[:2]), ",".join(parts[2:])]
    if len(parts) != 2:
        raise InputError(what, expected="two lengths", got=text, next_step="Type them like 9cm,30cm")
    a, b = (length(part, what=what, minimum_mm=0.0).mm for part in parts)
    return a, b


def shapes_of(
    project: Project, side: str, form: str, name: str, ids: Sequence[str], kind: str | None,
    through: tuple[tuple[float, float], ...], typed: Typed, both: bool,
) -> list[StyleLine]:  # fmt: skip
    """Make a closed shape, or one on each side of the wearer.

    Raises:
        InputError: a form without its place and size, or an own shape without points.
        GeometryError: a size below 5 mm.
    """
    from dataclasses import replace

    from mockup.stylelines import shapes
    from mockup.stylelines.styleline import FREE_END, LineKind, StyleLine
    from mockup.stylelines.twins import mirror_image
    from swatches.errors import InputError

    view = _view(project.views, side)
    place, word = place_of(typed), name or ids[0]
    if form == "own":
        if len(through) < 3:
            raise InputError(
                "--shape own", expected="three --through points or more", got=str(len(through)), next_step="Add points"
            )
        line = StyleLine(ids[0], word, side, LineKind(kind or "curve"), FREE_END, FREE_END, through)
        line = shapes.boxed(line, view, **place) if place else line
    else:
        if {"across_mm", "wide_mm"} - set(place) or through or kind:
            raise InputError(
                f"--shape {form}", expected="--at and --size, no --through or --kind", got="something else",
                next_step="Add --at 9cm,30cm --size 8cm,8cm",
            )  # fmt: skip
        at, size = (place["across_mm"], place["up_mm"]), (place["wide_mm"], place["high_mm"])
        line = shapes.shape(view, form, at, size, side=place.get("side", "left"), line_id=ids[0], name=word)
    if not both:
        return [line]
    here = shapes.box_of(line, view).side
    if here is None:
        raise InputError(
            "--symmetric", expected="a shape beside the middle", got="one in the middle", next_step="Leave it out"
        )
    other = "right" if here == "left" else "left"
    return [replace(line, name=f"{word}, {here}"), replace(mirror_image(line), id=ids[1], name=f"{word}, {other}")]


def resized(line: StyleLine, views: Sequence[View], typed: Typed) -> StyleLine:
    """A closed shape at the place and size that were typed; another line as it is, where nothing was typed."""
    from mockup.stylelines import shapes
    from mockup.stylelines.styleline import is_free

    place = place_of(typed, known=is_free(line))
    return shapes.boxed(line, _view(views, line.side), **place) if place else line


def put(project: Project, new: StyleLine) -> Project:
    """Put a moved line into its project; the mirror image of a closed shape stays one."""
    from dataclasses import replace

    from mockup.stylelines.shapes import with_twin
    from mockup.stylelines.styleline import is_free

    return replace(project, lines=with_twin(project.lines, new)) if is_free(new) else project.put_line(new)


def box_row(line: StyleLine, view: View | None) -> dict[str, Any] | None:
    """Where a closed shape lies, for the answer; None for another line."""
    from dataclasses import asdict

    from mockup.stylelines.shapes import box_of
    from mockup.stylelines.styleline import is_free

    return None if view is None or not is_free(line) else asdict(box_of(line, view))


def box_words(box: dict[str, Any]) -> str:
    """Where a closed shape lies, in words."""
    side = f" on the wearer's {box['side']}" if box["side"] else ""
    return (
        f"closed, {box['wide_mm']:.0f} × {box['high_mm']:.0f} mm, {box['across_mm']:.0f} mm from the middle{side}, "
        f"{box['up_mm']:.0f} mm above the hem"
    )


def _view(views: Sequence[View], side: str) -> View:
    from mockup.stylelines.panels import primary_views
    from swatches.errors import InputError

    found = next((v for v in primary_views(views) if v.side == side), None)
    if found is None:
        raise InputError("--on", expected="a side that has a picture", got=side, next_step="Add its picture first")
    return found
