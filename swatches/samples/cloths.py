"""The eight cloths of the choir's cupboard as rendered surfaces, each by the id of its sample."""

from __future__ import annotations

from collections.abc import Callable

from swatches.samples import motifs
from swatches.samples.weave import (
    CREAM,
    MADDER,
    MIDNIGHT,
    OAT,
    OCHRE,
    SPRUCE,
    Linear,
    Run,
    Size,
    corduroy,
    melange,
    printed,
    woven,
)

CHECK_THREAD_MM, CHECK_THREADS = 0.46, 14
CHECK_MM = 4 * CHECK_THREADS * CHECK_THREAD_MM
"""Repeat of the check, both ways."""
STRIPE_THREAD_MM = 0.42
_STRIPE = (Run(CREAM, 12), Run(MIDNIGHT, 2), Run(CREAM, 3), Run(MIDNIGHT, 8), Run(CREAM, 3), Run(MIDNIGHT, 2))
STRIPE_MM = sum(run.threads for run in _STRIPE) * STRIPE_THREAD_MM
"""Repeat of the ticking stripe across the width."""
WALE_MM = 3.2


def spruce(size: Size, mm_per_px: float) -> Linear:
    """Deep green wool-mix twill."""
    dark = "#1d4236"
    return woven(size, mm_per_px, [Run(SPRUCE, 1)], [Run(dark, 1)], thread_mm=0.62, float_over=2, repeat=4, seed=11)


def ochre(size: Size, mm_per_px: float) -> Linear:
    """Mustard linen in plain weave, slubby."""
    pale = "#c39033"
    return woven(size, mm_per_px, [Run(OCHRE, 1)], [Run(pale, 1)], thread_mm=0.55, float_over=1, repeat=2, seed=12)


def oat(size: Size, mm_per_px: float) -> Linear:
    """Undyed wool melange."""
    return melange(size, mm_per_px, seed=13)


def ticking(size: Size, mm_per_px: float) -> Linear:
    """Cream cotton ticking with midnight stripes, warp-faced."""
    return woven(size, mm_per_px, _STRIPE, [Run(CREAM, 1)], thread_mm=STRIPE_THREAD_MM, float_over=3, repeat=4, seed=14)


def check(size: Size, mm_per_px: float) -> Linear:
    """Gun-club check in oat, spruce and madder, 2/2 twill."""
    n = CHECK_THREADS
    sett = (Run(OAT, n), Run(SPRUCE, n), Run(OAT, n), Run(MADDER, n))
    return woven(size, mm_per_px, sett, sett, thread_mm=CHECK_THREAD_MM, float_over=2, repeat=4, seed=15)


def stars(size: Size, mm_per_px: float) -> Linear:
    """Midnight cotton printed with small stars on a half-drop lattice."""
    ground = woven(
        size, mm_per_px, [Run(MIDNIGHT, 1)], [Run(MIDNIGHT, 1)], thread_mm=0.36, float_over=1, repeat=2, seed=16
    )
    return printed(ground, *motifs.star_tile(mm_per_px), mm_per_px, seed=26)


def sprig(size: Size, mm_per_px: float) -> Linear:
    """Cream cotton printed with fir sprigs that all stand one way."""
    ground = woven(size, mm_per_px, [Run(CREAM, 1)], [Run(CREAM, 1)], thread_mm=0.38, float_over=1, repeat=2, seed=17)
    return printed(ground, *motifs.sprig_tile(mm_per_px), mm_per_px, seed=27)


def cord(size: Size, mm_per_px: float) -> Linear:
    """Madder red corduroy."""
    return corduroy(size, mm_per_px, colour="#80282b", wale_mm=WALE_MM, seed=18)


CLOTHS: dict[str, Callable[[Size, float], Linear]] = {
    "spruce": spruce,
    "ochre": ochre,
    "oat": oat,
    "ticking": ticking,
    "check": check,
    "stars": stars,
    "sprig": sprig,
    "cord": cord,
}
