"""Arithmetic on cubics, held against numpy's polynomials and the definition of a Bézier curve."""

from __future__ import annotations

import numpy as np
import pytest

from mockup.geometry import cubics as curves
from mockup.geometry.intersect import shared_at_most, shared_length
from mockup.geometry.path import Path

RNG = np.random.default_rng(6)


def some(count: int) -> np.ndarray:
    return RNG.uniform(-100, 100, (count, 4, 2))


def test_one_point_and_a_part_are_what_the_arrays_say() -> None:
    for cubic in some(40):
        s, t = sorted(RNG.uniform(0, 1, 2).tolist())
        z = curves.as_complex(cubic)
        assert curves.point(z, t) == pytest.approx(complex(*curves.evaluate(cubic, np.float64(t))))
        assert (curves.point(z, 0.0), curves.point(z, 1.0)) == (z[0], z[3]), "the very ends"
        part = curves.part(cubic, s, t)
        inner = np.linspace(0, 1, 7)
        there = curves.evaluate(np.broadcast_to(cubic, (7, 4, 2)), s + (t - s) * inner)
        assert np.allclose(curves.evaluate(np.broadcast_to(part, (7, 4, 2)), inner), there, atol=1e-11)


def test_roots_are_those_of_numpy() -> None:
    for values in RNG.uniform(-1, 1, (400, 4)):
        p0, p1, p2, p3 = values
        found = np.roots([p3 - 3 * p2 + 3 * p1 - p0, 3 * (p2 - 2 * p1 + p0), 3 * (p1 - p0), p0])
        real = np.sort(found.real[(np.abs(found.imag) < 1e-9) & (found.real >= 0) & (found.real <= 1)])
        assert np.allclose(sorted(curves.roots(*values.tolist())), real, atol=1e-7)


@pytest.mark.parametrize(
    ("values", "roots"),
    [
        ((0.0, 1.0, 2.0, 3.0), [0.0]),
        ((-3.0, -2.0, -1.0, 0.0), [1.0]),
        ((0.0, 1.0, 1.0, 0.0), [0.0, 1.0]),
        ((1.0, 2.0, 3.0, 4.0), []),
        ((0.0, -1.0, 2.0, 3.0), [0.0, 1 - 0.5**0.5]),  # t (−3 + 12 t − 6 t²) by hand
    ],
)
def test_roots_at_the_ends_are_found_too(values: tuple[float, float, float, float], roots: list[float]) -> None:
    assert sorted(curves.roots(*values)) == pytest.approx(roots, abs=1e-12)


def test_what_lines_share_is_never_more_than_is_said_quickly() -> None:
    # The quick figure leaves out the slow one, so it must never be the smaller.
    tried = 0
    for one, other in zip(some(150), some(150), strict=True):
        a, b = Path(one[None]), Path(other[None])
        slow = shared_length(a, b, 0.02)
        tried += slow > 0
        assert shared_at_most(a, b, 0.02) >= slow
    assert tried > 20, "some of them cross"
    assert shared_at_most(a, a, 0.02) >= shared_length(a, a, 0.02) > 100
