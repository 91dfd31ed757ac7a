"""``mockup join`` and ``mockup walk``: two pieces become one; do the seams match?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ui.commands.kinds import FILE, LENGTH, OUT_FILE
from ui.commands.pieces import cut_area, proof_figures, read_any
from ui.commands.terminal import absolute, forbid, say, with_json

if TYPE_CHECKING:
    from mockup.pattern.piece import Piece


_POINT_DEG = 0.5  # style seams that miss running on into each other by less are one line


@click.command("join")
@click.argument("files", type=FILE, nargs=-1, required=True, metavar="PIECES…")
@click.option("--seam", required=True, metavar="PIECE:EDGE=PIECE:EDGE", help="The seam that goes.")
@click.option("--allow", type=LENGTH, default="0.5mm", show_default=True, help="Gap that may be closed, at most 2 mm.")
@click.option("--name", default="", help="Name of the joined piece; without it, both names.")
@click.option(
    "--grain",
    "grain_of",
    type=click.Choice(["first", "second"]),
    default="first",
    show_default=True,
    help="Whose grainline the joined piece has.",
)
@click.option(
    "--sew-fold",
    type=click.Choice(["first", "second"]),
    help="Where both lie on the fold: whose centre is sewn instead.",
)
@click.option("--allowance", type=LENGTH, default="15mm", show_default=True, help="Of that centre seam.")
@click.option(
    "--cloth-of",
    type=click.Choice(["first", "second"]),
    default="first",
    show_default=True,
    help="Where they have different cloth: which the joined piece is cut from.",
)
@click.option("--out", type=OUT_FILE, help="SVG with the joined piece and all others.")
@with_json
def join(
    files: tuple[Path, ...],
    seam: str,
    allow: Any,
    name: str,
    grain_of: str,
    sew_fold: str | None,
    allowance: Any,
    cloth_of: str,
    out: Path | None,
    as_json: bool,
) -> None:
    """Join two pieces along a seam whose lines lie on each other; the first stays where it is."""
    from mockup.files import svg
    from mockup.journey.joining import Join, one_join
    from swatches.safe_write import write_whole

    pieces = [piece for path in files for piece in read_any(path)]
    (a, edge_a), (b, edge_b) = _seam(seam, pieces)
    text = "" if allowance.unit == "mm" else str(allowance)
    wanted = Join("", "", allow.mm, name, grain_of, sew_fold or "", allowance.mm, text, cloth_of)
    found, proof, notes = one_join(pieces, (a, edge_a), (b, edge_b), wanted)
    piece = found[pieces.index(a) - (pieces.index(b) < pieces.index(a))]
    answer: dict[str, Any] = {
        "piece": {
            "name": piece.name,
            "finished_area_mm2": piece.finished_area_mm2,
            "cut_area_mm2": cut_area(piece),
            "edges": [edge.name for edge in piece.edges],
        },
        "proof": proof_figures(proof),
        "warnings": notes,
        "files": [],
    }
    if out is not None and proof.ok:
        write_whole(out, svg.write_pieces(found).encode(), what="--out")
        answer["files"] = [absolute(out)]
    say(as_json, answer, "\n".join([f"{piece.name}: {proof.sentence}", *notes]))
    if not proof.ok:
        forbid()


@click.command("walk")
@click.argument("files", type=FILE, nargs=-1, required=True, metavar="PIECES…")
@click.option(
    "--ease", "eased", multiple=True, metavar="PIECE:EDGE=LENGTH", help="Length that is meant to be eased in."
)
@with_json
def walk(files: tuple[Path, ...], eased: tuple[str, ...], as_json: bool) -> None:
    """Compare the stitch lines of all edges that are sewn together, by the mates that the pieces name."""
    from mockup.pattern.meeting import meetings
    from mockup.pattern.walk import walk as walked
    from mockup.split.words import tenths
    from swatches.units import millimetres

    pieces = [piece for path in files for piece in read_any(path)]
    ease: dict[str, float] = {}
    for text in eased:
        place, _, value = text.rpartition("=")
        piece, edge = _edge(place, pieces, "--ease")
        ease[f"{piece.name}:{edge}"] = millimetres(value, what=f"--ease {place}", minimum_mm=0.0)
    found = walked(pieces, ease)
    rows = [
        {
            "one": list(row.one),
            "other": list(row.other),
            "one_mm": row.one_mm,
            "other_mm": row.other_mm,
            "ease_mm": row.ease_mm,
            "difference_mm": row.difference_mm,
            "notches_apart_mm": row.notches_apart_mm,
        }
        for row in found.rows
    ]
    lines = [
        f"{r.difference_mm:7.2f} mm apart: {' + '.join(r.one)} ({tenths(r.one_mm)})"
        f" and {' + '.join(r.other)} ({tenths(r.other_mm)})"
        for r in sorted(found.rows, key=lambda r: -r.difference_mm)
    ]
    points = [
        {"one": m.one, "other": m.other, "across": m.across, "angle_deg": m.angle_deg}
        for m in meetings(pieces)
        if abs(m.angle_deg) >= _POINT_DEG
    ]
    lines += [
        f"{m['one']} and {m['other']} meet at {m['across']} in a slight corner: there the line turns by "
        f"{abs(m['angle_deg']):.1f}° and {'dips in' if m['angle_deg'] > 0 else 'juts out'}"
        for m in points
    ]
    answer = {"seams": rows, "worst_mm": found.worst_mm, "points": points, "warnings": list(found.unmatched)}
    say(as_json, answer, "\n".join([*(lines or ["No two edges of these pieces name each other."]), *found.unmatched]))


def _seam(text: str, pieces: list[Piece]) -> tuple[tuple[Piece, str], tuple[Piece, str]]:
    one, equals, other = text.partition("=")
    if not equals:
        other = ""
    return _edge(one, pieces, "--seam"), _edge(other, pieces, "--seam")


def _edge(text: str, pieces: list[Piece], what: str) -> tuple[Piece, str]:
    from swatches.errors import InputError

    name, _, edge = text.rpartition(":")
    for piece in pieces:
        if piece.name == name.strip():
            if any(e.name == edge.strip() for e in piece.all_edges):
                return piece, edge.strip()
            known = ", ".join(e.name for e in piece.edges)
            raise InputError(what, expected=f"an edge of {piece.name}: {known}", got=repr(edge), next_step="Choose one")
    known = ", ".join(f"'{p.name}'" for p in pieces)
    raise InputError(what, expected=f"PIECE:EDGE with a piece of {known}", got=repr(text), next_step="Name one of them")
