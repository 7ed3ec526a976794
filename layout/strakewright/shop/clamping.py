"""Glue-ups that one person can close in time: clamps, their order, glue, and how many plies in one go.

open time   from the first glue spread to the last clamp tight;  go (batch) : plies glued up together
order       from the middle outwards, so that glue and air run out at the ends
spreading   at the boat file's pace;  CLAMP minutes a clamp: common practice, no source.  Grams of glue for a square
            metre are the boat file's; the maker's sheet rules
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from strakewright.members import Batch, Clamping, Ply
from strakewright.outfit import GlueSettings

CLAMP = 0.4  # minutes
AT_END = 40.0  # mm of the outermost clamps from the ends


def clamping_of(plies: tuple[Ply, ...], gluing: GlueSettings) -> Clamping | None:
    """The glue plan of one member; None for a solid one."""
    if len(plies) < 2:
        return None
    length = min(p.length for p in plies)
    positions = clamp_positions(length, gluing.clamp_spacing)
    areas = [a.length * min(a.width, b.width) / 1e6 for a, b in pairwise(plies)]
    batches = _batches(areas, len(positions), gluing)
    spacing = positions[1] - positions[0] if len(positions) > 1 else length
    return Clamping(
        spacing, positions, from_the_middle(len(positions)), tuple(a * gluing.spread for a in areas), batches
    )


def clamp_positions(length: float, spacing: float) -> tuple[float, ...]:
    """mm along the run, the outermost AT_END from the ends, evenly, no further apart than `spacing`.

    >>> clamp_positions(480.0, 150.0)
    (40.0, 173.33333333333334, 306.6666666666667, 440.0)
    """
    clear = max(length - 2 * AT_END, 1.0)
    gaps = max(1, int(np.ceil(clear / spacing - 1e-9)))
    return tuple(float(x) for x in np.linspace(AT_END, length - AT_END, gaps + 1))


def from_the_middle(count: int) -> tuple[int, ...]:
    """Clamp numbers (1 = aftmost) in the order in which they are tightened.

    >>> from_the_middle(5)
    (3, 4, 2, 5, 1)
    """
    middle = (count + 1) / 2
    return tuple(sorted(range(1, count + 1), key=lambda k: (abs(k - middle), -k)))


def minutes(area_m2: float, clamps: int, gluing: GlueSettings) -> float:
    """From first glue to last clamp."""
    return 60.0 * area_m2 / gluing.pace + CLAMP * clamps


def _batches(areas: list[float], clamps: int, gluing: GlueSettings) -> tuple[Batch, ...]:
    """Faces in order, as many to a go as fit in the open time; at least one."""
    goes: list[list[int]] = []
    for i, area in enumerate(areas):
        fits = goes and minutes(sum(areas[k] for k in goes[-1]) + area, clamps, gluing) <= gluing.open_time
        if fits:
            goes[-1].append(i)
        else:
            goes.append([i])
    made: list[Batch] = []
    for faces in goes:
        area = sum(areas[k] for k in faces)
        made.append(
            Batch(
                (faces[0] + (1 if not made else 2), faces[-1] + 2),
                clamps,
                area * gluing.spread,
                minutes(area, clamps, gluing),
            )
        )
    return tuple(made)
