"""Reading pattern pieces from whatever the person has: SVG, DXF, vector PDF, or a photo or scan of the paper.

Strangers' files are parsed in a process of their own (:mod:`mockup.files.child`); pictures come in by the one door for
pixels. What the person says of them is applied in one order: size, names, fold, cut line or stitch line.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path as FilePath

from mockup.files import dxf, pdf, svg
from mockup.files.formats import format_of
from mockup.files.given import first_bytes
from mockup.files.paper_photo import read_paper
from mockup.files.pdf_pages import Tiling
from mockup.files.preparing import SaidDart, confirmed, darted, folded, named, with_allowances
from mockup.pattern.piece import EdgeKind, Piece
from swatches.errors import FileFormatError, InputError
from swatches.job import QUIET, Job
from swatches.units import Length

_PICTURES = (b"\xff\xd8\xff", b"\x89PNG", b"RIFF", b"II*\x00", b"MM\x00*", b"GIF8", b"BM")
LINES = ("stitch", "cut")
WHICH_LINE = "Is the outline the line that is sewn on, or the line that is cut? It was left as it is."


@dataclass(frozen=True, slots=True)
class Said:
    """What the person says of a file; everything may be left out.

    Attributes:
        mm_per_unit: mm of one unit of an SVG or DXF that does not say it.
        known: ('piece' or 'piece:edge', its length), which confirms the unit or corrects the size.
        line_is: whether the outlines are the 'stitch' line or the 'cut' line; empty: not said.
        allowance: of every edge without one of its own.
        allowances: 'piece:edge' → its allowance.
        names: 'piece' or 'piece:edge' as read → new name.
        views: piece as read → view of the picture.
        areas: piece as read → area of that view.
        folds: 'piece:edge', by their new names, that lie on the fold.
        darts: on edges by their new names, measured on the stitch line.
        pens: numbers of a PDF's kinds of line, from 1.
        pages: numbers of its pages, from 1.
        tiling: how its pages lie; None: by the lines and marks that neighbours share.
        reference: what tells the scale of a photo: 'sheet', 'cards', 'a4', 'letter', 'card', or mm per pixel.
        distance_mm: tape distance between the middles of cards 1 and 2.
        bar_mm: what was measured of the sheet's 100 mm bar.
    """

    mm_per_unit: float | None = None
    known: tuple[str, Length] | None = None
    line_is: str = ""
    allowance: Length | None = None
    allowances: Mapping[str, Length] = field(default_factory=dict)
    names: Mapping[str, str] = field(default_factory=dict)
    views: Mapping[str, str] = field(default_factory=dict)
    areas: Mapping[str, str] = field(default_factory=dict)
    folds: Sequence[str] = ()
    darts: Sequence[SaidDart] = ()
    pens: Sequence[int] = ()
    pages: Sequence[int] = ()
    tiling: Tiling | None = None
    reference: str | float = "sheet"
    distance_mm: float | None = None
    bar_mm: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Read:
    """Pieces as they were read and prepared.

    Attributes:
        pieces: on their stitch lines, where it was said what the outline is.
        kind: 'SVG', 'DXF', 'PDF' or 'photo'.
        edge_error_mm: how far off an edge may be, for a photo; else None.
        notes: one sentence each.
        asks: what is not known yet, one question each.
    """

    pieces: tuple[Piece, ...]
    kind: str
    edge_error_mm: float | None = None
    notes: tuple[str, ...] = ()
    asks: tuple[str, ...] = ()


def read(source: FilePath | bytes, said: Said | None = None, *, job: Job = QUIET) -> Read:
    """Read pieces from a file and apply what the person says of them.

    Args:
        source: the file, or its bytes.
        said: see :class:`Said`.
        job: progress.

    Raises:
        FileFormatError, PictureError: what is wrong with the file, in one sentence.
        InputError: what was said does not fit the file.
        GeometryError: an allowance that cannot be taken off.
    """
    said = said or Said()
    if said.line_is not in ("", *LINES):
        raise InputError("line", expected="stitch or cut", got=repr(said.line_is), next_step="Say which it is")
    both: list[str] = []
    kind, pieces, notes, error_mm = _raw(source, said, job, both)
    if said.known is not None:
        pieces, sentence = confirmed(pieces, *said.known, measured=both)
        notes = [*notes, sentence]
    drawn_twice = [p.name in both for p in pieces]
    pieces = named(pieces, said.names, views=said.views, areas=said.areas)
    notes = [*notes, *(_measured_said(p) for p, twice in zip(pieces, drawn_twice, strict=True) if twice)]
    pieces = folded(pieces, said.folds)
    asks = []
    plain = [p for p in pieces if all(e.kind in (EdgeKind.CUT, EdgeKind.FOLD) for e in p.edges)]
    if said.line_is or said.allowance is not None or said.allowances:
        if not said.line_is and plain:
            raise InputError(
                "allowance",
                expected="to know whether the outline is the stitch line or the cut line",
                got="an allowance alone",
                next_step="Say which line it is",
            )
        named_twice = [p.name for p, twice in zip(pieces, drawn_twice, strict=True) if twice]
        pieces = with_allowances(pieces, said.line_is, said.allowance, said.allowances, sewn=named_twice)
    elif plain:
        asks.append(WHICH_LINE)
    pieces = darted(pieces, said.darts)
    if said.known is None and kind in ("PDF", "photo"):
        asks.append("Which length of it do you know? One known length confirms the size.")
    return Read(tuple(pieces), kind, error_mm, tuple(notes), tuple(asks))


def _measured_said(piece: Piece) -> str:
    """What a piece's two lines told of its allowances, which is a proposal: edges can still be given others."""
    wide = sorted(
        {(e.allowance_mm, e.allowance_text or f"{e.allowance_mm:g} mm") for e in piece.edges if e.allowance_mm}
    )
    each = " to ".join(text for _, text in (wide if len(wide) < 2 else (wide[0], wide[-1])))
    return f"{piece.name}: its seam allowance was measured between the file's stitch line and cut line, {each}."


