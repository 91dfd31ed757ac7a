"""What a file gives: its bytes within limits, and named values that ride along in it as text.

What cannot be read is said in one sentence.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from pathlib import Path as FilePath
from typing import TypeVar

from swatches.errors import FileFormatError, InputError, UnitError
from swatches.units import Length, length
from swatches.words import unopened

_Choice = TypeVar("_Choice", bound=StrEnum)
MAX_NAME = 80


def clean(text: str, *, limit: int = MAX_NAME) -> str:
    """Make one printable line of a text from a stranger's file."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())[:limit].strip()


def first_bytes(
    source: FilePath | bytes, count: int, *, what: str = "", error: type[InputError] = FileFormatError
) -> bytes:
    """Read the beginning of a file, at most ``count`` bytes, to tell what it is.

    Args:
        source: the file, or its bytes.
        count: of bytes.
        what: the person's word for it; empty: its name.
        error: what is raised.

    Raises:
        error: it cannot be read.
    """
    if isinstance(source, bytes):
        return source[:count]
    try:
        with source.open("rb") as file:
            return file.read(count)
    except OSError as fault:
        raise error(
            what or clean(source.name), expected="a file that can be read", got=unopened(fault),
            next_step="Check its name",
        ) from fault  # fmt: skip


def read_limited(source: FilePath | bytes, *, what: str, max_bytes: int) -> bytes:
    """Read a file of at most ``max_bytes``.

    Raises:
        FileFormatError: it cannot be read, or is larger.
    """
    try:
        size = len(source) if isinstance(source, bytes) else source.stat().st_size
        if size > max_bytes:
            raise FileFormatError(
                what,
                expected=f"at most {max_bytes // 1_000_000} MB",
                got=f"{size / 1e6:.0f} MB",
                next_step="Choose another",
            )
        return source if isinstance(source, bytes) else source.read_bytes()
    except OSError as error:
        raise FileFormatError(
            what, expected="a file that can be read", got=unopened(error), next_step="Check its name"
        ) from error


class Given:
    """The values of one object in a file.

    Args:
        values: key → text.
        what: the object in the person's words, for error messages.
        prefix: what stands before every key in the file.
    """

    def __init__(self, values: Mapping[str, str], what: str, *, prefix: str = "") -> None:
        self.values, self.what, self.prefix = values, what, prefix

    def __contains__(self, key: str) -> bool:
        return self.prefix + key in self.values

    def text(self, key: str) -> str:
        """Give a text, cleaned; empty where there is none."""
        return clean(self.values.get(self.prefix + key, ""))

    def choice(self, key: str, choices: type[_Choice], default: _Choice) -> _Choice:
        """Give one of a list of words."""
        text = self.text(key).lower()
        try:
            return choices(text) if text else default
        except ValueError as error:
            raise self._bad(key, "one of " + ", ".join(choices), text) from error

    def yes(self, key: str) -> bool:
        """Give true or false; false where nothing is said."""
        text = self.text(key).lower()
        if text not in ("", "true", "false"):
            raise self._bad(key, "true or false", text)
        return text == "true"

    def whole(self, key: str, default: int, *, low: int = 0, high: int = 10_000) -> int:
        """Give a whole number between ``low`` and ``high``."""
        text = self.text(key)
        if not text:
            return default
        if not (text.isascii() and text.isdigit() and low <= int(text[:9]) <= high):
            raise self._bad(key, f"a whole number from {low} to {high}", text)
        return int(text)

    def length(self, key: str) -> Length:
        """Give a length of at least 0 with its unit as typed; 0 mm where nothing is said."""
        try:
            return length(self.text(key) or "0", what=f"{self.what}, {key}", minimum_mm=0.0)
        except UnitError as error:
            raise FileFormatError(
                error.what, expected=error.expected, got=error.got, next_step=error.next_step
            ) from error

    def _bad(self, key: str, expected: str, got: str) -> FileFormatError:
        return FileFormatError(
            f"{self.what}, {self.prefix}{key}", expected=expected, got=repr(got), next_step="Correct it in the file"
        )
