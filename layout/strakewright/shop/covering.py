"""What may cover a panel: paper, thin sheets, wide planks, or only narrow ones.

K         product of the principal curvatures, + like a bowl, - like a saddle
floor     the least strain any way of laying out a strip of a width leaves: |K| w^2 / 16
widest    strip whose floor stays at a strain: 4 sqrt(strain / |K|)

Derived: about a geodesic of a surface of even curvature, lengths at distance t are cos(t / R) of the middle's on a
bowl, cosh(t / R) on a saddle (do Carmo); evened out, a strip keeps tan^2 or tanh^2 of w / 4R, nearly w^2 / 16 R^2.
Strains that covers bear: common practice, no source.
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.flats import Cover
from strakewright.geometry.arcs import Smooth
from strakewright.geometry.flatten import Flat, strain_floor, widest_strip

WIDTHS = (50.0, 100.0, 150.0, 300.0)  # mm of strips that the floor is given for
BEARS = (("paper", 5e-4), ("thin sheet", 1e-3), ("plank that lies easily", 2e-3), ("plank that is forced", 5e-3))
_WIDE, _NARROW = 150.0, 60.0  # mm of planks
_BOTH = 0.3  # share of the one curvature that the other kind must have to be worth a word


def gauss_of(smooth: Smooth, triangles: Ints, area: Floats) -> tuple[tuple[float, float], tuple[int, int] | None]:
    """5th and 95th percentile by area of K (1/mm2) where the corners lie on a smooth surface, and the corners that have
    it.  area : (m,) of the triangles (m, 3)"""
    weight = np.bincount(triangles.ravel(), np.repeat(area, 3)) * (smooth.trust > 0.5)
    order = np.argsort(smooth.gauss)
    share = np.cumsum(weight[order])
    if share[-1] <= 0:
        return (0.0, 0.0), None
    low, high = (int(order[i]) for i in np.searchsorted(share, [0.05 * share[-1], 0.95 * share[-1]]))
    return (float(smooth.gauss[low]), float(smooth.gauss[high])), (low, high)


def cover_of(gauss: tuple[float, float], corners: tuple[int, int] | None, flat: Flat) -> Cover:
    """What may cover a panel.  gauss, corners : as `gauss_of` has them;  flat : the panel laid flat"""
    at = int(abs(gauss[1]) >= abs(gauss[0]))
    breadth, most = float(np.ptp(flat.points, axis=0).min()), flat.strain_max
    floors = tuple((width, strain_floor(gauss[at], width)) for width in WIDTHS)
    widest = tuple((kind, limit, _widest(gauss[at], limit, breadth, most)) for kind, limit in BEARS)
    corner = None if corners is None else corners[at]
    return Cover(gauss[at], corner, floors, widest, _words([w for _, _, w in widest], gauss))


def _widest(gauss: float, limit: float, breadth: float, most: float) -> float | None:
    """mm; None where the whole panel stays below the limit.

    A panel of half that breadth or less that is strained more all the same has a knuckle in it: its own strain says
    how wide, as strain grows with the width squared.
    """
    if most <= limit:
        return None
    width = widest_strip(gauss, limit)
    return min(width, breadth) if width < 2 * breadth else breadth * float(np.sqrt(limit / most))


def _words(widths: list[float | None], gauss: tuple[float, float]) -> str:
    """As a builder would say it.

    >>> _words([None, None, None, None], (0.0, 0.0))
    'paper and sheets cover it whole'
    >>> _words([134.0, 190.0, 268.0, 424.0], (4.4e-7, 4.4e-7))     # a sphere of 1.5 m radius
    'like a bowl: wide planks, up to 268 mm, lie easily; thin sheets only in strips up to 190 mm, paper up to 134 mm'
    """
    paper, sheet, easy, forced = widths
    if paper is None:
        return "paper and sheets cover it whole"
    strips = f"thin sheets only in strips up to {sheet or 0:.0f} mm, paper up to {paper:.0f} mm"
    if sheet is None:
        rest = f"a thin sheet covers it whole; paper only in strips up to {paper:.0f} mm"
    elif easy is None:
        rest = f"planks of any width lie easily; {strips}"
    elif easy >= _NARROW:
        rest = f"{'wide ' * (easy >= _WIDE)}planks, up to {easy:.0f} mm, lie easily; {strips}"
    else:
        rest = f"narrow strips only: up to {easy:.0f} mm lie easily, up to {forced or easy:.0f} mm by force"
    return f"{_shape(gauss)}: {rest}"


def _shape(gauss: tuple[float, float]) -> str:
    """Bowl or saddle.

    >>> _shape((-2e-7, -1e-7)), _shape((-2e-7, 1e-7)), _shape((0.0, 0.0))
    ('like a saddle', 'a bowl in places, a saddle in others', 'curved in a line')
    """
    low, high = gauss
    if max(abs(low), abs(high)) == 0.0:
        return "curved in a line"
    if low < 0 < high and min(-low, high) > _BOTH * max(-low, high):
        return "a bowl in places, a saddle in others"
    return "like a bowl" if abs(high) >= abs(low) else "like a saddle"
