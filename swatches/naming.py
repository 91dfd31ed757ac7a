"""Plain ids from a person's words, in letters that every system and every command line takes."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container

_SPELT = str.maketrans({"ß": "ss", "æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "ı": "i"})
_MOST = 60


def plain_id(wanted: str, fallback: str) -> str:
    """Words as a plain id: 'Grüner Loden' is 'gruner-loden'.

    Marks on letters are left out, and so are letters of other scripts; where no letter is left, the id is the fallback,
    with the figures that the words have: '布 2' is 'cloth-2'.
    """
    folded = unicodedata.normalize("NFKD", wanted.casefold().translate(_SPELT))
    plain = re.sub(r"[^a-z0-9]+", "-", "".join(c for c in folded if not unicodedata.combining(c))).strip("-")
    if not re.search("[a-z]", plain):
        plain = f"{fallback}-{plain}".strip("-")
    return plain[:_MOST].strip("-")


def free_id(wanted: str, taken: Container[str], fallback: str = "cloth") -> str:
    """A plain id that is not taken: 'dark-blue', 'dark-blue-2', …."""
    plain = found = plain_id(wanted, fallback)
    number = 2
    while found in taken:
        found = f"{plain}-{number}"
        number += 1
    return found
