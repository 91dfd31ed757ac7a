"""``mockup pieces read``: pattern pieces out of SVG, DXF, vector PDF, or a photo or scan of the paper."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import ALLOWANCE, DEEPEST_MM, FILE, LENGTH, OUT_FILE
from ui.commands.terminal import absolute, say, terminal_job, with_json

if TYPE_CHECKING:
    from mockup.files.pdf import Contents
    from mockup.geometry.path import Path as EdgePath
    from mockup.pattern.piece import Piece

_UNITS = {"mm": 1.0, "cm": 10.0, "in": 25.4, "inch": 25.4, "pt": 25.4 / 72, "px": 25.4 / 96, "m": 1000.0}
_VIEWS = ("front", "back")


@click.group("pieces")
def pieces() -> None:
    """Read pattern pieces."""


@pieces.command("read")
@click.argument("files", type=FILE, nargs=-1, required=True, metavar="FILE…")
@click.option("--known", metavar="PLACE=LENGTH", help="A length that you know, such as front:side=42cm or front=70cm.")
@click.option(
    "--unit", metavar="UNIT", help="Unit of a file that does not say it: mm, cm, in, pt, px, or mm of one unit."
)
@click.option("--line-is", type=click.Choice(["stitch", "cut"]), help="What the outlines are.")
@click.option("--allowance", type=ALLOWANCE, help="Seam allowance of every edge without one of its own.")
@click.option("--allowance-of", "each", multiple=True, metavar="PIECE:EDGE=LENGTH", help="Allowance of one edge.")
@click.option("--name", "names", multiple=True, metavar="PLACE=NAME", help="Name a piece, or an edge as piece:edge.")
@click.option("--view", "views", multiple=True, metavar="PIECE=VIEW[:AREA]", help="What of the picture a piece shows.")
@click.option("--fold", "folds", multiple=True, metavar="PIECE:EDGE", help="An edge that lies on the fold.")
@click.option(
    "--dart",
    "darts",
    multiple=True,
    metavar="PIECE:EDGE=FROM,WIDTH,DEPTH",
    help="A dart: how far along the stitch line it begins, how wide it opens, how deep it is.",
)
@click.option("--kinds", is_flag=True, help="Only list the kinds of line and the pages of a PDF.")
@click.option(
    "--kind", "pens", type=click.IntRange(1), multiple=True, help="Number of a kind of line, as --kinds lists."
)
@click.option("--layer", "layers", multiple=True, help="Take the lines of this layer of a PDF.")
@click.option("--colour", "colours", multiple=True, metavar="#RRGGBB", help="Take the lines of this colour.")
@click.option("--dash", type=click.Choice(["solid", "dashed"]), help="Take only solid or only dashed lines.")
@click.option("--page", "pages", type=click.IntRange(1), multiple=True, help="Number of a page; without it, all.")
@click.option(
    "--columns",
    type=click.IntRange(1, 100),
    help="Pages in a row; they are then laid mark on mark, or by --overlap and --margin.",
)
@click.option("--overlap", type=LENGTH, help="What neighbouring pages share.")
@click.option("--margin", type=LENGTH, help="White at every side of a page.")
@click.option(
    "--reference",
    default="sheet",
    show_default=True,
    help="For a photo: sheet, cards, a4, letter, card, or mm per pixel.",
)
@click.option("--cards-apart", type=LENGTH, help="Tape distance between the middles of cards 1 and 2.")
@click.option("--bar", type=LENGTH, help="What you measured of the sheet's 100 mm bar.")
@click.option("--like", type=FILE, metavar="SPLIT", help="Suggest which piece is which, from a split file.")
@click.option("--out", type=OUT_FILE, help="Write the pieces as SVG, to cut and print.")
@with_json
def read(files: tuple[Path, ...], as_json: bool, out: Path | None, like: Path | None, kinds: bool, **said: Any) -> None:
    """Say what pieces FILE holds, and take what you say of them: SVG, DXF, vector PDF, photo or scan."""
    from mockup.files import svg
    from mockup.files.reading import read as read_file
    from mockup.pattern.cutting_list import how_to_cut
    from swatches.safe_write import write_whole

    if kinds:
        _list_kinds(files, as_json)
        return
    split = _split(like)
    rows: list[dict[str, Any]] = []
    every: list[Piece] = []
    notes: list[str] = []
    asks: list[str] = []
    with terminal_job() as job:
        for path in files:
            found = read_file(path, _said(path, said), job=job)
            every += found.pieces
            notes += list(found.notes)
            asks += list(found.asks)
            for piece in found.pieces:
                row = {**described(piece), "file": absolute(path), "edge_error_mm": found.edge_error_mm}
                rows.append(row | ({"suggestions": _suggested(piece, split)} if split is not None else {}))
    answer: dict[str, Any] = {"pieces": rows, "notes": notes, "asks": asks, "files": []}
    if out is not None:
        write_whole(out, svg.write_pieces(every).encode(), what="--out")
        answer["files"] = [absolute(out)]
    text = [
        f"{r['name']}: {r['finished_area_mm2'] / 100:.1f} cm² finished, {r['cut_area_mm2'] / 100:.1f} cm² cut,"
        f" {how_to_cut(p)}, edges {', '.join(_edge_told(e) for e in r['edges'])}"
        + "".join(f"\n    may be {s['view']}, {s['area']}: {s['edges']}" for s in r.get("suggestions", [])[:1])
        for r, p in zip(rows, every, strict=True)
    ]
    say(as_json, answer, "\n".join([*text, *notes, *asks]))


def described(piece: Piece) -> dict[str, Any]:
    """A piece as JSON answers show it."""
    from mockup.geometry import path as paths
    from mockup.pattern.darts import leg_notches
    from ui.commands.pieces import cut_area

    return {
        "number": piece.number,
        "name": piece.name,
        "view": piece.view or None,
        "area": piece.area,
        "how": str(piece.how),
        "count": piece.count,
        "finished_area_mm2": piece.finished_area_mm2,
        "cut_area_mm2": cut_area(piece),
        "grainline": None if piece.grainline is None else [list(p) for p in piece.grainline],
        "notches": len(piece.notches) + len(leg_notches(piece)),
        "edges": [
            {
                "name": e.name,
                "kind": str(e.kind),
                "length_mm": paths.length(e.path),
                "allowance_mm": e.allowance_mm,
                "where": where(e.path),
            }
            for e in piece.edges
        ],
    }


def where(edge: EdgePath) -> str:
    """On which side of its piece an edge of a counter-clockwise ring lies, as it is drawn: top, bottom, left, right."""
    x, y = edge.end - edge.start
    if max(abs(x), abs(y)) < 1e-6:
        return "all round"
    if abs(x) >= abs(y):
        return "bottom" if x > 0 else "top"
    return "right" if y > 0 else "left"


def _edge_told(row: dict[str, Any]) -> str:
    """An edge's name with what tells it from the others: 'edge-1 (top, 20.5 cm)'."""
    return f"{row['name']} ({row['where']}, {row['length_mm'] / 10:.1f} cm)"


