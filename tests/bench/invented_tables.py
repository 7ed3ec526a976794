"""Invented lines of hard-chine boats for the benches of fairing and misprints: fair by construction.

Every line is a polynomial of low degree of a stretched length, with the sizes, fullness, flare and sheer drawn at
random within what boats of 4 to 8 m have; all derivatives are smooth.  The boats are invented.

share    xi from 0 at the transom to 1 at the bow
plan     breadth b (1 - tuck (1 - xi)^2 (1 + xi / 2)) (1 - xi^p) + bow, p from 3 to 4.5: full amidships, fine forward
profile  heights: a sag or a rise that grows with a power of the distance from the lowest point
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from strakewright.arrays import Floats

INCH = 25.4
Line = Callable[[Floats], Floats]
ROWS = ("height sheer", "height chine", "height rabbet", "half-breadth sheer", "half-breadth chine")


def invented_lines(rng: np.random.Generator) -> tuple[float, dict[str, Line]]:
    """Length, and a line for every row, over 0 (transom) to 1 (bow); mm."""
    length = rng.uniform(4000.0, 8000.0)
    beam, depth = length * rng.uniform(0.13, 0.19), length * rng.uniform(0.10, 0.13)
    base = rng.uniform(20.0, 200.0)
    out, inner = rng.uniform(3.0, 4.5), rng.uniform(2.4, 3.4)
    tuck, low, bow = rng.uniform(0.08, 0.25), rng.uniform(0.72, 0.86), rng.uniform(0.0, 0.06)
    least, rise, run = rng.uniform(0.25, 0.45), rng.uniform(0.35, 0.6), rng.uniform(0.1, 0.3)
    heel, foot = rng.uniform(0.05, 0.15), rng.uniform(0.25, 0.4)

    def plan(scale: float, power: float, end: float) -> Line:
        aft = lambda xi: 1.0 - tuck * (1.0 - xi) ** 2 * (1.0 + xi / 2)  # noqa: E731
        return lambda xi: beam * (scale * aft(xi) * (1.0 - (0.12 + 0.88 * xi) ** power) + end)

    def profile(bottom: float, at: float, forward: float, power: float, aft: float) -> Line:
        return lambda xi: (
            base + depth * (bottom + forward * (xi - at) ** 2 + (forward / 2) * xi**power + aft * (1.0 - xi) ** 3)
        )

    return length, {
        "height sheer": profile(0.95, least, rise, 3.0, 0.05),
        "height chine": profile(0.24, least, 0.6 * rise, 4.0, heel / 2),
        "height rabbet": profile(0.0, 0.4, 0.5 * foot, 5.0, run / 2),
        "half-breadth sheer": plan(1.0, out, bow + 0.02),
        "half-breadth chine": plan(low, inner, bow / 2 + 0.01),
    }


def rounded(values: Floats, step: float) -> Floats:
    """To the nearest step."""
    return np.asarray(np.round(values / step) * step)
