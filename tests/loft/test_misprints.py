"""Slips in tables: found, placed, sized and named; sound tables left alone.

Rates over hundreds of tables stand in DEVELOPERS.md (tests/bench/loft_bench.py); here a few dozen, and the words.
"""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.loft.fairing import faired, mean_shifts, shift_profile, wiener
from strakewright.loft.misprints import likely_slip, suspects
from strakewright.units import parse_eighths
from tests.bench.invented_tables import INCH, ROWS, invented_lines, rounded
from tests.bench.loft_bench import LARGE, fairing_errors, rate, tabled


def test_the_prior_is_the_wiener_process_integrated_four_times() -> None:
    """Its covariance is the integral of (s-u)^3 (t-u)^3 / 36 over u from 0 to the smaller (G. Wahba 1978)."""
    u = (np.arange(20000) + 0.5) / 20000
    for s, t in ((0.3, 0.8), (1.0, 0.25), (0.6, 0.6)):
        low = min(s, t)
        true = low * np.mean((s - low * u) ** 3 * (t - low * u) ** 3 / 36)
        assert float(wiener(np.array([s]), np.array([t]))[0, 0]) == pytest.approx(true, rel=1e-6)


def test_a_cubic_comes_through_untouched() -> None:
    x = np.array([0.0, 400.0, 900.0, 1700.0, 2600.0, 3100.0, 4000.0])
    values = 300.0 + 0.1 * x - 2e-5 * x**2 + 4e-9 * x**3
    assert faired(x, values, 3.175) == pytest.approx(values, abs=1e-6)


def test_rows_written_finely_are_taken_as_they_stand() -> None:
    x = np.linspace(0.0, 4000.0, 9)
    values = np.sin(x / 300.0)
    assert faired(x, values, 0.001).tolist() == values.tolist()


def test_mean_shift_measures_the_slip() -> None:
    x = np.linspace(0.0, 4000.0, 13)
    values = rounded(500.0 - 3e-5 * (x - 1500.0) ** 2, INCH / 8)
    values[6] += 20.0
    gain, off = mean_shifts(shift_profile(x, values, INCH / 8, 4000.0), None)
    assert int(np.argmax(gain)) == 6
    assert float(off[6]) == pytest.approx(20.0, abs=2.0)


def test_inner_slips_are_found_and_sound_tables_left_alone() -> None:
    assert rate(13, LARGE, False, 25)[0] >= 0.96
    assert rate(13, (), False, 25)[1] == 0.0


def test_fairing_beats_the_cubic_through_the_cells() -> None:
    """Curvature within a third of the cubic's from 9 stations up, the largest error no larger."""
    for stations, tables in ((9, 60), (11, 15), (13, 10)):
        (far, bend), (cubic, plain) = fairing_errors(stations, tables)
        assert far <= cubic
        assert bend <= plain / 3


def test_all_slips_of_a_table_are_found_one_after_the_other() -> None:
    length, lines = invented_lines(np.random.default_rng(3))
    x = np.linspace(0.0, 1.0, 15) * length
    rows = {name: rounded(lines[name](x / length), INCH / 8) for name in ROWS}
    rows["height sheer"][4] += 2 * INCH
    rows["half-breadth chine"][9] -= 12 * INCH
    found = {(s.row, s.station): s for s in suspects(tabled(x, rows))}
    assert set(found) == {("height sheer", "4"), ("half-breadth chine", "9")}
    assert found["half-breadth chine", "9"].off == pytest.approx(-12 * INCH, abs=6.0)


@pytest.mark.parametrize(
    ("written", "meant", "words"),
    [
        ("3-3-4", "2-3-4", "a foot too many? 2-3-4"),
        ("2-4-3", "2-3-4", "swapped? 2-3-4"),
        ("2-9-4", "2-3-4", "one figure wrong? 2-3-4"),
        ("521", "512", "swapped? 512"),
    ],
)
def test_the_likely_slip_is_named(written: str, meant: str, words: str) -> None:
    mm = parse_eighths(meant) if "-" in meant else float(meant)
    assert words in likely_slip(written, mm + 0.4, 3.175 if "-" in meant else 1.0)


def test_what_no_slip_explains_is_said_to_be_so() -> None:
    assert "no simple slip" in likely_slip("2-3-4", 5000.0, 3.175)