def _said(path: Path, said: dict[str, Any]) -> Any:
    from mockup.files.pdf_pages import Tiling
    from mockup.files.reading import Said
    from swatches.errors import InputError
    from swatches.units import length

    known = None
    if said["known"]:
        place, value = _pair(said["known"], "--known", "front:side=42cm")
        known = (place, length(value, what=f"--known {place}", minimum_mm=1.0))
    allowances = {}
    for text in said["each"]:
        place, value = _pair(text, "--allowance-of", "front:neck=10mm")
        allowances[place] = length(value, what=f"--allowance-of {place}", minimum_mm=0.0, maximum_mm=DEEPEST_MM)
    views, areas = {}, {}
    for text in said["views"]:
        piece, value = _pair(text, "--view", "piece-1=front")
        view, _, area = value.partition(":")
        if view not in _VIEWS:
            raise InputError(
                "--view", expected=" or ".join(_VIEWS), got=repr(view), next_step="Type it like piece-1=front"
            )
        views[piece] = view
        if area:
            areas[piece] = area
    tiling = None
    if said["columns"]:
        overlap, margin = (said[k].mm if said[k] else 0.0 for k in ("overlap", "margin"))
        tiling = Tiling(said["columns"], (overlap, overlap), (margin,) * 4)
    return Said(
        mm_per_unit=_unit(said["unit"]),
        known=known,
        line_is=said["line_is"] or "",
        allowance=said["allowance"],
        allowances=allowances,
        names=dict(_pair(t, "--name", "piece-1:edge-2=side") for t in said["names"]),
        views=views,
        areas=areas,
        folds=said["folds"],
        darts=[_dart(text) for text in said["darts"]],
        pens=_pens(path, said),
        pages=said["pages"],
        tiling=tiling,
        reference=_reference(said["reference"]),
        distance_mm=said["cards_apart"].mm if said["cards_apart"] else None,
        bar_mm=said["bar"].mm if said["bar"] else None,
    )


