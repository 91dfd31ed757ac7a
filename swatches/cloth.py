"""Cloth ready to be painted: a fabric with its tile in linear light."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from swatches.colour import colour_word, hex_to_lab, lab_to_linear, srgb_to_linear
from swatches.errors import InputError
from swatches.fabric import Colour, Fabric
from swatches.photo import Picture, read_photo

MAX_TILE_MEGAPIXELS = 24


@dataclass(frozen=True, slots=True, eq=False)
class Cloth:
    """A fabric with its pixels.

    Attributes:
        fabric: the record.
        tile: one seamless tile, linear light 0..1, float32, shape (h, w, 3), read-only; its columns run along the
            cloth's width and its rows along the length. None: a plain colour.
        mm_per_px: scale of the tile; 1 for a plain colour.
        colour: mean colour in linear light, float32, shape (3,), read-only.
    """

    fabric: Fabric
    tile: NDArray[np.float32] | None
    mm_per_px: float
    colour: NDArray[np.float32]


def plain(fabric_id: str, name: str, colour: str) -> Fabric:
    """Make a fabric of a plain colour, '#rrggbb'.

    Raises:
        InputError: the text is no such colour.
    """
    lab = hex_to_lab(colour)
    return Fabric(
        id=fabric_id,
        name=name,
        colour=Colour(
            lab=lab,
            expected_delta_e=10.0,
            reason="colour chosen on the screen, no cloth was measured: the cloth may look clearly different",
            palette=((lab, 1.0),),
            word=colour_word(lab),
        ),
    )


def load_cloth(fabric: Fabric, folder: Path) -> Cloth:
    """Load a fabric's tile from its folder; a fabric without a tile is a plain colour.

    Raises:
        PictureError: the tile is missing or cannot be read.
        InputError: the fabric names a tile outside its folder.
    """
    if fabric.texture is None or not fabric.texture.file:
        return _cloth(fabric, None)
    name = fabric.texture.file
    if Path(name).name != name or name in (".", ".."):
        raise InputError(
            "tile of the fabric",
            expected="a file name in the fabric's folder",
            got=name,
            next_step="Add the cloth again",
        )
    photo = read_photo(Path(folder) / name, what=f"tile of {fabric.name}", max_megapixels=MAX_TILE_MEGAPIXELS)
    return _cloth(fabric, photo.rgb8)


def _cloth(fabric: Fabric, tile: Picture | None) -> Cloth:
    colour = np.asarray(np.clip(lab_to_linear(np.array(fabric.colour.lab)), 0, 1), np.float32)
    linear: NDArray[np.float32] | None = None
    if tile is not None:
        linear = np.asarray(srgb_to_linear(tile), np.float32)
        linear.flags.writeable = False
    colour.flags.writeable = False
    scale = fabric.texture.mm_per_px if fabric.texture is not None and linear is not None else 1.0
    return Cloth(fabric, linear, scale, colour)
