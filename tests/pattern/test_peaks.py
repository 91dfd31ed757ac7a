"""Places of a row of values that stand out, against scipy.signal.find_peaks."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import find_peaks

from mockup.pattern.notches import peaks

STEPS = st.lists(st.integers(0, 6).map(float), min_size=1, max_size=60)  # few heights: flat tops and ties


@given(STEPS, st.floats(0, 5))
def test_the_same_as_scipys(values: list[float], prominence: float) -> None:
    row = np.array(values)
    assert peaks(row, prominence) == find_peaks(row, prominence=prominence)[0].tolist()
