"""Cloth on a cylinder and a prism against exact areas and laps; resin against suppliers' coverage.

Gallons and square feet: 1 US gallon = 3.785412 l, 1 ft2 = 0.09290304 m2.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from strakewright.outfit import GlueSettings
from strakewright.settings import SheathingSettings
from strakewright.stores.sheathing import (
    FILL_COAT,
    RESIN,
    Cover,
    covered_area,
    covers,
    laminate,
    pots,
    run_plan,
    sheathed,
    varnish_litres,
)
from tests.exact_hulls import CYLINDER, Prism, cylinder_wall
from tests.loft.hulls import lofted

SIX_OZ, TEN_OZ = 203.43, 339.06
PER_GALLON = 3.785412 / 0.09290304  # l/m2 for one gallon a square foot
CLOTH = SheathingSettings(cloth=SIX_OZ, lap=50.0, corner_lap=60.0, roll=1000.0)


def test_cylinder_wall_with_laps() -> None:
    """Radius 6 m, 600 high, developed it is a rectangle but for its stem: area is the integral of rho theta(z), and
    the laps lie along keel and both ends, none at the sheer."""
    (cover,) = covers(lofted(cylinder_wall()))
    turn = float(CYLINDER.stem(np.array(300.0)))  # upright: the same at every height
    assert cover.area == pytest.approx(6000.0 * turn * 600.0, rel=1e-4)
    laps = 60.0 * 6000 * turn + 50.0 * 600 * 2
    assert covered_area(cover, CLOTH) == pytest.approx(cover.area + laps, rel=1e-4)


def test_prism_with_laps() -> None:
    """Plane panels 3 m long: the bottom laps 60 mm round keel and chine, 50 over each transom; the side round the
    chine only. Both sides of the boat."""
    hull = Prism(length=3000.0)
    (_, _), (b, rise), (out, top) = hull.section()
    bottom, side = float(np.hypot(b, rise)), float(np.hypot(out - b, top - rise))
    skins = covers(lofted(hull.mesh()))
    job = sheathed(skins, CLOTH, GlueSettings())
    assert job.net == pytest.approx(2e-6 * 3000 * (bottom + side), rel=1e-5)
    laps = 3000 * 60.0 * 3 + 100.0 * (bottom + side)
    assert job.covered == pytest.approx(job.net + 2e-6 * laps, rel=1e-4)
    only = sheathed(skins, SheathingSettings(cloth=SIX_OZ, panels=("bottom",)), GlueSettings())
    assert only.net == pytest.approx(2e-6 * 3000 * bottom, rel=1e-5)


def rectangle(long: float, wide: float) -> Cover:
    ring = np.array([[0.0, 0.0], [long, 0.0], [long, wide], [0.0, wide]])
    return Cover("bottom", ring, long * wide, (("keel", long), ("transom", wide), ("chine", long), ("stem", wide)))


def test_runs_of_a_rectangle() -> None:
    """5000 x 1700 with laps of 60 beside and 50 beyond: 1820 wide takes two runs of 1000 that lap by 50, 5100 long."""
    runs = run_plan(rectangle(5000.0, 1700.0), CLOTH)
    assert [r.way for r in runs] == ["along", "along"]
    assert [r.length for r in runs] == pytest.approx([5100.0, 5100.0])
    assert [(r.low, r.high) for r in runs] == [(0.0, 1000.0), (950.0, 1820.0)]


def test_runs_go_across_where_that_takes_less() -> None:
    """1850 long and 1900 wide: two across of 1900 + 2 x 60 against three along."""
    runs = run_plan(rectangle(1850.0, 1900.0), CLOTH)
    assert {r.way for r in runs} == {"across"}
    assert len(runs) == 2
    assert runs[0].length == pytest.approx(2020.0)


def test_runs_cover_the_panel_and_follow_its_taper() -> None:
    """A triangle: the upper run is shorter than the lower."""
    ring = np.array([[0.0, 0.0], [6000.0, 0.0], [0.0, 1500.0]])
    tapered = Cover("bottom", ring, 4.5e6, (("keel", 6000.0), ("chine", 6185.0), ("transom", 1500.0)))
    runs = run_plan(tapered, CLOTH)
    assert runs[0].low == 0.0
    assert runs[-1].high >= 1500.0 + 120.0 - 1e-6
    assert all(a.high - b.low == pytest.approx(50.0) for a, b in pairwise(runs))
    assert runs[0].length > runs[1].length


@pytest.mark.parametrize(("cloth", "square_feet", "close"), [(SIX_OZ, 90.0, 0.02), (TEN_OZ, 60.0, 0.16)])
def test_resin_against_suppliers(cloth: float, square_feet: float, close: float) -> None:
    """Two suppliers: a gallon wets and fills 90 ft2 of 6 oz, 60 ft2 of 10 oz cloth; ours without waste."""
    ours = (cloth / 1000 + 3 * FILL_COAT) / RESIN
    assert ours == pytest.approx(PER_GALLON / square_feet, rel=close)


@pytest.mark.parametrize(("cloth", "ounces"), [(SIX_OZ, 6), (TEN_OZ, 10)])
def test_resin_against_the_builders_rule(cloth: float, ounces: int) -> None:
    """Gallons = ft2 x (oz x 0.00085 + 0.0075), three fill coats and 15 % waste in it (common practice): 0.51 and
    0.65 l/m2."""
    settings = SheathingSettings(cloth=cloth, corner_lap=0.0, lap=0.0, roll=2000.0)
    job = sheathed((rectangle(4000.0, 1500.0),), settings, GlueSettings())
    assert job.litres / job.net == pytest.approx((ounces * 0.00085 + 0.0075) * PER_GALLON, rel=0.03)
    assert job.resin == pytest.approx(job.litres * RESIN)


def test_weight_left_aboard() -> None:
    """Cloth, as much resin again, and the fill coats: 12 m2 of 6 oz is 12 x (2 x .2034 + 3 x .097) = 8.37 kg."""
    settings = SheathingSettings(cloth=SIX_OZ, corner_lap=0.0, lap=0.0)
    job = sheathed((rectangle(4000.0, 1500.0),), settings, GlueSettings())
    assert job.aboard == pytest.approx(12 * (2 * 0.20343 + 3 * 0.097), rel=1e-4)


def test_laminate_thickness() -> None:
    """Equal weights of glass 2.54 and resin 1.15: 1 / 2.54 + 1 / 1.15 = 1.263 mm to the kg; 6 oz .257, 10 oz .428."""
    assert pytest.approx(1.263, abs=5e-4) == 1 / 2.54 + 1 / 1.15
    assert laminate(SheathingSettings(cloth=SIX_OZ)) == pytest.approx(0.257, abs=5e-4)
    assert laminate(SheathingSettings(cloth=TEN_OZ)) == pytest.approx(0.428, abs=5e-4)


def test_pots_by_size_and_by_pot_life() -> None:
    """3 kg in pots of 300 g: ten. With 6 minutes at 4 m2 an hour and 350 g/m2 only 140 g can be spread: 22."""
    assert pots(3.0, 0.35, GlueSettings(pot=300, pot_life=20, pace=4)) == 10
    assert pots(3.0, 0.35, GlueSettings(pot=300, pot_life=6, pace=4)) == 22
    assert pots(0.0, 0.35, GlueSettings()) == 0


def test_varnish() -> None:
    assert varnish_litres(24.0) == pytest.approx(6.0)
