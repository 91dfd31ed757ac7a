"""Pattern pieces from a photo or scan of the paper: outlines in mm, corners found, edges smoothed, the error stated.

The piece lies on the reference sheet, or between the four loose cards, on a ground of quite another colour; a scan
needs only its scale. Where the piece is, and what a pixel measures there, is read by the same code that measures
cloth (:mod:`swatches.setting`, :mod:`swatches.cloth_place`). Here its outline becomes edges: samples every 0.5 mm
along the half level, corners where it turns by more than 38°, cubics between them by least squares, and a straight
line where the edge leaves its chord by less than the tolerance.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from pathlib import Path as FilePath

import numpy as np
from skimage.measure import find_contours

from mockup.files.given import clean
from mockup.files.outlines import Drawn, pieces_from_lines
from mockup.geometry import path as paths
from mockup.geometry.path import Floats, Path
from mockup.geometry.trace import fit_closed
from mockup.pattern.piece import Piece
from mockup.split.words import tenths
from swatches import reference as ref
from swatches.cloth_place import find_cloth
from swatches.cloth_shape import ClothPlace
from swatches.errors import PictureError
from swatches.find_sheet import find_markers
from swatches.job import QUIET, Job, check
from swatches.photo import Photo, read_photo
from swatches.setting import Setting, set_up

TOLERANCE_MM = 0.4  # greatest distance of the smoothed edge from the samples (our own choice)
CARDS_SPREAD = 0.01  # by which equal cards may differ before the photo is not believed (our own choice)
LEAST_MM2 = 2000.0  # smaller spots are no pieces
_STEP_MM = 0.5  # of the samples along the outline
_SMOOTH_MM = 2.0  # noise of the pixels is evened out along the edge by this; corners stay
_TRACING_MM = 0.5  # what the half level itself is off by, at the scales of phone photos (measured on synthetic photos)


@dataclass(frozen=True, slots=True)
class PaperPieces:
    """What was read from a photo.

    Attributes:
        pieces: one an outline, largest first, with edges from corner to corner, on what the outline is (cut or stitch).
        edge_error_mm: how far off an edge may be, as expected: the tracing and the smoothing, and of the piece's
            longer half the error of the scale.
        scale_error_percent: expected error of lengths.
        tolerance_mm: greatest distance of the smoothed edges from what was traced.
        notes: what the person should know, one sentence each.
    """

    pieces: tuple[Piece, ...]
    edge_error_mm: float
    scale_error_percent: float
    tolerance_mm: float
    notes: tuple[str, ...]


def read_paper(
    source: FilePath | bytes,
    *,
    reference: str | float = "sheet",
    bar_mm: float | None = None,
    distance_mm: float | None = None,
    paper_mm: tuple[float, float] | None = None,
    tolerance_mm: float = TOLERANCE_MM,
    job: Job = QUIET,
) -> PaperPieces:
    """Read pattern pieces from a photo or scan.

    Args:
        source: the picture file, or its bytes.
        reference: 'sheet', 'cards', 'a4', 'letter', 'card', or typed mm per pixel of a scan.
        bar_mm: what the person measured of the sheet's 100 mm bar.
        distance_mm: for 'cards': typed tape distance between the middles of cards 1 and 2.
        paper_mm: for 'a4' and 'letter': measured size of the paper.
        tolerance_mm: how far the smoothed edges may leave what was traced.
        job: progress.

    Raises:
        PictureError: no picture, no reference in it, or no piece that can be told from the ground.
        FileFormatError: an outline that crosses itself or has an unlikely size.
    """
    what = clean(source.name) if isinstance(source, FilePath) else "photo of the piece"
    photo = read_photo(source, what="photo of the piece")
    job.step("Finding the reference", 0.1)
    setting = set_up(photo, reference, bar_mm=bar_mm, distance_mm=distance_mm, paper_mm=paper_mm)
    if not setting.scale_known or setting.scale_error_percent is None:
        raise PictureError(
            what,
            expected="something in the photo that tells its scale",
            got=f"reference '{reference}'",
            next_step="Lay the piece on the reference sheet or between the four cards, or type mm per pixel of a scan",
        )
    if setting.cards_mm is not None:
        _cards_agree(photo, setting, what)
    check(job)
    job.step("Finding the piece", 0.4)
    try:
        place = find_cloth(photo, setting, None)
    except PictureError as error:
        raise PictureError(
            what,
            expected="a piece that can be told from what it lies on",
            got=error.got,
            next_step="Lay the paper on a plain ground of quite another colour, with the reference in view",
        ) from error
    check(job)
    job.step("Tracing the outline", 0.7)
    lines = [Drawn(path) for path in _outlines(place, tolerance_mm)]
    if not lines:
        raise PictureError(
            what,
            expected=f"an outline of at least {LEAST_MM2 / 100:g} cm²",
            got="smaller spots",
            next_step="Go nearer, and lay the whole piece in view",
        )
    pieces = pieces_from_lines(lines, what=what)
    size = max(hypot(*(b - a for a, b in zip(box[:2], box[2:], strict=True))) for box in map(_box, pieces))
    error_mm = hypot(_TRACING_MM, tolerance_mm / 2, setting.scale_error_percent / 100 * size / 2)
    said = (
        f"Edges may be off by {tenths(error_mm)}: {tenths(hypot(_TRACING_MM, tolerance_mm / 2))} from tracing and "
        f"smoothing, and {setting.scale_error_percent:g} % from the scale.",
        "Check one long edge with a tape; a known length makes the rest exact to it.",
    )
    job.step("Done", 1.0)
    return PaperPieces(
        pieces,
        error_mm,
        setting.scale_error_percent,
        tolerance_mm,
        (*photo.notes, *setting.warnings, *_of_paper(place.warnings), *said),
    )


def _cards_agree(photo: Photo, setting: Setting, what: str) -> None:
    """Measure the cards themselves: all are squares of one size, so what they differ by is the photo's own error.

    Raises:
        PictureError: they differ by more than 1 %, so that lengths between them cannot be believed.
    """
    sides = []
    for marker in find_markers(photo.rgb8, list(ref.CARD_IDS)):
        corners = setting.plane.to_mm(marker.corners)
        sides.append(np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1).mean())
    spread = (max(sides) - min(sides)) / np.mean(sides) if sides else 0.0
    if spread > CARDS_SPREAD:
        raise PictureError(
            what,
            expected=f"cards that measure alike, within {100 * CARDS_SPREAD:g} %",
            got=f"a difference of {100 * spread:.0f} %",
            next_step="Lay the cards flat and take the photo again from straight above",
        )


def _box(piece: Piece) -> tuple[float, float, float, float]:
    return paths.bounds(piece.outline)


def _of_paper(warnings: tuple[str, ...]) -> list[str]:
    """What the finder of cloth says, said of paper."""
    return [w.replace("The cloth", "The piece").replace("the cloth", "the piece") for w in warnings]


def _outlines(place: ClothPlace, tolerance_mm: float) -> list[Path]:
    """Outer outlines as smooth paths, mm, y up, the largest first."""
    value = np.pad(place.value.astype(np.float64), 1)
    rings = []
    for contour in find_contours(value, 0.5):
        mm = (contour[:, ::-1] - 0.5) * place.step_mm + place.origin_mm
        points = np.column_stack([mm[:, 0], -mm[:, 1]])
        if len(points) > 8 and np.allclose(points[0], points[-1]):
            rings.append(points[:-1])
    areas = [abs(_area(r)) for r in rings]
    order = sorted((k for k, a in enumerate(areas) if a >= LEAST_MM2), key=lambda k: -areas[k])
    kept: list[int] = []
    for k in order:
        if not any(_holds(rings[j], rings[k][0]) for j in kept):  # what lies inside is a hole, or a spot on the paper
            kept.append(k)
    return [_smooth(rings[k], tolerance_mm) for k in kept]


def _smooth(ring: Floats, tolerance_mm: float) -> Path:
    """Fit cubics in units of half a mm, in which the tracer finds corners; flat edges become straight."""
    found = fit_closed(ring / _STEP_MM, tolerance_mm / _STEP_MM, smooth_px=_SMOOTH_MM / _STEP_MM)
    path = Path(found.cubics * _STEP_MM)
    bends = np.array(
        [
            float(np.degrees(np.arccos(np.clip(_tangent_in(path, k - 1) @ paths.tangent(path, k, 0.0), -1, 1))))
            for k in range(len(path))
        ]
    )
    starts = [int(k) for k in np.flatnonzero(bends > 15.0)]
    if len(starts) < 2:
        return path
    out = []
    for a, b in zip(starts, [*starts[1:], starts[0] + len(path)], strict=True):
        run = path.cubics[np.arange(a, b) % len(path)]
        out.append(_straightened(run, tolerance_mm))
    return Path(np.concatenate(out))


def _tangent_in(path: Path, segment: int) -> Floats:
    return paths.tangent(path, segment % len(path), 1.0)


def _straightened(run: Floats, tolerance_mm: float) -> Floats:
    """One straight segment where a run of cubics leaves its chord by less than the tolerance."""
    start, end = run[0, 0], run[-1, 3]
    chord = end - start
    size = float(np.linalg.norm(chord))
    points = paths.flatten(Path(run), 0.05).points
    away = np.abs((points - start) @ np.array([-chord[1], chord[0]])) / max(size, 1e-9)
    return paths.polyline([start, end]).cubics if away.max() <= tolerance_mm else run


def _area(ring: Floats) -> float:
    x, y = ring.T
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum() / 2)


def _holds(ring: Floats, point: Floats) -> bool:
    """Whether a point lies inside a ring: an odd number of its sides crosses the ray to the right."""
    (x0, y0), (x1, y1) = ring.T, np.roll(ring, -1, axis=0).T
    across = (y0 > point[1]) != (y1 > point[1])
    at = x0[across] + (point[1] - y0[across]) / (y1[across] - y0[across]) * (x1[across] - x0[across])
    return bool((at > point[0]).sum() % 2)
