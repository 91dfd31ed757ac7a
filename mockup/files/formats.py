"""The table of formats for pattern pieces: to add one, write a file beside this one and give it a line here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath

from mockup.files import dxf, pdf, svg
from mockup.files.given import clean, first_bytes
from mockup.pattern.piece import Piece
from swatches.errors import FileFormatError

Reader = Callable[[FilePath | bytes], tuple[Piece, ...]]
Writer = Callable[[Sequence[Piece]], bytes]
_HEAD = 1024


@dataclass(frozen=True, slots=True)
class Format:
    """One format.

    Attributes:
        suffix: of its files' names.
        name: in words.
        looks: whether the first bytes of a file look like it.
        read: its reader.
        write: its writer, where pieces are kept in it.
    """

    suffix: str
    name: str
    looks: Callable[[bytes], bool]
    read: Reader
    write: Writer | None = None


def _looks_like_dxf(head: bytes) -> bool:
    first, _, rest = head.lstrip().partition(b"\n")
    return head.startswith(b"AutoCAD Binary DXF") or (first.strip() in (b"0", b"999") and bool(rest))


FORMATS: tuple[Format, ...] = (
    Format(
        ".svg",
        "SVG",
        lambda head: head.lstrip(b"\xef\xbb\xbf \t\r\n").startswith(b"<"),
        svg.read_pieces,
        lambda pieces: svg.write_pieces(pieces).encode(),
    ),
    Format(".dxf", "DXF", _looks_like_dxf, dxf.read_pieces, dxf.write_pieces),
    Format(".pdf", "PDF", lambda head: head.lstrip().startswith(b"%PDF-"), pdf.read_pieces),  # printed by mockup.sheets
)


def format_of(source: FilePath | bytes) -> Format:
    """Find the format of a file by its first bytes, and by its name where they say nothing.

    Raises:
        FileFormatError: pieces are not kept in such a file, or it cannot be read.
    """
    name = source.name if isinstance(source, FilePath) else ""
    what = clean(name) or "pieces"
    head = first_bytes(source, _HEAD, what=what)
    for found in FORMATS:
        if found.looks(head):
            return found
    for found in FORMATS:
        if name.lower().endswith(found.suffix):
            return found
    raise FileFormatError(
        what,
        expected="pattern pieces in " + " or ".join(f.name for f in FORMATS),
        got="another kind of file" if head else "an empty file",
        next_step="Save the pieces as SVG with their size in mm",
    )


def read_pieces(source: FilePath | bytes) -> tuple[Piece, ...]:
    """Read pattern pieces from a file of any format in the table.

    Raises:
        FileFormatError: the format is not in the table, or the file is not what it says.
    """
    return format_of(source).read(source)
