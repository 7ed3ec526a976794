"""The long members of the boat, as asked for in the boat file."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats
from strakewright.drawn import Drawn
from strakewright.errors import Check, Finding
from strakewright.hull import Hull
from strakewright.job.inputs import Inputs
from strakewright.job.planked import Frames, Layer
from strakewright.lumber import Board
from strakewright.members import Member, Sawn
from strakewright.parts import Part
from strakewright.proof.bearing import bearing_checks
from strakewright.settings import BoatSettings
from strakewright.shop.inside import inside_of
from strakewright.shop.memberbodies import member_bodies
from strakewright.shop.membering import Around, asked, members_of
from strakewright.shop.runs import edges
from strakewright.shop.sawnmembers import sawn_members
from strakewright.shop.swept import Skins
from strakewright.solids import Body


@dataclass(frozen=True, eq=False)
class Backbone:
    """Members in the order asked for, pieces sawn to shape, what has been proved and what is to be told."""

    members: tuple[Member, ...] = ()
    sawn: tuple[Sawn, ...] = ()
    bodies: tuple[Body, ...] = ()
    checks: tuple[Check, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def patterns(self) -> tuple[Drawn, ...]:
        """Formers and sawn pieces, full size."""
        return (*(m.former for m in self.members if m.former is not None), *(s.pattern for s in self.sawn))

    @property
    def parts(self) -> tuple[Part, ...]:
        return tuple(p for row in (self.members, self.sawn) for piece in row for p in piece.parts)


NO_BACKBONE = Backbone()


def backbone_of(inputs: Inputs, hull: Hull, frames: Frames, layers: tuple[Layer, ...]) -> Backbone:
    """Every member that the boat file asks for; nothing where it asks for none.

    Raises InputError for a line that the hull does not have.
    """
    boat = inputs.boat
    wanted = asked(boat, edges(hull))
    if not wanted and all(m.shape == "run" for m in boat.members):
        return NO_BACKBONE
    inside = inside_of(hull, boat.planking)
    skins = Skins.of(hull, inside, boat.planking)
    around = Around(skins, boat, frames, _longest_in(inputs.boards, boat), _seams(layers))
    members, findings = members_of(around, wanted)
    depths = {
        panel.name: (inside.skin(panel.name).depth, inside.skin(panel.name).depth - thick)
        for panel, thick in zip(hull.panels, skins.thick, strict=True)
    }
    plank = boat.transom.sided if boat.transom is not None else 0.0
    sawn = sawn_members(skins, boat.members, members, plank)
    bodies = member_bodies(members, sawn)
    return Backbone(members, sawn, bodies, bearing_checks(hull, members, depths), tuple(findings))


@dataclass(frozen=True, eq=False)
class _Rack:
    boards: tuple[Board, ...]
    margin: float

    def __call__(self, wood: str, thickness: float) -> float | None:
        """Clear length that a third of the boards of a wood reach that are thick enough: plies come in numbers."""
        fit = [b for b in self.boards if b.species == wood and b.thickness >= thickness - 1e-6]
        lengths = [float(np.ptp(b.outline[:, 0])) for b in fit]
        return float(np.quantile(lengths, 2 / 3, method="lower")) - 2 * self.margin if fit else None


def _longest_in(boards: tuple[Board, ...], boat: BoatSettings) -> _Rack:
    return _Rack(boards, boat.stock.edge_margin)


def _seams(layers: tuple[Layer, ...]) -> dict[str, Floats]:
    """The seam above each course of strakes, as points in space, aft to forward."""
    found: dict[str, list[Floats]] = {}
    for layer in layers:
        if layer.settings.pattern != "strakes":
            continue
        for plank in layer.planks:
            if plank.side == "port" and plank.second.meets == "seam":
                found.setdefault(f"{layer.settings.panel}/{plank.course}", []).append(plank.second.seam)
    return {name: np.concatenate(sorted(rows, key=lambda r: float(r[0, 0]))) for name, rows in found.items()}
