"""The child process of :mod:`mockup.files.child`: limits itself, reads one file, tells what it draws.

``python -I -m mockup.files.child_main KIND SECONDS MEGABYTES WHAT MM_PER_UNIT < file`` writes one JSON object to
standard output, which must be a pipe: ``{"told": …}``, or ``{"error": …}`` with the parts of a refusal.
"""

from __future__ import annotations

import json
import sys
from typing import Any

from swatches.errors import FileFormatError


def main(arguments: list[str]) -> int:
    """Read a file from standard input and tell what it draws."""
    kind, seconds, megabytes, what, unit = arguments
    limit(int(seconds), int(megabytes))
    answer: dict[str, Any]
    try:
        answer = {"told": _told(kind, sys.stdin.buffer.read(), what, float(unit) if unit else None)}
    except FileFormatError as error:
        parts = {"what": error.what, "expected": error.expected, "got": error.got, "next_step": error.next_step}
        answer = {"error": parts}
    json.dump(answer, sys.stdout)
    return 0


def limit(seconds: int, megabytes: int) -> None:
    """Limit this process's time, memory and files, where the system can."""
    try:
        import resource
    except ImportError:  # Windows: the parent's clock remains
        return
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    resource.setrlimit(resource.RLIMIT_AS, (megabytes << 20, megabytes << 20))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))


def _told(kind: str, data: bytes, what: str, mm_per_unit: float | None) -> Any:
    """Read with the kind's own reader; only that one is imported, so that the child begins at once."""
    if kind == "pdf":
        from mockup.files.pdf_child import told as pdf_told

        return pdf_told(data, what)
    if kind == "svg":
        from mockup.files.svg_drawing import told as svg_told

        return svg_told(data, what, mm_per_unit)
    from mockup.files.dxf_drawing import told as dxf_told

    return dxf_told(data, what, mm_per_unit)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
