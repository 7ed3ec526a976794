"""Developable panels between two edges, each given as 25 points, against closed forms.

Cylinder, cone and the tangent developable of a helix are `exact_hulls.Wall`: waterlines turn evenly, so rulings join
equal turns and the flat shape is known (derivation there).  Flat outlines are measured by laying the strip of rulings
flat triangle by triangle with Richardson's extrapolation, which is exact for a developable.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from strakewright.arrays import Floats
from strakewright.errors import UnworkableError
from strakewright.geometry.curves import arc_length
from strakewright.geometry.drawn import interpolant
from strakewright.geometry.ruled import Edge, Rulings, at_x, developable, refuse_warp, rulings_at, straight_sections

STATIONS = 25
TURN = np.linspace(0.15, 1.25, STATIONS)


def edge(points: Floats) -> Edge:
    along = arc_length(points)
    return Edge(interpolant(along, points), 0.0, float(along[-1]))


def wall(rho: float, k: float, flare: float, z: Floats | float) -> Floats:
    """Points of the wall of constant slope over TURN (formula in exact_hulls)."""
    n = np.stack([np.sin(TURN), np.cos(TURN)], axis=1)
    t = np.stack([np.cos(TURN), -np.sin(TURN)], axis=1)
    height = np.broadcast_to(np.asarray(z, dtype=float), TURN.shape)
    flat = k * t + (rho + k * TURN + height * np.tan(flare))[:, None] * n
    return np.column_stack([flat, height])


def developed(rho: float, k: float, flare: float, z: Floats) -> Floats:
    """The same points on the development (exact_hulls)."""
    f = np.sin(flare)
    psi = TURN * f
    direction = np.stack([np.sin(psi), np.cos(psi)], axis=1)
    along = np.stack([np.cos(psi), -np.sin(psi)], axis=1)
    reach = (rho + k * TURN + z * np.tan(flare)) / f
    return np.asarray(k / f**2 * along + reach[:, None] * direction)


WALLS = {"cone": (1500.0, 0.0, np.radians(20.0)), "helix": (1500.0, 400.0, np.radians(20.0))}


def unrolled(rulings: Rulings) -> tuple[Floats, Floats]:
    """Both edges of a strip of rulings, flat, triangle by triangle."""
    feet, heads = [np.zeros(2)], [np.array([0.0, np.linalg.norm(rulings.heads[0] - rulings.feet[0])])]
    for k in range(1, len(rulings.low)):
        a, b, c, d = rulings.feet[k - 1], rulings.heads[k - 1], rulings.feet[k], rulings.heads[k]
        feet.append(_apex(feet[-1], heads[-1], np.linalg.norm(c - a), np.linalg.norm(c - b)))
        heads.append(_apex(feet[-1], heads[-1], np.linalg.norm(d - c), np.linalg.norm(d - b)))
    return np.array(feet), np.array(heads)


def _apex(a: Floats, b: Floats, from_a: np.floating, from_b: np.floating) -> Floats:  # type: ignore[type-arg]
    way = b - a
    size = np.linalg.norm(way)
    x = (from_a**2 - from_b**2 + size**2) / (2 * size)
    y = -np.sqrt(max(float(from_a**2 - x**2), 0.0))
    u = way / size
    return np.asarray(a + x * u + y * np.array([-u[1], u[0]]))


def flat_edges(lower: Edge, upper: Edge, low: Floats, high: Floats) -> Floats:
    """Flat points of rulings between given places, by Richardson on strips of 1, 2 and 4 times as many."""
    shapes = []
    for times in (8, 16, 32):
        index = np.arange(len(low))
        fine = np.linspace(0, len(low) - 1, (len(low) - 1) * times + 1)
        s, t = interpolant(index.astype(float), low)(fine), interpolant(index.astype(float), high)(fine)
        feet, heads = unrolled(rulings_at(lower, upper, s, t))
        shapes.append(np.stack([feet[::times], heads[::times]]))
    first = [(4 * b - a) / 3 for a, b in pairwise(shapes)]
    return np.asarray((16 * first[1] - first[0]) / 15)


def fitted(points: Floats, onto: Floats) -> float:
    """Largest distance left after the best move and turn (W. Kabsch 1976)."""
    p, q = points.reshape(-1, 2), onto.reshape(-1, 2)
    a, b = p - p.mean(axis=0), q - q.mean(axis=0)
    u, _, v = np.linalg.svd(a.T @ b)
    flip = np.diag([1.0, np.sign(np.linalg.det(u @ v))])
    return float(np.linalg.norm(a @ (u @ flip @ v) - b, axis=1).max())


@pytest.mark.parametrize("name", WALLS)
def test_rulings_join_equal_turns(name: str) -> None:
    rho, k, flare = WALLS[name]
    low, high = wall(rho, k, flare, 0.0), wall(rho, k, flare, 500.0)
    found = developable(edge(low), edge(high), 241)
    assert np.degrees(found.warp).max() <= 0.002
    turn_low = np.interp(found.low, arc_length(low), TURN)
    turn_high = np.interp(found.high, arc_length(high), TURN)
    assert np.abs(turn_low - turn_high).max() < 2e-3  # the interpolation of the turns, not of the rulings


@pytest.mark.parametrize("name", WALLS)
def test_flat_outline_is_the_closed_form(name: str) -> None:
    rho, k, flare = WALLS[name]
    low, high = edge(wall(rho, k, flare, 0.0)), edge(wall(rho, k, flare, 500.0))
    found = developable(low, high, 241)
    pick = np.linspace(0, len(found.low) - 1, STATIONS).round().astype(int)
    s = arc_length(wall(rho, k, flare, 0.0))
    t = interpolant(found.low, found.high)(s)
    flat = flat_edges(low, high, s, t)
    true = np.stack([developed(rho, k, flare, np.zeros(STATIONS)), developed(rho, k, flare, np.full(STATIONS, 500.0))])
    assert len(pick) == STATIONS
    assert fitted(flat, true) <= 0.005
    for mine, exact in zip(flat, true, strict=True):
        assert abs(arc_length(mine)[-1] - arc_length(exact)[-1]) <= 0.001


def test_cylinder_between_wavy_edges() -> None:
    """Rulings of a cylinder stand plumb whatever its edges do; the flat shape is arc length against height."""
    low = np.column_stack([1000 * np.cos(TURN), 1000 * np.sin(TURN), 40 * np.sin(2 * TURN)])
    high = np.column_stack([1000 * np.cos(TURN), 1000 * np.sin(TURN), 500 + 60 * TURN])
    lower, upper = edge(low), edge(high)
    found = developable(lower, upper, 241)
    assert np.degrees(found.warp).max() <= 0.002
    assert np.linalg.norm((found.feet - found.heads)[:, :2], axis=1).max() <= 0.005
    s = arc_length(low)
    flat = flat_edges(lower, upper, s, interpolant(found.low, found.high)(s))
    true = np.stack([np.column_stack([1000 * TURN, low[:, 2]]), np.column_stack([1000 * TURN, high[:, 2]])])
    assert fitted(flat, true) <= 0.005


def test_a_saddle_is_refused_with_its_place() -> None:
    """Between a full and a hollow edge no sheet lies: hyperbolic paraboloid z = x y / 1000."""
    x = np.linspace(0.0, 3000.0, STATIONS)
    low = np.column_stack([x, np.zeros(STATIONS), 200 * np.sin(x / 600.0)])
    high = np.column_stack([x, np.full(STATIONS, 600.0), 300 + 200 * np.cos(x / 400.0)])
    lower, upper = edge(low), edge(high)
    with pytest.raises(UnworkableError, match="near x"):
        refuse_warp(developable(lower, upper, 241), lower, upper, "side")


def test_straight_sections_lie_across_the_boat() -> None:
    low, high = edge(wall(1500.0, 0.0, 0.3, 0.0)), edge(wall(1500.0, 0.0, 0.3, 500.0))
    found = straight_sections(low, high, 50)
    assert np.abs(found.feet[:, 0] - found.heads[:, 0]).max() < 1e-6
    assert float(at_x(low, np.array([900.0]))[0]) == pytest.approx(float(at_x(low, np.array([900.0 + 1e-9]))[0]))


def test_an_edge_runs_on_without_curling() -> None:
    """Past its own polynomial the bend fades: after FADE mm the edge runs straight."""
    line = edge(np.column_stack([1000 * np.sin(TURN), 1000 * np.cos(TURN), 0 * TURN]))
    long = Edge(line.spline, 0.0, line.last, 900.0, 900.0)
    _, way, bend = long.jet(np.array([line.last + 700.0, line.last + 800.0]))
    assert np.abs(bend).max() == 0.0
    assert np.allclose(way[0], way[1])
