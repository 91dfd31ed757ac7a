"""The table of formats for pattern pieces: to add one, write a file beside this one and give it a line here."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath

from mockup.files import dxf, pdf, svg
from mockup.files.given import clean
from mockup.pattern.piece import Piece
from swatches.errors import FileFormatError

Reader = Callable[[FilePath | bytes], tuple[Piece, ...]]
Writer = Callable[[Sequence[Piece]], bytes]


@dataclass(frozen=True, slots=True)
class Format:
    """One format: its file name suffix, its name, its reader, and its writer where pieces are kept in it."""

    suffix: str
    name: str
    read: Reader
    write: Writer | None = None


FORMATS: tuple[Format, ...] = (
    Format(".svg", "SVG", svg.read_pieces, lambda pieces: svg.write_pieces(pieces).encode()),
    Format(".dxf", "DXF", dxf.read_pieces, dxf.write_pieces),
    Format(".pdf", "PDF", pdf.read_pieces),  # printed by mockup.sheets.printed_pieces
)


def format_of(path: FilePath) -> Format:
    """Find the format of a file by its name.

    Raises:
        FileFormatError: pieces are not kept in such a file.
    """
    for found in FORMATS:
        if path.suffix.lower() == found.suffix:
            return found
    raise FileFormatError(
        clean(path.name),
        expected="pattern pieces in " + " or ".join(f.name for f in FORMATS),
        got=f"a file that ends in {path.suffix!r}" if path.suffix else "a file without an ending",
        next_step="Save the pieces as SVG with their size in mm",
    )


def read_pieces(path: FilePath) -> tuple[Piece, ...]:
    """Read pattern pieces from a file of any format in the table.

    Raises:
        FileFormatError: the format is not in the table, or the file is not what it says.
    """
    return format_of(path).read(path)
