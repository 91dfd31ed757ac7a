"""Errors that a person can mend, as one tree.

::

    MockupError                 anything this software says on purpose
    ├── InputError              what was given cannot be used; says what, expected, got, next step
    │   ├── UnitError           a length, weight or share that cannot be read
    │   ├── PictureError        a photo or drawing that cannot be used
    │   ├── FileFormatError     a file that is not what its format says
    │   ├── GeometryError       an outline or line that cannot be cut or offset
    │   └── ProjectError        a project that cannot be read, written or found
    ├── ProofError              a computed result failed its own proof; nothing is printed
    └── Cancelled               the person stopped the job

An *expected* outcome, such as 'no sheet in this photo' or 'no lay found', is no exception: it is a
:class:`Failure`, a falsy value with a reason.
"""

from __future__ import annotations

from dataclasses import dataclass


class MockupError(Exception):
    """Root of the tree. ``str()`` is one sentence for the person."""


class InputError(MockupError):
    """What was given cannot be used.

    Args:
        what: the argument, file or object, in the person's words.
        expected: what would have been right.
        got: what was there instead; shortened to 120 characters.
        next_step: what the person can do now, an imperative sentence without a full stop.
    """

    def __init__(self, what: str, *, expected: str, got: str, next_step: str) -> None:
        self.what, self.expected, self.got, self.next_step = what, expected, _short(got), next_step
        super().__init__(f"{what}: expected {expected}, got {self.got}. {next_step}.")


class UnitError(InputError):
    """A length, weight or share that cannot be read."""


class PictureError(InputError):
    """A photo or drawing that cannot be used."""


class FileFormatError(InputError):
    """A file that is not what its format says."""


class GeometryError(InputError):
    """An outline or line that cannot be cut or offset. ``place`` is (x, y) where known, in the input's unit."""

    def __init__(
        self, what: str, *, expected: str, got: str, next_step: str, place: tuple[float, float] | None = None
    ) -> None:
        super().__init__(what, expected=expected, got=got, next_step=next_step)
        self.place = place


class ProjectError(InputError):
    """A project that cannot be read, written or found."""


class ProofError(MockupError):
    """A computed result failed its own proof; nothing is printed."""


class Cancelled(MockupError):
    """The person stopped the job."""


@dataclass(frozen=True, slots=True)
class Failure:
    """An expected 'no', with its reason in one sentence and, if there is one, advice. Falsy."""

    reason: str
    advice: str = ""

    def __bool__(self) -> bool:
        """Be falsy, so that ``if result:`` reads as 'if it worked'."""
        return False


def _short(text: object, limit: int = 120) -> str:
    line = " ".join(str(text).split())
    return line if len(line) <= limit else line[: limit - 1] + "…"
