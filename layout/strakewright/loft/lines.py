"""From the cells of a table to the boat's lines in space, faired and closed at their ends.

line      rabbet, chines and sheer, from the keel up: each a smooth curve through its faired points
half-siding   half the width of keel and stem at the rabbet: the lines end there, not on the centreline
profile   the rabbet seen from the side, up the stem to the sheer
run on    a line carried past its last station by its own bend, to where it must end
post      an end where the sides close on the half-siding (a stem, or both ends of a double-ender)

Method: quintic through faired points by chord length (see `fairing`); ends by Newton; derived.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeAlias

import numpy as np

from strakewright.arrays import Bools, Floats
from strakewright.errors import InputError
from strakewright.geometry.drawn import interpolant
from strakewright.geometry.ruled import Edge
from strakewright.loft.fairing import faired
from strakewright.loft.misprints import positions
from strakewright.offsets import Move, OffsetTable, Row
from strakewright.settings import TableSettings


@dataclass(frozen=True, eq=False)
class Line:
    """One line.  nodes : (n, 3) mm, aft to forward, faired;  stations : of each node ("" where the line was closed)"""

    name: str
    nodes: Floats
    stations: tuple[str, ...]

    @property
    def along(self) -> Floats:
        """(n,) mm of chord length."""
        return np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(self.nodes, axis=0), axis=1))])

    def edge(self, before: float = 0.0, after: float = 0.0) -> Edge:
        """The smooth curve through the nodes, which may run on at both ends."""
        along = self.along
        return Edge(interpolant(along, self.nodes), 0.0, float(along[-1]), before, after)

    def shifted(self, dx: float) -> Line:
        """The line dx mm further forward."""
        return replace(self, nodes=self.nodes + np.array([dx, 0.0, 0.0]))


@dataclass(frozen=True, eq=False)
class Lines:
    """All lines of the boat's long edges, from the keel up, before their ends are closed.

    stations : name and x mm of every station, aft to forward;  between : waterlines and buttocks
    """

    edges: tuple[Line, ...]
    between: tuple[Line, ...]
    stations: tuple[tuple[str, float], ...]
    moves: tuple[Move, ...]
    half_siding: float


def lines_of(table: OffsetTable, settings: TableSettings) -> Lines:
    """The lines of a table, in the boat's axes but for x, which still counts from the table's own zero.

    Raises InputError with the row and the station where cells are missing or do not go together.
    """
    way = 1.0 if settings.stations_from == "stern" else -1.0
    names = _edge_names(table)
    half = _half_siding(table, settings)
    moves: list[Move] = []
    raw = [_line(table, settings, name, half) for name in names]
    edges = tuple(_faired_line(line, rows, settings, moves) for line, rows in raw)
    between = tuple(_between(table, settings, [line for line, _ in raw], moves))
    stations = sorted(
        ((name, way * x) for name, x in zip(table.stations, positions(table, ""), strict=True) if x is not None),
        key=lambda pair: pair[1],
    )
    return Lines(edges, between, tuple(stations), tuple(moves), half)


def _edge_names(table: OffsetTable) -> list[str]:
    """Lines of the table that bound panels, from the keel up."""
    have = {row.line for row in table.rows if row.view != "position"}
    bottom = [name for name in ("rabbet", "keel") if name in have][:1]
    chines = sorted(name for name in have if name.startswith("chine"))
    if "sheer" not in have or len(bottom) + len(chines) == 0:
        missing = "sheer" if "sheer" not in have else "rabbet or chine"
        word, *_ = missing.split()
        fix = f"Give rows 'height {word}' and 'half-breadth {word}'"
        raise InputError(f"the table has no {missing}", where=table.source, fix=fix)
    return [*bottom, *chines, "sheer"]


def _half_siding(table: OffsetTable, settings: TableSettings) -> float:
    """As the boat file says, else what the sheer's half-breadth comes down to at the stem, if that is little."""
    if settings.half_siding is not None:
        return settings.half_siding
    row = table.row("half-breadth", "sheer")
    given = [c.mm for c in row.cells if c is not None] if row else []
    return min(given) if given and min(given) <= 0.06 * max(given) else 0.0


Rows: TypeAlias = tuple[Row | None, Row | None]
"""Heights and half-breadths of a line."""


def _line(table: OffsetTable, settings: TableSettings, name: str, half: float) -> tuple[Line, Rows]:
    heights, breadths = table.row("height", name), table.row("half-breadth", name)
    where = f"{table.source}, line {name!r}"
    if heights is None or (breadths is None and name not in ("rabbet", "keel")):
        missing = "height" if heights is None else "half-breadth"
        raise InputError(f"there is no {missing}", where=where, fix=f"Give a row '{missing} {name}'")
    at = positions(table, name)
    use = [k for k, c in enumerate(heights.cells) if c is not None]
    for row, other in ((heights, breadths), (breadths, heights)):
        for k, cell in enumerate(row.cells if row and other else ()):
            if cell is not None and other is not None and other.cells[k] is None:
                raise InputError(
                    f"station {table.stations[k]} has its {row.view if row else ''} but no {other.view}",
                    where=f"{table.source}:{cell.row_of_file}, row '{other.name}'",
                    fix="Fill the cell, or leave both blank where the line does not reach",
                )
    for k in use:
        if at[k] is None:
            fix = "Give it in the row 'position', or in one of the line's own"
            raise InputError(f"station {table.stations[k]} has no position", where=where, fix=fix)
    if len(use) < 2:
        raise InputError("it has fewer than two stations", where=where, fix="Give it at two stations at least")
    way = 1.0 if settings.stations_from == "stern" else -1.0
    use.sort(key=lambda k: way * (at[k] or 0.0))
    nodes = np.array(
        [[way * (at[k] or 0.0), breadths.cells[k].mm if breadths else half, heights.cells[k].mm] for k in use]  # type: ignore[union-attr]
    )
    nodes[:, 2] += settings.base_line
    _rising(nodes, table, name, use)
    return Line(name, nodes, tuple(table.stations[k] for k in use)), (heights, breadths)


