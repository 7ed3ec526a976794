"""Directions out of a ring, on lines whose answer is plain."""

from __future__ import annotations

import numpy as np

from strakewright.geometry.margins import outward


def test_a_line_that_doubles_back_still_has_directions() -> None:
    """Out and back along x: unit directions along y everywhere, none of them not a number."""
    there_and_back = np.array([[0.0, 0.0], [100.0, 0.0], [200.0, 0.0], [100.0, 0.0], [0.0, 0.0]])
    found = outward(there_and_back)
    assert np.isfinite(found).all()
    assert np.allclose(np.abs(found), [0.0, 1.0])
