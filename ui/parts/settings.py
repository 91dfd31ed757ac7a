"""What a person set for all their garments: the unit, and how they see colours. Kept in the data folder."""

from __future__ import annotations

import json
import threading
from dataclasses import asdict, dataclass, replace
from pathlib import Path

from mockup.colourways.colour_vision import Sight
from swatches.safe_write import write_whole

UNITS = ("mm", "cm", "in")


@dataclass(frozen=True, slots=True)
class Settings:
    """The settings.

    Attributes:
        unit: how lengths are shown, and what a bare number means: 'mm', 'cm' or 'in'.
        sight: whose eyes the page's pictures are shown through; 'usual' leaves them as they are.
    """

    unit: str = "mm"
    sight: str = Sight.USUAL.value


class SettingsFile:
    """The settings of one data folder. A file that cannot be read counts as none, and is written anew on a change."""

    def __init__(self, data: Path) -> None:
        self._path = Path(data) / "settings.json"
        self._lock = threading.Lock()
        self.now = _read(self._path)

    def put(self, **changes: str) -> Settings:
        """Change settings and write them down; a value that none is leaves the setting as it was."""
        with self._lock:
            new = _checked(replace(self.now, **changes), self.now)
            if new != self.now:
                write_whole(self._path, json.dumps(asdict(new), indent=1).encode(), what="your settings")
                self.now = new
            return self.now


def _read(path: Path) -> Settings:
    try:
        raw = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError):
        return Settings()
    known = {k: v for k, v in raw.items() if k in ("unit", "sight")} if isinstance(raw, dict) else {}
    return _checked(replace(Settings(), **known), Settings())


def _checked(new: Settings, old: Settings) -> Settings:
    return Settings(
        new.unit if new.unit in UNITS else old.unit,
        new.sight if new.sight in [s.value for s in Sight] else old.sight,
    )
