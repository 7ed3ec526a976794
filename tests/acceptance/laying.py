"""Laying parts back on the hull by their marks, from the JSON records alone.

Which face looks at the reader is worked out from three points known both on the board and on the boat; nothing that a
record says about faces is used.
"""

from __future__ import annotations

import json
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np

from strakewright.arrays import Floats

Record = dict[str, Any]


def read(folder: Path, name: str, key: str) -> list[Record]:
    """The list under `key` of NAME.json."""
    found: list[Record] = json.loads((folder / f"{name}.json").read_text())[key]
    return found


def area(ring: Floats) -> float:
    x, y = ring.T
    return float(0.5 * (x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def ring_length(ring: Floats) -> float:
    return float(np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1).sum())


def placed(points: Floats, placement: Record) -> Floats:
    """Contract: flip (y to -y) if set, turn about the part's own (0, 0), shift."""
    flipped = points * [1.0, -1.0] if placement["flip"] else points
    a = np.radians(placement["rotation_deg"])
    return np.asarray(flipped @ [[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]] + [placement["x"], placement["y"]])


def stations(out: Path) -> dict[str, float]:
    frames: dict[str, float] = json.loads((out / "summary.json").read_text())["hull"]["frames"]
    return frames


def known_points(plank: Record, part: Record, frames: dict[str, float]) -> tuple[Floats, Floats]:
    """Points of a part's marks, with where they are on the boat.

    A frame mark's ends lie on the plank's ring in the plane x = station: both crossings of the ring in space are known
    from `seam`; which end is which is told by the length along the flat ring, the same on any face."""
    flat, space = [], []
    margins = [*plank["edges"].values(), *plank["ends"]]
    for mark in (m for m in part["marks"] if m["kind"] == "frame"):
        for end in (mark["points"][0], mark["points"][-1]):
            flat.append(end)
            space.append(_on_boat(margins, frames[mark["name"]], np.array(end), plank, part))
    for mark in (m for m in part["marks"] if m["kind"] == "trim"):
        for end in (mark["points"][0], mark["points"][-1]):
            flat.append(end)
            space.append(_trimmed_at(margins, np.array(end)))
    return np.array(flat), np.array(space)


def _on_boat(margins: list[Record], x: float, at: Floats, plank: Record, part: Record) -> Floats:
    """The point of the ring at that station whose flat place is nearest; y of a turned-over part is undone by
    comparing distances from both ends of the longest mark, never by what the part claims."""
    best, least = np.zeros(3), np.inf
    for m in margins:
        seam, flat = np.array(m["seam"]), np.array(m["flat"])
        over = seam[:, 0] - x
        for i in np.nonzero(over[:-1] * over[1:] <= 0)[0]:
            share = over[i] / (over[i] - over[i + 1]) if over[i] != over[i + 1] else 0.0
            here = flat[i] + share * (flat[i + 1] - flat[i])
            gap = np.abs(np.abs(here) - np.abs(at)).max()
            if gap < least:
                best, least = seam[i] + share * (seam[i + 1] - seam[i]), gap
    assert least < 0.1, (plank["id"], part["id"], least)
    return best


def _trimmed_at(margins: list[Record], at: Floats) -> Floats:
    """The listed point whose finished place is that end of a trim line (on the boat within a bevel's lean)."""
    space = np.concatenate([m["seam"] for m in margins])
    finished = np.concatenate([m.get("fitted", m["flat"]) for m in margins])
    gaps = np.abs(np.abs(finished) - np.abs(at)).max(axis=1)
    assert gaps.min() < 25.0  # a trim line may run on past the corner to the other face
    return np.asarray(space[np.argmin(gaps)])


def up_on_boat(flat: Floats, space: Floats) -> tuple[Floats, Floats]:
    """Direction on the boat of the side that looks at the reader, and the place where it was taken.

    The largest triangle that is not long: a long strake bends, and its long triangles lie flat in the bend."""
    i, j, k = np.array(list(combinations(range(len(flat)), 3))).T
    a, b = flat[j] - flat[i], flat[k] - flat[i]
    turn = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    longest = np.max([np.linalg.norm(x, axis=1) for x in (a, b, b - a)], axis=0)
    near = longest < max(700.0, 6 * np.ptp(flat[:, 1]))
    best = int(np.argmax(np.where(near, np.abs(turn), 0.0)))
    assert abs(turn[best]) > 100.0
    three = space[[i[best], j[best], k[best]]]
    way = np.sign(turn[best]) * np.cross(three[1] - three[0], three[2] - three[0])
    return way / np.linalg.norm(way), three.mean(axis=0)
