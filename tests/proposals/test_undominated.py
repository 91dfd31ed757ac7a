"""What nothing beats, against brute force that compares every pair."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from mockup.proposals.undominated import diverse, shares, undominated


def brute_force(codes):
    """The definition itself, pair by pair."""
    kept = []
    for a in codes:
        beaten = any((b >= a).all() and (b > a).any() for b in codes)
        kept.append(not beaten)
    return np.array(kept, dtype=bool)


@given(hnp.arrays(np.int32, st.tuples(st.integers(0, 40), st.integers(1, 5)), elements=st.integers(-3, 3)))
def test_small_sets_are_those_of_the_definition(codes):
    assert np.array_equal(undominated(codes), brute_force(codes))


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(2, 7), st.sampled_from([4, 60, 100_000]))
def test_larger_sets_too(seed, columns, values):
    codes = np.random.default_rng(seed).integers(0, values, (700, columns), dtype=np.int32)
    assert np.array_equal(undominated(codes), brute_force(codes))


def test_equals_stay_together_and_order_does_not_matter():
    codes = np.array([[2, 2], [1, 3], [2, 2], [0, 0], [1, 2]], np.int32)
    assert undominated(codes).tolist() == [True, True, True, False, False]
    turn = np.random.default_rng(1).permutation(5)
    assert np.array_equal(undominated(codes[turn]), undominated(codes)[turn])


def test_the_few_hold_the_best_in_each_figure():
    rng = np.random.default_rng(3)
    codes = rng.integers(0, 50, (400, 3), dtype=np.int32)
    kinds = rng.integers(2, 4, 400)
    picked = diverse(codes, kinds, np.zeros((400, 1)), 12)
    assert len(picked) == len(set(picked)) == 12
    standing = shares(codes, kinds)
    for column in range(3):
        assert any(codes[i, column] == codes[:, column].max() for i in picked)
        for kind in (2, 3):  # its best, or one that is nearly as good in everything
            assert any(kinds[i] == kind and standing[i, column] > 0.7 for i in picked)
    assert diverse(codes, kinds, np.zeros((400, 1)), 12) == picked


def test_the_few_do_not_repeat_what_is_the_same():
    codes = np.ones((30, 2), np.int32)
    assert len(diverse(codes, np.zeros(30, int), np.zeros((30, 1)), 10)) == 1
    assert diverse(codes[:0], np.zeros(0, int), np.zeros((0, 1)), 10) == []


def test_shares_lie_between_worst_and_best_of_a_kind():
    codes = np.array([[0, 5], [10, 5], [100, 5]], np.int32)
    kinds = np.array([1, 1, 2])
    assert shares(codes, kinds) == pytest.approx(np.array([[0.0, 1.0], [1.0, 1.0], [1.0, 1.0]]))
