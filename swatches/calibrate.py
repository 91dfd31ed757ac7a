"""Even out the light on the sheet, balance white and grey, and say how far the colour may be off.

The bare paper round the frame shows how the light falls: a quadratic is fitted to the logarithm of it, for each
channel (log because light and paper multiply). Dividing by it evens the light and balances white in one step. The grey
ramp, printed in one ink, is neutral at every step whatever the printer does to its darkness; so it may bend each
channel until it is grey, and never changes lightness.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from swatches import reference as ref
from swatches.colour import linear_to_lab
from swatches.plane import Plane

Floats = NDArray[np.float64]
Linear = NDArray[np.float32]

SHEET_MM_PER_PX = 0.5
KNOWN_SPANS = 1.5
"""Further than this from the paper's middle, in halves of its longer side, light is taken to be as it is there: a
quadratic that was fitted on a sheet goes astray half a metre beside it."""
_Y = np.array([0.2126, 0.7152, 0.0722])

EXPECTED_DELTA_E = {"chart": 2.6, "sheet": 4.8, "paper": 5.3, "card": 6.5, "scale": 6.5, "none": 10.0}
"""Mean CIEDE2000 error on colours that were not fitted, over simulated lights and cameras; 'chart' to 'paper' measured,
the others our own cautious choice: without white in view nothing says what colour the light had."""


@dataclass(frozen=True, slots=True, eq=False)
class Light:
    """How light falls on a plane: log of bare paper's value as a quadratic in mm, and grey balance.

    Attributes:
        coefficients: of 1, x, y, x², xy, y² in units of ``span``, for each channel, shape (6, 3).
        middle: mm, shape (2,).
        span: mm.
        bends: for each channel the factors of t and t², t = log of the value over paper; shape (3, 2); zeros when no
            ramp was seen.
        evenness: brightest over darkest place of the fitted paper.
    """

    coefficients: Floats
    middle: Floats
    span: float
    bends: Floats
    evenness: float

    def even(self, linear: Linear, corners: Floats) -> Linear:
        """Turn light into reflectance.

        Args:
            linear: what is seen of a rectangle of the plane from above, shape (h, w, 3).
            corners: the rectangle's top left, top right and bottom left corner in mm, shape (3, 2).
        """
        rows, columns = linear.shape[:2]
        across, down = np.linspace(0, 1, 24)[None, :, None], np.linspace(0, 1, 24)[:, None, None]
        grid = corners[0] + across * (corners[1] - corners[0]) + down * (corners[2] - corners[0])
        grid = np.clip(grid, self.middle - KNOWN_SPANS * self.span, self.middle + KNOWN_SPANS * self.span)
        gain = np.asarray(np.exp(-(_terms(grid, self.middle, self.span) @ self.coefficients)), np.float32)
        x, y = np.meshgrid((np.arange(columns) + 0.5) / columns * 23, (np.arange(rows) + 0.5) / rows * 23)
        even = linear * cv2.remap(gain, x.astype(np.float32), y.astype(np.float32), cv2.INTER_LINEAR)
        if self.bends.any():
            t = cv2.log(np.clip(even, 1e-4, 1.2))
            even *= cv2.exp(t * (self.bends[:, 0].astype(np.float32) + t * self.bends[:, 1].astype(np.float32)))
        even *= np.float32(ref.PAPER_REFLECTANCE)
        return np.asarray(even, np.float32)


def box_corners(box: tuple[float, float, float, float]) -> Floats:
    """Top left, top right and bottom left corner of an upright box, shape (3, 2)."""
    left, top, right, bottom = box
    return np.array([[left, top], [right, top], [left, bottom]])


@dataclass(frozen=True, slots=True, eq=False)
class SheetLight:
    """What the sheet tells of the light.

    Attributes:
        light: how it falls.
        sheet: the whole sheet from above, evened, at :data:`SHEET_MM_PER_PX`, linear, shape (h, w, 3).
        bare: where it shows bare paper that was used, shape (h, w).
        paper_lab: colour of the paper as the photo had it, against the camera's own white.
        black: what the ramp's darkest step reflects, or None when the ramp is covered.
        burnt: share of the bare paper whose pixels are full.
        warnings: one sentence each.
    """

    light: Light
    sheet: Linear
    bare: NDArray[np.bool_]
    paper_lab: tuple[float, float, float]
    black: float | None
    burnt: float
    warnings: tuple[str, ...]


def read_light(
    rgb: NDArray[np.uint8] | NDArray[np.uint16], plane: Plane, paper: str, factor: float = 1.0
) -> SheetLight:
    """Read the light off a reference sheet that was found.

    Args:
        rgb: the photo, sRGB.
        plane: photo ↔ mm on the sheet.
        paper: 'A4' or 'Letter'.
        factor: printed size over nominal size.
    """
    width, height = ref.paper_size(paper)
    box = (0.0, 0.0, width * factor, height * factor)
    step = SHEET_MM_PER_PX * factor
    seen = plane.rectified(rgb, box, step)
    white = _bare_paper(paper, seen.shape[:2])
    light, bare = fit_light(seen, white, box, step)
    burnt = float((seen[bare] > 0.985).all(axis=1).mean()) if bare.any() else 0.0
    even = light.even(seen, box_corners(box))
    steps = _ramp(even, paper)
    if steps is not None:
        light = Light(light.coefficients, light.middle, light.span, _bends(steps), light.evenness)
        even = light.even(seen, box_corners(box))
    mean = np.exp(light.coefficients[0])
    balanced = linear_to_lab(mean / max(float(mean @ _Y), 1e-6) * ref.PAPER_REFLECTANCE)
    black = None if steps is None else float(steps[-1] @ _Y)
    return SheetLight(
        light, even, bare, (float(balanced[0]), float(balanced[1]), float(balanced[2])), black, burnt,
        _warnings(burnt, light.evenness, black, float(mean @ _Y)),
    )  # fmt: skip


def fit_light(
    seen: Linear, white: NDArray[np.bool_], box: tuple[float, float, float, float], step: float
) -> tuple[Light, NDArray[np.bool_]]:
    """Fit the quadratic to the logarithm of what should be bare paper.

    Pixels that turn out not to be paper (cloth over the margin, a finger, a shadow's edge) are dropped: three rounds
    keep what lies within 12, 8 and 5 % of the fit, the first fit going through what is bright.

    Returns:
        the light, and which pixels were kept.
    """
    rows, columns = seen.shape[:2]
    left, top, right, bottom = box
    middle, span = np.array([(left + right) / 2, (top + bottom) / 2]), max(right - left, bottom - top) / 2
    x = left + (np.arange(columns) + 0.5) * (right - left) / columns
    y = top + (np.arange(rows) + 0.5) * (bottom - top) / rows
    use = white & (seen.min(axis=2) > 1e-3)
    if int(use.sum()) < 50:
        flat = np.zeros((6, 3))
        flat[0] = np.log(np.maximum(seen[use].mean(axis=0) if use.any() else np.full(3, 0.8), 1e-3))
        return Light(flat, middle, span, np.zeros((3, 2)), 1.0), use
    at = np.argwhere(use)
    at = at[:: max(1, len(at) // 20000)]
    terms = _terms(np.column_stack([x[at[:, 1]], y[at[:, 0]]]), middle, span)
    logs = np.log(seen[at[:, 0], at[:, 1]].astype(np.float64))
    tone = logs @ _Y
    keep = tone > np.quantile(tone, 0.97) - 0.9
    keep &= tone > np.median(tone[keep]) - 0.35
    found = np.zeros((6, 3))
    for within in (0.12, 0.08, 0.05):
        found = np.linalg.lstsq(terms[keep], logs[keep], rcond=None)[0]
        off = np.abs((logs - terms @ found) @ _Y)
        if int((off < within).sum()) < 50:
            break
        keep = off < within
    whole = _terms(np.stack(np.meshgrid(x, y), axis=-1), middle, span) @ found
    inside = use & (np.abs((np.log(np.maximum(seen, 1e-4)) - whole) @ _Y) < 0.06)
    spread = whole @ _Y
    light = Light(found, middle, span, np.zeros((3, 2)), float(np.exp(spread.max() - spread.min())))
    return light, inside


def expected_difference(reference: str, seen: SheetLight | None) -> tuple[float, str]:
    """Expected CIEDE2000 difference of the cloth's colour and why, in plain words."""
    value = EXPECTED_DELTA_E[reference]
    if seen is None:
        said = {
            "chart": "colour chart in the photo: close to the cloth",
            "paper": "white paper in the photo, no colour chart: may look slightly different",
            "card": "no white paper in the photo: may look noticeably different",
            "scale": "no white paper in the photo: may look noticeably different",
            "none": "a picture without any reference: may look clearly different",
        }
        return value, said[reference]
    warm = float(np.hypot(seen.paper_lab[1], seen.paper_lab[2]))
    why = ["white and grey balanced on the sheet, no colour chart"]
    if warm > 14:
        value += 2.0
        why = ["lamp light, no colour chart"]
    if seen.burnt > 0.2:
        value += 3.0
        why.append("the paper is burnt out")
    if seen.light.evenness > 1.8:
        value += 0.7
        why.append("uneven light")
    if seen.black is not None and seen.black > 0.12:
        value += 1.5
        why.append("glare")
    grade = "slightly" if value < 6 else "noticeably"
    return round(value, 1), f"{', '.join(why)}: may look {grade} different"


def _terms(points: Floats, middle: Floats, span: float) -> Floats:
    x, y = ((points[..., i] - middle[i]) / span for i in (0, 1))
    return np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)


