"""Put a garment's split onto its pattern pieces: cut, unfold where need be, number, name, say how to cut.

Body pieces are cut by the lines of their view. A piece stays on the fold when every line of its view is the same on
both sides; otherwise it is unfolded and its parts are cut in a single layer, right side up. Which part is which panel
is asked of the picture: points of the part are carried back to the view. Twins with the same cloth are cut as a pair;
twins with different cloth become two single pieces, the second mirrored, both right side up.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats
from mockup.geometry.ruler import length_of, polygon_of
from mockup.pattern.cut import CutLine, cut_piece, untouched
from mockup.pattern.dart_notches import gathered
from mockup.pattern.grain import with_grain
from mockup.pattern.inherit import Origin
from mockup.pattern.mates import Made, in_finished_names, uniquely_named, uniquely_numbered, with_mates
from mockup.pattern.one_piece import OnePiece, one_cloth_for_two, panels_in
from mockup.pattern.piece import HowToCut, Piece, counter_clockwise
from mockup.pattern.printed_cloth import cut_alike, turned_grain, unmarked, with_print
from mockup.pattern.proof import Proof, ProofRow, containment, together
from mockup.pattern.register import Registered, carried_lines, mirrored_lines, register
from mockup.pattern.section_lines import lines_on_section
from mockup.pattern.sections import asks_for_two, matched_again, section_of, shows_body
from mockup.pattern.two_singles import drawn_side, middle_of, own_mirror_image, two_singles
from mockup.pattern.unfold import unfolded
from mockup.pattern.view_half import keeps_fold
from mockup.split.split import Split, SplitPanel, SplitView
from swatches.errors import GeometryError
from swatches.job import QUIET, Job, check

_SHOWN = ("shell", "facing")  # layers of which the picture shows something


@dataclass(frozen=True, slots=True, eq=False)
class CutSet:
    """All pieces of a garment after the split.

    Attributes:
        pieces: by number; a pair's two single pieces left before right.
        proof: of every piece that was cut or unfolded, and of every cut outline.
        warnings: one sentence each.
        shared: pieces that show more than one panel, since a seam of the picture is not in the pattern.
    """

    pieces: tuple[Piece, ...]
    proof: Proof
    warnings: tuple[str, ...]
    shared: tuple[OnePiece, ...] = ()


def apply_split(
    pieces: Sequence[Piece],
    split: Split,
    *,
    allowance_mm: float = 15.0,
    allowance_text: str = "15 mm",
    split_layers: Collection[str] = (),
    job: Job = QUIET,
) -> CutSet:
    """Cut a garment's pieces by its split. Facings, linings and interfacings stay whole unless it is asked for.

    Args:
        pieces: the pattern; ``view`` and ``area`` say what of the picture each shows.
        split: the lines and panels.
        allowance_mm: of every new edge.
        allowance_text: the same as typed.
        split_layers: layers besides the shell that are cut by the lines too: 'lining', …
        job: progress.

    Raises:
        GeometryError: a line cannot be put on a piece or cut; the piece's and the line's names are in the sentence.
    """
    views = {view.name: view for view in split.views}
    made: list[Made] = []
    proofs: list[Proof] = []
    warnings: list[str] = []
    shared: list[OnePiece] = []
    for k, original in enumerate(pieces):
        check(job)
        job.step(f"Cutting {original.name}", k / max(len(pieces), 1))
        piece, grain_said = with_grain(gathered(counter_clockwise(original)))
        warnings += grain_said
        view = views.get(piece.view)
        if (
            view is not None
            and shows_body(piece, view)
            and piece.layer in {"shell", *split_layers}
            and (view.lines or _panels(view))
        ):
            found, proof, said = _body(piece, view, pieces, allowance_mm, allowance_text, shared)
        else:
            found, said = _other(piece, split)
            proof = Proof(0.0, 0.0, 0.0, tuple(containment(m.piece) for m in found))
        made += found
        warnings += said
        proofs.append(proof)
    made = uniquely_numbered(made, [p.number for v in split.views for p in v.panels])
    made = uniquely_named(made)
    warnings = in_finished_names(warnings, made)
    done = sorted(with_mates(made), key=lambda p: (p.number, p.side))
    return CutSet(tuple(done), together(proofs), tuple(dict.fromkeys(warnings)), tuple(shared))


def _body(
    piece: Piece,
    view: SplitView,
    pieces: Sequence[Piece],
    allowance_mm: float,
    allowance_text: str,
    shared: list[OnePiece],
) -> tuple[list[Made], Proof, list[str]]:
    warnings: list[str] = []
    parent, proofs = piece, []
    shown, whole_view = section_of(view, parent, pieces), view
    if shown is None:
        on = register(view, parent)
    else:
        view, on = shown.view, shown.on
        if asks_for_two(shown, parent):
            each = [
                _body(one, whole_view, pieces, allowance_mm, allowance_text, shared)
                for one in two_singles(piece, shown.section.side or "left", piece.fabric, piece.fabric)
            ]
            split_up = f"A line is on one side of {piece.name} only: it is cut as two single pieces, right side up."
            return (
                [replace(m, parent=replace(m.parent, name=piece.name)) for found, _, _ in each for m in found],
                together([proof for _, proof, _ in each]),
                [split_up, *(text for _, _, texts in each for text in texts)],
            )
    lines: tuple[CutLine, ...] = ()
    if view.lines and on.half.side and not keeps_fold(view):
        if piece.fold is None:
            raise GeometryError(
                piece.name,
                expected="a whole piece, or one on the fold, for lines that are not the same on both sides",
                got="one of a pair",
                next_step="Draw it the same on both sides, or take the centre seam away: read the pattern with "
                f"its centre on the fold, as in --fold {piece.name}:{_centre_of(piece)}",
            )
        parent, said = unfolded(piece, on.half.side)
        proofs.append(_unfolding(piece, parent))
        warnings += said
        if shown is None:
            alike = tuple(line for line in view.lines if line.symmetric)
            lines = mirrored_lines(carried_lines(replace(view, lines=alike), piece, on), piece.fold, on.half.side)
            on = register(view, parent)
            view = replace(view, lines=tuple(line for line in view.lines if not line.symmetric))
        else:
            on = matched_again(shown, parent)
    lines += carried_lines(view, parent, on) if shown is None else lines_on_section(shown, parent, on, view)
    if lines:
        result = cut_piece(parent, lines, allowance_mm, allowance_text=allowance_text)
        warnings += result.notes
    else:
        result = untouched(parent)
    proofs.append(result.proof)
    made: list[Made] = []
    single = parent.fold is None and parent.how is HowToCut.SINGLE and bool(lines)
    for child in result.children:
        origins = tuple(o for o in result.origins if o.child == child.name)
        base = replace(child, right_side_up=child.right_side_up or single)
        for finished in _as_panels(base, view, on, warnings, shared):
            made.append(Made(finished, child.name, parent, _turned(origins, finished, base)))
    return made, together(proofs), warnings


def _centre_of(piece: Piece) -> str:
    """Name of the edge along a half's middle, or what stands for it."""
    return next((e.name for e in piece.edges if e.name.startswith("centre")), "CENTRE")