def _rising(nodes: Floats, table: OffsetTable, name: str, use: list[int]) -> None:
    steps = np.linalg.norm(np.diff(nodes, axis=0), axis=1)
    if (np.diff(nodes[:, 0]) < 0).any() or (steps < 1.0).any():
        k = int(np.argmin(steps)) if (steps < 1.0).any() else int(np.argmin(np.diff(nodes[:, 0])))
        pair = f"{table.stations[use[k]]} and {table.stations[use[k + 1]]}"
        raise InputError(
            f"stations {pair} lie on top of each other", where=f"{table.source}, line {name!r}", fix="Check positions"
        )


def _faired_line(
    line: Line, rows: Rows, settings: TableSettings, moves: list[Move], tabled: Floats | None = None
) -> Line:
    """The line with its heights and half-breadths faired, and every move from the table noted.

    tabled : (n, 3) nodes as tabled, where sections have been faired before
    """
    along, nodes, tabled = line.along, line.nodes.copy(), line.nodes if tabled is None else tabled
    for row, axis, zero in ((rows[0], 2, settings.base_line), (rows[1], 1, 0.0)):
        if row is None:
            continue
        fixed = np.array([(row.name, s) in settings.locked for s in line.stations], dtype=np.bool_)
        fair = (
            in_pieces(along, nodes[:, axis], row.step, fixed, _knuckles(line, settings))
            if settings.fair
            else nodes[:, axis]
        )
        if axis == 1:
            fair = np.maximum(fair, 0.0)
        for k, station in enumerate(line.stations):
            free = (row.name, station) in settings.allowed
            moves.append(
                Move(row.name, station, float(tabled[k, axis]) - zero, float(fair[k]) - zero, bool(fixed[k]), free)
            )
        nodes[:, axis] = fair
    return replace(line, nodes=nodes)


def _knuckles(line: Line, settings: TableSettings) -> list[int]:
    return [k for k, s in enumerate(line.stations) if (line.name, s) in settings.knuckles]


def in_pieces(along: Floats, values: Floats, step: float, locked: Bools, knuckles: Sequence[int]) -> Floats:
    """A row faired piece by piece between its knuckles, which are locked."""
    cuts = [0, *(k for k in knuckles if 0 < k < len(along) - 1), len(along) - 1]
    out, locked = values.copy(), locked.copy()
    locked[cuts[1:-1]] = True
    for a, b in pairwise(cuts):
        piece = slice(a, b + 1)
        out[piece] = faired(along[piece], values[piece], step, locked[piece])
    return out


def _between(table: OffsetTable, settings: TableSettings, edges: Sequence[Line], moves: list[Move]) -> Iterator[Line]:
    """Waterlines and buttocks as lines in space; waterlines are faired across the boat first, then fore and aft."""
    raw = list(_raw_between(table, settings))
    wet = [(line, row) for line, row in raw if row.line == "waterline"]
    across = _across(edges, [line for line, _ in wet], wet[0][1].step) if wet and settings.fair else {}
    for line, row in raw:
        nodes = across.get(line.name, line.nodes)
        rows = (None, row) if row.line == "waterline" else (row, None)
        yield _faired_line(replace(line, nodes=nodes), rows, settings, moves, line.nodes)


def _raw_between(table: OffsetTable, settings: TableSettings) -> Iterator[tuple[Line, Row]]:
    way = 1.0 if settings.stations_from == "stern" else -1.0
    at = positions(table, "")
    for row in table.rows:
        if row.level is None or row.line not in ("waterline", "buttock"):
            continue
        use = [k for k, c in enumerate(row.cells) if c is not None and at[k] is not None]
        use.sort(key=lambda k: way * (at[k] or 0.0))
        if len(use) < 2:
            continue
        wet = row.line == "waterline"
        level = np.full(len(use), row.level + (settings.base_line if wet else 0.0))
        values = np.array([c.mm for c in (row.cells[k] for k in use) if c is not None])
        x = np.array([way * (at[k] or 0.0) for k in use])
        nodes = np.stack([x, values, level] if wet else [x, level, values + settings.base_line], axis=1)
        yield Line(row.name, nodes, tuple(table.stations[k] for k in use)), row


def _across(edges: Sequence[Line], waterlines: Sequence[Line], step: float) -> dict[str, Floats]:
    """Nodes of the waterlines after fairing the half-breadths of every section."""
    out = {line.name: line.nodes.copy() for line in waterlines}
    stations = dict.fromkeys(s for line in waterlines for s in line.stations)
    for station in stations:
        found = [(line, line.stations.index(station)) for line in (*edges, *waterlines) if station in line.stations]
        found.sort(key=lambda pair: float(pair[0].nodes[pair[1], 2]))
        points = np.array([line.nodes[k] for line, k in found])
        if len(points) < 5 or (np.diff(points[:, 2]) < 1.0).any():
            continue
        along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1))])
        fair = faired(along, points[:, 1], step)
        for (line, k), y in zip(found, fair, strict=True):
            if line.name in out:
                out[line.name][k, 1] = max(float(y), 0.0)
    return out


def moved(lines: Lines, dx: float) -> Lines:
    """All of them dx mm further forward."""
    return replace(
        lines,
        edges=tuple(e.shifted(dx) for e in lines.edges),
        between=tuple(e.shifted(dx) for e in lines.between),
        stations=tuple((name, x + dx) for name, x in lines.stations),
    )
