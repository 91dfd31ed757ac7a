"""Our own scripts and styles for the page, at addresses that change with them.

So a browser keeps them without asking: there are some fifty, each needed by another, and asking for each whether it is
still the same took longer than drawing the page.
"""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

STATIC = Path(__file__).parent.parent / "static"
_ELSEWHERE = ("phone.js",)


@lru_cache(maxsize=1)
def mark() -> str:
    """A short name for what stands in the scripts now; who changes one starts the program again."""
    h = hashlib.sha256()
    for file in sorted(STATIC.iterdir()):
        h.update(file.name.encode() + b"\0" + file.read_bytes())
    return h.hexdigest()[:12]


def shim(script: str, *events: str) -> str:
    """Give the lines that mount one of our scripts in an element of the page.

    Args:
        script: name of the script; it offers ``mount(element, props, tell, watch)``.
        events: what it may tell; the names stand in quotes so that Python can listen to them.
    """
    names = ", ".join(f"'{event}'" for event in events)
    # The whole address: what a relative one in compiled text is relative to is for the browser's cache to guess.
    return (
        f"const events = [{names}];\n"
        "const tell = (name, data) => events.includes(name) && trigger(name, data);\n"
        f"import(new URL('/ours/{mark()}/{script}', location.href).href)"
        ".then((m) => m.mount(element, props, tell, watch));\n"
    )


def preloads() -> str:
    """Say at once which scripts will be wanted, for the page's head."""
    names = sorted(f.name for f in STATIC.glob("*.js") if f.name not in _ELSEWHERE)
    return "".join(f'<link rel="modulepreload" href="/ours/{mark()}/{name}">\n' for name in names)
