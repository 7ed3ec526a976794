"""Surfaces asked many times over: the inner work of tensor splines, seams and fans, compiled.

jets      value and derivatives of a tensor spline at many points (see `tensor`)
felt      how a line on the skin must steer to run straight, and the skin's curvature after Gauss there
march     a fan's geodesics and how they spread, step by step (classical fourth-order Runge-Kutta rule)
drawn     single lines, by Gauss collocation of order six; the slopes within a step are found by E. Picard's rounds,
          which begin from those of the step before carried on
sought    Newton's steps to the (s, t) of chart points in a fan

Plain loops over arrays that are handed in, compiled once (`compiling`).  Methods: see `tensor`, `geodesics`, `fans`.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np

from strakewright.compiling import Made, compile_called, compile_inner, home, mark_of

Array = Any
"""Arrays as the compiler sees them."""

_KEPT = home() / mark_of(Path(__file__).parent.glob("quick*.py"))

ORDER, WIDE = 6, 18  # powers of a quintic; those of three figures
MARGIN = 200.0  # mm past a patch's box by which its bends have faded out
SHARPEST, DOUBLY = 0.2, 4e-4  # most that a chart steers a line, 1/mm, and most double bend, 1/mm2, past a border
ROUNDS, SETTLED = 24, 1e-10  # of one step at most; mm of the last
NEWTON_ROUNDS, SOUGHT = 12, 1e-5  # steps to a point in a fan at most; mm of the last: the next would be below 1e-10
LEAP = 80.0  # mm of one such step
BOX_EDGE = 1e-6
ROOT = math.sqrt(15.0)
C1, C2, C3 = 0.5 - ROOT / 10.0, 0.5, 0.5 + ROOT / 10.0
GAUSS_C = np.array([C1, C2, C3])
GAUSS_B = np.array([5.0, 8.0, 5.0]) / 18.0
GAUSS_A = np.array([[10.0, 16.0, 10.0]] * 3) / 72.0 + ROOT * np.array(
    [[0.0, -1 / 15, -1 / 30], [1 / 24, 0.0, -1 / 24], [1 / 30, 1 / 15, 0.0]]
)
GAUSS_AA, GAUSS_BA = GAUSS_A @ GAUSS_A, GAUSS_B @ GAUSS_A


class Tables(NamedTuple):
    """A tensor spline as these functions want it.

    cells : (cells of p, cells of q, 6, 18) power coefficients of three figures;  p, q : (cells, 3) where each begins,
    the origin of its own coordinate and one over its scale
    """

    cells: Array
    p: Array
    q: Array


def called(made: Made) -> Made:
    """Compile a function that is called from outside."""
    return compile_called(made, _KEPT)


def inner(made: Made) -> Made:
    """Compile a function that only those of this module call."""
    return compile_inner(made, _KEPT)


@inner
def span_at(spans: Array, x: float) -> int:
    """Number of the span a coordinate lies in."""
    low, high = 0, len(spans)
    while high - low > 1:
        middle = (low + high) // 2
        if spans[middle, 0] <= x:
            low = middle
        else:
            high = middle
    return low


@inner
def powers_at(spans: Array, at: int, x: float, order: int, out: Array) -> None:
    """(order + 1, 6) what the power coefficients of a span are weighed by for each derivative."""
    scale = spans[at, 2]
    u = (x - spans[at, 1]) * scale
    power = 1.0
    for k in range(ORDER):
        out[0, k] = power
        power *= u
    for d in range(1, order + 1):
        out[d, 0] = 0.0
        for k in range(1, ORDER):
            out[d, k] = out[d - 1, k - 1] * k * scale


@inner
def jet_at(tables: Tables, p: float, q: float, room: Array, out: Array) -> None:
    """Jet of one point.  room : (3, 4, 18);  out : (order + 1, order + 1, 3)

    Sums are written out: a loop over six weights takes three times as long."""
    order, across, along, row = out.shape[0] - 1, room[0], room[1], room[2, 0]
    i, j = span_at(tables.p, p), span_at(tables.q, q)
    powers_at(tables.p, i, p, order, along)
    powers_at(tables.q, j, q, order, across)
    cell = tables.cells[i, j]
    for d in range(order + 1):
        a, b, c, x, y, z = along[d, 0], along[d, 1], along[d, 2], along[d, 3], along[d, 4], along[d, 5]
        for m in range(WIDE):
            row[m] = a * cell[0, m] + b * cell[1, m] + c * cell[2, m] + x * cell[3, m] + y * cell[4, m] + z * cell[5, m]
        for e in range(order + 1):
            a, b, c, x, y, z = across[e, 0], across[e, 1], across[e, 2], across[e, 3], across[e, 4], across[e, 5]
            for m in range(3):
                low, high = a * row[m] + b * row[m + 3] + c * row[m + 6], x * row[m + 9] + y * row[m + 12]
                out[d, e, m] = low + high + z * row[m + 15]


@called
def jets(tables: Tables, pq: Array, out: Array) -> None:
    """Fill (n, order + 1, order + 1, 3) with all mixed derivatives at (n, 2) points."""
    room = np.empty((3, 4, WIDE))
    for n in range(len(pq)):
        jet_at(tables, pq[n, 0], pq[n, 1], room, out[n])


@inner
def dot(a: Array, b: Array) -> float:
    """Scalar product of two vectors in space."""
    return float(a[0] * b[0] + a[1] * b[1] + a[2] * b[2])


@inner
def crossed(jet: Array, inward: Array) -> float:
    """The way inboard r_p x r_q, as long as the area factor, which is returned."""
    r_p, r_q = jet[1, 0], jet[0, 1]
    inward[0] = r_p[1] * r_q[2] - r_p[2] * r_q[1]
    inward[1] = r_p[2] * r_q[0] - r_p[0] * r_q[2]
    inward[2] = r_p[0] * r_q[1] - r_p[1] * r_q[0]
    return math.sqrt(inward[0] * inward[0] + inward[1] * inward[1] + inward[2] * inward[2])


@called
def normals(tables: Tables, pq: Array, out: Array) -> None:
    """Fill (n, 3) with the unit normals outwards at (n, 2) points."""
    room, jet, inward = np.empty((3, 4, WIDE)), np.empty((2, 2, 3)), np.empty(3)
    for n in range(len(pq)):
        jet_at(tables, pq[n, 0], pq[n, 1], room, jet)
        area = max(crossed(jet, inward), 1e-12)
        for i in range(3):
            out[n, i] = -inward[i] / area


@called
def formed(tables: Tables, pq: Array, out: Array) -> None:
    """Fill (n, 7) with E, F, G of the first form, the area factor, and L, M, N of the second, at (n, 2) points."""
    room, jet, inward = np.empty((3, 4, WIDE)), np.empty((3, 3, 3)), np.empty(3)
    for n in range(len(pq)):
        jet_at(tables, pq[n, 0], pq[n, 1], room, jet)
        r_p, r_q = jet[1, 0], jet[0, 1]
        area = max(crossed(jet, inward), 1e-12)
        out[n, 0], out[n, 1], out[n, 2], out[n, 3] = dot(jet[1, 0], r_p), dot(jet[1, 0], r_q), dot(jet[0, 1], r_q), area
        out[n, 4], out[n, 5] = dot(jet[2, 0], inward) / area, dot(jet[1, 1], inward) / area
        out[n, 6] = dot(jet[0, 2], inward) / area


@inner
def falling(x: float) -> float:
    """1 up to x = 0, 0 from x = 1, three times smoothly in between."""
    x = min(max(x, 0.0), 1.0)
    return 1.0 - x**4 * (35.0 - 84.0 * x + 70.0 * x**2 - 20.0 * x**3)


@inner
def tamed_jet(tables: Tables, p: float, q: float, room: Array, jet: Array) -> float:
    """Second-order jet of a point pulled in to at most `MARGIN` outside the box; 1 inside it, falling to 0 there."""
    last_p, last_q = len(tables.p) - 1, len(tables.q) - 1
    p0, p1, q0, q1 = tables.p[1, 0], tables.p[last_p, 0], tables.q[1, 0], tables.q[last_q, 0]
    out = max(p0 - p, p - p1, q0 - q, q - q1)
    if out > 0.0:
        p, q = min(max(p, p0 - MARGIN), p1 + MARGIN), min(max(q, q0 - MARGIN), q1 + MARGIN)
    jet_at(tables, p, q, room, jet)
    return falling(out / MARGIN) if out > 0.0 else 1.0


@inner
def steered(jet: Array, v0: float, v1: float, most: float) -> tuple[float, float]:
    """Christoffel term of velocity v, at most `most` (1/mm): a geodesic has v' = minus it."""
    r_p, r_q = jet[1, 0], jet[0, 1]
    e, f, g = dot(jet[1, 0], r_p), dot(jet[1, 0], r_q), dot(jet[0, 1], r_q)
    squared = max(e * g - f * f, 1e-12)
    a, b, c = v0 * v0, 2.0 * v0 * v1, v1 * v1
    x = (a * dot(jet[2, 0], r_p) + b * dot(jet[1, 1], r_p) + c * dot(jet[0, 2], r_p)) / squared
    y = (a * dot(jet[2, 0], r_q) + b * dot(jet[1, 1], r_q) + c * dot(jet[0, 2], r_q)) / squared
    along, across = g * x - f * y, e * y - f * x
    tame = most / max(math.hypot(along, across), most)
    return along * tame, across * tame


