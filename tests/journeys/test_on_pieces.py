"""Points of lines on the pattern: they lie on the line there, and moved there they move the line by as much."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from mockup.geometry.curve import nearest
from mockup.journey.cutting import put_pieces
from mockup.journey.on_pieces import OnPiece, on_pieces
from mockup.project import Project
from mockup.samples import choir
from mockup.stylelines.styleline import End, LineKind, StyleLine

SWOOP = StyleLine(
    "line-9", "swoop", "front", LineKind.CURVE,
    End("side", "hem", 150.0, "left"), End("armhole", "shoulder", 60.0, "right"), through=((0.4, 0.45), (-0.2, 0.6)),
)  # fmt: skip


@pytest.fixture(scope="module")
def tunic(tmp_path_factory: pytest.TempPathFactory, put_tunic: Any) -> tuple[Project, Path]:
    folder = tmp_path_factory.mktemp("points")
    project = put_tunic(folder)
    project = put_pieces(folder, project, choir.PIECES)[0]
    return replace(project, lines=choir.LINES), folder


def front(project: Project, folder: Path) -> OnPiece:
    return next(p for p in on_pieces(project, folder) if p.piece.name == "front")


def moved(project: Project, line_id: str, index: int, by: np.ndarray) -> Project:
    """The project with one point moved by shares of the body."""
    line = next(x for x in project.lines if x.id == line_id)
    through = [*line.through]
    through[index] = (through[index][0] + float(by[0]), through[index][1] + float(by[1]))
    return project.put_line(replace(line, through=tuple(through)))


@pytest.mark.parametrize(
    "more", [(), (SWOOP,)]
)  # the second opens the front out: the line is not the same on both sides
def test_a_point_moved_on_the_piece_moves_the_line_there(
    tunic: tuple[Project, Path], more: tuple[StyleLine, ...]
) -> None:
    project, folder = replace(tunic[0], lines=(*tunic[0].lines, *more)), tunic[1]
    found = front(project, folder)
    wanted = {(x.id, k) for x in project.lines if x.side == "front" for k in range(len(x.through))}
    assert {(p.line, p.index) for p in found.between} == wanted
    paths = {line.id: line.path for line in found.lines}
    for point in found.between:
        assert nearest(paths[point.line], point.at)[2] < 0.5, "the point is on its line"
    point, by_mm = found.between[-1], np.array([7.0, 5.0])
    after = front(moved(project, point.line, point.index, np.array(point.per_mm) @ by_mm), folder)
    there = next(p for p in after.between if (p.line, p.index) == (point.line, point.index))
    assert np.array(there.at) - point.at == pytest.approx(by_mm, abs=0.2)
