"""Choices side by side: on one sheet, as a document that also shows them as others see them, and in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from mockup.checks.scene import frame_of, scene
from mockup.colourways.colour_vision import Sight, picture_as_seen, sight_words
from mockup.colourways.colourway import Colourway
from mockup.journey.checking import known_cut
from mockup.journey.design import shown_choices
from mockup.project import Project
from mockup.proposals.groups import groups_of, seen_areas
from mockup.sheets.card import alt_text
from mockup.sheets.compare import Choice, compare_sheet
from mockup.sheets.compare_pdf import compare_pdf
from swatches.errors import Failure
from swatches.fabric import Fabric
from swatches.job import QUIET, Job, Part
from swatches.photo import Picture

PREVIEWS = (Sight.GREY, Sight.PROTAN, Sight.DEUTAN, Sight.TRITAN)
_MM2 = 1e6


def compare(
    project: Project,
    folder: Path,
    *,
    width_px: int = 2400,
    title: str = "",
    note: str = "",
    seen_as: Sight | str = Sight.USUAL,
    job: Job = QUIET,
) -> Picture:
    """Show all choices side by side, front and back, on one lettered sheet; see :func:`compare_sheet`.

    With ``seen_as`` the whole sheet is shown in grey or as a colour-blind viewer sees it, and says so at its foot.

    Raises:
        InputError: fewer than two choices, or more than six.
    """
    if seen_as != Sight.USUAL:
        note = f"{note} Shown {sight_words(seen_as)}.".strip()
    shown = choices_with_lists(project, folder, long_side=width_px // 2, job=job)
    sheet = compare_sheet(shown, title=title or project.name, width_px=width_px, note=note)
    return picture_as_seen(sheet, seen_as, job=job)


def compare_document(
    project: Project, folder: Path, *, width_px: int = 1800, title: str = "", note: str = "", job: Job = QUIET
) -> bytes:
    """Give a PDF of all choices: the sheet, then as seen in grey and by colour-blind viewers, then all of it in words.

    Raises:
        InputError: fewer than two choices, or more than six.
    """
    shown = choices_with_lists(project, folder, long_side=width_px // 2, job=Part(job, 0.0, 0.6))
    named = title or project.name
    pages = []
    for k, sight in enumerate((Sight.USUAL, *PREVIEWS)):
        job.step(f"Seeing the choices {sight_words(sight)}", 0.6 + 0.08 * k)
        said = note if sight is Sight.USUAL else f"{note} Shown {sight_words(sight)}.".strip()
        sheet = compare_sheet(shown, title=named, width_px=width_px, note=said)
        pages.append(picture_as_seen(sheet, sight, job=job))
    return compare_pdf(pages, [words_of(c) for c in shown], title=named, date=project.date)


def choices_with_lists(project: Project, folder: Path, *, long_side: int, job: Job = QUIET) -> tuple[Choice, ...]:
    """Paint every choice, with what each of its cloths takes from the cupboard or from the shop."""
    shown = shown_choices(project, folder, long_side=long_side, job=job)
    areas = _areas(project, folder)
    names = [f.name for f in project.fabrics]
    by_name = {f.name: f for f in project.fabrics if names.count(f.name) == 1}
    found = []
    for choice in shown:
        needs = cloth_needs(project, project.colourway(choice.letter), areas)
        cloths = []
        for cloth in choice.fabrics:
            fabric = by_name.get(cloth.name)  # two cloths of one name are not told apart here
            note = "" if fabric is None else need_words(fabric, needs.get(fabric.id))
            cloths.append(replace(cloth, note=note))
        found.append(replace(choice, fabrics=cloths))
    return tuple(found)


def cloth_needs(project: Project, choice: Colourway, areas: Mapping[str, float] | Failure) -> dict[str, float]:
    """Cloth that a choice takes, mm² by fabric id; empty where nobody knows a length of the garment."""
    needs: dict[str, float] = {}
    if isinstance(areas, Failure):
        return needs
    for panel, fabric in choice.fabrics.items():
        needs[fabric] = needs.get(fabric, 0.0) + areas.get(panel, 0.0)
    return needs


def need_words(fabric: Fabric, area_mm2: float | None) -> str:
    """What a cloth takes, for a list: from the cupboard, or to buy; at least, since pieces do not lie edge to edge."""
    amount = "" if not area_mm2 else f"at least {max(area_mm2 / _MM2, 0.01):.2f} m²"
    if not fabric.owned:
        return f"to buy{': ' + amount if amount else ''}"
    width, left = fabric.usable_width.value, fabric.length_left.value
    of = f" of {width * left / _MM2:.2f} m² left" if amount and width and left else ""
    return f"from the cupboard{': ' + amount + of if amount else ''}"


def words_of(choice: Choice) -> Sequence[str]:
    """A choice in words: its text alternative, then a line for each cloth."""
    cloths = sorted(choice.fabrics, key=lambda f: (-f.share, f.name))
    return [f"{alt_text(choice)}.", *(f"{c.name}: {c.note}." for c in cloths if c.note)]


def _areas(project: Project, folder: Path) -> dict[str, float] | Failure:
    """Cloth that each panel takes, mm²: by the pieces where they were cut on trial, else by the pictures."""
    cut = known_cut(project, folder)
    if cut is not None:
        return cut.area_mm2
    seen = scene(project, Colourway(""))
    groups = groups_of(seen)
    areas = seen_areas(seen, groups)
    if areas is None:
        return Failure("No length of the garment is known.")
    panels = frame_of(project).panels
    found: dict[str, float] = {}
    for group, area in zip(groups, areas, strict=True):
        total = sum(panels[p].share for p in group.panels) or 1.0
        found |= {p: area * panels[p].share / total for p in group.panels}
    return found
