"""How a print lies, as options of ``mockup assign``: moved, turned, mirrored; and how a photo's light is read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from mockup.colourways.colourway import Colourway
    from mockup.project import Project

F = TypeVar("F", bound=Callable[..., Any])

_OPTIONS = (
    (
        "--shift",
        "shifts",
        "PANEL=RIGHT:UP",
        "Move the print, such as front-1=12mm:-5mm; PANEL= lays it as usual again.",
    ),
    ("--grain", "grains", "PANEL=DEGREES", "Turn the cloth: its length from upright, counter-clockwise; repeatable."),
    (
        "--mirror",
        "mirrors",
        "PANEL=yes|no",
        "Show the print as in a mirror; with --follow its twin is the image of that; repeatable.",
    ),
)


def print_options(command: F) -> F:
    """Give a command the options that lay prints, passed on as ``shifts``, ``grains`` and ``mirrors``."""
    for option, name, shape, words in reversed(_OPTIONS):
        command = click.option(option, name, multiple=True, metavar=shape, help=words)(command)
    return command


def light_options(command: F) -> F:
    """Give a command the options of a photo's light, passed on as ``flare`` and ``printed``."""
    command = click.option(
        "--printed/--plain",
        default=None,
        help="Of a photo: whether the garment in it has a print; else as its colours tell.",
    )(command)
    return click.option(
        "--flare",
        type=click.FloatRange(0, 1),
        help="Of a photo: share of its darkest grey that is haze; 0 takes none off. Matters from dark to light.",
    )(command)


def with_prints(
    project: Project, letter: str, *, shifts: Sequence[str], grains: Sequence[str], mirrors: Sequence[str], twins: bool
) -> Project:
    """Lay prints as the options say.

    Raises:
        InputError: an option cannot be read, or names no panel.
    """
    from mockup.journey.prints import lay_as_usual, lay_print

    wanted: dict[str, dict[str, Any]] = {}
    for text in shifts:
        panel, value = _of_panel(text, "--shift", "front-1=12mm:-5mm")
        if value:
            wanted.setdefault(panel, {})["offset_mm"] = _offset(value)
        else:
            project = lay_as_usual(project, letter, panel)
            wanted.pop(panel, None)
    for text in grains:
        panel, value = _of_panel(text, "--grain", "front-1=45")
        wanted.setdefault(panel, {})["grain_deg"] = _degrees(value)
    for text in mirrors:
        panel, value = _of_panel(text, "--mirror", "front-1=yes")
        wanted.setdefault(panel, {})["mirrored"] = _yes(value)
    for panel, changes in wanted.items():
        project = lay_print(project, letter, panel, twin=twins, **changes)
    return project


def laid_prints(choice: Colourway) -> dict[str, dict[str, Any]]:
    """How prints lie where a person laid them, as answers show it; the grain as it is seen."""
    return {
        panel: {
            "right_mm": laid.offset_mm[0],
            "up_mm": laid.offset_mm[1],
            "grain_deg": laid.grain_seen_deg,
            "mirrored": laid.mirrored,
        }
        for panel, laid in sorted(choice.laid.items())
    }


def _of_panel(text: str, option: str, example: str) -> tuple[str, str]:
    panel, equals, value = text.partition("=")
    if not (equals and panel.strip()):
        raise _wrong(option, "a panel, =, and how its print lies", text, example)
    return panel.strip(), value.strip()


def _offset(value: str) -> tuple[float, float]:
    from swatches.units import length

    right, colon, up = value.partition(":")
    if not colon:
        raise _wrong("--shift", "two lengths with a colon between", value, "front-1=12mm:-5mm")
    return length(right, what="--shift, right").mm, length(up, what="--shift, up").mm


def _degrees(value: str) -> float:
    try:
        return float(value)
    except ValueError:
        raise _wrong("--grain", "degrees", value, "front-1=45") from None


def _yes(value: str) -> bool:
    if value.lower() not in ("yes", "no"):
        raise _wrong("--mirror", "yes or no", value, "front-1=yes")
    return value.lower() == "yes"


def _wrong(option: str, expected: str, got: str, example: str) -> Exception:
    from swatches.errors import InputError

    return InputError(option, expected=expected, got=repr(got), next_step=f"Type it like {option} {example}")
