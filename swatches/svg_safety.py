"""SVG from strangers: parsed without DOCTYPE and entities, and refused by name where it is more than lines.

Nothing is ever fetched. Both readers of SVG, that of drawings and that of pattern pieces, begin here.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import ParseError, fromstring

from swatches.errors import InputError

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element  # noqa: TID251  for its type only; defusedxml does the reading

_LIVE = {
    "script", "foreignobject", "iframe", "object", "embed", "handler", "listener", "animate", "set", "audio", "video",
    "animatemotion", "animatetransform", "animatecolor", "discard", "image", "feimage",
}  # fmt: skip
_OUTSIDE = re.compile(r"@import|url\(\s*['\"]?\s*(?!['\"]?#)|expression\s*\(|javascript:", re.IGNORECASE)
_SHOWN = 90  # characters of a stranger's text that are shown


def safe_svg(data: bytes, *, what: str, error: type[InputError]) -> Element:
    """Parse an SVG and see that it holds lines only: no scripts, event handlers, pictures, nothing outside the file.

    Args:
        data: the file.
        what: the person's word for it.
        error: what is raised.

    Returns:
        The root element.

    Raises:
        error: it is no SVG, or something in it is refused; says what.
    """
    try:
        root: Element = fromstring(data, forbid_dtd=True, forbid_entities=True, forbid_external=True)
    except DefusedXmlException as fault:
        kind = "a DOCTYPE" if type(fault).__name__ == "DTDForbidden" else "entities"
        raise error(
            what, expected="a plain SVG without DOCTYPE and entities", got=kind, next_step="Save it as plain SVG"
        ) from fault
    except (ParseError, ValueError, LookupError) as fault:
        raise error(
            what,
            expected="an SVG file",
            got="what cannot be read as one" if data.strip() else "an empty file",
            next_step="Save the drawing as SVG again",
        ) from fault
    if _name(root.tag) != "svg":
        raise error(
            what, expected="an SVG file", got=f"<{_plain(str(root.tag))}>", next_step="Save the drawing as SVG again"
        )
    bad = _more_than_lines(root)
    if bad:
        raise error(
            what, expected="lines only", got=_plain(bad), next_step="Save it as plain SVG without scripts and links"
        )
    return root


def _more_than_lines(root: Element) -> str:
    """The first thing that is no line, in words; empty where there is none."""
    for element in root.iter():
        tag = _name(element.tag)
        if tag in _LIVE:
            return f"<{element.tag.rpartition('}')[2]}>"
        for key, value in element.attrib.items():
            local = key.rpartition("}")[2].lower()
            if local.startswith("on"):
                return f"an event handler ({local})"
            if (local in ("href", "src", "base") and value.strip() and not value.strip().startswith("#")) or (
                local not in ("d", "points") and _OUTSIDE.search(value)
            ):
                return f"a reference outside the file ({local}={value.strip()[:40]})"
        if tag == "style" and _OUTSIDE.search("".join(element.itertext())):
            return "a style that loads from outside the file"
    return ""


def _name(tag: object) -> str:
    return tag.rpartition("}")[2].lower() if isinstance(tag, str) else ""


def _plain(text: str) -> str:
    """A stranger's text without control characters, cut short."""
    return "".join(c if c.isprintable() else "?" for c in text)[:_SHOWN]
