import re

import numpy as np
import pytest
from starlette.testclient import TestClient

from mockup.polls.poll import Ask, PollChoice
from mockup.polls.store import PollStore
from swatches.photo import write_png
from ui.poll.app import BODY_LIMIT, Pace, build_poll_app

NASTY = "<script>alert('x')</script>"


@pytest.fixture
def made(tmp_path):
    store = PollStore(tmp_path / "polls.sqlite")

    def make(**wanted):
        choices = [PollChoice(letter, NASTY, f"choice-{letter}.png", f'"{NASTY}') for letter in "AB"]
        poll = store.add(f"Which? {NASTY}", choices, **{"ask": Ask.ONE, "open_link": True, **wanted})
        place = tmp_path / "pictures" / poll.id
        place.mkdir(parents=True)
        for letter in "AB":
            write_png(place / f"choice-{letter}.png", np.full((8, 8, 3), 90, np.uint8))
        return poll

    return store, make, lambda **more: TestClient(build_poll_app(store, tmp_path / "pictures", **more))


def fields(html):
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', html))


def test_vote_once_without_script(made):
    store, make, client = made
    poll, browser = make(), client()
    page = browser.get(f"/{poll.id}")
    assert page.status_code == 200
    assert NASTY not in page.text
    assert "<script" not in page.text
    assert page.headers["content-security-policy"].startswith("default-src 'none'")
    assert browser.get(f"/{poll.id}/picture/A").headers["content-type"] == "image/png"
    sent = browser.post(f"/{poll.id}", data={**fields(page.text), "choice": "B", "comment": "lovely"})
    assert "Thank you" in sent.text
    assert "voted already" in browser.get(f"/{poll.id}").text
    again = browser.post(f"/{poll.id}", data={**fields(page.text), "choice": "A"})
    assert (again.status_code, "voted already" in again.text) == (400, True)
    assert [b.ranking for b in store.ballots(poll).ballots] == [("B",)]


def test_people_vote_in_turn_on_one_screen(made):
    store, make, client = made
    poll, browser = make(), client(in_turn=True)
    for n, letter in enumerate("BA", 1):
        page = browser.get(f"/{poll.id}?next" if n > 1 else f"/{poll.id}")
        sent = browser.post(f"/{poll.id}", data={**fields(page.text), "choice": letter})
        assert "Thank you" in sent.text
        assert f'href="/{poll.id}?next"' in sent.text
        assert "voted already" in browser.get(f"/{poll.id}").text, "going back is no second vote"
    assert sorted(b.ranking for b in store.ballots(poll).ballots) == [("A",), ("B",)]
    elsewhere = client()
    page = elsewhere.get(f"/{poll.id}")
    sent = elsewhere.post(f"/{poll.id}", data={**fields(page.text), "choice": "A"})
    assert "?next" not in sent.text
    assert "voted already" in elsewhere.get(f"/{poll.id}?next").text, "where everybody has a screen of their own"
    store.close(poll.id)
    assert "?next" not in browser.get(f"/{poll.id}").text


def test_ranking_keeps_what_was_typed_when_it_is_wrong(made):
    store, make, client = made
    poll, browser = make(ask=Ask.RANK), client()
    hidden = fields(browser.get(f"/{poll.id}").text)
    wrong = browser.post(f"/{poll.id}", data={**hidden, "place-A": "1", "place-B": "1", "comment": "mine"})
    assert wrong.status_code == 400
    assert "different place" in wrong.text
    assert "mine" in wrong.text
    right = browser.post(f"/{poll.id}", data={**hidden, "place-A": "2", "place-B": "1"})
    assert "Thank you" in right.text
    assert store.ballots(poll).ballots[0].ranking == ("B", "A")


def test_forged_seal_foreign_browser_and_unknown_link(made):
    store, make, client = made
    poll, browser = make(), client()
    hidden = fields(browser.get(f"/{poll.id}").text)
    assert browser.post(f"/{poll.id}", data={**hidden, "seal": "0" * 64, "choice": "A"}).status_code == 403
    assert client().post(f"/{poll.id}", data={**hidden, "choice": "A"}).status_code == 403
    private = make(open_link=False)
    assert "not one of those" in browser.get(f"/{private.id}?key=guess").text
    (key,) = store.make_links(private.id, 1)
    page = client().get(f"/{private.id}?key={key}")
    assert "Thank you" in client().post(f"/{private.id}", data={**fields(page.text), "choice": "A"}).text
    assert len(store.ballots(poll).ballots) == 0


def test_closed_poll_long_comment_unknown_choice_and_stray_paths(made):
    store, make, client = made
    poll, browser = make(), client()
    hidden = fields(browser.get(f"/{poll.id}").text)
    assert browser.post(f"/{poll.id}", data={**hidden, "choice": "Z"}).status_code == 400
    assert browser.post(f"/{poll.id}", data={**hidden, "comment": "x" * BODY_LIMIT}).status_code == 413
    for path in ("/", "/nothing", f"/{poll.id}/picture/Z", f"/{poll.id}/picture/..%2Fx", "/docs", "/openapi.json"):
        assert browser.get(path).status_code == 404
    store.close(poll.id)
    assert "Voting has ended" in browser.post(f"/{poll.id}", data={**hidden, "choice": "A"}).text
    assert store.ballots(poll).ballots == ()


def test_too_many_votes_from_one_place(made):
    _, make, client = made
    poll = make()
    browser = client(votes_a_minute=2)
    codes = [browser.post(f"/{poll.id}", data={}).status_code for _ in range(4)]
    assert codes == [403, 403, 429, 429]


def test_pace_recovers():
    now = [0.0]
    pace = Pace(60, lambda: now[0])
    assert [pace.allows("a") for _ in range(61)][-2:] == [True, False]
    assert pace.allows("b")
    now[0] = 1.5
    assert pace.allows("a")
