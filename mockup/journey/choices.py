"""Choices of cloth as a whole: copied, two panels' cloth swapped, and panels that follow each other."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum

from mockup.checks.scene import scene
from mockup.colourways.colourway import Colourway, Laid
from mockup.journey.design import assign
from mockup.journey.known import find, unknown
from mockup.project import Project
from mockup.proposals.groups import front_with_back, groups_of
from swatches.errors import InputError

LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


class Follow(StrEnum):
    """Which panels get the cloth of one that is given it."""

    NONE = "none"
    SIDES = "sides"  # left and right
    ALL = "all"  # left and right, front and back


def followers(project: Project, panel: str, follow: Follow | str = Follow.SIDES) -> tuple[str, ...]:
    """Give a panel's id and those of the panels that follow it, in the order of their numbers.

    Raises:
        InputError: no such panel, or no such way of following.
    """
    if follow not in tuple(Follow):
        raise InputError("follow", expected=", ".join(Follow), got=repr(follow), next_step="Choose one of these")
    seen = scene(project, Colourway(""))
    if panel not in seen.panels:
        raise unknown("panel", panel, sorted(seen.panels))
    if follow == Follow.NONE:
        return (panel,)
    pairs = front_with_back(seen) if follow == Follow.ALL else []
    return next(g.panels for g in groups_of(seen, pairs=pairs) if panel in g.panels)


def assign_following(
    project: Project, letter: str, fabrics: Mapping[str, str | None], follow: Follow | str = Follow.SIDES
) -> Project:
    """Give panels cloth, and those that follow them the same; a later panel goes before an earlier one.

    Raises:
        InputError: there is no such panel or fabric.
    """
    wanted: dict[str, str | None] = {}
    for panel, fabric in fabrics.items():
        wanted |= dict.fromkeys(followers(project, panel, follow), fabric)
    return assign(project, letter, wanted)


def copy_choice(project: Project, source: str, target: str = "", *, name: str = "") -> tuple[Project, str]:
    """Begin a choice with the cloth of another one.

    Args:
        project: the project.
        source: letter of the choice that is copied.
        target: letter of the copy; empty: the next free one. A choice that is there is written over.
        name: the person's word for the copy.

    Returns:
        The project, and the letter of the copy.

    Raises:
        InputError: no such choice, or a target that is no letter or the source itself.
    """
    old = find(project, "colourway", source)
    letter = target or next((x for x in LETTERS if all(c.letter != x for c in project.colourways)), "")
    if len(letter) != 1 or letter not in LETTERS or letter == source:
        raise InputError(
            "choice", expected="another letter, A to Z", got=repr(target or source), next_step="Type it like --choice B"
        )
    return project.put_colourway(replace(old, letter=letter, name=name)), letter


def swap(project: Project, letter: str, one: str, other: str, follow: Follow | str = Follow.NONE) -> Project:
    """Let two panels change their cloth, with how it lies; a panel that is left as it is counts too.

    Raises:
        InputError: no such choice or panel, or panels that follow each other.
    """
    choice = find(project, "colourway", letter)
    sides = [followers(project, panel, follow) for panel in (one, other)]
    if set(sides[0]) & set(sides[1]):
        raise InputError(
            "panels to swap",
            expected="two that do not follow each other",
            got=f"{one} and {other}",
            next_step="Choose another panel",
        )
    cloth = [choice.fabrics.get(panel) for panel in (one, other)]
    lies = [choice.laid.get(panel) for panel in (one, other)]
    new = choice
    for panels, fabric, laid in ((sides[0], cloth[1], lies[1]), (sides[1], cloth[0], lies[0])):
        for panel in panels:
            new = _given(new, panel, fabric, laid)
    return project.put_colourway(new)


def _given(choice: Colourway, panel: str, fabric: str | None, laid: Laid | None) -> Colourway:
    rest = {k: v for k, v in choice.laid.items() if k != panel}
    return replace(choice.assign(panel, fabric), laid=rest if laid is None else {**rest, panel: laid})
