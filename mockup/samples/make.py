"""Make the demo garment's files again: ``python -m mockup.samples.make [FOLDER] [--no-photo]``.

Without a folder they are written where the package keeps them. Seeds are fixed; a re-run gives the same files.
"""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from mockup.files.svg import write_pieces
from mockup.samples.draft import pieces
from mockup.samples.flat import drawing_svg
from mockup.samples.scan import scanned
from mockup.samples.studio.shoot import draped, shoot
from swatches.photo import jpeg_bytes

HERE = Path(__file__).parent
QUALITY = 90
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


def form_photo() -> dict[str, bytes]:
    """Make the photo of the tunic on its dress form, and what is true of it; takes some minutes."""
    shot = shoot(*draped())
    found, _ = cv2.findContours((shot.cover > 0.5).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    outline = cv2.approxPolyDP(max(found, key=cv2.contourArea), 0.75, closed=True)[:, 0] + 0.5
    truth = {
        "about": "The tunic's true outline and landmarks in form.jpg, px; left and right are the wearer's.",
        "outline": outline.tolist(),
        "landmarks": {name: [round(x, 1), round(y, 1)] for name, (x, y) in shot.landmarks.items()},
    }
    return {
        "form.jpg": jpeg_bytes(shot.rgb, quality=QUALITY),
        "form.json": (json.dumps(truth) + "\n").encode(),
    }


def main(folder: Path = HERE, *, photo: bool = True) -> None:
    """Write every file of the demo garment into ``folder``; the photo, which takes minutes, may be left out."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "tunic.svg").write_bytes(write_pieces(pieces()).encode())
    for name, data in drawings().items():
        (folder / name).write_bytes(data)
    for name, data in form_photo().items() if photo else ():
        (folder / name).write_bytes(data)


if __name__ == "__main__":
    folders = [Path(argument) for argument in sys.argv[1:] if not argument.startswith("-")]
    main(*folders[:1], photo="--no-photo" not in sys.argv)
