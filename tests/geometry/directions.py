"""Any direction, for tests that draw them."""

import numpy as np
from hypothesis import strategies as st

from geometry.vectors import unit

component = st.floats(-1.0, 1.0)
direction = (
    st.tuples(component, component, component)
    .map(np.array)
    .filter(lambda v: np.linalg.norm(v) > 0.1)
    .map(unit)
)
