"""One view of one choice, painted from the project's folder; what the next picture asks for again is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from mockup.colourways.colourway import Colourway, Laid
from mockup.colourways.paint import paint_drawing, paint_photo
from mockup.colourways.tiles import KeptTiles, fitted
from mockup.garment.shading import FLARE, Shading, shading
from mockup.garment.view import View
from mockup.journey.known import find
from mockup.project import Project
from mockup.stylelines.masks import panel_masks
from mockup.stylelines.on_photo import placed_lines
from mockup.stylelines.panels import Panel, garment_panels
from swatches.cloth import Cloth, load_cloth
from swatches.errors import InputError
from swatches.fabric import Fabric
from swatches.job import QUIET, Job
from swatches.photo import Picture, read_photo

Floats = NDArray[np.float32]
Size = tuple[int, int]
Pixels = TypeVar("Pixels", Floats, NDArray[np.uint16], Picture)

_SMALL_PX = 4_000_000  # what is made for a picture of at most this size is kept
_TILES = KeptTiles(240)  # about 50 MB: six pictures of the page


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
    panels = garment_panels(project.views, project.lines)[view] if panels is None else panels
    cloths = _cloths(project, folder, choice, panels) | dict(cloths or {})
    seams = [seen.path_to_px(path) for _, path in placed_lines(seen, project.lines, project.views)]
    pictures = folder / "pictures"
    small = size[0] * size[1] <= _SMALL_PX
    kept = _TILES if small else None
    if seen.kind == "drawing":
        masks = panel_masks(seen, panels, labels_of(pictures / seen.labels), size)
        ink = (_ink if small else _ink.__wrapped__)(_dated(pictures / f"{seen.name}-ink.png"), size)
        return paint_drawing(seen, ink, masks, cloths, size=size, seams=seams, kept=kept, job=job)
    masks = panel_masks(seen, panels, None, size)
    photo = photo_of(seen, pictures)
    at_size = (_fitted if small else _fitted.__wrapped__)(photo, size)
    return paint_photo(
        seen, at_size.pixels, at_size.alpha, at_size.light, masks, cloths, size=size, seams=seams, kept=kept, job=job
    )


@dataclass(frozen=True, slots=True, eq=False)
class LitPhoto:
    """A photo with its garment.

    Attributes:
        pixels: sRGB uint8, shape (h, w, 3).
        alpha: how far each pixel belongs to the garment, 0..1, shape (h, w).
        light: the light on it.
    """

    pixels: Picture
    alpha: Floats
    light: Shading


def photo_of(view: View, pictures: Path) -> LitPhoto:
    """Read a view's photo, its mask and the light on its garment."""
    flare = FLARE if view.flare is None else view.flare
    return _photo(_dated(pictures / view.picture), _dated(pictures / f"{view.name}-mask.png"), flare, view.printed)


def read_light(project: Project, view: str, *, flare: float | None, printed: bool | None) -> Project:
    """Say how the light on a photo's garment is to be read.

    Args:
        project: the project.
        view: name of the photo's view.
        flare: share, 0 to 1, of the photo's darkest grey that is haze in the camera; None: as usual.
        printed: whether the garment in the photo has a print; None: as its colours tell.

    Raises:
        InputError: there is no such photo, or the share is none.
    """
    seen = find(project, "view", view)
    if seen.kind != "photo":
        raise InputError("photo", expected="a photo", got=f"the drawing {view}", next_step="Name the photo's view")
    if flare is not None and not 0 <= flare <= 1:
        raise InputError("haze", expected="a share from 0 to 1", got=f"{flare:g}", next_step="Take less or more of it")
    return project.put_view(replace(seen, flare=flare, printed=printed))


def labels_of(path: Path) -> NDArray[np.uint16]:
    """A label picture, one channel of 16 bit, as it is stored."""
    return _labels(_dated(path))


@dataclass(frozen=True, slots=True)
class _Dated:
    """A file as it was written: what was read of it holds until it is written again, and for every link to it."""

    path: Path = field(compare=False)
    written: tuple[object, ...]


def _dated(path: Path) -> _Dated:
    try:
        at = path.stat()
    except OSError:
        return _Dated(path, (path,))
    return _Dated(path, (at.st_dev, at.st_ino, at.st_size, at.st_mtime_ns))


def _channel(file: _Dated) -> NDArray[np.uint16 | np.uint8]:
    return np.ascontiguousarray(read_photo(file.path, what=file.path.name).rgb[..., 0])


@lru_cache(maxsize=4)
def _labels(file: _Dated) -> NDArray[np.uint16]:
    return _lasting(_channel(file).astype(np.uint16))


@lru_cache(maxsize=8)
def _ink(file: _Dated, size: Size) -> Floats:
    return _lasting(fitted(_channel(file).astype(np.float32) / np.float32(255), size))


@lru_cache(maxsize=2)
def _photo(photo: _Dated, mask: _Dated, flare: float, printed: bool | None) -> LitPhoto:
    read = read_photo(photo.path, what="photo")
    alpha = read_photo(mask.path, what="mask").rgb8[..., 0].astype(np.float32) / np.float32(255)
    return LitPhoto(read.rgb8, _lasting(alpha), shading(read, alpha, flare=flare, printed=printed))


@lru_cache(maxsize=4)
def _fitted(photo: LitPhoto, size: Size) -> LitPhoto:
    light = photo.light
    small = Shading(
        _lasting(fitted(light.s, size)), light.source, light.veil, light.spread, light.printed, light.warnings
    )
    return LitPhoto(_lasting(fitted(photo.pixels, size)), _lasting(fitted(photo.alpha, size)), small)


def _lasting(array: Pixels) -> Pixels:
    array.flags.writeable = False
    return array


def _cloths(
    project: Project, folder: Path, choice: Colourway, panels: Sequence[Panel]
) -> dict[str, tuple[Cloth, Laid]]:
    found = {}
    for panel in panels:
        fabric_id = choice.fabrics.get(panel.id)
        if fabric_id is not None:
            cloth = cloth_of(find(project, "fabric", fabric_id), folder)
            found[panel.id] = cloth, choice.laid_on(panel.id, panel.side)
    return found


def cloth_of(fabric: Fabric, folder: Path) -> Cloth:
    """Load a fabric of a project's folder to be painted."""
    home = folder / "fabrics" / fabric.id
    file = fabric.texture.file if fabric.texture is not None else ""
    return _cloth(_Wanted(fabric, home, _dated(home / Path(file).name) if file else None))


@dataclass(frozen=True, slots=True)
class _Wanted:
    fabric: Fabric
    home: Path = field(compare=False)
    tile: _Dated | None

    def __hash__(self) -> int:
        return hash((self.fabric.id, self.tile))


@lru_cache(maxsize=24)
def _cloth(wanted: _Wanted) -> Cloth:
    return load_cloth(wanted.fabric, wanted.home)
