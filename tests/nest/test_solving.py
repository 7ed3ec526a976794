"""Whole-number programmes: against every choice there is, and nothing said on standard output."""

from __future__ import annotations

import ctypes
from itertools import product

import numpy as np
import pytest
from scipy.optimize import LinearConstraint

from strakewright.nest.solving import chosen, unsaid


@pytest.mark.parametrize("seed", range(5))
def test_the_least_cover_is_found(seed: int) -> None:
    rng = np.random.default_rng(seed)
    cost, row = rng.uniform(1.0, 2.0, 9), (rng.uniform(size=(6, 9)) < 0.4).astype(float)
    row[:, 0] = 1.0  # one thing covers all
    cost[0] = 5.0
    found = chosen(cost, [LinearConstraint(row, 1.0, np.inf)], None, 10_000, 0.0)
    tried = [np.array(pick) for pick in product((0.0, 1.0), repeat=9)]
    assert found.fun == pytest.approx(min(cost @ pick for pick in tried if (row @ pick >= 1.0).all()))


def test_what_compiled_code_writes_meanwhile_is_lost(capfd: pytest.CaptureFixture[str]) -> None:
    say = ctypes.CDLL(None).puts
    with unsaid():
        say(b"lost")
    say(b"kept")
    ctypes.CDLL(None).fflush(None)
    print("and so is this")
    said = capfd.readouterr().out.split("\n")
    assert "lost" not in said
    assert {"kept", "and so is this"} <= set(said)
