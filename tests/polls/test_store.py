import sqlite3
import subprocess
import sys
import textwrap
import threading
from collections import Counter

import pytest

from mockup.polls.ballot import Ballot
from mockup.polls.poll import Ask, PollChoice
from mockup.polls.store import PollStore, shown_order
from swatches.errors import FileFormatError, InputError

CHOICES = [PollChoice(letter, "", f"{letter}.png", f"choice {letter}") for letter in "ABC"]


@pytest.fixture
def clock():
    return [1_000_000.0]


@pytest.fixture
def store(tmp_path, clock):
    return PollStore(tmp_path / "polls.sqlite", lambda: clock[0])


def opened(store, **wanted):
    return store.add("Which?", CHOICES, **{"ask": Ask.ONE, "open_link": True, **wanted})


def test_one_voter_one_vote(store):
    poll = opened(store)
    assert isinstance(store.vote(poll.id, "k1", ["A"], shown="ABC"), Ballot)
    again = store.vote(poll.id, "k1", ["B"], shown="ABC")
    assert not again
    assert again.reason.startswith("You have voted already")
    assert [b.ranking for b in store.ballots(poll).ballots] == [("A",)]
    assert store.ballots(poll).choices == ("A", "B", "C")


def test_ranking_wants_every_choice_once(store):
    poll = opened(store, ask=Ask.RANK)
    for wrong in (["A"], ["A", "B", "B"], ["A", "B", "Z"], []):
        assert not store.vote(poll.id, "k", wrong, shown="ABC")
    assert store.vote(poll.id, "k", ["C", "A", "B"], shown="ABC").ranking == ("C", "A", "B")


def test_only_links_that_were_given_out_count(store):
    poll = opened(store, open_link=False)
    (key,) = store.make_links(poll.id, 1)
    assert not store.vote(poll.id, "forged", ["A"], shown="ABC")
    assert store.may_vote(poll, key) is None
    assert store.vote(poll.id, key, ["A"], shown="ABC")
    assert not store.vote(poll.id, key, ["A"], shown="ABC")
    other = opened(store, open_link=False)
    assert not store.vote(other.id, key, ["A"], shown="ABC")  # a link of another poll


def test_no_vote_after_closing(store, clock):
    poll = opened(store, closes=clock[0] + 10)
    clock[0] += 11
    assert store.vote(poll.id, "k", ["A"], shown="ABC").reason == "Voting has ended."
    by_hand = opened(store)
    store.close(by_hand.id)
    assert not store.vote(by_hand.id, "k", ["A"], shown="ABC")


def test_nothing_personal_is_stored(store):
    poll = opened(store)
    store.vote(poll.id, "voters-own-key", ["A"], shown="BCA", comment="  nice\n " + "x" * 600)
    raw = b"".join(p.read_bytes() for p in store.path.parent.iterdir())
    assert b"voters-own-key" not in raw
    (row,) = store.rows(poll)
    assert (row.day, row.ranking, row.order_shown) == ("1970-01-12", "A", "B,C,A")
    assert len(row.comment) == 500


def test_the_order_turns_so_that_each_is_first_as_often(store):
    poll = opened(store)
    first = Counter(shown_order(poll, str(k))[0] for k in range(3000))
    # three equal shares of 3,000: a standard deviation is 26, so 130 is five of them (derived)
    assert all(abs(n - 1000) < 130 for n in first.values())
    assert shown_order(poll, "x") == shown_order(poll, "x")


@pytest.mark.parametrize("wrong", [{"closes": 1.0}, {"title": " "}, {"choices": CHOICES[:1]}, {"choices": CHOICES * 2}])
def test_bad_polls_are_refused(store, wrong):
    given = {"title": "Which?", "choices": CHOICES, "ask": Ask.ONE, "open_link": True} | wrong
    with pytest.raises(InputError):
        store.add(given.pop("title"), given.pop("choices"), **given)


def test_a_newer_database_is_left_alone(tmp_path):
    path = tmp_path / "p.sqlite"
    with sqlite3.connect(path) as db:
        db.execute("PRAGMA user_version = 99")
    with pytest.raises(FileFormatError, match="version 99"):
        PollStore(path)


def test_votes_from_many_threads_are_all_there_once(store):
    poll = opened(store)
    answers = []

    def work(n):
        for k in range(10):
            answers.append(bool(store.vote(poll.id, f"{n % 4}-{k}", ["A"], shown="ABC")))

    threads = [threading.Thread(target=work, args=(n,)) for n in range(8)]  # two threads share each voter
    for t in threads:
        t.start()
    for t in threads:
        t.join()
    assert sum(answers) == 40
    assert len(store.ballots(poll).ballots) == 40


def test_an_answered_vote_survives_kill_9(tmp_path):
    path = tmp_path / "polls.sqlite"
    poll = opened(PollStore(path))
    child = subprocess.Popen(
        [sys.executable, "-c", textwrap.dedent(f"""
            from pathlib import Path
            from mockup.polls.store import PollStore
            store, k = PollStore(Path({str(path)!r})), 0
            while True:
                if store.vote({poll.id!r}, str(k), ["A"], shown="ABC"):
                    print(k, flush=True)
                k += 1
        """)],
        stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    for _ in range(25):
        child.stdout.readline()
    child.kill()
    answered = 25 + len(child.stdout.read().split())
    child.wait()
    assert len(PollStore(path).ballots(poll).ballots) >= answered
