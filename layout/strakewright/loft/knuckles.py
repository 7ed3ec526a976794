"""What a declared knuckle does, and what it cannot do.

knuckle   a corner in a line at a station, as where a sheer breaks to a raised foredeck
rounded   by how far the smooth border of a panel misses the two runs that meet in the corner

A knuckle parts the fairing: neither side is faired over it and its cell stays as tabled.  The panels beside it stay
smooth sheets, for one plank lies across it; so their border rounds the corner.  Method: derived.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from strakewright.errors import Finding
from strakewright.loft.lines import Line
from strakewright.settings import TableSettings

_TELLS = 0.5  # degrees: less is no corner
_FINE = 401


def knuckle_findings(edges: Sequence[Line], settings: TableSettings) -> Iterator[Finding]:
    """A warning for each knuckle: its corner, and how far off the panels' border runs beside it."""
    for line in edges:
        cuts = [k for k, s in enumerate(line.stations) if (line.name, s) in settings.knuckles]
        for k in cuts:
            if 0 < k < len(line.nodes) - 1:
                yield from _told(line, k, max([c for c in cuts if c < k], default=0), cuts)


def _told(line: Line, k: int, start: int, cuts: Sequence[int]) -> Iterator[Finding]:
    stop = min([c for c in cuts if c > k], default=len(line.nodes) - 1)
    runs = [
        replace(line, nodes=line.nodes[a : b + 1], stations=line.stations[a : b + 1])
        for a, b in ((start, k), (k, stop))
    ]
    aft, forward = (run.edge() for run in runs)
    ways = aft.jet(np.array(aft.last))[1], forward.jet(np.array(0.0))[1]
    turn = float(np.degrees(np.arccos(np.clip(ways[0] @ ways[1] / np.prod(np.linalg.norm(ways, axis=1)), -1.0, 1.0))))
    if turn < _TELLS:
        return
    low, high = float(line.along[start]), float(line.along[stop])
    smooth = line.edge().at(np.linspace(low, high, _FINE))
    parted = np.concatenate([edge.at(np.linspace(0.0, edge.last, _FINE)) for edge in (aft, forward)])
    beside = np.stack([np.interp(smooth[:, 0], parted[:, 0], parted[:, c]) for c in (1, 2)], axis=1)
    gaps = np.linalg.norm(smooth[:, 1:] - beside, axis=1)
    worst = int(np.argmax(gaps))
    yield Finding(
        "knuckle-rounded",
        "warning",
        f"{line.name}, station {line.stations[k]}",
        f"the corner of {turn:.1f} degrees is kept out of the fairing, but panels are smooth sheets, as planks cross it"
        f" in one piece: their border rounds it, up to {gaps[worst]:.1f} mm off the two runs, near x"
        f" {smooth[worst, 0]:.0f}",
        "Leave wood there and cut the corner on the boat, by the drawing of the two runs",
    )
