"""How long work tells its progress and hears that it is cancelled.

A job is an explicit argument. The command line, the page and the tests each give their own.
"""

from __future__ import annotations

from typing import Protocol

from swatches.errors import Cancelled


class Job(Protocol):
    """Progress and cancellation of one piece of long work."""

    def step(self, text: str, done: float | None = None) -> None:
        """Say what is being done now; ``done`` is the share of the whole, 0 to 1, where known."""

    @property
    def cancelled(self) -> bool:
        """Whether the person asked to stop."""


class Quiet:
    """A job that says nothing and is never cancelled."""

    cancelled = False

    def step(self, text: str, done: float | None = None) -> None:
        """Say nothing."""


class Part:
    """A job inside another: its 0 to 1 is ``start`` to ``end`` of the whole."""

    def __init__(self, whole: Job, start: float, end: float) -> None:
        self._whole, self._start, self._end = whole, start, end

    @property
    def cancelled(self) -> bool:
        """Whether the whole is cancelled."""
        return self._whole.cancelled

    def step(self, text: str, done: float | None = None) -> None:
        """Pass the step on, scaled."""
        self._whole.step(text, None if done is None else self._start + done * (self._end - self._start))


QUIET: Job = Quiet()


def check(job: Job) -> None:
    """Raise :class:`~swatches.errors.Cancelled` if the person asked to stop."""
    if job.cancelled:
        raise Cancelled("Stopped, as you asked. Nothing was changed.")