def _raw(
    source: FilePath | bytes, said: Said, job: Job, both: list[str]
) -> tuple[str, tuple[Piece, ...], list[str], float | None]:
    """The pieces as the file has them; a unit that the file does not say is tried out where a length is known.

    ``both`` takes the names of pieces that are drawn with both lines, whose allowances were measured.
    """
    if is_picture(source):
        found = read_paper(source, reference=said.reference, distance_mm=said.distance_mm, bar_mm=said.bar_mm, job=job)
        return "photo", found.pieces, list(found.notes), found.edge_error_mm
    kind = format_of(source).name
    job.step("Reading the pieces", 0.2)
    if kind == "PDF":
        return kind, pdf.read_pieces(source, pens=said.pens, pages=said.pages, tiling=said.tiling), [], None
    units = [said.mm_per_unit]
    if said.known is not None and said.mm_per_unit is None:
        units += [1.0, 25.4, 10.0, 25.4 / 96, 25.4 / 72]
    first: InputError | None = None
    for unit in units:
        try:
            both.clear()
            if kind == "SVG":
                pieces = svg.read_pieces(source, mm_per_unit=unit, apart=True)
            else:
                pieces = dxf.read_pieces(source, mm_per_unit=unit, apart=True, measured=both)
            if said.known is not None and first is not None:
                confirmed(pieces, *said.known, measured=both)
            return kind, pieces, [], None
        except (FileFormatError, InputError) as error:
            first = first or error
            if not _about_size(error):
                break
    raise first or FileFormatError("file", expected="pieces", got="none", next_step="Choose another file")


def _about_size(error: InputError) -> bool:
    """Whether a refusal may be a matter of the unit: none said, an unlikely size, or a known length that differs."""
    return any(w in error.expected for w in ("unit", "a piece between", "as the file has it"))


def is_picture(source: FilePath | bytes) -> bool:
    """Whether a file is a picture by its first bytes.

    Raises:
        FileFormatError: it cannot be read.
    """
    head = first_bytes(source, 16)
    return head.startswith(_PICTURES) or head[4:12] in (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftypavif", b"ftypheim")