def _unfolding(piece: Piece, whole: Piece) -> Proof:
    area = abs(whole.finished_area_mm2 - 2 * piece.finished_area_mm2)
    row = ProofRow(f"{piece.name}: unfolded area", area, 1e-9 * abs(whole.finished_area_mm2), "mm²")
    return Proof(area, 0.0, 0.0, (row,))


def _as_panels(
    child: Piece, view: SplitView, on: Registered, warnings: list[str], shared: list[OnePiece]
) -> list[Piece]:
    """Number, name and fabric of the panel that a part shows; two pieces where its twins have different cloth."""
    points = on.to_view().apply(_points_inside(child))
    panel = _panel_at(view, points)
    if panel is None:
        warnings.append(f"No panel of the {view.name} shows {child.name}; it stays without a number.")
        return [child]
    labelled = replace(child, number=panel.number, name=panel.name, fabric=panel.fabric or "")
    if child.layer == "shell":
        seen = panels_in(child, panel, view, on.to_view())
        if len(seen) > 1:
            shared.append(OnePiece(labelled.name, labelled.number, tuple(p.id for p in seen)))
            warnings.extend(one_cloth_for_two(labelled, seen))

    middle = 0.0 if view.mirror_line is None else view.mirror_line[0][0]

    def printed(piece: Piece, shown: SplitPanel, image: float | None = None) -> Piece:
        if shown.laid is None:
            return piece
        done, said = with_print(piece, shown, on.to_view(), on.to_piece(), middle=middle, image=image)
        warnings.extend(said)
        return done

    if child.how is not HowToCut.PAIR or view.mirror_line is None:
        labelled = replace(labelled, side=panel.side or child.side) if child.how is HowToCut.SINGLE else labelled
        return [printed(labelled, panel)]
    twin = _panel_at(view, _reflected(points, view.mirror_line)) or panel
    if cut_alike(panel, twin, middle):
        return [printed(labelled, panel)]
    side = on.half.side or panel.side or "left"
    one, other = two_singles(labelled, side, panel.fabric or "", twin.fabric or "")
    return [printed(one, panel), printed(other, twin, middle_of(labelled))]