@inner
def gauss(jet: Array, inward: Array) -> float:
    """Curvature after Gauss, at most that of a ball of the sharpest bend.  inward : (3,) room"""
    r_p, r_q = jet[1, 0], jet[0, 1]
    e, f, g = dot(jet[1, 0], r_p), dot(jet[1, 0], r_q), dot(jet[0, 1], r_q)
    squared = max(e * g - f * f, 1e-12)
    crossed(jet, inward)
    m = dot(jet[1, 1], inward)
    full = (dot(jet[2, 0], inward) * dot(jet[0, 2], inward) - m * m) / (squared * squared)
    return min(max(full, -DOUBLY), DOUBLY)


@inner
def slope(tables: Tables, state: Array, room: Array, jet: Array, out: Array) -> None:
    """Derivative by length of a state p, q, p', q', g, g' of a geodesic and how it spreads from its neighbour."""
    fade = tamed_jet(tables, state[0], state[1], room, jet)
    along, across = steered(jet, state[2], state[3], SHARPEST)
    out[0], out[1] = state[2], state[3]
    out[2], out[3] = -fade * along, -fade * across
    out[4], out[5] = state[5], -fade * gauss(jet, room[0, 0]) * state[4]


@called
def felt(tables: Tables, pq: Array, v: Array, out: Array) -> None:
    """Fill (n, 6) with the first form E, F, G, the area factor and the Christoffel term of velocities v (n, 2)."""
    room, jet = np.empty((3, 4, WIDE)), np.empty((3, 3, 3))
    for n in range(len(pq)):
        fade = tamed_jet(tables, pq[n, 0], pq[n, 1], room, jet)
        along, across = steered(jet, v[n, 0], v[n, 1], SHARPEST)
        r_p, r_q = jet[1, 0], jet[0, 1]
        e, f, g = dot(jet[1, 0], r_p), dot(jet[1, 0], r_q), dot(jet[0, 1], r_q)
        out[n, 0], out[n, 1], out[n, 2], out[n, 3] = e, f, g, math.sqrt(max(e * g - f * f, 1e-12))
        out[n, 4], out[n, 5] = fade * along, fade * across


