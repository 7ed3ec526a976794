"""Tensor splines against polynomials, which they hold exactly, and against an independent evaluator."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import NdBSpline

from strakewright.arrays import Floats
from strakewright.geometry import tensor as tn

P, Q = np.linspace(0.0, 100.0, 19), np.linspace(0.0, 60.0, 13)


def quintic(pq: Floats) -> Floats:
    p, q = pq[..., 0] / 100, pq[..., 1] / 100
    return np.stack([p**5 - p * q**3, q**5 + p**2 * q**2], axis=-1)


def quintic_spline() -> tn.TensorSpline:
    return tn.through_grid(P, Q, quintic(np.stack(np.meshgrid(P, Q, indexing="ij"), axis=-1)))


def test_jets_are_the_derivatives_of_a_quintic() -> None:
    at = np.random.default_rng(0).uniform((0, 0), (100, 60), (50, 2))
    p, q = at.T / 100
    expected = (  # closed form, times 100 per order
        quintic(at),
        np.stack([5 * p**4 - q**3, 2 * p * q**2], axis=-1),
        np.stack([-3 * p * q**2, 5 * q**4 + 2 * p**2 * q], axis=-1),
        np.stack([20 * p**3, 2 * q**2], axis=-1),
        np.stack([-3 * q**2, 4 * p * q], axis=-1),
        np.stack([-6 * p * q, 20 * q**3 + 2 * p**2], axis=-1),
    )
    for got, want, scale in zip(quintic_spline().jet2(at), expected, (1, 100, 100, 1e4, 1e4, 1e4), strict=True):
        assert np.abs(got * scale - want).max() < 1e-9


def test_uneven_knots_against_an_independent_evaluator() -> None:
    rng = np.random.default_rng(1)
    knots = [tn.clamped_knots(np.sort(np.append(rng.uniform(0, 50, n), [0.0, 50.0]))) for n in (9, 4)]
    coefs = rng.normal(size=(len(knots[0]) - 6, len(knots[1]) - 6, 3))
    spline = tn.TensorSpline(knots[0], knots[1], coefs)
    at = rng.uniform(0, 50, (5000, 2))  # more than one chunk
    other = NdBSpline((knots[0], knots[1]), coefs, 5)
    assert np.abs(spline.at(at) - other(at)).max() < 1e-12
    assert np.abs(spline.jet2(at)[4] - other(at, nu=(1, 1))).max() < 1e-9


def test_values_at_the_greville_points_are_met() -> None:
    spline = quintic_spline()
    grid = np.stack(np.meshgrid(tn.greville(spline.knots_p), tn.greville(spline.knots_q), indexing="ij"), axis=-1)
    coefs = tn.through_greville(spline.knots_p, spline.knots_q, quintic(grid))
    assert np.abs(coefs - spline.coefs).max() < 1e-12  # the same quintic, told in another way
