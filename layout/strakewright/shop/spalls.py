"""Cross spalls as pieces to cut: temporary braces from side to side of a frame, all with one edge at one height.

upper edge    at the height of all cross spalls, in the boat as she floats; it hangs lower on the strongback
end           cut along the frame's outer edge, so that nothing stands where planking will lie
centreline    squared across it, to stand over the strongback's wire

Which face a spall is screwed to is the big face, which stands on the station line; it comes off after turning over.
Breadth 90 mm: common practice, no source.  Ends: derived.
"""

from __future__ import annotations

import numpy as np

from strakewright.frames import SawnFrame, Spall
from strakewright.geometry.outlines import thin_ring
from strakewright.parts import Mark, Part

LEVELS = 13  # points along each end


def spall_of(frame: SawnFrame, moulded: float, cut: tuple[float, str] | None) -> Spall | None:
    """The cross spall of a frame, down to where its side begins; None for a frame that has none.

    cut : thickness mm and species where it comes from the pile, None = rough stuff
    """
    if frame.spall is None:
        return None
    level, side = frame.spall[0], frame.lines["side"]
    z = np.linspace(max(level - moulded, float(side[0, 1])), level, LEVELS)
    port = np.stack([np.interp(z, side[:, 1], side[:, 0]), z], axis=1)
    ring = np.concatenate([port, (port * [-1.0, 1.0])[::-1]])
    return Spall(f"{frame.name}-spall", frame.name, ring, *(cut or (None, None)))


def spall_part(spall: Spall) -> Part | None:
    """The piece for a board, its centreline marked and its upper edge along the grain; None for rough stuff."""
    if spall.thickness is None or spall.species is None:
        return None
    low = spall.ring.min(axis=0)
    outline = thin_ring(spall.ring - low, tol=0.02)
    middle, high = -float(low[0]), float(outline[:, 1].max())
    return Part(
        id=spall.id,
        outline=np.round(outline, 3),
        thickness=spall.thickness,
        species=spall.species,
        may_flip=False,
        marks=(Mark("level", "centreline", np.array([[middle, 0.0], [middle, high]])),),
        quality="hidden",
        stage=1,
    )
