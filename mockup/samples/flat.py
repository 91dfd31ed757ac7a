"""The tunic's line drawing, front and back, derived from the drafted pieces so that one scale holds everywhere.

The garment lies flat. Body, pockets and facing are the pieces themselves, unfolded; only the sleeves are turned down,
as the trade draws them, with their true length and hem width. A stroke is one movement of the pen, in mm of the draft.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from mockup.geometry import path as paths
from mockup.geometry.path import XY, Floats, Path
from mockup.samples import draft

SIZE_PX = (2100, 1640)
MM_PER_PX = 0.55
TOP_PX = 128.0  # where the neck points lie
SLEEVE_DOWN_DEG = 51.0


class Pen(StrEnum):
    """What a stroke is drawn with."""

    OUTLINE = "outline"
    SEAM = "seam"
    STITCH = "stitch"  # dashed topstitching
    FINE = "fine"  # creases and hatching, open at their ends


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One movement of the pen. ``name`` is its id in the SVG; ``group`` the part it belongs to."""

    name: str
    group: str
    path: Path
    pen: Pen


def to_px(path: Path) -> Path:
    """Map a path of the draft (mm, y up, fold on x = 0) to picture px."""
    k = 1 / MM_PER_PX
    return paths.transformed(path, [[k, 0, SIZE_PX[0] / 2], [0, -k, TOP_PX + draft.LENGTH_MM * k]])


def points_px(points: Floats) -> Floats:
    """Map points of the draft to picture px, shape (n, 2)."""
    k = 1 / MM_PER_PX
    return np.asarray(points) * (k, -k) + (SIZE_PX[0] / 2, TOP_PX + draft.LENGTH_MM * k)


def mirrored(path: Path) -> Path:
    """Mirror a path about the fold, run the other way, so that it goes on from its twin."""
    return paths.reversed_path(paths.transformed(path, [[-1, 0, 0], [0, 1, 0]]))


def body_outline(front: bool) -> Path:
    """The unfolded body's stitch line, closed, counter-clockwise from the middle of the hem, mm."""
    piece = next(p for p in draft.pieces() if p.name == ("front" if front else "back"))
    half = paths.joined([e.path for e in piece.edges[:5]])
    return paths.joined([half, mirrored(half)])


def sleeve_outline() -> tuple[Path, Path, Path]:
    """The turned-down sleeve on the positive side: top from the shoulder, hem, underarm back up to the body, mm."""
    tip, underarm = np.asarray(draft.SHOULDER_TIP), np.asarray(draft.UNDERARM)
    turn = np.deg2rad(SLEEVE_DOWN_DEG)
    down, across = np.array([np.cos(turn), -np.sin(turn)]), np.array([-np.sin(turn), -np.cos(turn)])
    widths = draft.sleeve_widths()
    hem_width = (widths[0] + widths[1]) / 2 - draft.SLEEVE_TAPER_MM
    along_shoulder = tip - (draft.NECK_HALF_MM, draft.LENGTH_MM)
    along_shoulder = along_shoulder / np.linalg.norm(along_shoulder)
    outer = tip + draft.SLEEVE_MM * down + 6 * across
    inner = outer + hem_width * across
    top = _cubic(tip, tip + 92 * along_shoulder, outer - 190 * down - 4 * across, outer)
    hem = _cubic(outer, outer + 50 * across + 4 * down, inner - 50 * across + 4 * down, inner)
    under = _cubic(inner, inner - 80 * down - 2 * across, underarm + np.array([46.0, -74.0]), underarm)
    return top, hem, under


