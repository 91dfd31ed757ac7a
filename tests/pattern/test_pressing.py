"""Corners by purpose: what is folded lies on what is under it."""

import numpy as np
import pytest
import shapely
from tunic import half

from mockup.geometry import path as paths
from mockup.pattern.allowance import cut_line
from mockup.pattern.cut import CutLine, cut_piece
from mockup.pattern.piece import Corner
from mockup.pattern.pressing import Pressing, pressed, with_pressing
from swatches.errors import GeometryError


def upper_panel(slope):
    line = CutLine("line-1", "yoke", paths.polyline([(-5, 300), (320, 300 + 320 * slope)]))
    return next(c for c in cut_piece(half(), [line], 15).children if any(e.name == "neck" for e in c.edges))


@pytest.mark.parametrize("slope", [-0.3, 0.0, 0.25])
def test_an_allowance_that_is_pressed_open_lies_on_its_panel(slope):
    panel = with_pressing(upper_panel(slope), {"line-1": Pressing.OPEN})
    seam = panel.edge("yoke")
    cut = shapely.Polygon(paths.flatten(cut_line(panel), 1e-4).points)
    start, end = seam.path.start, seam.path.end
    way = (end - start) / np.linalg.norm(end - start)
    out = np.array([way[1], -way[0]])
    far = 2000.0
    beyond = shapely.Polygon(
        [start - far * way, start + far * way, start + far * way + far * out, start - far * way + far * out]
    )
    # Only the allowance of the seam itself lies beyond its stitch line, near its ends.
    near = shapely.buffer(shapely.LineString([start, end]), 40)
    allowance = shapely.intersection(shapely.intersection(cut, beyond), near)
    points = np.asarray(allowance.exterior.coords)
    folded = shapely.Polygon(points - 2 * ((points - start) @ out)[:, None] * out)
    panel_side = shapely.difference(cut, beyond)
    assert shapely.area(allowance) > 0.9 * 15 * np.linalg.norm(end - start)
    # At the fold the panel goes on as its mirror image, so only what sticks out at the side counts.
    over = shapely.difference(folded, panel_side)
    over = shapely.intersection(over, shapely.box(1, -far, far, far))
    assert shapely.area(over) < 0.05


def test_purposes_choose_corners_and_leave_hems_alone():
    line = CutLine("line-1", "panel", paths.polyline([(150, -50), (170, 900)]))
    child = next(c for c in cut_piece(half(), [line], 15).children if any(e.name == "side" for e in c.edges))
    shaped = with_pressing(child, {"panel": Pressing.ENCLOSED})
    corners = {e.name: e.corner for e in shaped.edges}
    assert corners["hem"] is Corner.MIRRORED
    assert Corner.SQUARED in corners.values()
    plain = with_pressing(child, {})
    assert Corner.SQUARED not in {e.corner for e in plain.edges}


def test_a_whole_garment_is_shaped_and_proven_by_one_call():
    children = cut_piece(half(), [CutLine("l1", "yoke", paths.polyline([(-10, 150), (320, 260)]))], 15).children
    shaped, proof = pressed(children, {"yoke": Pressing.OPEN})
    assert proof.ok
    assert len(proof.rows) == len(children)
    before, after = ({e.corner for p in found for e in p.edges} for found in (children, shaped))
    assert Corner.MIRRORED in after - before
    with pytest.raises(GeometryError, match="a seam that a line made: l1, yoke"):
        pressed(children, {"band": Pressing.OPEN})
