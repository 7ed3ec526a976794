"""Girths, areas and flat strains against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.geometry.sections import area, chart_strain, girth, section
from strakewright.geometry.surface import FitOptions, Patch, fit_patch

R = 2000.0


@pytest.fixture(scope="module")
def barrel() -> Patch:
    """Cylinder of radius R about the x axis, its chart the true flat shape."""
    p, q = np.meshgrid(np.linspace(0.0, 3000.0, 61), np.linspace(0.0, 900.0, 31), indexing="ij")
    chart = np.stack([p.ravel(), q.ravel()], axis=-1)
    points = np.stack([chart[:, 0], R * np.cos(chart[:, 1] / R), R * np.sin(chart[:, 1] / R)], axis=-1)
    return fit_patch(chart, points, options=FitOptions(reach=100.0))[0]


def box(length: float, width: float) -> np.ndarray:
    return np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])


def test_girth_and_area_of_a_cylinder(barrel: Patch) -> None:
    """Closed form: the girth is the arc, the area length x arc."""
    ring = box(3000.0, 900.0)
    assert girth(barrel, ring, 1234.5) == pytest.approx(900.0, abs=1e-4)
    assert area(barrel, ring) == pytest.approx(2.7e6, rel=1e-7)
    assert section(barrel, ring, 4000.0) == []


def test_a_developable_lies_flat_and_a_stretched_chart_does_not(barrel: Patch) -> None:
    """Closed form: a chart one part in a thousand too long in p has that strain, and rms 1/sqrt(2) of it."""
    assert chart_strain(barrel, box(3000.0, 900.0))[0] < 1e-6
    long = Patch(barrel.knots_p * 1.001, barrel.knots_q, barrel.coefs)
    worst, rms = chart_strain(long, box(3003.0, 900.0))
    assert worst == pytest.approx(0.001, rel=1e-3)
    assert rms == pytest.approx(0.001 / np.sqrt(2.0), rel=1e-3)


def test_a_plank_100_wide_round_300_is_half_a_millimetre_narrower_by_its_chord() -> None:
    """Worked by hand: 2 x 300 x sin(100 / 600) = 99.54, so chords would lose 0.46 mm a plank; girths are arcs."""
    p, q = np.meshgrid(np.linspace(0.0, 400.0, 41), np.linspace(0.0, 200.0, 41), indexing="ij")
    chart = np.stack([p.ravel(), q.ravel()], axis=-1)
    points = np.stack([chart[:, 0], 300.0 * np.cos(chart[:, 1] / 300.0), 300.0 * np.sin(chart[:, 1] / 300.0)], axis=-1)
    patch = fit_patch(chart, points, options=FitOptions(reach=50.0))[0]
    ring = box(400.0, 100.0)
    chord = float(np.linalg.norm(patch.at(np.array([200.0, 100.0])) - patch.at(np.array([200.0, 0.0]))))
    assert girth(patch, ring, 200.0) == pytest.approx(100.0, abs=1e-3)
    assert girth(patch, ring, 200.0) - chord == pytest.approx(0.46, abs=0.005)
