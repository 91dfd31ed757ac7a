"""Whether a split and a pattern are of one garment: told by the lengths of the edges that both name.

A split takes any size of its own pattern, so lengths may differ; a garment of another kind differs much more. This
measures and words the doubt; nothing is refused for it.
"""

from __future__ import annotations

from collections.abc import Sequence

from mockup.geometry.ruler import length_of
from mockup.pattern.piece import Piece, counter_clockwise
from mockup.pattern.sections import laid_on_view, shows_body
from mockup.pattern.view_half import CENTRE
from mockup.split.split import Split
from mockup.split.words import edge_said
from swatches.errors import GeometryError

OTHER_SHARE = 1.3  # our own choice: neighbouring sizes differ by a few per cent, the smallest and largest by a fifth
_SHORT_MM = 60.0


def doubts(pieces: Sequence[Piece], split: Split) -> tuple[str, ...]:
    """Say what speaks against a split being that of these pieces, one sentence a piece and one for views without any.

    Args:
        pieces: the pattern.
        split: the lines that shall go onto it.
    """
    said = []
    views = {v.name: v for v in split.views if v.lines}
    for piece in pieces:
        view = views.get(piece.view)
        if view is None or not shows_body(piece, view) or piece.layer != "shell":
            continue
        try:
            on = laid_on_view(view, counter_clockwise(piece))
        except GeometryError:
            continue  # the cut itself refuses it, and says why
        pairs = [(n, length_of(a), length_of(b)) for n, a, b in zip(on.names, on.on_view, on.on_piece, strict=True)]
        pairs = [p for p in pairs if max(p[1:]) > _SHORT_MM]
        if not pairs:
            continue
        worst = max((max(a, b) / max(min(a, b), 1e-9), n, a, b) for n, a, b in pairs)
        if worst[0] > OTHER_SHARE:
            edge = f"centre {view.name}" if worst[1] == CENTRE else edge_said(worst[1])
            said.append(
                f"Is this the split of another garment? The {edge} is {worst[2]:.0f} mm long in the {view.name} of the "
                f"split, and {worst[3]:.0f} mm on {piece.name}."
            )
    shown = {p.view for p in pieces if p.view in views and shows_body(p, views[p.view]) and p.layer == "shell"}
    bare = [name for name in views if name not in shown]
    if bare:
        said.append(
            f"No piece belongs to the {' and the '.join(bare)} of the split, so those lines were left out: say which "
            "piece it is."
        )
    return tuple(said)
