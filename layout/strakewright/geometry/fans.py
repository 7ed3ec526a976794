"""The fan of geodesics square to a seam: coordinates in which its courses' widths are plain distances.

fan        coordinates of a panel: s along the base curve, t along the geodesic square to it there (mm,
           + to the left of the base curve in the chart)
spread     g(s, t): how far apart two neighbouring geodesics are at t, per mm of base curve;
           the skin's metric is dt^2 + g^2 ds^2
fold       a place where neighbouring geodesics have met (g <= 0): nothing can be lined off there

Method: geodesic equation and Jacobi field (M. do Carmo, Differential Geometry of Curves and Surfaces) by the
classical fourth-order Runge-Kutta rule.  Quintic splines through the nodes.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from scipy.spatial import KDTree

from strakewright.arrays import Bools, Floats
from strakewright.geometry import quick
from strakewright.geometry.geodesics import STEP, BaseCurve, even_steps, local, side_bend, sums
from strakewright.geometry.surface import Patch
from strakewright.geometry.tensor import TensorSpline, through_grid

FINEST = 4.0  # mm of one step along the base curve at least
ROUGH = 0.03  # second difference of the spread from node to node that a spline through them no longer follows


@dataclass(frozen=True, eq=False)
class Fan:
    """Coordinates (s, t) of a panel.

    field : (s, t) -> (p, q, g) on its box (s0, s1, t0, t1);  step : mm along that it follows the skin by
    """

    base: BaseCurve
    field: TensorSpline
    step: float = STEP

    @property
    def box(self) -> tuple[float, float, float, float]:
        """(s0, s1, t0, t1) covered."""
        return self.field.box

    def pq(self, s: Floats, t: Floats) -> Floats:
        """(..., 2) chart points."""
        return self.field.at(_pair(s, t))[..., :2]

    def spread(self, s: Floats, t: Floats) -> Floats:
        """(...) g, a pure number: 1 on the base curve."""
        return self.field.at(_pair(s, t))[..., 2]

    def spread_t(self, s: Floats, t: Floats) -> Floats:
        """(...) growth of g per mm of t = minus the sideways bend of the line t = constant, times g."""
        return self.field.jet1(_pair(s, t))[2][..., 2]

    def folds(self, s: Floats, t: Floats) -> Bools:
        """(...) True where neighbouring geodesics have met."""
        return np.asarray(self.spread(s, t) <= 0.0)

    @cached_property
    def _sound(self) -> tuple[Floats, Any]:
        """(n, 2) s and t of the nodes short of any fold, and a tree of their chart points."""
        s0, s1, t0, t1 = self.box
        s = np.linspace(s0, s1, max(8, int((s1 - s0) / STEP)))
        t = np.linspace(t0, t1, max(8, int((t1 - t0) / STEP)))
        st = np.stack(np.meshgrid(s, t, indexing="ij"), axis=-1).reshape(-1, 2)
        here = self.field.at(st)
        sound = here[:, 2] > 0.0
        return st[sound], KDTree(here[sound, :2])

    def locate(self, pq: Floats) -> tuple[Floats, Floats]:
        """(s, t) of (..., 2) chart points, each (...); nan where the fan does not reach.  Newton, 1e-8 mm."""
        wanted = np.array(pq, dtype=np.float64, order="C").reshape(-1, 2)
        nodes, tree = self._sound
        st = nodes[tree.query(wanted)[1]]
        quick.sought(self.field.tables, wanted, st)
        shape = np.shape(pq)[:-1]
        return st[:, 0].reshape(shape), st[:, 1].reshape(shape)


def _pair(s: Floats, t: Floats) -> Floats:
    return np.stack(np.broadcast_arrays(np.asarray(s, dtype=np.float64), np.asarray(t, dtype=np.float64)), axis=-1)


def shoot_fan(  # noqa: PLR0913
    patch: Patch,
    base: BaseCurve,
    *,
    t_lo: float,
    t_hi: float,
    s_lo: float | None = None,
    s_hi: float | None = None,
    t_step: float = STEP,
    s_step: float = STEP,
) -> Fan:
    """The fan of geodesics square to the base curve, from t_lo <= 0 to t_hi >= 0 (mm, not both 0).

    s_lo, s_hi : stretch of the base curve to shoot from; None = all of it;  t_step, s_step : longest step across
    and along, mm;  where the spread changes too fast for it the step along is halved
    """
    first, last = base.s_lo if s_lo is None else s_lo, base.s_hi if s_hi is None else s_hi
    s = first + sums(even_steps(last - first, s_step, least=6))
    v = base.tangent(s)
    start = base.at(s)
    here = local(patch, start, v)
    across = here.forms.left(v) / here.forms.length(v)[:, None]
    state = np.stack([*start.T, *across.T, np.ones(len(s)), -side_bend(patch, base.spline, s)], axis=-1)
    least = 6 if t_lo == 0.0 or t_hi == 0.0 else 4
    down = even_steps(t_lo, t_step, least=min(least, max(2, int(-t_lo)))) if t_lo < 0 else np.zeros(0)
    up = even_steps(t_hi, t_step, least=min(least, max(2, int(t_hi)))) if t_hi > 0 else np.zeros(0)
    before, after = np.empty((len(down), *state.shape)), np.empty((len(up), *state.shape))
    quick.march(patch.tables, state, down, before)
    quick.march(patch.tables, state, up, after)
    states = np.concatenate([before[::-1], state[None], after])
    rough = np.abs(np.diff(states[..., 4], n=2, axis=1)).max(initial=0.0)
    if rough > ROUGH and s_step / 2 >= FINEST:
        return shoot_fan(patch, base, t_lo=t_lo, t_hi=t_hi, s_lo=s_lo, s_hi=s_hi, t_step=t_step, s_step=s_step / 2)
    t = np.concatenate([sums(down)[:0:-1], sums(up)])
    known = states[..., [0, 1, 4]].swapaxes(0, 1)
    return Fan(base, through_grid(s, t, known), s_step)
