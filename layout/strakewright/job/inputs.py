"""Everything a boat file names, read and held together."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from strakewright.errors import Finding
from strakewright.lumber import Board
from strakewright.read.boatfile import read_boat
from strakewright.read.liningfile import read_lining
from strakewright.read.mesh import read_mesh
from strakewright.read.stock import read_boards
from strakewright.settings import BoatSettings, LiningChoice
from strakewright.triangles import TriangleMesh


@dataclass(frozen=True, eq=False)
class Inputs:
    """A boat file, the mesh and the boards it names, and what reading them found."""

    boat: BoatSettings
    mesh: TriangleMesh
    boards: tuple[Board, ...]
    findings: tuple[Finding, ...]
    lining: tuple[LiningChoice, ...] = ()


def load(boat_file: Path, lining: Path | None = None) -> Inputs:
    """Read a boat file and all it names, and a lining.json if one is to be taken back.

    Raises InputError with every fault found.
    """
    boat = read_boat(boat_file)
    mesh = read_mesh(boat.hull.mesh)
    boards, findings = read_boards(boat.stock.boards, boat.stock, boat.species, boat.units)
    return Inputs(boat, mesh, tuple(boards), tuple(findings), read_lining(lining) if lining else ())
