"""Colour: sRGB, linear light, CIELAB (D65), CIEDE2000 and a word for a colour.

sRGB after IEC 61966-2-1:1999; CIELAB after CIE 15:2004; CIEDE2000 after Sharma, Wu and Dalal, "The CIEDE2000
color-difference formula: implementation notes", Color Research and Application 30 (2005). All functions take arrays
whose last axis is the colour, and give float32 for float32 or integer pixels and float64 for float64. Never measure a
difference in 8-bit Lab.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from swatches.errors import InputError

Floats = NDArray[Any]

RGB_TO_XYZ = np.array(
    [
        [0.4123907992659595, 0.357584339383878, 0.1804807884018343],
        [0.21263900587151027, 0.715168678767756, 0.07219231536073371],
        [0.01933081871559182, 0.11919477979462598, 0.9505321522496607],
    ]
)
"""Linear sRGB to CIE XYZ (D65, white Y = 1), from the primaries' chromaticities of IEC 61966-2-1."""
WHITE = RGB_TO_XYZ.sum(axis=1)
_XYZ_TO_RGB = np.linalg.inv(RGB_TO_XYZ)
_DELTA = 6 / 29


def srgb_to_linear(rgb: ArrayLike) -> Floats:
    """From sRGB code values to linear light 0..1: uint8 and uint16 by their full range, floats as 0..1."""
    values = np.asarray(rgb)
    if values.dtype in (np.uint8, np.uint16):
        return _decoding_table(values.dtype.itemsize)[values]  # type: ignore[no-any-return]
    values = _floating(values)
    curve = ((np.maximum(values, 0) + 0.055) / 1.055) ** 2.4
    return np.where(values <= 0.04045, values / 12.92, curve).astype(values.dtype, copy=False)


def linear_to_srgb(linear: ArrayLike) -> Floats:
    """From linear light to sRGB code values 0..1, clipped to that range."""
    values = np.clip(_floating(np.asarray(linear)), 0, 1)
    curve = 1.055 * np.maximum(values, 1e-9) ** (1 / 2.4) - 0.055
    return np.where(values <= 0.0031308, values * 12.92, curve).astype(values.dtype, copy=False)


def linear_to_srgb8(linear: ArrayLike) -> NDArray[np.uint8]:
    """Linear light to 8-bit sRGB, clipped; from an 8-bit picture and back is exact."""
    values = np.asarray(linear)
    if values.size < 4096:
        return np.asarray(np.rint(linear_to_srgb(values) * 255), np.uint8)
    steps = np.clip(values * np.float32(65535) + np.float32(0.5), 0, 65535).astype(np.uint16)
    return _encoding_table()[steps]  # type: ignore[no-any-return]


def linear_to_lab(linear: ArrayLike) -> Floats:
    """Linear sRGB to CIELAB (D65), shape (..., 3)."""
    values = _floating(np.asarray(linear))
    xyz = values @ (RGB_TO_XYZ / WHITE[:, None]).T.astype(values.dtype)
    f = np.where(xyz > _DELTA**3, np.cbrt(xyz), xyz / (3 * _DELTA**2) + 4 / 29)
    lab = np.empty_like(f)
    lab[..., 0] = 116 * f[..., 1] - 16
    lab[..., 1] = 500 * (f[..., 0] - f[..., 1])
    lab[..., 2] = 200 * (f[..., 1] - f[..., 2])
    return np.asarray(lab, values.dtype)


def lab_to_linear(lab: ArrayLike) -> Floats:
    """CIELAB (D65) to linear sRGB, not clipped: values outside 0..1 are outside sRGB."""
    values = _floating(np.asarray(lab))
    fy = (values[..., 0] + 16) / 116
    f = np.stack([fy + values[..., 1] / 500, fy, fy - values[..., 2] / 200], axis=-1)
    xyz = np.where(f > _DELTA, f**3, 3 * _DELTA**2 * (f - 4 / 29)) * WHITE
    return (xyz @ _XYZ_TO_RGB.T).astype(values.dtype, copy=False)  # type: ignore[no-any-return]


def delta_e_2000(lab1: ArrayLike, lab2: ArrayLike) -> Floats:
    """CIEDE2000 colour difference (kL = kC = kH = 1) of arrays that broadcast, shape (..., 3) → (...).

    Equation numbers are those of Sharma, Wu and Dalal (2005).
    """
    one, two = _floating(np.asarray(lab1)), _floating(np.asarray(lab2))
    L1, a1, b1 = one[..., 0], one[..., 1], one[..., 2]
    L2, a2, b2 = two[..., 0], two[..., 1], two[..., 2]
    mean_c = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2  # (2), (3)
    G = 0.5 * (1 - np.sqrt(mean_c**7 / (mean_c**7 + 25.0**7)))  # (4)
    c1, c2 = np.hypot((1 + G) * a1, b1), np.hypot((1 + G) * a2, b2)  # (5), (6)
    h1 = np.degrees(np.arctan2(b1, (1 + G) * a1)) % 360  # (7)
    h2 = np.degrees(np.arctan2(b2, (1 + G) * a2)) % 360
    grey = c1 * c2 == 0
    turn = h2 - h1
    turn = np.where(turn > 180, turn - 360, np.where(turn < -180, turn + 360, turn))
    turn = np.where(grey, 0, turn)  # (10)
    dL, dC = L2 - L1, c2 - c1  # (8), (9)
    dH = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn) / 2)  # (11)
    L, C = (L1 + L2) / 2, (c1 + c2) / 2  # (12), (13)
    total = h1 + h2
    mean_h = np.where(np.abs(h1 - h2) <= 180, total / 2, np.where(total < 360, total / 2 + 180, total / 2 - 180))
    mean_h = np.where(grey, total, mean_h)  # (14)
    T = (
        1
        - 0.17 * np.cos(np.radians(mean_h - 30))
        + 0.24 * np.cos(np.radians(2 * mean_h))
        + 0.32 * np.cos(np.radians(3 * mean_h + 6))
        - 0.20 * np.cos(np.radians(4 * mean_h - 63))
    )  # (15)
    swing = 30 * np.exp(-(((mean_h - 275) / 25) ** 2))  # (16)
    RC = 2 * np.sqrt(C**7 / (C**7 + 25.0**7))  # (17)
    SL = 1 + 0.015 * (L - 50) ** 2 / np.sqrt(20 + (L - 50) ** 2)  # (18)
    SC = 1 + 0.045 * C  # (19)
    SH = 1 + 0.015 * C * T  # (20)
    RT = -np.sin(np.radians(2 * swing)) * RC  # (21)
    l, c, h = dL / SL, dC / SC, dH / SH  # noqa: E741 (the three terms of (22))
    return np.sqrt(np.maximum(l * l + c * c + h * h + RT * c * h, 0))  # type: ignore[no-any-return]  # (22)


