"""Solving a patch's Laplacian: exactly by factors, or for fine meshes by a fine and a coarse grid in turn.

cell      the corners in one box of a coarse grid in space; on the coarse grid they move together, evened out once
cycle     one round: the fine grid evened, the coarse grid solved, the fine grid evened again

Method: factors by SuperLU; two grids by smoothed aggregation (Vanek, Mandel and Brezina 1996), the cells being boxes
in space, within conjugate gradients (Hestenes and Stiefel 1952).  The factors of a million triangles take a
minute and two gigabytes, two grids seconds.
"""

from __future__ import annotations

from typing import Any, Protocol, TypeAlias

import numpy as np
from scipy.sparse import csc_array, csr_array
from scipy.sparse.linalg import SuperLU, splu

from strakewright.arrays import Floats
from strakewright.errors import DefectError

Matrix: TypeAlias = Any  # scipy's sparse arrays carry no usable types

FINE = 270_000  # corners of a mesh above which two grids are used in place of factors
_TO_A_CELL = 12  # corners, about
_OMEGA = 2 / 3  # share of a full Jacobi step
_CLOSE = 1e-6  # of the right-hand side's size, where conjugate gradients end
_MOST = 200


class Solver(Protocol):
    """solve : columns (n, k) whose Laplacian is `right`;  near : much the same at least cost, symmetric and linear"""

    def solve(self, right: Floats) -> Floats: ...
    def near(self, right: Floats) -> Floats: ...


def laplace_solver(matrix: Matrix, places: Floats) -> Solver:
    """matrix : (n, n) symmetric positive;  places : (n, 3) mm of its corners"""
    return Factored(matrix) if len(places) <= FINE else TwoGrids(matrix, places)


def factorised(matrix: Matrix) -> SuperLU:
    """Sparse factors of a symmetric positive matrix."""
    try:
        return splu(
            csc_array(matrix),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            relax=1,
            panel_size=1,  # these meshes' factors are so thin that wider panels cost a quarter more
            options={"SymmetricMode": True},
        )
    except RuntimeError as trouble:
        raise DefectError(f"the flattening equations could not be solved ({trouble})") from trouble


class Factored:
    """Exact, by factors."""

    def __init__(self, matrix: Matrix) -> None:
        self._factors = factorised(matrix)

    def solve(self, right: Floats) -> Floats:
        return np.asarray(self._factors.solve(right))

    near = solve


class TwoGrids:
    """A fine and a coarse grid in turn."""

    def __init__(self, matrix: Matrix, places: Floats) -> None:
        self._fine = csr_array(matrix)
        self._share = _OMEGA / self._fine.diagonal()[:, None]
        cell = _cells(places, len(places) // _TO_A_CELL)
        count = len(cell)
        rough = csr_array((np.ones(count), cell, np.arange(count + 1)), shape=(count, int(cell.max()) + 1))
        self._spread = csr_array(rough - csr_array(self._fine @ rough) * self._share)
        self._gather = csr_array(self._spread.T)
        self._coarse = factorised(self._gather @ self._fine @ self._spread)

    def near(self, right: Floats) -> Floats:
        """One cycle."""
        found = self._share * right
        left = right - self._fine @ found
        found += self._spread @ self._coarse.solve(np.asarray(self._gather @ left))
        found += self._share * (right - self._fine @ found)
        return np.asarray(found)

    def solve(self, right: Floats) -> Floats:
        """Conjugate gradients, each column by itself, cycles before them."""
        found, left = np.zeros_like(right), right.copy()
        way = toward = self.near(left)
        fall = (left * toward).sum(axis=0)
        for _ in range(_MOST):
            if (np.linalg.norm(left, axis=0) <= _CLOSE * np.linalg.norm(right, axis=0)).all():
                return found
            pulled = self._fine @ way
            step = fall / np.maximum((way * pulled).sum(axis=0), 1e-300)
            found, left = found + step * way, left - step * pulled
            toward = self.near(left)
            fall, before = (left * toward).sum(axis=0), fall
            way = toward + fall / np.maximum(before, 1e-300) * way
        raise DefectError("the flattening equations could not be solved: two grids do not come together")


def _cells(places: Floats, count: int) -> Any:
    """(n,) number of the box each corner lies in; boxes so large that about `count` are used by a surface."""
    low = places.min(axis=0)
    size = float(np.ptp(places, axis=0).max())
    cell = np.zeros(len(places), dtype=np.int64)
    for _ in range(3):
        boxes = np.floor((places - low) / size).astype(np.int64)
        widths = boxes.max(axis=0) + 1
        number = (boxes[:, 0] * widths[1] + boxes[:, 1]) * widths[2] + boxes[:, 2]
        used, cell = np.unique(number, return_inverse=True)
        size = size / max(1.0, np.sqrt(count / len(used))) if len(used) < count / 1.2 else size
    return cell
