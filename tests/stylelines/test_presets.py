import inspect
from dataclasses import replace

import numpy as np
import pytest

from mockup.geometry import curve
from mockup.geometry import path as paths
from mockup.stylelines import anchor, edges, presets
from mockup.stylelines.panels import garment_panels
from mockup.stylelines.styleline import LineKind
from swatches.errors import GeometryError, UnitError

CASES = [
    (presets.yoke, ("5 in",), 2),
    (presets.hem_band, ("3 in",), 2),
    (presets.side_panel, (60, 90), 3),
    (presets.centre_panel, (60, "20 cm"), 3),
    (presets.princess, (90, 110), 3),
    (presets.diagonal, (40, 200), 2),
    (presets.raglan, (20, 40), 3),
    (presets.chevron, (50, 260), 2),
    (presets.band, ("2 in", 60), 3),
]


def test_every_preset_is_here():
    assert [case[0] for case in CASES] == list(presets.PRESETS)
    for preset in presets.PRESETS:
        assert preset.__doc__
        assert next(iter(inspect.signature(preset).parameters)) == "view"


@pytest.mark.parametrize(("preset", "measures", "panels"), CASES, ids=lambda v: getattr(v, "__name__", ""))
@pytest.mark.parametrize("name", ["front", "back"])
def test_a_preset_cuts_the_body(preset, measures, panels, name, build):
    view = build(name)
    lines = preset(view, *measures, first=4)
    assert [x.id for x in lines] == [f"line-{4 + k}" for k in range(len(lines))]
    assert all(x.side == name for x in lines)
    found = garment_panels([view], lines)[name]
    assert len([p for p in found if p.part == "body"]) == panels


def test_a_yoke_is_level_and_keeps_what_was_typed(front):
    (line,) = presets.yoke(front, "5 in")
    assert line.start.text == "5 in"
    assert line.start.distance_mm == pytest.approx(127)
    assert np.ptp(anchor.place_line(line, front).cubics[..., 1]) < 1e-9
    (dipped,) = presets.yoke(front, 127.0, dip="2 cm")
    placed = anchor.place_line(dipped, front)
    assert (dipped.kind, dipped.start.text) == (LineKind.ARC, "")
    assert placed.start[1] - placed.cubics[..., 1].min() == pytest.approx(20)
    with pytest.raises(GeometryError, match=r"got one that is above the neck\. Set it lower"):
        presets.yoke(front, 5)


def test_a_hem_band_is_equally_high_everywhere(front):
    (line,) = presets.hem_band(front, 80)
    upper, hem = anchor.place_line(line, front), edges.find_edge(front, "hem").path
    away = [curve.nearest(hem, p)[2] for p in paths.flatten(upper, 0.5).points[3:-3]]
    assert max(abs(a - 80) for a in away) < 0.5


def test_a_hem_band_follows_a_round_hem(front):
    bowed = curve.smooth_through([(-320, 12), (0, 0), (320, 12)])
    px = paths.transformed(paths.Path(bowed.cubics - (0, 610)), front.mm_to_px).to_tuples()
    named = tuple(replace(e, path=px) if e.name == "hem" else e for e in front.edges)
    # side seams end where the hem does
    named = tuple(replace(e, path=_moved(e.path, px)) if e.name.startswith("side") else e for e in named)
    outline = tuple(c for e in named for c in e.path)
    body = replace(front.areas[0], outline=outline)
    view = replace(front, edges=named, areas=(body, *front.areas[1:]))
    (line,) = presets.hem_band(view, 80)
    upper = anchor.place_line(line, view)
    hem = edges.find_edge(view, "hem").path
    away = [curve.nearest(hem, p)[2] for p in paths.flatten(upper, 0.5).points[3:-3]]
    assert max(abs(a - 80) for a in away) < 1.0


def _moved(path, hem):
    ends = (hem[0][0], hem[-1][3])
    near = [min(ends, key=lambda e: np.hypot(e[0] - p[0], e[1] - p[1])) for p in (path[0][0], path[-1][3])]
    first, last = path[0], path[-1]
    if np.hypot(*np.subtract(near[0], first[0])) < np.hypot(*np.subtract(near[1], last[3])):
        return ((near[0], *first[1:]), *path[1:])
    return (*path[:-1], (*last[:3], near[1]))


def test_a_band_has_its_width(front):
    upper, lower = (anchor.place_line(x, front) for x in presets.band(front, 60, "5 cm"))
    assert upper.start[1] - lower.start[1] == pytest.approx(50)
    with pytest.raises(GeometryError, match="a band that ends above the hem, got a width of 50 cm"):
        presets.band(front, 60, "50 cm")


def test_a_princess_line_says_that_it_is_decorative(front):
    # a seam that takes in a dart would need the dart: that is said
    lines = presets.princess(front, 90, 110)
    assert all("decorative: takes in no dart" in x.name for x in lines)
    left, right = (anchor.place_line(x, front) for x in lines)
    assert right.cubics == pytest.approx(left.cubics * [-1, 1])


@pytest.mark.parametrize(("preset", "measures", "panels"), CASES, ids=lambda v: getattr(v, "__name__", ""))
def test_a_negative_or_unreadable_distance_is_refused(preset, measures, panels, front):
    with pytest.raises(UnitError):
        preset(front, "-1 in", *measures[1:])
    with pytest.raises(UnitError, match="mm, cm, m, in or yd"):
        preset(front, "4 furlongs", *measures[1:])
