"""What an SVG's styles say of its lines: attributes, ``style`` and simple class rules; and lengths and dashes in px."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import svgelements

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element  # noqa: TID251  for its type only; defusedxml does the reading

INHERITED = ("stroke", "stroke-width", "stroke-dasharray", "fill", "display", "visibility")
"""Properties that matter here."""
_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")


def rules_of(root: Element) -> dict[str, dict[str, str]]:
    """Selector → declarations of every ``style`` element; only names, classes and ids are selectors here."""
    rules: dict[str, dict[str, str]] = {}
    for element in root.iter():
        if isinstance(element.tag, str) and element.tag.rpartition("}")[2].lower() == "style":
            text = re.sub(r"/\*.*?\*/", "", "".join(element.itertext())[:200_000], flags=re.DOTALL)
            for names, body in _RULE.findall(text):
                for name in names.split(","):
                    rules.setdefault(name.strip(), {}).update(declarations(body))
    return rules


def declarations(text: str) -> dict[str, str]:
    """The declarations of a ``style`` attribute or rule that matter here."""
    pairs = (part.split(":", 1) for part in text.split(";") if ":" in part)
    return {k.strip(): v.replace("!important", "").strip() for k, v in pairs if k.strip() in INHERITED}


def dash_lengths(text: str) -> tuple[float, ...]:
    """Lengths of dashes and gaps, px; empty for a solid line."""
    values = [number(v) for v in text.replace(",", " ").split()] if text and text != "none" else []
    return tuple(values) if values and min(values) >= 0 and sum(values) > 0 else ()


def number(text: str) -> float:
    """A length in px; 0 where it cannot be read."""
    try:
        value = svgelements.Length(text or "0").value(ppi=96)
        return float(value) if isinstance(value, int | float) and np.isfinite(value) else 0.0
    except (ValueError, TypeError, AttributeError):
        return 0.0
