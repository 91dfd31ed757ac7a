"""Polls and votes in SQLite (WAL): a vote that was answered is on the disk, whatever happens next.

No personal data is kept: a voter is a random key in the voter's own browser or link, of which only a hash is stored,
salted per poll; no address, no name, no user agent. Times of votes are kept to the day.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import secrets
import sqlite3
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from mockup.polls.ballot import Ballot, Ballots
from mockup.polls.poll import COMMENT_LIMIT, MAX_CHOICES, MIN_CHOICES, TITLE_LIMIT, Ask, Poll, PollChoice
from swatches.errors import Failure, FileFormatError, InputError

_VERSION = 1
_TABLES = """
CREATE TABLE poll (
    id TEXT PRIMARY KEY, title TEXT NOT NULL, choices TEXT NOT NULL, ask TEXT NOT NULL, open_link INTEGER NOT NULL,
    closes REAL, closed INTEGER NOT NULL DEFAULT 0, salt BLOB NOT NULL
) STRICT;
CREATE TABLE link (poll TEXT NOT NULL REFERENCES poll (id), hash BLOB NOT NULL, PRIMARY KEY (poll, hash)) STRICT;
CREATE TABLE vote (
    number INTEGER PRIMARY KEY, poll TEXT NOT NULL REFERENCES poll (id), voter BLOB NOT NULL, ranking TEXT NOT NULL,
    shown TEXT NOT NULL, comment TEXT NOT NULL, day TEXT NOT NULL, UNIQUE (poll, voter)
) STRICT;
"""


@dataclass(frozen=True, slots=True)
class VoteRow:
    """One vote as it is exported: day (UTC), letters with the favourite first, letters as they were shown, comment."""

    day: str
    ranking: str
    order_shown: str
    comment: str


@dataclass(slots=True, eq=False)
class _Waiting:
    """A vote that waits to be written, and what became of it."""

    poll: str
    voter: bytes
    row: tuple[str, str, str, str]
    refusal: Failure | None = None
    fault: BaseException | None = None
    done: bool = False


class PollStore:
    """All polls of one data folder.

    Every thread has its own connection, so the store may be used from any thread and from several processes. Votes
    that arrive while one is being written are written together after it, in one transaction: the disk is asked once
    for all of them, and each is answered when they are there.

    Args:
        path: the database file; made if missing.
        clock: gives Unix time; tests give their own.
    """

    def __init__(self, path: Path, clock: Callable[[], float] = time.time) -> None:
        self.path, self.clock = path, clock
        self._own = threading.local()
        self._salts: dict[str, bytes] = {}
        self._offered: dict[str, Poll] = {}
        self._writer: sqlite3.Connection | None = None
        self._pending: list[_Waiting] = []
        self._queue, self._writing = threading.Lock(), threading.Lock()
        path.parent.mkdir(parents=True, exist_ok=True)
        with self._open() as db:
            version = db.execute("PRAGMA user_version").fetchone()[0]
            if version > _VERSION:
                raise FileFormatError(
                    str(path),
                    expected=f"polls of version {_VERSION} or older",
                    got=f"version {version}",
                    next_step="Update this software",
                )
            if version == 0:
                db.executescript(f"BEGIN IMMEDIATE; {_TABLES} PRAGMA user_version = {_VERSION}; COMMIT;")

    @contextlib.contextmanager
    def _open(self) -> Iterator[sqlite3.Connection]:
        db: sqlite3.Connection | None = getattr(self._own, "db", None)
        if db is None:
            db = self._own.db = self._connect()
        try:
            yield db
        finally:
            if db.in_transaction:
                db.execute("ROLLBACK")

    def _connect(self) -> sqlite3.Connection:
        db = _Connection(str(self.path), timeout=30, isolation_level=None, check_same_thread=False)
        db.execute("PRAGMA journal_mode = WAL")
        db.execute("PRAGMA synchronous = FULL")  # an answered vote survives a pulled plug
        db.execute("PRAGMA foreign_keys = ON")
        return db

    def checked(self, title: str, letters: Sequence[str], closes: float | None = None) -> str:
        """Give the title as it is kept; says what is wrong with a poll before its pictures are painted.

        Raises:
            InputError: too few or too many choices, a letter twice, no title, or a closing time that has passed.
        """
        title = " ".join(title.split())
        if not MIN_CHOICES <= len(letters) <= MAX_CHOICES or len(set(letters)) < len(letters):
            raise InputError(
                "choices",
                expected=f"{MIN_CHOICES} to {MAX_CHOICES} different choices",
                got=", ".join(letters) or "none",
                next_step="Take some away, or make another",
            )
        if not 0 < len(title) <= TITLE_LIMIT:
            raise InputError(
                "title", expected=f"1 to {TITLE_LIMIT} characters", got=f"{len(title)}", next_step="Write one question"
            )
        if closes is not None and closes <= self.clock():
            raise InputError(
                "closing time", expected="a time to come", got="one that has passed", next_step="Set it later"
            )
        return title

    def add(
        self, title: str, choices: Sequence[PollChoice], *, ask: Ask, open_link: bool, closes: float | None = None
    ) -> Poll:
        """Open a poll.

        Raises:
            InputError: too few or too many choices, a letter twice, no title, or a closing time that has passed.
        """
        title = self.checked(title, [c.letter for c in choices], closes)
        poll = Poll(secrets.token_urlsafe(9), title, tuple(choices), ask, open_link, closes)
        described = json.dumps([asdict(c) for c in choices], ensure_ascii=False)
        with self._open() as db:
            db.execute(
                "INSERT INTO poll VALUES (?, ?, ?, ?, ?, ?, 0, ?)",
                (poll.id, poll.title, described, ask.value, int(open_link), closes, secrets.token_bytes(16)),
            )
        return poll

    def get(self, poll_id: str) -> Poll | None:
        """Find a poll, or None."""
        with self._open() as db:
            return _poll(db, poll_id)

    def newest(self) -> Poll | None:
        """The poll that was opened last, or None."""
        with self._open() as db:
            row = db.execute("SELECT id FROM poll ORDER BY rowid DESC LIMIT 1").fetchone()
        return self.get(row[0]) if row else None

    def close(self, poll_id: str) -> None:
        """Close a poll: from now on no vote counts."""
        with self._open() as db:
            db.execute("UPDATE poll SET closed = 1 WHERE id = ?", (poll_id,))

    def make_links(self, poll_id: str, count: int) -> tuple[str, ...]:
        """Make one-time keys for clients. They are given once; only their hashes are kept."""
        keys = tuple(secrets.token_urlsafe(16) for _ in range(count))
        salt = self._salt(poll_id)
        with self._open() as db:
            db.execute("BEGIN IMMEDIATE")
            db.executemany("INSERT INTO link VALUES (?, ?)", [(poll_id, _hash(salt, key)) for key in keys])
            db.execute("COMMIT")
        return keys

    def may_vote(self, poll: Poll, key: str) -> Failure | None:
        """Say why this key may not vote, or None when it may."""
        with self._open() as db:
            return self._refusal(db, poll, _hash(self._salt(poll.id), key))

    def vote(
        self, poll_id: str, key: str, ranking: Sequence[str], *, shown: Sequence[str], comment: str = ""
    ) -> Ballot | Failure:
        """Record one vote; when it returns a ballot, the vote is on the disk.

        Args:
            poll_id: the poll.
            key: the voter's random key, from a one-time link or the browser's own.
            ranking: the favourite first; one letter where one is asked for, all letters where all are ranked.
            shown: letters in the order in which this voter saw them.
            comment: cut to 500 characters.
        """
        poll = self._offered.get(poll_id) or self.get(poll_id)  # what it offers never changes; whether it is open does
        if poll is None:
            return Failure("There is no such poll.")
        self._offered[poll_id] = poll
        wanted = 1 if poll.ask is Ask.ONE else len(poll.choices)
        if len(ranking) != wanted or not set(ranking) <= set(poll.letters) or len(set(ranking)) < len(ranking):
            return Failure("Choose one picture." if wanted == 1 else "Give every picture a different place.")
        if sorted(shown) != list(poll.letters):
            return Failure("The page is an old one. Open the link again.")
        voter = _hash(self._salt(poll_id), key)
        day = time.strftime("%Y-%m-%d", time.gmtime(self.clock()))
        text = " ".join(comment.split())[:COMMENT_LIMIT]
        waiting = _Waiting(poll_id, voter, (",".join(ranking), ",".join(shown), text, day))
        with self._queue:
            self._pending.append(waiting)
        with self._writing:  # whoever comes first writes for all who wait
            if not waiting.done:
                with self._queue:
                    batch, self._pending = self._pending, []
                self._write(batch)
        if waiting.fault is not None:
            raise waiting.fault
        if waiting.refusal is not None:
            return waiting.refusal
        return Ballot(voter.hex()[:12], tuple(ranking))

    def _write(self, batch: Sequence[_Waiting]) -> None:
        """Write votes in one transaction; each knows afterwards whether it was refused."""
        db = self._writer = self._writer or self._connect()
        try:
            db.execute("BEGIN IMMEDIATE")  # from here on no other vote can come between question and answer
            for one in batch:
                poll = _poll(db, one.poll)
                one.refusal = Failure("There is no such poll.") if poll is None else self._refusal(db, poll, one.voter)
                if one.refusal is None:
                    db.execute(
                        "INSERT INTO vote (poll, voter, ranking, shown, comment, day) VALUES (?, ?, ?, ?, ?, ?)",
                        (one.poll, one.voter, *one.row),
                    )
            db.execute("COMMIT")
        except Exception as error:  # noqa: BLE001  each of those who wait must hear of it
            for one in batch:
                one.fault = error
            if db.in_transaction:
                db.execute("ROLLBACK")
        finally:
            for one in batch:
                one.done = True

    def seal(self, poll_id: str, key: str) -> str:
        """A mark that ties a form to the key it was made for; the same after a restart, and nobody else can make it."""
        return _hash(self._salt(poll_id), f"form {key}").hex()

    def ballots(self, poll: Poll) -> Ballots:
        """All votes of a poll; voters are numbered by their hashes, which tells nothing of who voted when."""
        with self._open() as db:
            rows = db.execute("SELECT ranking FROM vote WHERE poll = ? ORDER BY voter", (poll.id,)).fetchall()
        return Ballots(tuple(Ballot(str(k + 1), tuple(r[0].split(","))) for k, r in enumerate(rows)), poll.letters)

    def rows(self, poll: Poll) -> tuple[VoteRow, ...]:
        """Every vote, for an export; in an order that tells nothing of who voted when."""
        with self._open() as db:
            rows = db.execute(
                "SELECT day, ranking, shown, comment FROM vote WHERE poll = ? ORDER BY voter", (poll.id,)
            ).fetchall()
        return tuple(VoteRow(*row) for row in rows)

    def _salt(self, poll_id: str) -> bytes:
        """A poll's salt, which never changes; empty where there is no such poll."""
        known = self._salts.get(poll_id)
        if known is None:
            with self._open() as db:
                row = db.execute("SELECT salt FROM poll WHERE id = ?", (poll_id,)).fetchone()
            if row is None:
                return b""
            known = self._salts[poll_id] = bytes(row[0])
        return known

    def _refusal(self, db: sqlite3.Connection, poll: Poll, voter: bytes) -> Failure | None:
        if not poll.is_open(self.clock()):
            return Failure("Voting has ended.")
        listed = db.execute("SELECT 1 FROM link WHERE poll = ? AND hash = ?", (poll.id, voter)).fetchone()
        if not poll.open_link and not listed:
            return Failure("This link is not one of those that were given out.", "Ask for your own link.")
        if db.execute("SELECT 1 FROM vote WHERE poll = ? AND voter = ?", (poll.id, voter)).fetchone():
            return Failure("You have voted already. Thank you.")
        return None


def _poll(db: sqlite3.Connection, poll_id: str) -> Poll | None:
    row = db.execute(
        "SELECT id, title, choices, ask, open_link, closes, closed FROM poll WHERE id = ?", (poll_id,)
    ).fetchone()
    if row is None:
        return None
    choices = tuple(PollChoice(**c) for c in json.loads(row[2]))
    return Poll(row[0], row[1], choices, Ask(row[3]), bool(row[4]), row[5], bool(row[6]))


class _Connection(sqlite3.Connection):
    """A connection that closes itself when its thread or its store is gone."""

    def __del__(self) -> None:
        self.close()


def shown_order(poll: Poll, key: str) -> tuple[str, ...]:
    """The order in which a voter sees the choices: a rotation that the key decides, so each letter is first as often.

    The first option shown is favoured (Carney & Banaji 2012), so no letter may always be first.
    """
    letters = poll.letters
    turn = int.from_bytes(hashlib.sha256(f"{poll.id} {key}".encode()).digest()[:8], "big") % len(letters)
    return letters[turn:] + letters[:turn]


def _hash(salt: bytes, key: str) -> bytes:
    return hashlib.blake2b(key.encode(), key=salt, digest_size=20).digest()