def _turned(origins: tuple[Origin, ...], finished: Piece, base: Piece) -> tuple[Origin, ...]:
    return tuple(
        replace(o, child=finished.name) for o in origins if any(e.name == o.child_edge for e in base.all_edges)
    )


def _other(piece: Piece, split: Split) -> tuple[list[Made], list[str]]:
    """A piece that no line crosses: number and cloth of the panels that show it."""
    origins = tuple(Origin(piece.name, e.name, e.name, 0.0, length_of(e.path)) for e in piece.all_edges)

    def kept(pieces: list[Piece]) -> list[Made]:
        return [Made(p, piece.name, piece, origins) for p in pieces]

    panels = _panels_of_area(piece, split)
    if not panels:
        return kept([piece]), [f"No panel of the picture shows {piece.name}; it stays as it is."]
    first = panels[0]
    labelled = replace(piece, number=first.number, fabric=first.fabric or "")
    left = next((p for p in panels if p.side == "left"), None)
    right = next((p for p in panels if p.side == "right"), None)
    warnings = [unmarked(piece)] if any(p.laid is not None for p in panels) else []
    if (
        piece.how is not HowToCut.PAIR
        or left is None
        or right is None
        or cut_alike(left, right, _mirror_x(split, left))
    ):
        return kept([turned_grain(labelled, first.laid.grain_deg if first.laid is not None else 0.0)]), warnings
    side = drawn_side(piece)
    if side is None:
        side = "left"
    if drawn_side(piece) is None and not own_mirror_image(piece):
        warnings.append(f"Nothing on {piece.name} tells the wearer's left from right; as drawn it is taken for left.")
    mine, theirs = (left, right) if side == "left" else (right, left)
    two = two_singles(labelled, side, mine.fabric or "", theirs.fabric or "")
    turns = [0.0 if p.laid is None else p.laid.grain_deg for p in (mine, theirs)]
    return kept([turned_grain(p, turn) for p, turn in zip(two, turns, strict=True)]), warnings


def _mirror_x(split: Split, panel: SplitPanel) -> float:
    """Where the middle of a panel's view is; twins are each other's image about it."""
    view = next(v for v in split.views if panel in v.panels)
    return 0.0 if view.mirror_line is None else view.mirror_line[0][0]


def _panels(view: SplitView) -> list[SplitPanel]:
    return [p for p in view.panels if p.area == "body"]


def _panels_of_area(piece: Piece, split: Split) -> list[SplitPanel]:
    """Panels that show a piece: those of its own view, else of any; each once. Linings and the like show nowhere."""
    if piece.layer not in _SHOWN or (piece.area == "body" and piece.layer != "shell"):
        return []
    own = [p for v in split.views if v.name == piece.view for p in v.panels if p.area == piece.area]
    elsewhere = () if piece.area == "body" else split.views  # the front's body says nothing of the back's
    every = own or [p for v in elsewhere for p in v.panels if p.area == piece.area]
    return list({p.id: p for p in every}.values())


def _points_inside(piece: Piece) -> Floats:
    """A few points well inside a piece, shape (n, 2)."""
    polygon = polygon_of(piece.outlines, 0.2)
    inner: shapely.Geometry = polygon
    for shrink in (12.0, 6.0, 2.0):
        smaller = shapely.buffer(polygon, -shrink)
        if not smaller.is_empty:
            inner = smaller
            break
    x0, y0, x1, y1 = inner.bounds
    grid = np.stack(np.meshgrid(np.linspace(x0, x1, 9)[1:-1], np.linspace(y0, y1, 9)[1:-1]), axis=-1).reshape(-1, 2)
    kept = grid[shapely.contains_xy(inner, grid[:, 0], grid[:, 1])]
    sure = shapely.point_on_surface(inner)
    return np.vstack([[[sure.x, sure.y]], kept])


def _panel_at(view: SplitView, points: Floats) -> SplitPanel | None:
    """The body panel in which most of the points lie; of a shape and what lies round it, the shape."""
    best, most = None, (0, 0.0)
    for panel in _panels(view):
        polygon = shapely.make_valid(shapely.Polygon(paths.flatten(paths.from_tuples(panel.outline), 0.2).points))
        count = int(shapely.contains_xy(polygon, points[:, 0], points[:, 1]).sum())
        if count and (count, -polygon.area) > most:
            best, most = panel, (count, -polygon.area)
    return best


def _reflected(points: Floats, mirror: tuple[XY, XY]) -> Floats:
    a, b = np.array(mirror[0]), np.array(mirror[1])
    way = (b - a) / np.linalg.norm(b - a)
    return np.asarray((points - a) @ (2 * np.outer(way, way) - np.eye(2)) + a)
