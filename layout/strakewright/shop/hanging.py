"""In which order planks are hung, and what must hang before each.

step      what is hung together: one course, both sides, so that neither side runs ahead
needs     the pieces that must hang first: the course before along this seam, the layer beneath, the piece it laps in
          a scarf (the aft one: the feather seen outside points aft), the panel above whose edge it covers at the chine

Source: sheer first and down to the chine, bottom over the side's trimmed edge, both sides in step: common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from strakewright.parts import Plank


@dataclass(frozen=True)
class Hanging:
    """One layer of one panel as it is hung.  rank : place of the panel from the keel up;  planks : in any order"""

    panel: str
    layer: int
    rank: int
    planks: tuple[Plank, ...]


def in_steps(layers: Sequence[Hanging]) -> list[tuple[Plank, ...]]:
    """The planks of each layer, in the order given, with `step` and `needs` among their extras.

    Steps are numbered through the whole boat: the uppermost panel first, its layers from the inside out.
    """
    order = sorted(range(len(layers)), key=lambda i: (-layers[i].rank, layers[i].layer))
    done: dict[str, tuple[int, tuple[str, ...]]] = {}
    step = 0
    for i in order:
        here = layers[i]
        before = _beneath(layers, here)
        for course in sorted({p.course for p in here.planks}):
            step += 1
            for p in (p for p in here.planks if p.course == course):
                done[p.id] = (step, _needs(p, here, before))
    return [tuple(_told(p, *done[p.id]) for p in layer.planks) for layer in layers]


def _told(plank: Plank, step: int, needs: tuple[str, ...]) -> Plank:
    return replace(plank, extra=plank.extra | {"step": step, "needs": list(needs)})


def _beneath(layers: Sequence[Hanging], here: Hanging) -> Hanging | None:
    """The layer under this one, or the outermost layer of the panel above it."""
    if here.layer > 1:
        rows = [x for x in layers if x.panel == here.panel and x.layer == here.layer - 1]
    else:
        above = [x for x in layers if x.rank == here.rank + 1]
        rows = sorted(above, key=lambda x: x.layer)[-1:]
    return rows[0] if rows else None


def _needs(p: Plank, here: Hanging, before: Hanging | None) -> tuple[str, ...]:
    side = [q for q in here.planks if q.side == p.side]
    needs = {q.id for q in side if q.course == p.course - 1 and _beside(p, q)}
    earlier = {q.id for q in side if q.course < p.course}
    needs |= {e.neighbour for e in (p.first, *p.ends) if e.meets == "seam" and e.neighbour in earlier}
    needs |= {e.neighbour for e in p.ends if e.meets == "scarf" and e.neighbour and e.bevel[0] > 0}
    if p.course == min(q.course for q in side) and before is not None:
        last = max(q.course for q in before.planks)
        needs |= {q.id for q in before.planks if q.course == last and q.side in (p.side, "both")}
    return tuple(sorted(needs))


def _beside(p: Plank, q: Plank) -> bool:
    """Whether q, of the course before, lies along some of p's first edge."""
    if p.first.neighbour == q.id or q.second.neighbour == p.id:
        return True
    mine, theirs = p.first.seam[:, 0], q.second.seam[:, 0]
    return bool(max(mine.min(), theirs.min()) < min(mine.max(), theirs.max()) - 1.0)
