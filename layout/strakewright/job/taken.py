"""After the boards are laid out: which joints were taken, and the planks that go with them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from strakewright.job.planked import Layer
from strakewright.parts import Margin, Plank
from strakewright.shop.hanging import Hanging, in_steps
from strakewright.shop.planking import Hung


def layers_taken(layers: tuple[Layer, ...], chosen: Mapping[str, int], ranks: Mapping[str, int]) -> tuple[Layer, ...]:
    """The layers with the pieces of the options that were chosen.  ranks : panel -> place from the keel up"""
    swapped = [replace(layer, hung=_hung(layer.hung, chosen)) for layer in layers]
    rows = [Hanging(la.lined.skin.panel, la.lined.skin.layer, ranks[la.lined.skin.panel], la.planks) for la in swapped]
    steps = in_steps(rows)
    return tuple(replace(la, hung=replace(la.hung, planks=planks)) for la, planks in zip(swapped, steps, strict=True))


def _hung(hung: Hung, chosen: Mapping[str, int]) -> Hung:
    out: set[str] = set()
    into: set[str] = set()
    for choice in hung.choices:
        taken = set(choice.options[chosen.get(choice.id, 0)].parts)
        into |= taken
        out |= {name for option in choice.options for name in option.parts} - taken
    stay = [p for p in hung.planks if p.id not in out]
    come = [p for p in hung.spare if p.id in into]
    if len(stay) == len(hung.planks):
        return hung
    planks = sorted([*stay, *come], key=lambda p: (p.side != "port", p.course, p.piece))
    spare = [p for p in hung.spare if p.id not in into] + [p for p in hung.planks if p.id in out]
    return replace(hung, planks=tuple(_neighbours(p, planks) for p in planks), spare=tuple(spare))


def _neighbours(plank: Plank, planks: list[Plank]) -> Plank:
    """With its long edges beside the pieces that are there."""
    known = {p.id for p in planks}

    def beside(edge: Margin, course: int) -> Margin:
        if edge.meets != "seam" or edge.neighbour in known:
            return edge
        row = [p for p in planks if p.side == plank.side and p.course == course]
        return replace(edge, neighbour=min(row, key=lambda p: _gap(p, edge)).id) if row else edge

    return replace(
        plank,
        first=beside(plank.first, plank.course - 1),
        second=beside(plank.second, plank.course + 1),
    )


def _gap(plank: Plank, edge: Margin) -> float:
    middle = edge.seam[len(edge.seam) // 2]
    rows = np.concatenate([plank.first.seam, plank.second.seam])
    return float(np.linalg.norm(rows - middle, axis=-1).min())