@called
def march(tables: Tables, first: Array, steps: Array, out: Array) -> None:
    """Fill (m, n, 6) with the states of n geodesics after each of m steps from (n, 6) first ones."""
    room, jet, k, here = np.empty((3, 4, WIDE)), np.empty((3, 3, 3)), np.empty((4, 6)), np.empty(6)
    for n in range(len(first)):
        before = first[n]
        for m in range(len(steps)):
            h = steps[m]
            slope(tables, before, room, jet, k[0])
            for stage in range(1, 4):
                share = h if stage == 3 else 0.5 * h
                for i in range(6):
                    here[i] = before[i] + share * k[stage - 1, i]
                slope(tables, here, room, jet, k[stage])
            for i in range(6):
                out[m, n, i] = before[i] + h / 6.0 * (k[0, i] + 2.0 * (k[1, i] + k[2, i]) + k[3, i])
            before = out[m, n]


@inner
def steer(tables: Tables, at: Array, bend: float, most: float, room: Array, jet: Array) -> tuple[float, float]:
    """Acceleration of a line of sideways curvature `bend` at a state p, q, p', q'; the chart steers at most `most`."""
    fade = tamed_jet(tables, at[0], at[1], room, jet)
    along, across = steered(jet, at[2], at[3], most)
    along, across = -fade * along, -fade * across
    if bend != 0.0:
        r_p, r_q = jet[1, 0], jet[0, 1]
        e, f, g = dot(jet[1, 0], r_p), dot(jet[1, 0], r_q), dot(jet[0, 1], r_q)
        turn = bend / math.sqrt(max(e * g - f * f, 1e-12))
        along -= turn * (f * at[2] + g * at[3])
        across += turn * (e * at[2] + f * at[3])
    return along, across


@inner
def weighed(weights: Array, known: Array, i: int) -> float:
    """Weighed sum of one coordinate of three stages."""
    return float(weights[0] * known[0, i] + weights[1] * known[1, i] + weights[2] * known[2, i])


