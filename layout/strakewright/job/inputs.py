"""Everything a boat file names, read and held together."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from strakewright.errors import Finding, InputError
from strakewright.hull import Hull
from strakewright.job.telling import uncompiled
from strakewright.loft.hulls import loft_hull
from strakewright.loft.misprints import suspects
from strakewright.loft.tabled import table_hull
from strakewright.lumber import Board
from strakewright.offsets import OffsetTable, Suspect, TableSource
from strakewright.read.boatfile import read_boat
from strakewright.read.faults import together
from strakewright.read.liningfile import read_lining
from strakewright.read.mesh import read_mesh
from strakewright.read.offsets import read_what_can_be
from strakewright.read.stock import read_boards
from strakewright.read.tablekeys import corrected
from strakewright.settings import BoatSettings, LiningChoice
from strakewright.triangles import TriangleMesh


@dataclass(frozen=True, eq=False)
class Inputs:
    """A boat file, the mesh or table of offsets and the boards it names, and what reading them found."""

    boat: BoatSettings
    shape: TriangleMesh | TableSource
    boards: tuple[Board, ...]
    findings: tuple[Finding, ...]
    lining: tuple[LiningChoice, ...] = ()


def load(boat_file: Path, lining: Path | None = None) -> Inputs:
    """Read a boat file and all it names, and a lining.json if one is to be taken back.

    Raises InputError with every fault found.
    """
    boat = read_boat(boat_file)
    shape = _shape(boat)
    boards, findings = read_boards(boat.stock.boards, boat.stock, boat.species, boat.units)
    return Inputs(boat, shape, tuple(boards), (*findings, *uncompiled()), read_lining(lining) if lining else ())


def _shape(boat: BoatSettings) -> TriangleMesh | TableSource:
    """The mesh, or the table with its corrections.

    Raises InputError with every cell that cannot be read, and with those that can but do not fit their neighbours.
    """
    if boat.hull.table is None:
        assert boat.hull.mesh is not None
        return read_mesh(boat.hull.mesh)
    table, faults = read_what_can_be(boat.hull.table.offsets, boat.hull.table.unit or boat.units)
    source, left = corrected(table, faults, boat.hull.table)
    if left:
        raise together([*left, *(_unfit(s, table) for s in suspects(source.table))])
    return source


def _unfit(s: Suspect, table: OffsetTable) -> InputError:
    """A suspect cell told among cells that cannot be read."""
    what = f"{s.written:.1f} mm does not fit its neighbours, which suggest {s.suggested:.1f} mm ({s.slip})"
    return InputError(
        what, where=f"{table.source}, row {s.row!r}, station {s.station}", fix="Correct it with [[correct]]"
    )


def hull_of(inputs: Inputs) -> Hull:
    """The boat that the inputs describe.  Raises InputError, UnworkableError."""
    boat = inputs.boat
    if isinstance(inputs.shape, TableSource):
        assert boat.hull.table is not None
        return table_hull(inputs.shape, boat.hull.table, boat.hull.surface, boat.name)
    return loft_hull(inputs.shape, boat.hull, boat.name)
