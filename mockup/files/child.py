"""Asks a process of its own, with limits, what a stranger's file draws: one mechanism for PDF, SVG and DXF.

Parsers eat whatever somebody made. They run alone: :mod:`mockup.files.child_main` gets the file on its standard input
and answers one JSON object on a pipe; its time, memory and answer are limited, and whatever becomes of it, this
process only reads numbers and texts. One child a file, whose answer is kept for a while.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import tempfile
import threading
from collections import OrderedDict
from typing import Any

from swatches.errors import FileFormatError

SECONDS, MEGABYTES = 60, 2500
_MOST_ANSWER = 150_000_000
_GRACE_S = 5.0  # the parent waits this much longer than the child may calculate
_KEPT_FILES, _KEPT_CHARACTERS = 8, 20_000_000
_Question = tuple[str, str, str, float | None]


class _Kept:
    """The last answers as text: while a person says what a file means, its lines are asked for again and again."""

    def __init__(self) -> None:
        self._texts: OrderedDict[_Question, bytes] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, question: _Question) -> bytes | None:
        with self._lock:
            if question in self._texts:
                self._texts.move_to_end(question)
            return self._texts.get(question)

    def put(self, question: _Question, text: bytes) -> None:
        with self._lock:
            self._texts[question] = text
            while len(self._texts) > _KEPT_FILES or sum(map(len, self._texts.values())) > _KEPT_CHARACTERS:
                self._texts.popitem(last=False)


_kept = _Kept()


def ask(kind: str, data: bytes, *, what: str, seconds: int = SECONDS, mm_per_unit: float | None = None) -> Any:
    """Let a child process read a file.

    Args:
        kind: 'pdf', 'svg' or 'dxf'.
        data: the file.
        what: the file in the person's words.
        seconds: the most that the child may calculate.
        mm_per_unit: mm of one of the file's units, where the person said it.

    Returns:
        What the reader told: lists, texts and numbers.

    Raises:
        FileFormatError: what the reader refused, in its own sentence; or it took too long, too much memory, or broke.
    """
    question = (kind, hashlib.sha256(data).hexdigest(), what, mm_per_unit)
    known = _kept.get(question)
    text = known if known is not None else _answer(kind, data, what, seconds, mm_per_unit)
    try:
        if len(text) > _MOST_ANSWER:
            raise ValueError("too long")
        answer = json.loads(text)
        if "error" in answer:
            said = {k: str(answer["error"][k]) for k in ("expected", "got", "next_step")}
            what = str(answer["error"]["what"])
        else:
            told = answer["told"]
            if known is None:
                _kept.put(question, text)
            return told
    except (ValueError, KeyError, TypeError) as error:
        raise FileFormatError(
            what,
            expected=f"a file that can be read within {seconds} s and {MEGABYTES} MB",
            got="one that cannot",
            next_step="Save only the pattern, with fewer points, and try again",
        ) from error
    raise FileFormatError(what, **said)


def _answer(kind: str, data: bytes, what: str, seconds: int, mm_per_unit: float | None) -> bytes:
    """What the child wrote, whole or not."""
    command = [sys.executable, "-I", "-m", "mockup.files.child_main", kind, str(seconds), str(MEGABYTES)]
    command += [what, "" if mm_per_unit is None else repr(mm_per_unit)]
    # One thread is enough, and more of them would each want memory of their own.
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    with tempfile.TemporaryFile() as file:
        file.write(data)
        file.seek(0)
        with subprocess.Popen(  # noqa: S603  our own module, by the interpreter that runs us
            command, stdin=file, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, env=environment
        ) as child:
            clock = threading.Timer(seconds + _GRACE_S, child.kill)
            clock.start()
            try:
                assert child.stdout is not None  # noqa: S101  it was asked for
                text = child.stdout.read(_MOST_ANSWER + 1)
            finally:
                clock.cancel()
                child.kill()
    return text
