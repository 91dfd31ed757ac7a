"""Garments that were worked on before: found again on the empty page, and put away without being lost at once.

Whoever sits at this computer sees them all: the data folder is theirs. Callers from elsewhere are given none (see
``ui/page.py``), and who does not know a garment's address does not find it.
"""

from __future__ import annotations

import json
import re
import shutil
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import cv2

from swatches import photo
from swatches.errors import InputError
from ui.parts.session import WORD, Sessions

MOST = 24
"""Garments that are listed; the newest ones."""
GONE_DAYS = 30
"""How long a garment that was put away can be brought back."""
COVER_PX = 360
_GONE = ".gone"
_PAINTED = re.compile(r"(front|back)-[0-9a-f]{24}\.jpg")


def listed(sessions: Sessions, *, but: str = "") -> list[dict[str, Any]]:
    """Give the garments of a data folder, the one worked on last first, as JSON takes them.

    Args:
        sessions: the data folder's sessions.
        but: word of the session that asks, which is left out.
    """
    found = sorted(_kept(sessions.home, but), key=lambda each: -each[0])[:MOST]
    rows = []
    for when, word, name in found:
        rows.append(
            {
                "word": word,
                "name": name,
                "date": datetime.fromtimestamp(when, UTC).isoformat(timespec="seconds"),
                "picture": _cover(sessions, word),
            }
        )
    return rows


def put_away(sessions: Sessions, word: str) -> None:
    """Take a garment from the list; :func:`bring_back` undoes it.

    Raises:
        InputError: there is no such garment, or something is being worked out in it.
    """
    home = _home(sessions, word)
    session = sessions.get(word)
    if not session.working.acquire(blocking=False):
        raise InputError(
            "garment", expected="one that rests", got="one at work", next_step="Wait until it is done, or stop it there"
        )
    try:
        gone = sessions.home / _GONE
        gone.mkdir(exist_ok=True)
        shutil.rmtree(gone / word, ignore_errors=True)
        home.rename(gone / word)
        (gone / word / "state.json").touch()  # its date is now that of its leaving
        sessions.close(word)
    finally:
        session.working.release()


def bring_back(sessions: Sessions, word: str) -> None:
    """Undo :func:`put_away`.

    Raises:
        InputError: it is not there any more.
    """
    gone = sessions.home / _GONE / word
    if not WORD.fullmatch(word) or not gone.is_dir() or (sessions.home / word).exists():
        raise InputError("garment", expected="one that was put away", got="none", next_step="Open the page again")
    gone.rename(sessions.home / word)
    sessions.close(word)


def clear_out(sessions: Sessions, *, days: float = GONE_DAYS) -> None:
    """Remove for good what was put away longer ago than ``days``."""
    for folder in sorted((sessions.home / _GONE).glob("*")):
        state = folder / "state.json"
        if not state.exists() or time.time() - state.stat().st_mtime > days * 86_400:
            shutil.rmtree(folder, ignore_errors=True)


def _home(sessions: Sessions, word: str) -> Path:
    home = sessions.home / word
    if not WORD.fullmatch(word) or not (home / "state.json").is_file():
        raise InputError("garment", expected="one of those listed", got="another", next_step="Open the page again")
    return home


def _kept(home: Path, but: str) -> Iterator[tuple[float, str, str]]:
    """(time of the last change, word, name) of every garment with something in it."""
    for folder in home.glob("*"):
        state = folder / "state.json"
        if folder.name == but or not WORD.fullmatch(folder.name):
            continue
        try:
            when = state.stat().st_mtime
            raw = json.loads(state.read_text("utf-8"))
            step = raw["steps"][raw["at"]] if raw["at"] >= 0 else None
            if step is None:
                continue
            project = json.loads((folder / "steps" / f"{step['number']:05d}.json").read_text("utf-8"))
        except (OSError, ValueError, KeyError, IndexError, TypeError):
            continue
        yield when, folder.name, str(project.get("name") or "A garment")[:80]


def _cover(sessions: Sessions, word: str) -> str:
    """Address of a small picture of what was painted last; empty where nothing was."""
    painted = [f for f in (sessions.home / word / "painted").glob("*.jpg") if _PAINTED.fullmatch(f.name)]
    if not painted:
        return ""
    newest = max(painted, key=lambda f: (f.name.startswith("front"), f.stat().st_mtime_ns))
    return sessions.get(word).to_paint(f"{newest.stem}c.jpg", lambda target: _small(newest, target))


def _small(source: Path, target: Path) -> None:
    rgb = photo.read_photo(source).rgb8
    scale = COVER_PX / max(rgb.shape[:2])
    size = max(1, round(rgb.shape[1] * scale)), max(1, round(rgb.shape[0] * scale))
    photo.write_jpeg(target, cv2.resize(rgb, size, interpolation=cv2.INTER_AREA))  # type: ignore[arg-type]
