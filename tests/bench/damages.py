"""Ways in which meshes of hulls come damaged, each made by seeded code from a clean one.

kind      one sort of damage;  `KINDS` maps its name to a function (clean hull, rng) -> damaged mesh and boat-file keys
"""

from __future__ import annotations

from collections.abc import Callable

from tests.bench.damaged import Clean, Damaged, Rng
from tests.bench.damaged_corners import (
    chine_apart,
    degenerate,
    gap_at_chine,
    hole_at_chine,
    holes,
    large_hole,
    one_side_turned,
    repeated,
    slivers,
    t_junctions,
    turned,
    twice,
    unwelded,
)
from tests.bench.damaged_meshing import (
    cut_off,
    fading,
    half_called_whole,
    heeled,
    needles,
    noise,
    not_numbers,
    off_centre,
    other_axes,
    ragged_sheer,
    rounded,
    sawtooth,
    starboard_half,
    whole_called_half,
    wrong_unit,
)
from tests.bench.damaged_shells import (
    bulkheads,
    cockpit_sole,
    decked,
    decked_and_closed,
    doubled_shell,
    fittings,
    loose_shells,
    skeg,
    specks,
)


def plain(hull: Clean, rng: Rng) -> Damaged:
    """No damage at all: what the others are measured against."""
    return Damaged(hull.whole)


KINDS: dict[str, Callable[[Clean, Rng], Damaged]] = {
    f.__name__.replace("_", " "): f
    for f in (
        plain, unwelded, slivers, repeated, twice, degenerate, turned, one_side_turned, holes, hole_at_chine,
        large_hole, t_junctions, chine_apart, gap_at_chine, doubled_shell, loose_shells, fittings, decked,
        decked_and_closed, cockpit_sole, bulkheads, skeg, specks, needles, sawtooth, noise, rounded, fading, off_centre,
        heeled, starboard_half, other_axes, wrong_unit, half_called_whole, whole_called_half, ragged_sheer, cut_off,
        not_numbers,
    )
}  # fmt: skip
