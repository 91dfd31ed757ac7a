"""What the page says of cut pieces: the proof in plain words, the seams, the cutting list, the order of sewing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from mockup.checks.in_unit import in_unit
from mockup.pattern.construction import construction
from mockup.pattern.piece import Piece
from mockup.pattern.proof import Proof, ProofRow
from mockup.pattern.walk import seam_letters, walk
from mockup.sheets.cutting_list import cutting_rows
from mockup.split.words import tenths
from swatches.units import MM_PER_INCH
from ui.parts.words import counted

_KINDS = (
    ("area", "Nothing is lost: the parts have together the area of what was cut"),
    ("stitch line", "The two sides of every new seam are equally long"),
    ("angle", "Where parts meet, their corners close up"),
    ("rejoin", "Put together again, the parts are the piece they were cut from"),
    ("outline", "Every cut line runs outside its stitch line"),
    ("join", "A seam that went lies on itself: what is left of gap and overlap"),
)
_SHOWN_MM = 0.05


def proof_told(proof: Proof) -> dict[str, Any]:
    """The proof as a short table of kinds, each with its worst figure, and every row behind it."""
    rows = []
    for key, words in _KINDS:
        own = [r for r in proof.rows if _kind(r) == key]
        if own:
            worst = max(own, key=lambda r: r.figure / r.limit if r.limit else r.figure)
            rows.append(
                {
                    "what": words,
                    "ok": all(r.ok for r in own),
                    "figure": figure_text(worst),
                    "count": counted(len(own), "check"),
                }
            )
    return {
        "ok": proof.ok,
        "rows": rows,
        "every": [{"what": r.what, "figure": figure_text(r), "ok": r.ok} for r in proof.rows],
    }


def figure_text(row: ProofRow) -> str:
    """A proof's figure for people: 'within 0.001 mm', never a power of ten."""
    if row.unit not in ("mm", "mm²", "°"):
        return "yes" if row.ok else "no"
    unit = row.unit if row.unit == "°" else f" {row.unit}"
    return f"within {max(row.figure, 0.001):.3f}{unit}" if row.ok else f"off by {row.figure:.3g}{unit}"


def _kind(row: ProofRow) -> str:
    text = row.what
    for key, words in (
        ("stitch line", "stitch line of"),
        ("angle", "angle"),
        ("rejoin", "rejoin"),
        ("rejoin", "two together"),
        ("join", ": gap"),
        ("join", ": overlap"),
        ("outline", "stitch outline"),
        ("area", "area"),
    ):
        if words in text:
            return key
    return "outline"


def seams_told(pieces: Sequence[Piece], unit: str = "mm") -> list[dict[str, Any]]:
    """Every pair of seams with its letter, what is sewn to what, and by how much they differ; the worst first."""
    letters = seam_letters(pieces)
    names = {p.name: _numbered(p) for p in pieces}
    rows = []
    for row in walk(pieces).rows:
        sides = [_side(keys, names) for keys in (row.one, row.other)]
        apart = row.difference_mm
        rows.append(
            {
                "letter": letters[row.one[0]],
                "one": sides[0],
                "other": sides[1],
                "apart_mm": round(apart, 2),
                "said": "equally long" if apart < _SHOWN_MM else in_unit(f"{tenths(apart)} apart", unit),
            }
        )
    return sorted(rows, key=lambda r: (-round(float(r["apart_mm"]), 1), len(str(r["letter"])), str(r["letter"])))


def list_told(
    pieces: Sequence[Piece], fabric_names: Mapping[str, str] | None, unit: str = "mm"
) -> list[dict[str, Any]]:
    """The cutting list, inner layers too."""
    return [
        {
            "number": row.number,
            "name": row.name,
            "cloth": row.fabric,
            "layer": "" if row.layer == "shell" else row.layer,
            "how": row.how,
            "size": _size(row.width_mm, row.height_mm, unit),
        }
        for row in cutting_rows(pieces, fabric_names)
    ]


def order_told(pieces: Sequence[Piece], lightness: Mapping[str, float]) -> list[str]:
    """The order of sewing, a sentence a step."""
    return [step.what for step in construction(pieces, lightness)]


def _side(keys: Sequence[str], names: Mapping[str, str]) -> str:
    parts = []
    for key in keys:
        piece, _, edge = key.rpartition(":")
        parts.append(f"{names.get(piece, piece)}, {edge.replace('-', ' ')}")
    return " and ".join(parts)


def _numbered(piece: Piece) -> str:
    return f"{piece.number} {piece.name}" if piece.number else piece.name


def _size(width_mm: float, height_mm: float, unit: str) -> str:
    """Width and height in whole cm, or whole inches for who thinks in them."""
    per, word = (MM_PER_INCH, "in") if unit == "in" else (10.0, "cm")
    return f"{width_mm / per:.0f} × {height_mm / per:.0f} {word}"
