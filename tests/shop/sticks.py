"""Straight square sticks as members, for frames to be notched over: every section of theirs is known on paper."""

from __future__ import annotations

from typing import Literal

import numpy as np

from strakewright.arrays import Floats
from strakewright.members import Bend, Blank, Member, Swept

NO_BEND = Bend(None, None, 0.0, 0.0, 1.0, None, 0.0, 0.0, 0.0)


def stick(name: str, start: Floats, way: Floats, deep: Floats, size: tuple[float, float], where: str) -> Member:
    """A stick 3 m long.  start : (3,) middle of its outer face;  way : along it;  deep : from the outer face inwards,
    square to it;  size : breadth and depth mm;  where : "port" or "centre" """
    way, deep = way / np.linalg.norm(way), deep / np.linalg.norm(deep)
    across = np.cross(way, deep)
    run = np.linspace(0.0, 3000.0, 61)
    half, far = size[0] / 2 * across, size[1] * deep
    corners = np.array([-half, -half + far, half + far, half])
    outer = start + run[:, None] * way
    swept = Swept(
        run,
        outer[:, None] + corners,
        Blank(outer, np.tile(across, (61, 1)), np.tile(deep, (61, 1)), *size),
        (),
    )
    side: Literal["port", "centre"] = "port" if where == "port" else "centre"
    return Member(
        name,
        name,
        side,
        "inside",
        "white oak",
        *size,
        swept,
        NO_BEND,
        NO_BEND,
        "to side",
        "in place",
        (),
        (),
        None,
    )
