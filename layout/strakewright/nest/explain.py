"""Why a part lies on no board.

clear      straight strip free of edges and defects, margins taken off
need       the strip a part asks for: its least width at any turn within its skew, and its length there
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from strakewright.nest.fitting import narrowest
from strakewright.nest.job import Shed
from strakewright.nest.swiftly import fits


def explained(shed: Shed, left: Sequence[int]) -> dict[str, str]:
    """Part id -> why it was left over."""
    return {shed.parts[p].id: _why(shed, p) for p in left}


def _why(shed: Shed, number: int) -> str:
    """One part's reason."""
    part = shed.parts[number]
    low, high = shed.ways.window[number]
    if low > high:
        return f"its own curve runs out of the grain more than 1 in {shed.rules.run_out:g}, however it is turned"
    allowed = np.flatnonzero(shed.may[number])
    if not len(allowed):
        return f"no board is {part.species} of {part.thickness:g} mm or more ({_of(len(shed.boards))} looked at)"
    limit = shed.rules.max_skew_deg if part.max_skew_deg is None else part.max_skew_deg
    width, length, _ = narrowest(part.outline, limit)
    edge = 2 * shed.rules.edge_margin
    hosts = sum(1 for b in allowed if (r := shed.swift.racks[b]) is not None and fits(shed.swift.timber, number, r))
    ask = f"needs {np.ceil(width + edge - 1e-6):.0f} mm clear over {np.ceil(length + edge - 1e-6):.0f} mm"
    if hosts:
        return f"fits {hosts} of {_of(len(allowed))} alone, but they are full: {ask}"
    return f"fits none of {_of(len(allowed))}: {ask}"


def _of(count: int) -> str:
    """A number of boards in words."""
    return f"{count} board" if count == 1 else f"{count} boards"
