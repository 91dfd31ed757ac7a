"""Panels, choices, and the painted garment."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mockup.colourways.colour_vision import Sight, picture_as_seen, sight_words
from mockup.colourways.colourway import Colourway, Laid
from mockup.colourways.paint import paint_drawing, paint_photo
from mockup.garment.shading import Shading, shading
from mockup.journey.known import find, unknown
from mockup.project import Project
from mockup.sheets.compare import Choice, ClothShare, compare_sheet
from mockup.stylelines.masks import panel_masks
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import Panel, garment_panels
from swatches.cloth import Cloth, load_cloth
from swatches.colour import linear_to_srgb8
from swatches.job import QUIET, Job, Part, check
from swatches.photo import Picture, read_photo


def panels_of(project: Project) -> dict[str, tuple[Panel, ...]]:
    """Cut every view by the lines of its side: view name → panels by number."""
    return garment_panels(project.views, project.lines)


def assign(project: Project, letter: str, fabrics: Mapping[str, str | None]) -> Project:
    """Give panels fabrics in one choice, which is made if it is new; None leaves a panel as it is.

    Raises:
        InputError: there is no such panel or fabric.
    """
    ids = {p.id for panels in panels_of(project).values() for p in panels}
    choice = next((c for c in project.colourways if c.letter == letter), Colourway(letter))
    for panel, fabric in fabrics.items():
        if panel not in ids:
            raise unknown("panel", panel, sorted(ids))
        if fabric is not None:
            find(project, "fabric", fabric)
        choice = choice.assign(panel, fabric)
    return project.put_colourway(choice)


def paint_view(
    project: Project,
    folder: Path,
    letter: str,
    view: str,
    *,
    long_side: int | None = None,
    cloths: Mapping[str, tuple[Cloth, Laid]] | None = None,
    panels: Sequence[Panel] | None = None,
    job: Job = QUIET,
) -> Picture:
    """Paint one view of one choice.

    Args:
        project: the project.
        folder: its folder.
        letter: the choice; an empty letter paints nothing on.
        view: name of the view.
        long_side: longest side of the picture in px; None: the view's own size.
        cloths: panel id → cloth and how it lies, in place of the choice's: the very cloth that a piece was laid on.
        panels: the view's panels, where they are known already.
        job: progress and cancellation.

    Returns:
        sRGB, uint8, shape (h, w, 3).
    """
    seen = find(project, "view", view)
    choice = find(project, "colourway", letter) if letter else Colourway("")
    size = seen.size
    if long_side is not None and max(size) > long_side:
        scale = long_side / max(size)
        size = max(1, round(size[0] * scale)), max(1, round(size[1] * scale))
    panels = panels_of(project)[view] if panels is None else panels
    cloths = _cloths(project, folder, choice, panels) | dict(cloths or {})
    seams = [seen.path_to_px(path) for _, path in placed_lines(seen, project.lines, project.views)]
    pictures = folder / "pictures"
    if seen.kind == "drawing":
        masks = panel_masks(seen, panels, _pixels(pictures / seen.labels), size)
        ink = _pixels(pictures / f"{seen.name}-ink.png").astype(np.float32) / np.float32(255)
        return paint_drawing(seen, ink, masks, cloths, size=size, seams=seams, job=job)
    masks = panel_masks(seen, panels, None, size)
    photo, alpha, light = _photo_parts(pictures / seen.picture, pictures / f"{seen.name}-mask.png")
    return paint_photo(seen, photo, alpha, light, masks, cloths, size=size, seams=seams, job=job)


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
    """
    if seen_as != Sight.USUAL:
        note = f"{note} Shown {sight_words(seen_as)}.".strip()
    shown = shown_choices(project, folder, long_side=width_px // 2, job=job)
    sheet = compare_sheet(shown, title=title or project.name, width_px=width_px, note=note)
    return picture_as_seen(sheet, seen_as, job=job)


def shown_choices(project: Project, folder: Path, *, long_side: int, job: Job = QUIET) -> tuple[Choice, ...]:
    """Paint every choice for a sheet or cards: its views, and what share each cloth has."""
    views = [v.name for v in project.views if v.kind == "drawing"] or [v.name for v in project.views][:1]
    panels = panels_of(project)
    shown = []
    for k, choice in enumerate(project.colourways):
        check(job)
        part = Part(job, k / len(project.colourways), (k + 1) / len(project.colourways))
        part.step(f"Painting choice {choice.letter}", 0.0)
        pictures = {v: paint_view(project, folder, choice.letter, v, long_side=long_side) for v in views}
        shares: dict[str, float] = {}
        for panel in {p.id: p for view in views for p in panels[view]}.values():  # a sleeve is seen twice
            if panel.id in choice.fabrics:
                fabric = choice.fabrics[panel.id]
                shares[fabric] = shares.get(fabric, 0.0) + panel.share
        cloths = [_share(project, folder, fabric, share) for fabric, share in shares.items()]
        cloths.sort(key=lambda c: -c.share)
        shown.append(Choice(choice.letter, choice.name, pictures, cloths))
    return tuple(shown)


def _cloths(
    project: Project, folder: Path, choice: Colourway, panels: Sequence[Panel]
) -> dict[str, tuple[Cloth, Laid]]:
    loaded: dict[str, Cloth] = {}
    cloths = {}
    for panel in panels:
        fabric_id = choice.fabrics.get(panel.id)
        if fabric_id is None:
            continue
        if fabric_id not in loaded:
            loaded[fabric_id] = load_cloth(find(project, "fabric", fabric_id), folder / "fabrics" / fabric_id)
        laid = choice.laid.get(panel.id, Laid(mirrored=panel.side == "right"))
        cloths[panel.id] = loaded[fabric_id], laid
    return cloths


def _share(project: Project, folder: Path, fabric_id: str, share: float) -> ClothShare:
    fabric = find(project, "fabric", fabric_id)
    cloth = load_cloth(fabric, folder / "fabrics" / fabric_id)
    colour = linear_to_srgb8(cloth.colour)
    tile = None if cloth.tile is None else linear_to_srgb8(cloth.tile)
    return ClothShare(fabric.name, share, (int(colour[0]), int(colour[1]), int(colour[2])), tile, cloth.mm_per_px)


def _pixels(path: Path) -> NDArray[np.uint16]:
    """A label picture (16 bit) or an ink or mask picture (8 bit), one channel, as it is stored."""
    return _read_pixels(path, path.stat().st_mtime_ns if path.exists() else 0)


@lru_cache(maxsize=8)
def _read_pixels(path: Path, _changed: int) -> NDArray[np.uint16]:
    found = np.ascontiguousarray(read_photo(path, what=path.name).rgb[..., 0]).astype(np.uint16)
    found.flags.writeable = False
    return found


def _photo_parts(photo: Path, mask: Path) -> tuple[Picture, NDArray[np.float32], Shading]:
    return _read_photo_parts(photo, mask, tuple(p.stat().st_mtime_ns if p.exists() else 0 for p in (photo, mask)))


@lru_cache(maxsize=2)
def _read_photo_parts(
    photo: Path, mask: Path, _changed: tuple[int, ...]
) -> tuple[Picture, NDArray[np.float32], Shading]:
    read = read_photo(photo, what="photo")
    alpha = read_photo(mask, what="mask").rgb8[..., 0].astype(np.float32) / np.float32(255)
    alpha.flags.writeable = False
    return read.rgb8, alpha, shading(read, alpha)
