"""Light and folds of the garment in a photo, freed from its colour.

In linear light a cloth of colour c under light s shows I = s·c, and the camera adds a grey veil v (flare):
I = s·c + v. So s is read by weighted projection of I − v on c,

    s = ⟨I − v, w·c⟩ / ⟨c, w·c⟩ / p90,     w = 1 / (c + 0.002),

where dark channels weigh more because the picture's noise there is less, and p90 makes brightly lit cloth s = 1.

The veil is the same in all three channels; without it dark cloth cannot be made light, since the veil would be taken
for light. On coloured cloth it shows: seen colours lie on a line from the veil's grey along c, so the line is led
back to the grey axis. On grey cloth the two run along each other; there the veil is a usual share of the scene's
mean light. It is never more than ``flare`` times the 0.2nd percentile of min(R, G, B) on the garment.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import ArrayLike, NDArray

from mockup.garment.print_light import print_light
from swatches.colour import delta_e_2000, linear_to_lab, srgb_to_linear
from swatches.errors import PictureError

Floats = NDArray[np.float32]

FLARE = 0.9
_SOFT = 0.002
_SAMPLES = 60_000
_STRIP = 256  # rows at a time: the float picture is never held whole
_USUAL_VEIL = 0.012  # of the scene's mean light; lens tests find 0.5 to 3 % (common practice, no source)
_LOUD = 0.008  # noise of s above which it is quieted
_PRINT_DELTA_E = 7.0  # spread of colour, folds taken out, above which the source is called printed
_PRINTED = (
    "The garment in this photo has a print. Its light is worked out colour by colour, so traces of the print may show "
    "through the new cloth, and fine folds may be lost; a photo of a plain garment works better."
)


@dataclass(frozen=True, slots=True, eq=False)
class Shading:
    """Light on the garment.

    Attributes:
        s: float32, shape (h, w), read-only; 1 on brightly lit cloth, 0 in black folds; of no meaning off the garment.
        source: colour of the garment in the photo, linear light, float32, shape (3,).
        veil: grey that was taken off all channels, linear light.
        spread: how much the source's own colour varies, CIEDE2000, 80th percentile, folds taken out.
        printed: whether the source was read as printed or of several colours.
        warnings: sentences for the person.
    """

    s: Floats
    source: Floats
    veil: float
    spread: float = 0.0
    printed: bool = False
    warnings: tuple[str, ...] = field(default=())


def shading(
    photo: object,
    alpha: NDArray[np.float32],
    *,
    source: ArrayLike | None = None,
    flare: float = FLARE,
    black_point: float | None = None,
    printed: bool | None = None,
) -> Shading:
    """Find light and folds.

    Args:
        photo: a :class:`~swatches.photo.Photo` or an sRGB uint8 array (h, w, 3).
        alpha: how far each pixel belongs to the garment, 0..1, shape (h, w).
        source: the garment's own colour in linear light, where it is known; None: the median of what is seen.
        flare: share, 0..1, of the darkest seen grey that is veil.
        black_point: the veil itself, linear light, in place of the estimate.
        printed: whether the garment has a print, where a person said so; None: as its colours tell. A print's light is
            found by :mod:`mockup.garment.print_light`, and ``source`` is then its most frequent colour.

    Raises:
        PictureError: the mask is empty or has another size.
    """
    pixels = photo if isinstance(photo, np.ndarray) else photo.rgb8  # type: ignore[attr-defined]
    if alpha.shape != pixels.shape[:2]:
        raise PictureError(
            "mask of the garment",
            expected=f"the photo's size, {pixels.shape[1]} × {pixels.shape[0]}",
            got=f"{alpha.shape[1]} × {alpha.shape[0]}" if alpha.ndim == 2 else str(alpha.shape),
            next_step="Make the mask from this photo",
        )
    seen = srgb_to_linear(_sample(pixels, alpha)).astype(np.float64)
    veil = _veil(seen, _scene_light(pixels), flare) if black_point is None else float(max(black_point, 0.0))
    cloth = np.maximum(seen - veil, 0)
    c = np.median(cloth, axis=0) if source is None else np.asarray(source, np.float64)
    c = np.maximum(np.asarray(c, np.float64), 1e-4)
    w = 1 / (c + _SOFT)
    k = w * c / float(c @ (w * c))
    bright = max(float(np.percentile(cloth @ k, 90)), 1e-6)
    k = k / bright
    spread = _spread(cloth, cloth @ k, c * bright)
    if printed is None:
        printed = spread > _PRINT_DELTA_E
    if printed:
        s, colours = print_light(pixels, alpha, veil)
        s.flags.writeable = False
        first = np.ascontiguousarray(colours[0])
        first.flags.writeable = False
        return Shading(s, first, veil, spread, True, (_PRINTED,))
    # s is a weighted sum of three channels: three small tables do the work of the transfer curve, the veil and the sum
    curve = np.maximum(srgb_to_linear(np.arange(256, dtype=np.uint8)).astype(np.float64) - veil, 0)
    tables = (curve[:, None] * k).astype(np.float32)
    s = np.empty(alpha.shape, np.float32)
    for top in range(0, len(s), _STRIP):
        strip = np.ascontiguousarray(pixels[top : top + _STRIP])
        cv2.transform(cv2.LUT(strip, tables.reshape(1, 256, 3)), np.ones((1, 3)), dst=s[top : top + _STRIP])
    s = _quiet(s, alpha)
    s.flags.writeable = False
    colour = np.asarray(c * bright, np.float32)
    colour.flags.writeable = False
    warnings = []
    if float(np.median(cloth @ k)) > 0 and float(c.max() * bright) < 0.006:
        warnings.append("The garment in this photo is almost black, so few folds can be seen in it.")
    return Shading(s, colour, veil, spread, False, tuple(warnings))


def _veil(seen: NDArray[np.float64], scene: float, flare: float) -> float:
    """Estimate the veil, linear light, from seen garment colours (n, 3) and the scene's mean light."""
    least = float(np.percentile(seen.min(axis=1), 0.2))
    most = float(np.clip(flare, 0, 1)) * least
    usual = min(most, _USUAL_VEIL * scene)
    # clear colours only: shares of the median, so that lit and shaded parts count alike
    middle = seen.mean(axis=0)
    axis = np.linalg.eigh(np.cov(seen.T))[1][:, -1]
    grey = np.ones(3) / np.sqrt(3)
    sine = float(np.linalg.norm(np.cross(axis, grey)))
    sure = float(np.clip((sine - 0.1) / 0.2, 0, 1))
    if sure == 0:
        return usual
    # the point of the line middle + t·axis that is nearest to the grey axis
    cosine = float(axis @ grey)
    t = (float(middle @ grey) * cosine - float(middle @ axis)) / (1 - cosine**2)
    along = float((middle + t * axis) @ grey) / np.sqrt(3)
    return sure * float(np.clip(along, 0, most)) + (1 - sure) * usual


