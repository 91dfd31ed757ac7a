"""Make the demo garment's files again: ``python -m mockup.samples.make [FOLDER]``.

Without a folder they are written where the package keeps them. Seeds are fixed; a re-run gives the same files.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from mockup.files.svg import write_pieces
from mockup.samples.draft import pieces
from mockup.samples.flat import drawing_svg
from mockup.samples.scan import scanned

HERE = Path(__file__).parent
NAMES = {True: "front", False: "back"}


def palette_png(rgb: NDArray[np.uint8]) -> bytes:
    """Write a picture of at most 256 tones as a palette PNG without metadata; half the size of full colour."""
    key = rgb.astype(np.uint32) @ np.array([1 << 16, 1 << 8, 1], np.uint32)
    tones, index = np.unique(key, return_inverse=True)
    if len(tones) > 256:
        raise ValueError(f"rgb: expected at most 256 tones, got {len(tones)}")
    palette = np.stack([tones >> 16, tones >> 8 & 255, tones & 255], axis=1).astype(np.uint8)
    picture = Image.fromarray(index.reshape(rgb.shape[:2]).astype(np.uint8), "P")
    picture.putpalette(palette.tobytes())
    data = io.BytesIO()
    picture.save(data, "PNG", optimize=True)
    return data.getvalue()


def drawings() -> dict[str, bytes]:
    """Make the four drawing files, by name."""
    files: dict[str, bytes] = {}
    for front, name in NAMES.items():
        files[f"{name}.svg"] = drawing_svg(front).encode()
        files[f"{name}.png"] = palette_png(scanned(front))
    return files


def main(folder: Path = HERE) -> None:
    """Write every file of the demo garment into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "tunic.svg").write_bytes(write_pieces(pieces()).encode())
    for name, data in drawings().items():
        (folder / name).write_bytes(data)


if __name__ == "__main__":
    main(*(Path(argument) for argument in sys.argv[1:2]))
