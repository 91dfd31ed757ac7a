"""Make the photos of the demo swatches and remnants again: ``python -m swatches.samples.make [FOLDER]``.

Without a folder they are written where the package keeps them. Seeds are fixed; a re-run gives the same pictures.
"""

from __future__ import annotations

import sys
from pathlib import Path

from swatches.photo import jpeg_bytes
from swatches.samples.cupboard import REMNANT_PHOTO
from swatches.samples.laid_out import photograph_remnants
from swatches.samples.photographed import SHOTS, photograph
from swatches.samples.remnant_views import view_remnants

HERE = Path(__file__).parent
QUALITY = 86


def main(folder: Path = HERE) -> None:
    """Write every photo into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for shot in SHOTS:
        (folder / f"{shot.cloth}.jpg").write_bytes(jpeg_bytes(photograph(shot), quality=QUALITY))
    (folder / REMNANT_PHOTO.name).write_bytes(jpeg_bytes(photograph_remnants(), quality=QUALITY))
    for cloth, picture in view_remnants().items():
        (folder / f"remnant-{cloth}.jpg").write_bytes(jpeg_bytes(picture, quality=QUALITY))


if __name__ == "__main__":
    main(*(Path(argument) for argument in sys.argv[1:2]))
