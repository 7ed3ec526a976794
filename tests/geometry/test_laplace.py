"""Two grids against factors (SuperLU, a general library) and against closed forms: cone and cylinder laid flat."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.sparse.linalg import spsolve
from tests.bench.flatten_shapes import SHAPES, off_after_fit

from strakewright.errors import DefectError
from strakewright.geometry import flatten as flattening
from strakewright.geometry import laplace

SIDE = 60


def plate() -> tuple[csr_array, np.ndarray]:
    """Five-point Laplacian of a square plate held along its rim, and the places of its corners."""
    one = np.arange(SIDE * SIDE).reshape(SIDE, SIDE)
    rows = [one[:, 1:].ravel(), one[:, :-1].ravel(), one[1:].ravel(), one[:-1].ravel()]
    columns = [rows[1], rows[0], rows[3], rows[2]]
    across, along = np.concatenate(rows), np.concatenate(columns)
    beside = csr_array((-np.ones(len(across)), (across, along)), shape=(SIDE**2, SIDE**2))
    diagonal = csr_array((np.full(SIDE**2, 4.0), (one.ravel(), one.ravel())), shape=beside.shape)
    x, y = np.divmod(one.ravel(), SIDE)
    return csr_array(beside + diagonal), np.column_stack([x, y, 0 * x]).astype(float)


def test_two_grids_give_what_factors_give() -> None:
    """Against scipy's direct solver."""
    matrix, places = plate()
    right = np.random.default_rng(1).normal(size=(SIDE**2, 2))
    truth = spsolve(matrix.tocsc(), right)
    found = laplace.TwoGrids(matrix, places).solve(right)
    assert np.abs(found - truth).max() < 1e-4 * np.abs(truth).max()
    assert np.abs(laplace.Factored(matrix).solve(right) - truth).max() < 1e-9 * np.abs(truth).max()


def test_one_cycle_is_symmetric_and_comes_near() -> None:
    """What quasi-Newton rounds need of a first Hessian: u.Mv = v.Mu, u.Mu > 0."""
    matrix, places = plate()
    grids = laplace.TwoGrids(matrix, places)
    u, v = np.random.default_rng(2).normal(size=(2, SIDE**2, 1))
    assert np.vdot(u, grids.near(v)) == pytest.approx(np.vdot(v, grids.near(u)), rel=1e-9)
    assert np.vdot(u, grids.near(u)) > 0
    left = u - matrix @ grids.near(u)
    assert np.linalg.norm(left) < 0.7 * np.linalg.norm(u)


def test_a_matrix_that_is_no_laplacian_is_told() -> None:
    matrix, places = plate()
    skewed = csr_array(matrix + 3.0 * csr_array(np.diag(np.ones(SIDE**2 - 1), 1)))
    with pytest.raises(DefectError, match="two grids"):
        laplace.TwoGrids(skewed, places).solve(np.ones((SIDE**2, 1)))


@pytest.mark.parametrize("name", ["cone", "cylinder"])
def test_fine_meshes_open_to_the_exact_shape(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Closed forms: the sector of the cone, the rectangle of the cylinder."""
    for room in (flattening, laplace):
        monkeypatch.setattr(room, "FINE", 500)
    shape = SHAPES[name](12_000)
    flat = flattening.flatten(shape.vertices, shape.triangles)
    assert off_after_fit(flat.points, shape.flat) < 0.003


def test_a_flared_topside_is_strained_as_by_factors(monkeypatch: pytest.MonkeyPatch) -> None:
    """The least strain is one number however it is found; two routes to it."""
    shape = SHAPES["flared topside"](12_000)
    by_factors = flattening.flatten(shape.vertices, shape.triangles, rounds=20)
    for room in (flattening, laplace):
        monkeypatch.setattr(room, "FINE", 500)
    by_grids = flattening.flatten(shape.vertices, shape.triangles, rounds=20)
    assert by_grids.strain_rms == pytest.approx(by_factors.strain_rms, rel=2e-3)
    assert by_grids.strain_max == pytest.approx(by_factors.strain_max, rel=0.02)
    assert by_grids.flipped == 0
