"""A band whose edges step at once from one line to another: a plank that takes a neighbour's place past its nib.

strip     bands laid end to end in one flat; where two meet they share a rib, so that every edge keeps its length
step      station s at which an edge jumps along the rib

Source: derived (a rib is straight in the flat, and of true length, whatever stretch of it belongs to the band).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.geometry.developable import Band, turned, unroll_band
from strakewright.geometry.fans import Fan

HAIR = 1e-7  # mm: beside a step its edges are asked this far within


@dataclass(frozen=True, eq=False)
class Strip:
    """Bands laid end to end, `steps` (one fewer) between them, rising."""

    bands: tuple[Band, ...]
    steps: tuple[float, ...]

    def flat(self, s: Floats, t: Floats) -> Floats:
        """(..., 2) flat points of fan coordinates."""
        s, t = np.broadcast_arrays(np.asarray(s, dtype=np.float64), np.asarray(t, dtype=np.float64))
        which = self._which(s)
        found = np.empty((*s.shape, 2))
        for k, band in enumerate(self.bands):
            found[which == k] = band.flat(s[which == k], t[which == k])
        return found

    def a(self, s: Floats) -> Floats:
        """(...) t of the lower edge."""
        return self._each(s, lambda band, mine: band.a(mine))

    def b(self, s: Floats) -> Floats:
        """(...) t of the upper edge."""
        return self._each(s, lambda band, mine: band.b(mine))

    def strain(self, s: Floats, t: Floats) -> Floats:
        """(...) strain along the strip, a fraction."""
        s, t = np.broadcast_arrays(np.asarray(s, dtype=np.float64), np.asarray(t, dtype=np.float64))
        which, found = self._which(s), np.empty(s.shape)
        for k, band in enumerate(self.bands):
            found[which == k] = band.strain(s[which == k], t[which == k])
        return found

    def _which(self, s: Floats) -> Ints:
        return np.searchsorted(np.array(self.steps), s)

    def _each(self, s: Floats, ask: Callable[[Band, Floats], Floats]) -> Floats:
        s = np.asarray(s, dtype=np.float64)
        which, found = self._which(s), np.empty(s.shape)
        for k, band in enumerate(self.bands):
            found[which == k] = ask(band, s[which == k])
        return found


def unroll_strip(
    fan: Fan, s: Floats, edges: Callable[[Floats], tuple[Floats, Floats]], steps: Sequence[float]
) -> Band | Strip:
    """Lay flat the strip between two edges.

    s : (n,) rising;  edges : s -> t of both, the lower first;  steps : s at which an edge jumps.
    Raises UnworkableError on a fold.
    """
    inner = sorted({x for x in steps if s[0] < x < s[-1]})
    bands: list[Band] = []
    for lo, hi in zip([float(s[0]), *inner], [*inner, float(s[-1])], strict=True):
        here = np.concatenate([[lo], s[(s > lo + 1.0) & (s < hi - 1.0)], [hi]])
        here = here if len(here) >= 12 else np.linspace(lo, hi, 12)
        band = unroll_band(fan, here, *edges(np.clip(here, lo + HAIR, hi - HAIR)))
        bands.append(_laid_on(bands[-1], band, lo) if bands else band)
    return Strip(tuple(bands), tuple(inner)) if inner else bands[0]


def _laid_on(before: Band, band: Band, at: float) -> Band:
    """A band moved in the flat so that its first rib lies on the last rib of the one before."""
    s, t = np.array([at, at]), np.array([0.0, 1.0])
    there, here = before.flat(s, t), band.flat(s, t)
    want, have = there[1] - there[0], here[1] - here[0]
    angle = float(np.arctan2(want[1], want[0]) - np.arctan2(have[1], have[0]))
    x, y = there[0] - turned(here[0], angle)
    return band.based(angle, (float(x), float(y)))
