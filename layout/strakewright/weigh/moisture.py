"""Moisture of wood: what the air gives it, what it then weighs, how much it moves.

moisture        mass of water over dry mass of wood, %
equilibrium     the moisture that wood comes to in air of a temperature and a relative humidity
gravity         specific gravity: dry mass over volume (here the volume at 12 %) over the density of water
coefficient     change of width per 1 % moisture, fraction; radial across the rings (quarter-sawn boards),
                tangential along them (flat-sawn)
saturation      moisture above which wood no longer swells

Sources: Wood Handbook, USDA Forest Products Laboratory: GTR FPL-GTR-282 (2021) eq. 4-5 for the equilibrium (the
Hailwood-Horrobin form fitted by W. Simpson 1973), its chapter 4 for density; GTR-190 (2010) eq. 13-2 for movement
from 6 to 14 %; eq. 13-3 beyond (from memory; it gives back the coefficients of table 13-5 at 10 %).
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats

SATURATION = 30.0
BY_COEFFICIENT = (6.0, 14.0)
_W = (349.0, 1.29, 0.0135)
_K = (0.805, 0.000736, -0.00000273)
_K1 = (6.27, -0.00938, -0.000303)
_K2 = (1.91, 0.0407, -0.000293)


def equilibrium(celsius: float, humidity: float) -> float:
    """Moisture % that wood comes to.  humidity : relative, %

    >>> round(equilibrium(20.0, 65.0), 1)
    12.0
    """
    t = np.array([1.0, celsius, celsius**2])
    w, k, k1, k2 = (float(t @ np.array(c)) for c in (_W, _K, _K1, _K2))
    kh = k * humidity / 100.0
    bound = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800.0 / w * (kh / (1 - kh) + bound)


def density(gravity: float, moisture: float) -> float:
    """kg/m3 at a moisture % of wood whose gravity is on its volume there.

    >>> round(density(0.40, 12.0), 1)
    448.0
    """
    return 1000.0 * gravity * (1.0 + moisture / 100.0)


def density_at(density_12: float, moisture: float) -> float:
    """kg/m3 at another moisture of wood that weighs density_12 at 12 %; its volume taken as it was planed."""
    return density(density_12 / 1120.0, moisture)


def change(width: float | Floats, coefficient: float, before: float, after: float) -> Floats:
    """mm by which a width grows between two moistures (eq. 13-2; good from 6 to 14 %)."""
    return np.asarray(np.asarray(width) * coefficient * (after - before))


def change_by_shrinkage(
    width: float | Floats, shrinkage: float, before: float, after: float, saturation: float = SATURATION
) -> Floats:
    """The same from the shrinkage % green to oven-dry (eq. 13-3), for any moisture up to saturation."""
    low, high = min(before, saturation), min(after, saturation)
    return np.asarray(np.asarray(width) * (high - low) / (saturation * 100.0 / shrinkage - saturation + low))