@called
def drawn(tables: Tables, first: Array, steps: Array, bends: Array, most: float, out: Array) -> None:
    """Fill (m + 1, k, 2) with the points of k lines.

    first : (k, 4) their points and unit velocities;  steps : (k,) mm, of each one's equal steps
    bends : (m, 3, k) sideways curvature at the Gauss points of each step, or of no length for geodesics
    most : 1/mm that the chart steers them at most
    """
    room, jet = np.empty((3, 4, WIDE)), np.empty((3, 3, 3))
    known, fresh = np.empty((3, 2)), np.empty((3, 2))
    at, here, there = np.empty(4), np.empty(4), np.empty(4)
    for line in range(len(first)):
        h = steps[line]
        for i in range(4):
            here[i] = first[line, i]
        for i in range(2):
            out[0, line, i] = here[i]
            known[0, i] = known[1, i] = known[2, i] = 0.0
        for m in range(len(out) - 1):
            for turn in range(ROUNDS):
                if landed(here, h, known, there) < SETTLED and turn > 0:
                    break
                for stage in range(3):
                    bend = bends[m, stage, line] if len(bends) else 0.0
                    within(here, h, known, stage, at)
                    fresh[stage, 0], fresh[stage, 1] = steer(tables, at, bend, most, room, jet)
                for i in range(2):
                    known[0, i], known[1, i], known[2, i] = fresh[0, i], fresh[1, i], fresh[2, i]
            for i in range(4):
                here[i] = there[i]
            for i in range(2):
                out[m + 1, line, i] = here[i]
                ahead(known, i)


@inner
def landed(here: Array, h: float, known: Array, there: Array) -> float:
    """Where a step ends by the slopes known (p, q, p', q', into `there`); mm by which that has moved."""
    moved = 0.0
    for i in range(2):
        way = here[i + 2] + h * weighed(GAUSS_B, known, i)
        spot = here[i] + h * (here[i + 2] + h * weighed(GAUSS_BA, known, i))
        moved = max(moved, abs(spot - there[i]), abs(h * (way - there[i + 2])))
        there[i], there[i + 2] = spot, way
    return moved


@inner
def within(here: Array, h: float, known: Array, stage: int, at: Array) -> None:
    """The state at a Gauss point of a step by the slopes known."""
    for i in range(2):
        at[i] = here[i] + h * (GAUSS_C[stage] * here[i + 2] + h * weighed(GAUSS_AA[stage], known, i))
        at[i + 2] = here[i + 2] + h * weighed(GAUSS_A[stage], known, i)


@inner
def ahead(known: Array, i: int) -> None:
    """Slopes at the Gauss points of a step carried on, as a parabola, to those of the next."""
    a, b, c = known[0, i], known[1, i], known[2, i]
    reach = C3 - C2
    rise, hollow = (c - a) / (2.0 * reach), (a - 2.0 * b + c) / (2.0 * reach * reach)
    for stage in range(3):
        u = 0.5 + GAUSS_C[stage]
        known[stage, i] = b + u * (rise + u * hollow)


@called
def sought(tables: Tables, wanted: Array, st: Array) -> None:
    """Move (n, 2) first guesses to the (s, t) where a fan (p, q, g) has the chart points wanted (n, 2); nan where it
    does not reach."""
    room, jet = np.empty((3, 4, WIDE)), np.empty((2, 2, 3))
    last_s, last_t = len(tables.p) - 1, len(tables.q) - 1
    s0, s1, t0, t1 = tables.p[1, 0], tables.p[last_s, 0], tables.q[1, 0], tables.q[last_t, 0]
    for n in range(len(st)):
        s, t, found = st[n, 0], st[n, 1], False
        for _ in range(NEWTON_ROUNDS):
            jet_at(tables, s, t, room, jet)
            miss_p, miss_q = wanted[n, 0] - jet[0, 0, 0], wanted[n, 1] - jet[0, 0, 1]
            area = jet[1, 0, 0] * jet[0, 1, 1] - jet[1, 0, 1] * jet[0, 1, 0]
            by_s = by_t = 0.0
            if abs(area) >= 1e-9:
                by_s = (miss_p * jet[0, 1, 1] - miss_q * jet[0, 1, 0]) / area
                by_t = (jet[1, 0, 0] * miss_q - jet[1, 0, 1] * miss_p) / area
            by_s, by_t = min(max(by_s, -LEAP), LEAP), min(max(by_t, -LEAP), LEAP)
            s, t = s + by_s, t + by_t
            if max(abs(by_s), abs(by_t)) < SOUGHT:
                found = abs(area) >= 1e-9 and jet[0, 0, 2] > 0.0
                break
        inside = s0 - BOX_EDGE < s < s1 + BOX_EDGE and t0 - BOX_EDGE < t < t1 + BOX_EDGE
        st[n, 0], st[n, 1] = (s, t) if found and inside else (np.nan, np.nan)
