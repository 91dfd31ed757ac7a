"""The summary of one cut garment as Markdown: what was made, what it needs, and the proof."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from mockup.files.given import clean
from mockup.files.words import fabric_name, title
from mockup.lay.need import Need
from mockup.pattern.cutting_list import how_to_cut
from mockup.pattern.piece import Piece
from mockup.pattern.proof import Proof

_MOST = 2000  # letters of a sentence; what a stranger can type is limited where it is read
_MARKS = str.maketrans({c: f"\\{c}" for c in r"\`*_[]<>|#"})


def summary_text(
    *,
    heading: str,
    date: str = "",
    note: str = "",
    choice: str = "",
    lines: Sequence[str] = (),
    pieces: Sequence[Piece] = (),
    order: Sequence[str] = (),
    needs: Sequence[Need] = (),
    proof: Proof | None = None,
    files: Mapping[str, str] | None = None,
    fabric_names: Mapping[str, str] | None = None,
) -> str:
    """Write the summary.

    Args:
        heading: the project's name.
        date: the project's date.
        note: one line under it, such as that the garment is an invented example.
        choice: the colourway that was cut, such as 'A, Quiet navy'.
        lines: the lines, a sentence each.
        pieces: what was cut.
        order: the order of sewing, a sentence a step.
        needs: how much of each cloth.
        proof: the proof of the cut.
        files: file name → what it is.
        fabric_names: fabric id → the person's name for it.

    Returns:
        Markdown; names are escaped, so that they stay words.
    """
    out = [f"# {_plain(heading)}", ""]
    out += [f"*{_plain(note)}*", ""] if note else []
    facts = [f"Date: {_plain(date)}" if date else "", f"Choice: {_plain(choice)}" if choice else ""]
    out += [*(f"- {f}" for f in facts if f), ""] if any(facts) else []
    if lines:
        out += ["## Lines", "", *(f"- {_plain(text)}" for text in lines), ""]
    if pieces:
        out += ["## Pieces", "", "| no. | piece | cloth | cut |", "|---:|---|---|---|"]
        for p in sorted(pieces, key=lambda p: (p.number or 10**6, title(p))):
            cells = (str(p.number or "–"), title(p), fabric_name(p, fabric_names) or "–", how_to_cut(p))
            out.append("| " + " | ".join(_plain(c) for c in cells) + " |")
        out.append("")
    if order:
        out += ["## Order of sewing", "", *(f"{k}. {_plain(text)}" for k, text in enumerate(order, 1)), ""]
    if needs:
        out += ["## Cloth needed", "", "| cloth | usable width | length | to buy |", "|---|---:|---:|---:|"]
        for n in needs:
            width = f"{n.width_mm / 10:.0f} cm" + ("" if n.width_known else " (usual, not measured)")
            name = (fabric_names or {}).get(n.fabric, n.fabric) or "not chosen"
            cells = (_plain(name), width, f"{n.length_mm / 10:.0f} cm", f"{n.buy_mm / 10:.0f} cm")
            out.append("| " + " | ".join(cells) + " |")
        taken = [f"{(fabric_names or {}).get(n.fabric, n.fabric)} is {n.note}." for n in needs if n.note]
        out += ["", *(f"- {_plain(text)}" for text in taken)] if taken else []
        out += ["", "Measure the usable width before buying. Wash first what will be washed later.", ""]
    if proof is not None:
        out += ["## Proof", "", proof.sentence, ""]
        out += ["| what | measured | allowed | |", "|---|---:|---:|---|"]
        for row in proof.rows:
            verdict = "yes" if row.ok else "**no**"
            out.append(
                f"| {_plain(row.what)} | {_figure(row.figure)} {row.unit} | {_figure(row.limit)} {row.unit} "
                f"| {verdict} |"
            )
        out.append("")
    if files:
        out += [
            "## Files",
            "",
            *(f"- `{clean(name).replace('`', '')}`: {_plain(what)}" for name, what in files.items()),
        ]
        out.append("")
    return "\n".join(out)


def _figure(value: float) -> str:
    """A figure that a person can read, never a power of ten."""
    return f"{value:.3g}" if value >= 0.001 or value == 0 else "less than 0.001"


def _plain(text: str) -> str:
    """A name as plain words: one line, and no letter of it is taken for a mark-up sign."""
    return clean(text, limit=_MOST).translate(_MARKS)
