"""The proof of floating: right on closed forms, and seen to fail when the result is broken."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.afloat.forms import box, wedge, wigley

from strakewright.afloat.lying import at_rest
from strakewright.proof.waterproof import afloat_checks, columns


def test_columns_of_water_on_closed_forms() -> None:
    """Box 4 x 1.6 m at 0.25 m; Wigley 4/9 L B T with its centre 3 T / 8 under water; a wedge heeled by 10 degrees
    keeps area = half of its sides' product times the sine of its angle."""
    volume, centre = columns(*_mesh(box(4000.0, 1600.0, 900.0)), np.array([0.0, 0.0, 1.0]), 250.0)
    assert volume == pytest.approx(4000 * 1600 * 250.0)
    assert centre == pytest.approx([2000.0, 0.0, 125.0])
    volume, centre = columns(*_mesh(wigley(10_000.0, 1000.0, 625.0)), np.array([0.0, 0.0, 1.0]), 625.0)
    assert volume == pytest.approx(4 / 9 * 1e7 * 625.0, rel=5e-4)
    assert centre[2] == pytest.approx(625 * 5 / 8, rel=5e-4)
    heel, half = np.deg2rad(10.0), np.arctan(1.25)
    volume, _ = columns(*_mesh(wedge(5000.0, 2000.0, 800.0)), np.array([0.0, np.sin(heel), np.cos(heel)]), 400.0)
    a, b = 400 / np.cos(half - heel), 400 / np.cos(half + heel)
    assert volume == pytest.approx(5000 * 0.5 * a * b * np.sin(2 * half))


def _mesh(shell):  # type: ignore[no-untyped-def]
    return shell.vertices, shell.triangles


def test_checks_hold_at_rest_and_fail_when_broken() -> None:
    hull = wigley(6000.0, 1800.0, 300.0)
    lies = at_rest(hull, 700.0, np.array([2900.0, 10.0, 250.0]))
    held = afloat_checks(*_mesh(hull), lies, "fresh water")
    assert [c.holds for c in held] == [True, True]
    deeper = afloat_checks(*_mesh(hull), replace(lies, level=lies.level + 1.0), "fresh water")
    assert not deeper[0].holds
    aside = afloat_checks(*_mesh(hull), replace(lies, centre=np.array([2900.0, 11.0, 250.0])), "fresh water")
    assert [c.holds for c in aside] == [True, False]
