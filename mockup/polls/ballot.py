"""Ballots, and reading them from a table gathered elsewhere."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from string import ascii_uppercase

from swatches.errors import FileFormatError

MAX_BYTES = 20 * 1024 * 1024
MAX_CHOICES = 26
MAX_TOTAL = 100_000
_RANKS = ("first", "second", "third", "fourth", "fifth", "sixth")


@dataclass(frozen=True, slots=True)
class Ballot:
    """One voter's vote. ``ranking`` has the favourite first; a single choice is a ranking of one."""

    voter: str
    ranking: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ballots:
    """All ballots of a poll.

    Attributes:
        ballots: at most one a voter.
        choices: letters, sorted; those offered, or those that were voted for.
        warnings: sentences about rows that were not counted.
    """

    ballots: tuple[Ballot, ...]
    choices: tuple[str, ...]
    warnings: tuple[str, ...] = ()

    @property
    def ranked(self) -> bool:
        """Whether any ballot ranks more than one choice."""
        return any(len(b.ranking) > 1 for b in self.ballots)


def read_votes(data: bytes, *, offered: Sequence[str] = (), what: str = "votes") -> Ballots:
    """Read a table of votes: columns ``voter,choice`` or ``voter,first,second,…``.

    A voter counts once: the first row stands, later ones are named in the warnings. Capitals and blanks around a
    letter do not matter.

    Args:
        data: the CSV file, UTF-8 with or without a byte order mark.
        offered: letters on offer; empty: whatever was voted for.
        what: the file's name for messages.

    Raises:
        FileFormatError: no such columns, too large, not text, a choice that was not offered, a choice twice in a row.
    """
    if len(data) > MAX_BYTES:
        raise _bad(what, "at most 20 MB", "a larger file", "Split the table")
    try:
        rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig")), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        got = "a file that is no table of text" if isinstance(error, UnicodeDecodeError) else "quotation marks unclosed"
        raise _bad(what, "a table of votes as CSV", got, "Save the table again as CSV, UTF-8") from error
    header = [cell.strip().lower() for cell in rows[0]] if rows else []
    ranks = header[1:]
    if header[:1] != ["voter"] or ranks not in (["choice"], [*_RANKS[: len(ranks)]]) or not ranks:
        got = ",".join(header) or "an empty table"
        raise _bad(what, "columns voter,choice or voter,first,second,…", got, "Name the columns so")
    allowed = {letter.strip().upper() for letter in offered}
    seen: dict[str, Ballot] = {}
    warnings: list[str] = []
    for number, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        voter, ranking = row[0].strip(), tuple(cell.strip().upper() for cell in row[1:] if cell.strip())
        problem = _problem(voter, ranking, allowed, len(row) - 1, len(ranks))
        if problem:
            raise _bad(f"{what}, row {number}", problem, ",".join(row), "Mend that row")
        if voter in seen:
            warnings.append(f"row {number}: {voter} voted already; the first vote stands")
            continue
        seen[voter] = Ballot(voter, ranking)
    choices = tuple(sorted(allowed or {letter for b in seen.values() for letter in b.ranking}))
    if len(choices) > MAX_CHOICES:
        raise _bad(what, f"at most {MAX_CHOICES} choices", str(len(choices)), "Put one letter in each cell")
    return Ballots(tuple(seen.values()), choices, tuple(warnings))


def read_totals(text: str, *, names: Mapping[str, str] | None = None, what: str = "totals") -> Ballots:
    """Read typed totals, 'A=12, B=7': votes gathered elsewhere, of which only the first places are known.

    Args:
        text: as typed.
        names: letter → name of the choices that are known; each may be typed by either.
        what: the word for messages.

    Raises:
        FileFormatError: no such list, a choice twice, or more votes than a table may have.
    """
    counts: dict[str, int] = {}
    named = [_folded(name) for name in (names or {}).values()]
    letters = {_folded(name): letter for letter, name in (names or {}).items() if named.count(_folded(name)) == 1}
    for part in text.replace(";", ",").split(","):
        typed, equals, number = (piece.strip() for piece in part.rpartition("="))
        letter = typed.upper()
        if letter not in (names or {}):
            letter = letters.get(_folded(typed), letter)
        # Where names are known, so are the letters: A to Z.
        is_choice = letter in ascii_uppercase if names else letter.isalpha()
        if not equals or len(letter) != 1 or not is_choice or letter in counts or not number.isdecimal():
            known = [f"{key} or {name}" if name else key for key, name in (names or {}).items()]
            raise _bad(
                what,
                "letters or names of the choices with their votes, each once",
                text,
                f"Type {', '.join(known)}, each with = and its votes" if known else "Type them like A=12,B=7",
            )
        counts[letter] = int(number)
    if sum(counts.values()) > MAX_TOTAL or len(counts) > MAX_CHOICES:
        raise _bad(what, f"at most {MAX_TOTAL} votes for {MAX_CHOICES} choices", text, "Check the numbers")
    ballots = (Ballot(f"{letter}{n}", (letter,)) for letter, many in counts.items() for n in range(many))
    return Ballots(tuple(ballots), tuple(sorted(counts)))


def _folded(name: str) -> str:
    return unicodedata.normalize("NFKC", " ".join(name.split())).casefold()


def _problem(voter: str, ranking: tuple[str, ...], allowed: set[str], cells: int, columns: int) -> str:
    if not voter:
        return "a voter in the first column"
    if not ranking:
        return "at least one choice"
    if cells > columns:
        return f"at most {columns} choices"
    if len(set(ranking)) < len(ranking):
        return "each choice once"
    if allowed and not set(ranking) <= allowed:
        return "choices among " + ", ".join(sorted(allowed))
    return ""


def _bad(what: str, expected: str, got: str, next_step: str) -> FileFormatError:
    return FileFormatError(what, expected=expected, got=got, next_step=next_step)
