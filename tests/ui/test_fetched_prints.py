"""Prints on papers that were not chosen: made when they are fetched, of the cut that is listed, and kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from fastapi import FastAPI
from starlette.testclient import TestClient

from mockup import journey
from mockup.journey import to_print
from mockup.journey.publish import one_way
from mockup.samples import choir
from mockup.sheets.printed_pieces import pieces_pdf
from swatches.errors import Cancelled, FileFormatError
from swatches.job import QUIET
from ui.parts.session import Session, Sessions
from ui.questions import pieces, pieces_make
from ui.questions.made_served import serve_made
from ui.questions.pieces_print import TO_PRINT, WhileAsked, print_of

SEAM = {"do": "join", "one": "front yoke:yoke", "other": "middle front:yoke"}


@pytest.fixture
def cut(session: Session) -> Session:
    """The tunic with its pieces, cut and to be printed on a roll."""
    project, _ = journey.put_pieces(session.folder, session.need(), choir.PIECES)
    session.keep(project, "pieces")
    make(session, "15 mm", "roll36")
    return session


@pytest.fixture
def client(sessions: Sessions) -> Iterator[TestClient]:
    app = FastAPI()
    serve_made(app, sessions)
    with TestClient(app) as client:
        yield client


def make(session: Session, allowance: str, paper: str) -> None:
    said = pieces._keep(session, pieces._make(session, QUIET, allowance, paper, False))
    assert said is not None
    assert said.text.startswith("Cut, and proved")


def printed(session: Session, allowance: str, paper: str) -> bytes:
    """The print as it would be made together with a cut of the project as it is now."""
    project = session.need()
    found = journey.cut(project, session.folder, "", allowance=allowance)
    return pieces_pdf(
        found.pieces, paper=paper, title=project.name, date=project.date,
        fabric_names=journey.fabric_names(project), one_way=one_way(project), proof=found.proof,
    )  # fmt: skip


def test_any_paper_comes_from_the_cut_that_is_listed_and_is_kept(
    cut: Session, client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    link = f"/made/{cut.word}/pieces-"
    expected = {paper: printed(cut, "15 mm", paper) for paper in ("roll36", "projector")}
    cut.keep(replace(cut.need(), name="Renamed since"), "renamed")  # the pieces are still those that were cut
    assert not (cut.made_folder / "pieces-projector.pdf").exists()
    got = client.get(f"{link}projector.pdf")
    assert got.content == expected["projector"]
    assert "pieces-projector.pdf" in got.headers["content-disposition"]
    assert client.get(f"{link}roll36.pdf").content == expected["roll36"]
    monkeypatch.setattr(to_print, "pieces_pdf", None)
    assert client.get(f"{link}projector.pdf").content == expected["projector"], "it is there"
    monkeypatch.undo()

    # Cut otherwise, at the same step and for another paper: neither the one that was chosen nor the one that was
    # fetched is given out for what is listed now.
    make(cut, "5 mm", "projector")
    fresh = {paper: printed(cut, "5 mm", paper) for paper in expected}
    assert fresh["roll36"] != expected["roll36"]
    for paper, data in fresh.items():
        assert client.get(f"{link}{paper}.pdf").content == data

    # Anything may be asked for, and by somebody who has left meanwhile.
    for name in ("pieces-a5.pdf", "pieces-A4.pdf", "pieces-..%2Fstate.json", "..%2Fstate.json", ".state", "to-print"):
        assert client.get(f"/made/{cut.word}/{name}").status_code == 404
    assert client.get("/made/short/pieces-projector.pdf").status_code == 404
    nobody = Sessions.new_word()
    assert client.get(f"/made/{nobody}/pieces-projector.pdf").status_code == 404
    assert not (cut.home.parent / nobody).exists(), "nothing is begun by asking"
    gone = WhileAsked()
    gone.stop()
    with pytest.raises(Cancelled):
        print_of(cut, "pieces-a4.pdf", job=gone)
    assert not list((cut.home / "prints").rglob("pieces-a4.pdf"))

    # What is kept of the cut may have been spoilt.
    for kept in (b"", b"[]", b'{"pieces": 1}', b'{"proof": {}}', b"\xff"):
        with pytest.raises(FileFormatError):
            to_print.read_to_print(kept)
        (cut.made_folder / TO_PRINT).write_bytes(kept)
        answer = client.get(f"{link}a4.pdf")
        assert answer.status_code == 409
        assert "Make the pieces again" in answer.text
        assert answer.text.count("\n") == 0


def test_a_seam_put_back_brings_the_files_of_that_cut(cut: Session, monkeypatch: pytest.MonkeyPatch) -> None:
    def act(message: dict[str, Any]) -> None:
        pieces._keep(cut, pieces._join(cut, QUIET, message))

    def files() -> dict[str, bytes]:
        return {name: (cut.made_folder / name).read_bytes() for name in cut.state.made}

    before, facts = files(), cut.state.facts
    act(SEAM)
    assert files()[TO_PRINT] != before[TO_PRINT]
    monkeypatch.setattr(pieces_make, "publish", None)  # nothing is cut that was cut already
    act({"do": "part"})
    assert cut.made_holds
    assert (files(), cut.state.facts, cut.joins) == (before, facts, ())
    cut.undo()
    assert [len(cut.joins), files() != before] == [1, True]
    cut.remember(unit="in")
    with pytest.raises(TypeError):  # told in inches, the same cut says other things: it is made
        act({"do": "part"})
