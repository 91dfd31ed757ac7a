"""A job that stops."""

from __future__ import annotations

from collections.abc import Callable

import pytest


@pytest.fixture
def stopped() -> Callable[[int], object]:
    """A job that is cancelled after so many steps."""

    class Job:
        def __init__(self, after: int) -> None:
            self.left = after

        @property
        def cancelled(self) -> bool:
            return self.left < 0

        def step(self, text: str, done: float | None = None) -> None:
            self.left -= 1

    return Job
