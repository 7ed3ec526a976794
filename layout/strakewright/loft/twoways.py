"""A panel laid flat two ways: from its mesh as it is, and from the smooth surface that is worked with.

mesh's flat     the triangles laid flat, lengths from the corners round about
patch's flat    the same triangles with their corners on the fitted surface, lengths by its own normals
apart           the largest distance between the borders of the two, one laid on the other as well as it goes

Rule: planks are lined off on the fitted surface, so its flat is the one that is used; where the two lie further apart
than `LIMIT` that is told, for then one of them is wrong: a coarse mesh, normals that lie, or a surface that missed a
knuckle.  Method: derived; the best turn of one border on the other is that of Kabsch 1976, in the plane.
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.errors import Finding
from strakewright.geometry.arcs import arc_lengths_on
from strakewright.geometry.flatten import flatten_sides
from strakewright.geometry.surface import Patch

LIMIT = 1.0  # mm, what a builder's fairing takes up along a whole panel
MOST = 30_000  # corners; a finer mesh says the same as the surface, and costs more than the answer is worth


def flats_apart(patch: Patch, feet: Floats, triangles: Ints, chart: Floats, border: Ints) -> float | None:
    """mm between the borders of the mesh's flat and the patch's; None for meshes of more than `MOST` corners.

    feet : (n, 2) the mesh's corners on the patch;  chart : (n, 2) mm the mesh's flat;  border : corners on it
    """
    if len(feet) > MOST:
        return None
    on = patch.at(feet)
    flat = flatten_sides(on, triangles, arc_lengths_on(on, triangles, patch.normal(feet))).points
    return apart(chart[border], flat[border])


def apart(one: Floats, other: Floats) -> float:
    """Largest distance between like points (n, 2) after the best shift and turn.

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> round(apart(square, square[:, ::-1] * [-1.0, 1.0] + 5.0), 12)
    0.0
    """
    a, b = (points @ np.array([1.0, 1.0j]) for points in (one, other))
    a, b = a - a.mean(), b - b.mean()
    turn = np.vdot(b, a)
    return float(np.abs(a - b * turn / max(abs(turn), 1e-300)).max())


def told_apart(name: str, far: float | None) -> tuple[Finding, ...]:
    """The finding where the two flats differ by more than `LIMIT`."""
    if far is None or far <= LIMIT:
        return ()
    what = f"laid flat from its mesh and from the smooth surface through it, the borders come {far:.1f} mm apart"
    fix = "The smooth surface's flat is used; export with a finer mesh, or look for a knuckle inside the panel"
    return (Finding("flats-differ", "warning", name, what, fix),)
