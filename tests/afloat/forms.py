"""Hulls whose floating is known on paper, as shells of triangles and as lofted boats.

Wigley   y = B/2 (1 - (2x/L)^2)(1 - (z/T)^2), the parabolic hull of J. H. Michell's and W. C. S. Wigley's papers
box      a barge with upright sides;  wedge : a prism of triangular section, point down
"""

from __future__ import annotations

import numpy as np

from strakewright.afloat.shell import Shell, _lid, _mirrored, _outward, joined
from strakewright.arrays import Floats


def shell_from(grids: list[Floats], deck: bool = False) -> Shell:
    """A shell from port grids [forward, up] from the keel up."""
    skins = [_outward(g) for g in grids]
    aft, forward = (np.concatenate([g[end] for g in grids]) for end in (0, -1))
    lids = [_lid(aft), _lid(forward, turned=True), _lid(grids[0][:, 0], turned=True)]
    sheer = grids[-1][:, -1]
    top = [_lid(sheer)] if deck else []
    vertices, triangles = joined([*skins, *lids, *(_mirrored(s) for s in skins), *top])
    wets = np.arange(len(triangles)) < len(triangles) - sum(len(t) for _, t in top)
    return Shell(vertices, triangles, wets, sheer, grids[0][:, 0], forward, aft, float(vertices[:, 2].min()), deck)


def wigley(length: float, breadth: float, draught: float, along: int = 160, across: int = 40) -> Shell:
    """Keel at z = 0, designed water at z = draught, upright topsides half a draught higher.  x from 0 to length."""
    x, z = np.linspace(0, length, along + 1), np.linspace(0, draught, across + 1)
    u, v = (2 * x / length - 1)[:, None], (1 - z / draught)[None]
    y = breadth / 2 * (1 - u**2) * (1 - v**2)
    lower = np.stack([np.broadcast_to(x[:, None], y.shape), y, np.broadcast_to(z, y.shape)], axis=-1)
    top = lower[:, -1] + np.array([0.0, 0.0, draught / 2])
    return shell_from([lower, np.stack([lower[:, -1], top], axis=1)])


def prism(section: Floats, length: float, deck: bool = False, along: int = 2) -> Shell:
    """The same port section (n, 2) y, z from the keel up, all along."""
    x = np.linspace(0, length, along + 1)
    grid = np.concatenate(
        [
            np.broadcast_to(x[:, None, None], (along + 1, len(section), 1)),
            np.broadcast_to(section[None], (along + 1, len(section), 2)),
        ],
        axis=-1,
    )
    return shell_from([grid], deck)


def box(length: float, breadth: float, depth: float, deck: bool = False) -> Shell:
    return prism(np.array([[breadth / 2, 0.0], [breadth / 2, depth]]), length, deck)


def wedge(length: float, breadth: float, depth: float) -> Shell:
    """Point down at z = 0, `breadth` wide at `depth`."""
    return prism(np.array([[0.0, 0.0], [breadth / 2, depth]]), length)