def _scene_light(pixels: NDArray[np.uint8]) -> float:
    """Mean light of the whole picture, linear."""
    step = max(1, int(np.sqrt(pixels.shape[0] * pixels.shape[1] / 60_000)))
    return float(srgb_to_linear(np.ascontiguousarray(pixels[::step, ::step])).mean())


def _quiet(s: Floats, alpha: NDArray[np.float32]) -> Floats:
    """Take the camera's noise out of the light, where dark cloth made it loud; folds are larger and stay.

    A guided filter of radius 2 guided by itself (He, Sun & Tang 2010), its ε from the noise.
    """
    rows = np.nonzero(alpha.max(axis=1) > 0.95)[0]
    columns = np.nonzero(alpha.max(axis=0) > 0.95)[0]
    if len(rows) < 8 or len(columns) < 8:
        return s
    middle = s[
        rows[len(rows) // 4] : rows[3 * len(rows) // 4], columns[len(columns) // 4] : columns[3 * len(columns) // 4]
    ]
    middle = np.ascontiguousarray(middle[:1500, :1500])
    # this kernel sees no planes and no parabolas; on noise of deviation σ it has deviation 6σ (Immerkær 1996)
    ripple = cv2.filter2D(middle, cv2.CV_32F, np.array([[1, -2, 1], [-2, 4, -2], [1, -2, 1]], np.float32))
    noise = float(np.median(np.abs(ripple))) / 0.6745 / 6
    if noise < _LOUD:
        return s
    box, epsilon = (5, 5), np.float32((1.5 * noise) ** 2)
    mean = cv2.blur(s, box)
    variance = np.maximum(cv2.blur(s * s, box) - mean * mean, 0)
    a = np.maximum(variance - np.float32(noise**2), 0)
    a /= a + epsilon
    return np.asarray(cv2.blur(a, box) * s + cv2.blur((1 - a) * mean, box), np.float32)


def _sample(pixels: NDArray[np.uint8], alpha: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Garment pixels on a regular grid, well inside where there are enough, shape (n, 3)."""
    step = max(1, int(np.sqrt(alpha.size / 400_000)))
    coarse, found = alpha[::step, ::step], pixels[::step, ::step]
    inside = found[coarse > 0.95]
    if len(inside) < 50:
        inside = pixels[alpha > 0.5]
    if len(inside) < 4:
        raise PictureError(
            "mask of the garment",
            expected="an area of the photo",
            got="an empty mask",
            next_step="Draw round the garment first",
        )
    return np.asarray(inside[:: max(1, len(inside) // _SAMPLES)])


def _spread(cloth: NDArray[np.float64], s: NDArray[np.float64], c: NDArray[np.float64]) -> float:
    """How far seen colours are from the source's colour in the same light, CIEDE2000, 80th percentile.

    Lightness is left out, since the folds explain it; deep shade, where noise rules, is left out too.
    """
    lit = s > 0.25
    if lit.sum() < 50:
        return 0.0
    step = max(1, int(lit.sum()) // 8_000)
    seen, same = linear_to_lab(cloth[lit][::step].astype(np.float64)), linear_to_lab(s[lit][::step, None] * c)
    same[:, 0] = seen[:, 0]
    return float(np.percentile(delta_e_2000(seen, same), 80))