def strokes(front: bool) -> tuple[Stroke, ...]:
    """Every stroke of one side's drawing, in the order in which a hand would draw them."""
    piece = next(p for p in draft.pieces() if p.name == ("front" if front else "back"))
    edge = {e.name: e.path for e in piece.edges}
    found: list[Stroke] = []

    def both(name: str, group: str, path: Path, pen: Pen) -> None:
        """Draw a stroke on the positive side and its mirror image; left and right are the wearer's."""
        right_half, left_half = ("left", "right") if front else ("right", "left")
        found.append(Stroke(f"{name}-{right_half}", group.format(side=right_half), path, pen))
        found.append(Stroke(f"{name}-{left_half}", group.format(side=left_half), mirrored(path), pen))

    both("shoulder", "body", edge["shoulder"], Pen.OUTLINE)
    both("side", "body", edge["side"], Pen.OUTLINE)
    both("armhole", "body", edge["armhole"], Pen.SEAM)
    found.append(Stroke("hem", "body", paths.joined([mirrored(edge["hem"]), edge["hem"]]), Pen.OUTLINE))
    found.append(Stroke("neck", "body", paths.joined([edge["neck"], mirrored(edge["neck"])]), Pen.OUTLINE))
    for name, path in zip(("top", "hem", "underarm"), sleeve_outline(), strict=True):
        both(f"sleeve-{name}", "sleeve-{side}", path, Pen.OUTLINE)
    if front:
        back_neck = draft.neck(front=False)
        whole = paths.joined([back_neck, mirrored(back_neck)])
        found.append(Stroke("neck-back", "neck-facing", whole, Pen.OUTLINE))
        pocket = draft.pocket_on_front()
        mouth = paths.polyline(np.array([pocket.end, pocket.start]))
        both("pocket", "pocket-{side}", paths.joined([pocket, mouth]), Pen.SEAM)
    for stitch in _stitching(front, edge):
        both(stitch.name, stitch.group, stitch.path, stitch.pen)
    for crease in _creases(front):
        both(crease.name, crease.group, crease.path, crease.pen)
    return tuple(found)


def _stitching(front: bool, edge: dict[str, Path]) -> list[Stroke]:
    """Topstitching on the positive side: hems at 25 mm, neck at 9 mm, pocket at 8 mm and its mouth at 25 mm."""
    top, sleeve_hem, under = sleeve_outline()
    hem_line = np.array([(x, y + 25) for x, y in paths.flatten(edge["hem"], 0.1).points])
    hem_line[-1, 0] -= 2.5
    drop = 9.0
    neck_line = _inside(edge["neck"], drop)
    rows = [
        ("stitch-hem", "body", hem_line),
        ("stitch-neck", "body", neck_line),
        ("stitch-sleeve", "sleeve-{side}", _between(sleeve_hem, top, under, 25.0)),
    ]
    if front:
        centre = np.asarray(draft.POCKET_CENTRE)
        w = draft.POCKET_WIDTH_MM / 2
        rows.append(("stitch-mouth", "pocket-{side}", centre + np.array([(-w + 4, -25.0), (w - 4, -25.0)])))
        outline = paths.flatten(draft.pocket_outline(), 0.1).points
        middle = np.array([0.0, -draft.POCKET_DEPTH_MM / 2])
        shrink = 1 - 8.0 / np.array([w, draft.POCKET_DEPTH_MM / 2])
        inner = middle + (outline - middle) * shrink
        inner[[0, -1], 1] = -27.0
        rows.append(("stitch-pocket", "pocket-{side}", centre + inner))
    return [Stroke(name, group, paths.polyline(points), Pen.STITCH) for name, group, points in rows]


