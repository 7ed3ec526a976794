"""Where her waterline is painted, and where foam has room.

mark    a point where the water meets the stem or a transom's edge, measured down from the sheer along that edge
room    the space along the sides, a hand's breadths deep, where foam keeps a swamped boat level

Source: derived.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from strakewright.afloat.lying import Pose
from strakewright.afloat.shell import ON_CENTRELINE, Shell, outside_grid
from strakewright.arrays import Floats
from strakewright.floating import Afloat, WaterMark
from strakewright.hull import Hull
from strakewright.ledger import Room

STARBOARD = np.array([1.0, -1.0, 1.0])
DEEP = 150.0  # mm of foam in from the inside of the planking; common practice, no source


def level_pose(level: float) -> Pose:
    """Upright, with the water at that height over the base line."""
    return Pose(np.array([0.0, 0.0, 1.0]), level)


def pose_of(lies: Afloat) -> Pose:
    """The pose in which she lies."""
    return Pose(np.asarray(lies.up), lies.level)


def water_marks(shell: Shell, at: Pose) -> tuple[WaterMark, ...]:
    """Marks forward and aft; an end that is clear of the water has none."""
    found = []
    forefoot = shell.keel[len(shell.keel) // 2 :]
    whole = np.abs(shell.stem[:, 1]).max() < ON_CENTRELINE and np.abs(forefoot[:, 1]).max() < ON_CENTRELINE
    bow = np.concatenate([forefoot, shell.stem]) if whole else shell.stem
    for name, edge in (("stem", bow), ("transom", shell.transom)):
        if np.abs(edge[:, 1]).max() < ON_CENTRELINE:
            found += _mark(name if name == "stem" else "sternpost", edge, at)
        else:
            end = "bow transom" if name == "stem" else name
            found += _mark(f"{end}, port edge", edge, at) + _mark(f"{end}, starboard edge", edge * STARBOARD, at)
    return tuple(found)


def _mark(name: str, edge: Floats, at: Pose) -> list[WaterMark]:
    """Highest place where the water meets an edge that runs from below up."""
    over = edge @ at.up - at.level
    crossings = np.nonzero((over[:-1] < 0) & (over[1:] >= 0))[0]
    if len(crossings) == 0:
        return []
    i = int(crossings[-1])
    spot = edge[i] + over[i] / (over[i] - over[i + 1]) * (edge[i + 1] - edge[i])
    x, y, z = (float(v) for v in spot)
    return [WaterMark(name, x, y, z, float(np.linalg.norm(edge[-1] - spot)))]


def deadrise_aft(hull: Hull) -> float:
    """Degrees: the lowest panel's slope out from the centreline, half way up it, a tenth of her length from aft."""
    grid = outside_grid(hull.panels[0], 0.0)
    row = grid[int(np.argmin(np.abs(grid[:, 0, 0] - 0.1 * hull.length)))]
    run, rise = row[-1, 1] - row[0, 1], row[-1, 2] - row[0, 2]
    return float(np.rad2deg(np.arctan2(rise, max(run, 1e-9))))


def side_rooms(hull: Hull, frames: Sequence[tuple[str, float]], sided: float = 0.0) -> tuple[Room, ...]:
    """Litres along both sides between frames, from chine to sheer and DEEP in from the planking, or to the centreline
    where she is narrower.

    sided : mm of their breadth, which foam cannot fill
    """
    grid = outside_grid(hull.panels[-1], 0.0)
    a, b, c, d = grid[:-1, :-1], grid[:-1, 1:], grid[1:, :-1], grid[1:, 1:]
    areas = np.linalg.norm(np.cross(d - a, c - b), axis=-1) / 2
    x, y, _ = np.moveaxis((a + b + c + d) / 4, -1, 0)
    volumes = areas * np.minimum(DEEP, y)
    ends = [0.0, *(x for _, x in frames), hull.length]
    found = []
    for n, (aft, forward) in enumerate(pairwise(ends)):
        wood = sided / 2 * ((n > 0) + (n < len(frames)))
        litres = 2e-6 * float(volumes[(x >= aft) & (x < forward)].sum())
        found.append(Room(aft, forward, litres * max(0.0, 1.0 - wood / max(forward - aft, 1e-9))))
    return tuple(found)
