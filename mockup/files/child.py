"""Asks a process of its own, with limits, what a stranger's file draws: one mechanism for PDF, SVG and DXF.

Parsers eat whatever somebody made. They run alone: :mod:`mockup.files.child_main` gets the file on its standard input
and answers one JSON object on a pipe; its time, memory and answer are limited, and whatever becomes of it, this
process only reads numbers and texts. One child a file.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import threading
from typing import Any

from swatches.errors import FileFormatError

SECONDS, MEGABYTES = 60, 2500
_MOST_ANSWER = 150_000_000
_GRACE_S = 5.0  # the parent waits this much longer than the child may calculate


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
    try:
        if len(text) > _MOST_ANSWER:
            raise ValueError("too long")
        answer = json.loads(text)
        if "error" in answer:
            said = {k: str(answer["error"][k]) for k in ("expected", "got", "next_step")}
            what = str(answer["error"]["what"])
        else:
            return answer["told"]
    except (ValueError, KeyError, TypeError) as error:
        raise FileFormatError(
            what,
            expected=f"a file that can be read within {seconds} s and {MEGABYTES} MB",
            got="one that cannot",
            next_step="Save only the pattern, with fewer points, and try again",
        ) from error
    raise FileFormatError(what, **said)