def _dart(text: str) -> Any:
    from mockup.files.preparing import SaidDart
    from swatches.errors import InputError
    from swatches.units import millimetres

    place, value = _pair(text, "--dart", "front:side=330mm,24mm,135mm")
    parts = value.split(",")
    if len(parts) != 3:
        raise InputError(
            f"--dart {place}",
            expected="three lengths: from, width, depth",
            got=repr(value),
            next_step="Type it like front:side=330mm,24mm,135mm",
        )
    return SaidDart(place, *(millimetres(part, what=f"--dart {place}", minimum_mm=0.0) for part in parts))


def _pair(text: str, what: str, example: str) -> tuple[str, str]:
    from swatches.errors import InputError

    place, equals, value = text.rpartition("=")
    if not equals or not place.strip() or not value.strip():
        raise InputError(what, expected=f"two parts with =, like {example}", got=repr(text), next_step="Type both")
    return place.strip(), value.strip()


def _unit(text: str | None) -> float | None:
    from swatches.errors import UnitError

    if text is None:
        return None
    try:
        value = _UNITS.get(text.strip().lower()) or float(text)
    except ValueError:
        value = 0.0
    if not 1e-4 <= value <= 1e4:
        raise UnitError(
            "--unit", expected="mm, cm, in, pt, px, or mm of one unit", got=repr(text), next_step="Type --unit cm"
        )
    return value


def _reference(text: str) -> str | float:
    try:
        return float(text)
    except ValueError:
        return text


def _pens(path: Path, said: dict[str, Any]) -> Sequence[int]:
    """Numbers of the kinds of line that were named by layer, colour or dash; those that were given by number."""
    if not (said["layers"] or said["colours"] or said["dash"]):
        return list(said["pens"])
    from mockup.files import pdf

    return [*said["pens"], *pdf.choose(pdf.look(path), said["layers"], said["colours"], said["dash"] or "")]


def _list_kinds(files: Sequence[Path], as_json: bool) -> None:
    from mockup.files import pdf

    rows, text = [], []
    for path in files:
        contents: Contents = pdf.look(path)
        pages = [[round(w, 2), round(h, 2)] for w, h in contents.pages]
        uses = [
            {
                "kind": n,
                "layer": u.pen.layer or None,
                "colour": u.pen.colour,
                "dash_mm": list(u.pen.dash),
                "width_mm": u.pen.width,
                "lines": u.lines,
                "length_mm": round(u.length_mm, 1),
                "pages": u.pages,
            }
            for n, u in enumerate(contents.pens, 1)
        ]
        rows.append({"file": absolute(path), "pages_mm": pages, "kinds": uses})
        count = len(pages)
        text.append(f"{path.name}: {count} page{'s' if count != 1 else ''}")
        text += [f"{n:>4}: {u.pen}, {u.length_mm / 1000:.1f} m" for n, u in enumerate(contents.pens, 1)]
    say(as_json, {"pieces": [], "contents": rows, "notes": [], "asks": [], "files": []}, "\n".join(text))


def _split(path: Path | None) -> Any:
    if path is None:
        return None
    from mockup.files.split_file import read_split

    return read_split(path)


def _suggested(piece: Piece, split: Any) -> list[dict[str, Any]]:
    from mockup.pattern.recognise import suggest

    return [
        {
            "view": s.view,
            "area": s.area,
            "side": s.side or None,
            "sure": s.sure,
            "edges": ", ".join(f"{piece.edges[k].name} {name}" for name, k in s.corners),
        }
        for s in suggest(piece, split)[:3]
    ]
