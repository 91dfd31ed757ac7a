"""The page's address is said when there is a page."""

from __future__ import annotations

from pathlib import Path

import pytest

from ui import app


def test_the_address_is_said_when_the_page_answers(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    done: list[str] = []
    monkeypatch.setattr(app, "build_app", lambda *_, **__: done.append("built"))
    monkeypatch.setattr(app, "_prepare", lambda _: None)
    monkeypatch.setattr("uvicorn.Server.run", lambda _, sockets: done.append(f"{len(sockets)} listening"))
    app.serve("127.0.0.1", 0, tmp_path, open_browser=False, ready=lambda: done.append("said"))
    assert done == ["built", "said", "1 listening"]
