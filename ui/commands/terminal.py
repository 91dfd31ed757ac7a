"""What every command shares: the answer on standard output, progress on standard error, and whole files or none."""

from __future__ import annotations

import contextlib
import json
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import FrameType
from typing import Any, TypeVar

import click

from swatches.errors import InputError

F = TypeVar("F", bound=Callable[..., Any])

_FIRST_S, _NEXT_S = 10.0, 5.0
"""Seconds until a log that is no terminal hears of the work: what is refused at once stays one line."""

_BAR = 24


def with_json(command: F) -> F:
    """Give a command the option ``--json``, passed on as ``as_json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print one JSON object on standard output.")(command)


def say(as_json: bool, answer: dict[str, Any], text: str) -> None:
    """Print the answer: the object with ``--json``, else ``text``."""
    click.echo(json.dumps(answer, ensure_ascii=False, indent=2, default=_plain) if as_json else text)


def forbid() -> None:
    """End with exit code 1: done, and something forbids."""
    raise click.exceptions.Exit(1)


def absolute(path: Path) -> str:
    """Give the path as JSON answers show it."""
    return str(Path(os.path.abspath(path)))


def one_line(text: str) -> str:
    """Put a message on one line."""
    return " ".join(text.split())


def _plain(value: object) -> object:
    if isinstance(value, Path):
        return absolute(value)
    if hasattr(value, "tolist"):
        return value.tolist()
    raise TypeError(f"no JSON form of {type(value).__name__}")


class TerminalJob:
    """Progress on standard error: a bar on a terminal, a line now and then in a log."""

    def __init__(self) -> None:
        self.cancelled = False
        self._begin = time.monotonic()
        self._next = self._begin + _FIRST_S
        self._bar = sys.stderr.isatty()
        self._shown = False

    def step(self, text: str, done: float | None = None) -> None:
        """Show what is being done now."""
        now = time.monotonic()
        if self._bar:
            fill = round(_BAR * min(max(done or 0.0, 0.0), 1.0))
            share = f"{100 * done:3.0f} %" if done is not None else "     "
            line = f"\r{'█' * fill}{'·' * (_BAR - fill)} {share}  {one_line(text)}"
            sys.stderr.write(line[: shutil.get_terminal_size().columns] + "\x1b[K")
            sys.stderr.flush()
            self._shown = True
        elif now >= self._next:
            share = f"{100 * done:.0f} % " if done is not None else ""
            click.echo(f"{share}{one_line(text)}", err=True)
            self._next = now + _NEXT_S

    def clear(self) -> None:
        """Take the bar away, so that what follows starts on an empty line."""
        if self._shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
            self._shown = False

    @property
    def seconds(self) -> float:
        """Seconds since the job began."""
        return time.monotonic() - self._begin


@contextlib.contextmanager
def terminal_job() -> Iterator[TerminalJob]:
    """Give a job that Ctrl-C cancels; a second Ctrl-C stops at once."""
    job = TerminalJob()

    def stop(_number: int, _frame: FrameType | None) -> None:
        if job.cancelled:
            raise KeyboardInterrupt
        job.cancelled = True

    try:
        before = signal.signal(signal.SIGINT, stop)
    except ValueError:  # not the main thread: the caller's own handler stays
        before = None
    try:
        yield job
    finally:
        job.clear()
        if before is not None:
            signal.signal(signal.SIGINT, before)


@contextlib.contextmanager
def whole_folder(out: Path) -> Iterator[Path]:
    """Give an empty folder beside ``out``; its files move into ``out`` only when all went well.

    Raises:
        InputError: ``out`` cannot be written.
    """
    out = Path(os.path.abspath(out))
    if out.exists() and not out.is_dir():
        raise InputError("--out", expected="a folder", got=f"the file {out}", next_step="Name another folder")
    with _writable(out):
        out.parent.mkdir(parents=True, exist_ok=True)
        inside = out if out.exists() else out.parent  # beside the target, and where this person may write
        partial = Path(tempfile.mkdtemp(prefix=f".{out.name}-", dir=inside))
    try:
        yield partial
        with _writable(out):
            partial.chmod(0o777 & ~_umask())
            if out.exists():
                _merge(partial, out)
            else:
                partial.rename(out)
    finally:
        shutil.rmtree(partial, ignore_errors=True)


@contextlib.contextmanager
def _writable(out: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        raise InputError(
            "--out",
            expected="a place that can be written",
            got=f"{out} ({error.strerror or error})",
            next_step="Name another folder, or free some space",
        ) from error


def _merge(source: Path, target: Path) -> None:
    for item in sorted(source.iterdir()):
        goal = target / item.name
        if item.is_dir() and goal.is_dir():
            _merge(item, goal)
        else:
            item.replace(goal)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
