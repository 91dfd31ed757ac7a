"""Make the demo swatches' photos again: ``python -m swatches.samples.make [FOLDER]``.

Without a folder they are written where the package keeps them. Seeds are fixed; a re-run gives the same pictures.
"""

from __future__ import annotations

import sys
from pathlib import Path

from swatches.photo import jpeg_bytes
from swatches.samples.photographed import SHOTS, photograph

HERE = Path(__file__).parent
QUALITY = 86


def main(folder: Path = HERE) -> None:
    """Write every swatch photo into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for shot in SHOTS:
        (folder / f"{shot.cloth}.jpg").write_bytes(jpeg_bytes(photograph(shot), quality=QUALITY))


if __name__ == "__main__":
    main(*(Path(argument) for argument in sys.argv[1:2]))
