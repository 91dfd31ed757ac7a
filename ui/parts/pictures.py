"""Pictures for the page: painted views and swatches, written small and without metadata."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from mockup.journey.painting import cloth_of
from swatches import photo
from swatches.cloth import load_cloth
from swatches.colour import linear_to_srgb8
from swatches.fabric import Fabric
from swatches.safe_write import write_whole

SWATCH_PX = 192
SWATCH_MM = 64.0


def save(target: Path, rgb: NDArray[np.uint8]) -> None:
    """Write a painted view under the name that its address has: it is waited for, and goes no farther than the page."""
    write_whole(target, photo.jpeg_bytes(rgb, small=False), what="picture file", sync=False)


def save_swatch(target: Path, fabric: Fabric, folder: Path) -> None:
    """Write a square of a cloth of a project, 64 mm wide: every swatch on the shelf shows its print at one scale."""
    save_swatch_in(target, fabric, folder / "fabrics" / fabric.id)


def save_swatch_in(target: Path, fabric: Fabric, home: Path) -> None:
    """Write a square of a cloth, 64 mm wide, whose tile lies in ``home``."""
    cloth = load_cloth(fabric, home)
    if cloth.tile is None:
        square = np.broadcast_to(cloth.colour, (SWATCH_PX, SWATCH_PX, 3))
    else:
        h, w = cloth.tile.shape[:2]
        step = SWATCH_MM / SWATCH_PX / cloth.mm_per_px
        at = np.arange(SWATCH_PX * 2) * step / 2
        rows, columns = (at % h).astype(int) % h, (at % w).astype(int) % w
        fine = cloth.tile[rows][:, columns]
        square = fine.reshape(SWATCH_PX, 2, SWATCH_PX, 2, 3).mean(axis=(1, 3))
    photo.write_png(target, linear_to_srgb8(np.ascontiguousarray(square, dtype=np.float32)))


def save_tile(target: Path, fabric: Fabric, folder: Path) -> None:
    """Write a cloth's tile as it is, to be shown while a print is moved."""
    cloth = cloth_of(fabric, folder)
    photo.write_png(target, linear_to_srgb8(cloth.colour.reshape(1, 1, 3) if cloth.tile is None else cloth.tile))
