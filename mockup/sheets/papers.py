"""Sheets of paper, and how a large drawing is spread over them.

A drawing lies on a plane in mm, x to the right, y **down**, origin at its upper left. Sheets are windows onto that
plane; neighbours overlap, and each cell of the plane belongs to one sheet up to the middle of the overlap.
"""

from __future__ import annotations

import string
from dataclasses import dataclass

from swatches.errors import InputError

OVERLAP_MM = 10.0


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper.

    Attributes:
        name: as people say it.
        width: mm.
        height: mm; 0 for a roll, which is as long as the drawing. Where both are 0 the page is as large as it.
        margin: mm at every edge that a printer may not reach.
    """

    name: str
    width: float
    height: float
    margin: float = 10.0

    @property
    def has_first_page(self) -> bool:
        """Whether the check and the map stand on a page of their own: on small sheets."""
        return 0 < self.width <= 300 and self.height > 0

    @property
    def frame(self) -> tuple[float, float]:
        """Width and height (mm) of what one sheet shows."""
        return self.width - 2 * self.margin, self.height - 2 * self.margin


PAPERS = {
    p.name.casefold(): p
    for p in (
        Paper("A4", 210.0, 297.0),  # ISO 216
        Paper("Letter", 215.9, 279.4),  # 8.5 × 11 in
        Paper("A0", 841.0, 1189.0),  # ISO 216
        Paper("roll36", 914.4, 0.0, 15.0),  # 36 in
        Paper("projector", 0.0, 0.0, 40.0),
    )
}


def paper(name: str) -> Paper:
    """Find a paper by its name, in any case.

    Raises:
        InputError: there is no such paper here.
    """
    found = PAPERS.get(name.strip().casefold())
    if found is None:
        raise InputError(
            "paper",
            expected=" or ".join(p.name for p in PAPERS.values()),
            got=repr(name),
            next_step="Choose one of them",
        )
    return found


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet's window onto the plane: row and column from 0, and its upper left corner in mm."""

    row: int
    column: int
    x: float
    y: float

    @property
    def name(self) -> str:
        """Row letter and column number: 'B3'."""
        return f"{row_letters(self.row)}{self.column + 1}"


@dataclass(frozen=True, slots=True)
class Grid:
    """How sheets of one paper lie over the plane.

    Attributes:
        frame: width and height (mm) of what one sheet shows.
        columns: number of columns.
        rows: number of rows.
        overlap: mm that neighbours share.
    """

    frame: tuple[float, float]
    columns: int
    rows: int
    overlap: float = OVERLAP_MM

    @property
    def step(self) -> tuple[float, float]:
        """Distance (mm) from one sheet's corner to the next one's."""
        return self.frame[0] - self.overlap, self.frame[1] - self.overlap

    @property
    def size(self) -> tuple[float, float]:
        """Width and height (mm) of the plane that all sheets show."""
        return self.columns * self.step[0] + self.overlap, self.rows * self.step[1] + self.overlap

    def tile(self, row: int, column: int) -> Tile:
        """The sheet in a row and column."""
        return Tile(row, column, column * self.step[0], row * self.step[1])

    def cell(self, row: int, column: int) -> tuple[float, float, float, float]:
        """The part of the plane (min x, min y, max x, max y) that this sheet alone answers for."""
        (w, h), half = self.step, self.overlap / 2
        left = column * w + (half if column else 0.0)
        top = row * h + (half if row else 0.0)
        right = (column + 1) * w + (half if column < self.columns - 1 else self.overlap)
        bottom = (row + 1) * h + (half if row < self.rows - 1 else self.overlap)
        return left, top, right, bottom


def row_letters(row: int) -> str:
    """Name a row: A … Z, AA, AB, …"""
    letters, n = "", row + 1
    while n:
        n, k = divmod(n - 1, 26)
        letters = string.ascii_uppercase[k] + letters
    return letters
