"""The renderer of tests/garment serves here too."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent / "garment"))
