"""Where planes and surfaces meet: points of a patch in a given section plane, and corners between two patches.

seat      chart point of a patch that lies in two given planes at once
corner    point that lies on two patches and in one plane: the inside of a chine in a section

Method: Newton on the patch's own derivatives (any text on numerical analysis); steps are kept short near folds.
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.surface import Patch

ROUNDS = 30
LONGEST = 60.0  # mm of one step
DONE = 1e-9


def seats(patch: Patch, start: Floats, planes: Floats, values: Floats) -> Floats:
    """(n, 2) chart points r with r . planes[i, 0] = values[i, 0] and r . planes[i, 1] = values[i, 1].

    start : (n, 2) near guesses;  planes : (n, 2, 3) unit normals;  values : (n, 2) mm
    """
    pq = np.array(start, dtype=np.float64)
    for _ in range(ROUNDS):
        r, r_p, r_q = patch.jet1(pq)
        left = values - np.einsum("nij,nj->ni", planes, r)
        slope = np.einsum("nij,nkj->nik", planes, np.stack([r_p, r_q], axis=1))
        step = _solved(slope, left)
        pq += step
        if np.abs(step).max(initial=0.0) < DONE:
            break
    return pq


def corners(first: Patch, second: Patch, start: tuple[Floats, Floats], plane: Floats, value: Floats) -> Floats:
    """(n, 4) chart points (p, q on the first patch, p, q on the second) of the corner in each plane.

    start : (n, 2) near guesses on each;  plane : (n, 3) unit normals;  value : (n,) mm, r . plane = value
    """
    pq = np.concatenate(start, axis=1).astype(np.float64)
    for _ in range(ROUNDS):
        a, a_p, a_q = first.jet1(pq[:, :2])
        b, b_p, b_q = second.jet1(pq[:, 2:])
        left = np.concatenate([b - a, (value - (a * plane).sum(axis=-1))[:, None]], axis=1)
        slope = np.zeros((len(pq), 4, 4))
        for k, column in enumerate((a_p, a_q, -b_p, -b_q)):
            slope[:, :3, k] = column
        slope[:, 3, 0], slope[:, 3, 1] = (a_p * plane).sum(axis=-1), (a_q * plane).sum(axis=-1)
        step = _solved(slope, left)
        pq += step
        if np.abs(step).max(initial=0.0) < DONE:
            break
    return pq


def _solved(slope: Floats, left: Floats) -> Floats:
    """Newton steps, shortened to LONGEST; where the planes run along the patch, the least-squares step."""
    step = np.einsum("nij,nj->ni", np.linalg.pinv(slope, rcond=1e-7), left)
    size = np.abs(step).max(axis=1, keepdims=True)
    return np.asarray(step * np.minimum(1.0, LONGEST / np.maximum(size, 1e-12)))