def _creases(front: bool) -> list[Stroke]:
    """A few soft folds, as a pen hints at them: at the underarm, in the sleeve's bend and over the hem; all open."""
    tip, underarm = np.asarray(draft.SHOULDER_TIP), np.asarray(draft.UNDERARM)
    rows: list[tuple[str, str, list[XY | Floats]]] = [
        ("crease-underarm", "body", [underarm + p for p in ((-13, -16), (-30, -42), (-38, -66), (-40, -92))]),
        ("crease-sleeve-1", "sleeve-{side}", [underarm + p for p in ((22, 8), (44, 28), (58, 52), (66, 82))]),
        ("crease-sleeve-2", "sleeve-{side}", [underarm + p for p in ((30, -26), (56, -14), (78, 4), (94, 30))]),
        ("crease-hem", "body", [(228, 62), (222, 96), (224, 126), (230, 148)] if not front else
         [(268, 48), (264, 70), (265, 92), (269, 112)]),
        ("crease-side", "body", [(298, 214), (291, 254), (291, 292), (295, 322)]),
        ("crease-shoulder", "body", [tip + p for p in ((-40, -58), (-48, -96), (-44, -134), (-34, -164))]),
    ]  # fmt: skip
    if not front:
        rows.append(("crease-back", "body", [(58, 560), (70, 520), (74, 470), (71, 410)]))
    if front:
        for i, (a, b) in enumerate(((24, 72), (14, 84), (30, 60))):
            y = 709 - 13 * i
            rows.append((f"hatch-{i + 1}", "neck-facing", [(a, y), (a + 12, y + 0.6), (b - 10, y + 3.2), (b, y + 6)]))
    return [Stroke(name, group, _cubic(*points), Pen.FINE) for name, group, points in rows]


def _inside(path: Path, distance: float) -> Floats:
    """Points beside a path, ``distance`` to its left: inside, since pieces run counter-clockwise."""
    flat = paths.flatten(path, 0.05)
    tangents = paths.derivative(path.cubics[flat.segment], flat.t)
    tangents /= np.linalg.norm(tangents, axis=1, keepdims=True)
    return np.asarray(flat.points + distance * np.stack([-tangents[:, 1], tangents[:, 0]], axis=1))


def _between(line: Path, top: Path, under: Path, distance: float) -> Floats:
    """A line parallel to the sleeve's hem, from the sleeve's top to its underarm seam."""
    a = paths.point_at_distance(top, paths.length(top) - distance)
    b = paths.point_at_distance(under, distance)
    flat = paths.flatten(line, 0.05).points
    share = np.linspace(0, 1, len(flat))[:, None]
    straight = flat[0] + (flat[-1] - flat[0]) * share
    return np.asarray(a + (b - a) * (0.015 + 0.97 * share) + (flat - straight))


def _cubic(*points: XY | Floats) -> Path:
    return Path(np.array([[np.asarray(p, dtype=np.float64) for p in points]]))


_STYLE = {
    Pen.OUTLINE: 'stroke-width="4.4"',
    Pen.SEAM: 'stroke-width="3.2"',
    Pen.STITCH: 'stroke-width="2" stroke-dasharray="11 7"',
    Pen.FINE: 'stroke-width="1.7"',
}


def drawing_svg(front: bool) -> str:
    """Write one side's drawing as clean SVG, in the same pixels as the scanned picture."""
    width, height = SIZE_PX
    title = "front" if front else "back"
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" viewBox="0 0 {width} {height}"'
        ' fill="none" stroke="#26221d" stroke-linecap="round" stroke-linejoin="round">',
        f"<title>Choir tunic, {title}: an invented garment</title>",
    ]
    groups: dict[str, list[Stroke]] = {}
    for stroke in strokes(front):
        groups.setdefault(stroke.group, []).append(stroke)
    for group, members in groups.items():
        lines.append(f'<g id="{group}">')
        for stroke in members:
            head = f'<path id="{group}-{stroke.name}" class="{stroke.pen}" {_STYLE[stroke.pen]}'
            lines.append(f'  {head} d="{_d(to_px(stroke.path))}"/>')
        lines.append("</g>")
    return "\n".join([*lines, "</svg>", ""])


def _d(path: Path) -> str:
    def xy(p: Floats) -> str:
        return f"{p[0]:.4f} {p[1]:.4f}"

    text = [f"M {xy(path.start)}"]
    for cubic, straight in zip(path.cubics, paths.is_straight(path), strict=True):
        text.append(f"L {xy(cubic[3])}" if straight else "C " + " ".join(xy(p) for p in cubic[1:]))
    if path.closed:
        text.append("Z")
    return " ".join(text)