def _bare_paper(paper: str, shape: tuple[int, ...]) -> NDArray[np.bool_]:
    """Where the sheet shows bare paper outside the frame, 1 mm away from anything printed."""
    picture = ref.sheet_picture(paper, SHEET_MM_PER_PX)
    if picture.shape != tuple(shape[:2]):
        picture = np.asarray(cv2.resize(picture, (shape[1], shape[0]), interpolation=cv2.INTER_AREA), np.uint8)
    clear = cv2.erode((picture >= 254).astype(np.uint8), np.ones((5, 5), np.uint8), borderValue=1).astype(bool)
    left, top, right, bottom = (round(v / SHEET_MM_PER_PX) for v in ref.field(paper))
    clear[top:bottom, left:right] = False
    edge = 3
    clear[:edge], clear[-edge:], clear[:, :edge], clear[:, -edge:] = False, False, False, False
    return np.asarray(clear, np.bool_)


def _ramp(even: Linear, paper: str) -> Floats | None:
    """Mean value of each ramp step, shape (steps, 3), or None when the ramp is covered or out of order."""
    means, spreads = [], []
    for left, top, right, bottom in ref.ramp_boxes(paper):
        part = even[
            round((top + 3) / SHEET_MM_PER_PX) : round((bottom - 3) / SHEET_MM_PER_PX),
            round((left + 3) / SHEET_MM_PER_PX) : round((right - 3) / SHEET_MM_PER_PX),
        ].reshape(-1, 3)
        means.append(np.median(part, axis=0))
        spreads.append(float(part.std(axis=0).max()))
    steps = np.array(means, np.float64)
    tone = steps @ _Y
    falling = bool((np.diff(tone) < -0.004).all()) and tone[0] < 0.95 * ref.PAPER_REFLECTANCE
    return steps if falling and max(spreads) < 0.08 and tone[-1] < 0.3 else None


def _bends(steps: Floats) -> Floats:
    """Fit log(grey/value) = a·t + b·t² for each channel, t = log(value / paper); small, or left out."""
    usable = steps[(steps.min(axis=1) > 0.02)] / ref.PAPER_REFLECTANCE
    bends = np.zeros((3, 2))
    if len(usable) < 4:
        return bends
    grey = usable @ _Y
    for channel in range(3):
        t = np.log(usable[:, channel])
        off = np.log(grey) - t
        found = np.linalg.lstsq(np.column_stack([t, t * t]), off, rcond=None)[0]
        if np.abs(off).max() < 0.25 and np.abs(found).max() < 0.15:
            bends[channel] = found
    return bends


def _warnings(burnt: float, evenness: float, black: float | None, tone: float) -> tuple[str, ...]:
    said = []
    if burnt > 0.2:
        said.append("The white paper is burnt out: take the photo darker, colours are uncertain.")
    if tone < 0.06:
        said.append("The photo is very dark: take it in better light.")
    if evenness > 2.5:
        said.append("The light is very uneven: turn the sheet, or move away from the lamp.")
    if black is not None and black > 0.12:
        said.append("Glare lies on the sheet: turn away from the lamp or window that shines on it.")
    return tuple(said)