def hex_to_lab(text: str) -> tuple[float, float, float]:
    """'#rrggbb' to CIELAB.

    Raises:
        InputError: the text is no such colour.
    """
    if not re.fullmatch(r"#[0-9a-fA-F]{6}", text.strip()):
        raise InputError(
            "colour", expected="a colour such as #3a5f8c", got=repr(text), next_step="Type # and six digits 0-9 or a-f"
        )
    lab = linear_to_lab(hex_to_linear(text))
    return float(lab[0]), float(lab[1]), float(lab[2])


def hex_to_linear(text: str) -> NDArray[np.float64]:
    """'#rrggbb' to linear light, shape (3,); the text must be such a colour."""
    digits = text.strip().lstrip("#")
    return np.asarray(srgb_to_linear(np.array([int(digits[i : i + 2], 16) for i in (0, 2, 4)]) / 255), np.float64)


def lab_to_hex(lab: ArrayLike) -> str:
    """CIELAB to the nearest '#rrggbb' (channels clipped)."""
    red, green, blue = linear_to_srgb8(lab_to_linear(np.asarray(lab, dtype=np.float64)))
    return f"#{red:02x}{green:02x}{blue:02x}"


def colour_word(lab: ArrayLike) -> str:
    """A plain word for a colour: a basic colour term with 'light', 'dark', 'greyish' or 'strong' where it helps.

    The terms are the eleven of Berlin and Kay (1969) with beige, olive and turquoise, which cloth often is. The bounds
    are our own choice: they put the sixteen HTML colours and common cloth colours where people call them so.
    """
    L, a, b = (float(v) for v in np.asarray(lab, dtype=np.float64))
    chroma, hue = float(np.hypot(a, b)), float(np.degrees(np.arctan2(b, a)) % 360)
    if L < 12 and chroma < 16:
        return "black"
    if chroma < (6 if L < 85 else 5):
        if L < 20:
            return "black"
        return "white" if L > 92 else "grey" if 40 <= L <= 70 else "light grey" if L > 70 else "dark grey"
    if L > 86 and chroma < 9:
        return "off-white"
    word, middle = _hue_word(L, chroma, hue)
    light = "light " if L - middle > 18 else "dark " if L - middle < -16 else ""
    grey = "greyish " if chroma < 16 and word not in ("beige", "brown", "olive") else ""
    return f"{light}{grey}{word}"


def _hue_word(L: float, chroma: float, hue: float) -> tuple[str, float]:
    """A basic term and the lightness at which it is neither light nor dark."""
    if hue < 16 or hue >= 345:
        return ("pink", 68) if L > 56 else ("red", 42)
    if hue < 50:
        if L > 66 and chroma < 60:
            return ("beige", 80) if chroma < 22 and hue > 35 else ("pink", 72)
        return ("brown", 40) if chroma < 34 else ("red", 46)
    if hue < 75:
        if chroma < 26 and L > 62:
            return "beige", 80
        return ("orange", 68) if chroma > 45 and L > 52 else ("brown", 42)
    if hue < 114:
        if chroma < 28 and L > 68:
            return "beige", 82
        return ("yellow", 82) if L > 55 else ("olive", 45) if hue > 94 else ("brown", 42)
    if hue < 172:
        return "green", 52
    if hue < 222:
        return "turquoise", 55
    if hue < 307:
        return "blue", 45
    return ("pink", 68) if L > 60 and hue > 318 else ("purple", 42)


def _floating(values: Any) -> Floats:
    return np.asarray(values, values.dtype if values.dtype in (np.float32, np.float64) else np.float64)


@lru_cache(maxsize=2)
def _decoding_table(bytes_each: int) -> Floats:
    size = 256**bytes_each
    table = np.asarray(srgb_to_linear(np.arange(size) / (size - 1)), np.float32)
    table.flags.writeable = False
    return table


@lru_cache(maxsize=1)
def _encoding_table() -> Floats:
    table = np.asarray(np.rint(linear_to_srgb(np.arange(65536) / 65535) * 255), np.uint8)
    table.flags.writeable = False
    return table
