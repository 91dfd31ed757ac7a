"""Garments worked on before: listed, put away, brought back; never another person's over the network."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from mockup.project import Project
from swatches.errors import InputError
from swatches.photo import read_photo, write_jpeg
from ui.page import is_here
from ui.parts import earlier
from ui.parts.session import Session, Sessions


def begun(sessions: Sessions, name: str) -> Session:
    session = sessions.get(Sessions.new_word())
    session.keep(Project(name), "begun")
    return session


def test_garments_are_found_again_newest_first(tmp_path: Path) -> None:
    sessions = Sessions(tmp_path)
    first, second = begun(sessions, "choir tunic"), begun(sessions, "<b>waistcoat</b>")
    os.utime(first.home / "state.json", (1_700_000_000, 1_700_000_000))
    (first.home / "painted").mkdir()
    write_jpeg(first.home / "painted" / f"front-{'a' * 24}.jpg", np.full((900, 600, 3), 90, np.uint8))
    undone = begun(sessions, "nothing left")
    undone.undo()
    (sessions.home / "not a word").mkdir()
    (sessions.home / ("b" * 22)).mkdir()
    (sessions.home / ("b" * 22) / "state.json").write_text("{")
    rows = earlier.listed(Sessions(tmp_path))
    assert [r["name"] for r in rows] == ["<b>waistcoat</b>", "choir tunic"]
    assert rows[1]["date"] == "2023-11-14T22:13:20+00:00"  # 1,700,000,000 s after 1970 (POSIX time)
    assert rows[0]["picture"] == ""
    assert earlier.listed(sessions, but=second.word)[0]["word"] == first.word
    cover = sessions.get(first.word).picture(earlier.listed(sessions)[1]["picture"].rsplit("/", 1)[1])
    assert cover is not None
    assert max(read_photo(cover).rgb8.shape) == earlier.COVER_PX


def test_what_is_put_away_comes_back_whole(tmp_path: Path) -> None:
    sessions = Sessions(tmp_path)
    session = begun(sessions, "choir tunic")
    earlier.put_away(sessions, session.word)
    assert earlier.listed(sessions) == []
    assert sessions.get(session.word).project is None
    earlier.bring_back(sessions, session.word)
    assert [r["name"] for r in earlier.listed(sessions)] == ["choir tunic"]
    assert sessions.get(session.word).need().name == "choir tunic"
    with pytest.raises(InputError):
        earlier.bring_back(sessions, session.word)


def test_a_garment_at_work_is_not_put_away(tmp_path: Path) -> None:
    sessions = Sessions(tmp_path)
    session = begun(sessions, "choir tunic")
    with session.working, pytest.raises(InputError, match="work"):
        earlier.put_away(sessions, session.word)
    assert earlier.listed(sessions)


@pytest.mark.parametrize("word", ["", "..", "../" * 8 + "etc", "a" * 22, "x" * 41])
def test_a_word_that_names_no_garment_moves_nothing(tmp_path: Path, word: str) -> None:
    sessions = Sessions(tmp_path)
    begun(sessions, "choir tunic")
    for act in (earlier.put_away, earlier.bring_back):
        with pytest.raises(InputError):
            act(sessions, word)
    assert len(earlier.listed(sessions)) == 1


def test_after_a_month_it_is_gone_for_good(tmp_path: Path) -> None:
    sessions = Sessions(tmp_path)
    old, new = begun(sessions, "old"), begun(sessions, "new")
    for session in (old, new):
        earlier.put_away(sessions, session.word)
    past = time.time() - 31 * 86_400
    os.utime(sessions.home / ".gone" / old.word / "state.json", (past, past))
    earlier.clear_out(sessions)
    assert [f.name for f in (sessions.home / ".gone").iterdir()] == [new.word]


@pytest.mark.parametrize(
    ("host", "here"), [("127.0.0.1", True), ("::1", True), ("192.168.1.7", False), ("", False), (None, False)]
)
def test_only_this_computer_is_told(host: str | None, here: bool) -> None:
    request: Any = SimpleNamespace(client=None if host is None else SimpleNamespace(host=host))
    assert is_here(request) is here


def test_the_list_goes_out_as_json(tmp_path: Path) -> None:
    sessions = Sessions(tmp_path)
    begun(sessions, "</script>")
    assert json.loads(json.dumps(earlier.listed(sessions)))[0]["name"] == "</script>"
