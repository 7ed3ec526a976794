"""Curves of form: what she displaces at every draught, upright and level.

moulded     to the outside of the planking, with the wood outside it that is in the boat file; rudder and screw not
table       draughts from a tenth of the depth up to the lowest point of the sheer

Definitions as in any text of naval architecture: BM = I / V, coefficients over the waterline's own length and breadth;
sums by the divergence theorem over fine triangles (`geometry.immersion`) instead of Simpson's rule.
"""

from __future__ import annotations

import numpy as np

from strakewright.afloat.shell import Shell
from strakewright.arrays import Floats
from strakewright.floating import FRESH, Hydrostatics
from strakewright.geometry.immersion import UPRIGHT, immersed, pieces_below, section_area

DRAUGHTS, STATIONS = 10, 21
LITRE = 1e6  # mm3


def at_level(shell: Shell, level: float, water: float = FRESH) -> Hydrostatics:
    """Figures with the water at height `level` over the base line.

    water : kg/m3;  raises ValueError when the hull does not reach into the water
    """
    under = immersed(shell.vertices, shell.triangles, UPRIGHT, level, shell.wets)
    if under.volume <= 0.0:
        raise ValueError(f"no part of the hull lies below {level:.0f} mm")
    lcf = float(under.first[0] / under.area)
    long = float(under.second[0, 0] - under.area * lcf**2)
    displacement = under.volume / LITRE * water / 1000.0
    length, breadth = float(under.reach[1] - under.reach[0]), float(under.reach[3] - under.reach[2])
    return Hydrostatics(
        level=level,
        draught=level - shell.low,
        volume=under.volume,
        displacement=displacement,
        lcb=float(under.centre[0]),
        kb=float(under.centre[2]) + level - shell.low,
        waterplane=under.area,
        lcf=lcf,
        bm=float(under.second[1, 1]) / under.volume,
        bm_long=long / under.volume,
        wetted=under.wetted,
        length=length,
        breadth=breadth,
        largest_section=float(sectional_areas(shell, level)[:, 1].max()),
        immersion=under.area / LITRE * water / 1000.0,
        trim_moment=displacement * long / under.volume / length,
    )


def table(shell: Shell, water: float = FRESH) -> tuple[Hydrostatics, ...]:
    """Ten draughts up to the lowest point of the sheer."""
    depth = float(shell.sheer[:, 2].min()) - shell.low
    return tuple(at_level(shell, shell.low + depth * n / DRAUGHTS, water) for n in range(1, DRAUGHTS + 1))


def sectional_areas(shell: Shell, level: float) -> Floats:
    """(STATIONS, 2) x and area mm2 of the sections below the water, along the wetted length."""
    points, _, _ = pieces_below(shell.vertices, shell.triangles, UPRIGHT, level)
    first, last = points[:, :, 0].min(), points[:, :, 0].max()
    inset = (last - first) * 1e-4  # off the very ends, where upright transoms and stems lie in the station plane
    stations = np.linspace(first + inset, last - inset, STATIONS)
    return np.array([[x, section_area(points, float(x))] for x in stations])
