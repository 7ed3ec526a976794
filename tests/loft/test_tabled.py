"""Boats from tables of offsets, against shapes known on paper, and the properties any table must have."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from strakewright.errors import InputError, UnworkableError
from strakewright.geometry.outlines import contains
from strakewright.geometry.surface import foot_points, gauss_curvature
from strakewright.hull import Hull, Panel
from strakewright.loft.tabled import table_hull
from strakewright.offsets import Cell, OffsetTable, Row, TableSource
from strakewright.settings import TableSettings
from tests.loft.exact_tables import BREADTH, DRAFT, LENGTH, Shape, cosine, round_table, row, wigley

HERE = Path("offsets.csv")
SIDED = TableSettings(HERE, half_siding=0.0)


def lofted(table: OffsetTable, settings: TableSettings = SIDED) -> Hull:
    return table_hull(TableSource(table), settings, "outside", "test")


def inside(panel: Panel, along: int = 300, across: int = 60) -> np.ndarray:  # type: ignore[type-arg]
    """(n, 2) chart points of a grid inside the panel's ring."""
    ring = np.concatenate([points[:-1] for _, points in panel.ring()])
    low, high = ring.min(axis=0), ring.max(axis=0)
    grid = np.stack(
        np.meshgrid(*(np.linspace(a, b, n) for a, b, n in zip(low, high, (along, across), strict=True))), -1
    )
    flat = grid.reshape(-1, 2)
    return np.asarray(flat[contains(ring, flat)])


def off_formula(hull: Hull, shape: Shape) -> float:
    panel = hull.panels[0]
    r = panel.patch.at(inside(panel))
    return float(np.abs(r[:, 1] - shape(r[:, 0] - LENGTH / 2, r[:, 2] - DRAFT)).max())


def volume(hull: Hull) -> float:
    """Twice the integral of y over the side's projection on the centreline, by Gauss quadrature in x and z."""
    panel = hull.panels[0]
    x, wx = np.polynomial.legendre.leggauss(24)
    z, wz = np.polynomial.legendre.leggauss(24)
    spots = np.stack(np.meshgrid(LENGTH / 2 * (x + 1), DRAFT / 2 * (z + 1), indexing="ij"), -1).reshape(-1, 2)
    pq = _at_xz(panel, spots)
    weights = np.outer(wx, wz).ravel() * LENGTH * DRAFT / 4
    return float(2 * (weights @ panel.patch.at(pq)[:, 1]))


def _at_xz(panel: Panel, spots: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
    """Chart points where x and z are given, by Newton."""
    grid = inside(panel)
    space = panel.patch.at(grid)[:, ::2]
    pq = grid[np.argmin(((spots[:, None] - space[None]) ** 2).sum(axis=2), axis=1)]
    for _ in range(12):
        r, r_p, r_q = panel.patch.jet1(pq)
        left = spots - r[:, ::2]
        a, b, c, d = r_p[:, 0], r_q[:, 0], r_p[:, 2], r_q[:, 2]
        det = a * d - b * c
        pq = pq + np.stack([d * left[:, 0] - b * left[:, 1], a * left[:, 1] - c * left[:, 0]], axis=1) / det[:, None]
    return pq


@pytest.mark.parametrize(("shape", "limit"), [(wigley, 0.01), (cosine, 0.01)])
def test_exact_rows_are_met(shape: Shape, limit: float) -> None:
    hull = lofted(round_table(shape, 1e-6))
    assert off_formula(hull, shape) <= limit
    assert 0 <= float(hull.figures["side flats_apart"]) < 0.1  # two ways of laying a surface flat that has a formula


@pytest.mark.parametrize("step", [1.0, 3.175])
def test_wigley_from_rounded_rows(step: float) -> None:
    """Within 1.5 x half a step of the formula everywhere; volume within 0.1 % of 4/9 L B T."""
    hull = lofted(round_table(wigley, step))
    assert off_formula(hull, wigley) <= 0.75 * step
    assert volume(hull) == pytest.approx(4 / 9 * LENGTH * BREADTH * DRAFT, rel=1e-3)


def test_cosine_waterlines_from_eighths() -> None:
    hull = lofted(round_table(cosine, 3.175))
    assert off_formula(hull, cosine) <= 0.75 * 3.175
    assert volume(hull) == pytest.approx(LENGTH * BREADTH * DRAFT / 3, rel=1e-3)


def test_cosine_waterlines_from_millimetres() -> None:
    """Within 1.5 x half a step of the formula's surface: half-breadths over the length of its gradient.

    Level with the keel her bottom is so flat that a half-breadth may be 0.9 mm out where the surface is 0.44 mm off.
    """
    hull = lofted(round_table(cosine, 1.0))
    panel = hull.panels[0]
    r = panel.patch.at(inside(panel))
    x, z = r[:, 0] - LENGTH / 2, r[:, 2] - DRAFT
    by_x = -BREADTH / 2 * np.pi / LENGTH * np.sin(2 * np.pi * x / LENGTH) * (1 - (z / DRAFT) ** 2)
    by_z = -BREADTH * np.cos(np.pi * x / LENGTH) ** 2 * z / DRAFT**2
    off = np.abs(r[:, 1] - cosine(x, z)) / np.sqrt(1 + by_x**2 + by_z**2)
    assert off.max() <= 0.75
    assert volume(hull) == pytest.approx(LENGTH * BREADTH * DRAFT / 3, rel=1e-3)


def chine_table(scale: float = 1.0, step: float = 1e-6) -> OffsetTable:
    """A flared boat with straight parallel chines and a wedge of a bow: plane panels, known on paper."""
    x = np.linspace(0.0, 4000.0, 11) * scale
    half = np.minimum(600.0 * scale, (4400.0 * scale - x) * 0.4)
    rows = [
        row("position", "", x, 1e-6),
        row("height", "sheer", 0 * x + 500.0 * scale, step),
        row("height", "chine", 0 * x + 150.0 * scale, step),
        row("height", "rabbet", 0 * x, step),
        row("half-breadth", "sheer", half + 100.0 * scale, step),
        row("half-breadth", "chine", half, step),
    ]
    return OffsetTable("chine", tuple(str(k) for k in range(11)), tuple(rows))


BARGE = replace(SIDED, bow="transom")


def fair_chine(scale: float = 1.0, step: float = 1e-6) -> OffsetTable:
    """The same with chines that are parabolas in plan: half-breadth 600 - (x/2000)^2 100."""
    table = chine_table(scale, step)
    x = np.linspace(0.0, 4000.0, 11)
    half = (600.0 - 100.0 * (x / 2000.0) ** 2) * scale
    rows = [r for r in table.rows if r.view != "half-breadth"]
    rows += [
        row("half-breadth", "sheer", half + 100.0 * scale, step),
        row("half-breadth", "chine", half, step),
    ]
    return replace(table, rows=tuple(rows))


def test_straight_sections_of_a_parabola_in_plan() -> None:
    """y = 600 - (x/2000)^2 100 + (z - 150) 100/350 on the side, exactly; a cylinder, so developable is the same."""
    hull = lofted(fair_chine(), BARGE)
    side = hull.panel("side")
    r = side.patch.at(inside(side))
    true = 600.0 - 100.0 * (r[:, 0] / 2000.0) ** 2 + (r[:, 2] - 150.0) * 100.0 / 350.0
    assert np.abs(r[:, 1] - true).max() < 1e-3
    other = lofted(fair_chine(), replace(BARGE, panels=(("side", "developable"),)))
    q = other.panel("side").patch.at(inside(other.panel("side")))
    true = 600.0 - 100.0 * (q[:, 0] / 2000.0) ** 2 + (q[:, 2] - 150.0) * 100.0 / 350.0
    assert np.abs(q[:, 1] - true).max() < 5e-3
    told = next(f for f in hull.findings if f.code == "straight-or-developable" and f.subject == "side")
    assert "up to 0.0 mm apart" in told.what
    curved = gauss_curvature(other.panel("side").patch, inside(other.panel("side")))
    assert np.abs(curved).max() < 1e-10  # a sheet: R = 20 m, twist none


def test_names_of_panels_and_borders() -> None:
    hull = lofted(fair_chine(), BARGE)
    assert [p.name for p in hull.panels] == ["bottom", "side"]
    assert [b.name for b, _ in hull.panel("bottom").ring()] == ["keel", "bow transom", "chine", "transom"]
    assert hull.panel("bottom").lower.centreline
    a, b = hull.panel("bottom"), hull.panel("side")
    assert np.abs(a.in_space(a.upper)[[0, -1]] - b.in_space(b.lower)[[0, -1]]).max() < 1e-3


def test_scaling_the_table_scales_the_boat_and_nothing_else() -> None:
    one, two = lofted(fair_chine(1.0, 1.0), BARGE), lofted(fair_chine(2.0, 2.0), BARGE)
    for p, q in zip(one.panels, two.panels, strict=True):
        a, b = p.in_space(p.upper), q.in_space(q.upper)
        at = np.linspace(100.0, 3900.0, 50)
        for k in (1, 2):
            assert np.interp(2 * at, b[:, 0], b[:, k]) == pytest.approx(2 * np.interp(at, a[:, 0], a[:, k]), abs=0.05)


def test_reversing_the_stations_changes_nothing() -> None:
    """The same boat tabled from the bow: positions count aft, columns run the other way."""
    table = fair_chine(1.0, 1.0)
    turned = tuple(
        replace(r, cells=tuple(_from_bow(c) if r.view == "position" else c for c in r.cells[::-1])) for r in table.rows
    )
    back = replace(table, stations=table.stations[::-1], rows=turned)
    one, two = lofted(table, BARGE), lofted(back, replace(BARGE, stations_from="bow"))
    for p, q in zip(one.panels, two.panels, strict=True):
        assert p.in_space(p.upper) == pytest.approx(q.in_space(q.upper), abs=1e-5)


def test_mirroring_the_boat_fore_and_aft_mirrors_her_and_nothing_else() -> None:
    """Positions counted the other way without saying so: bow and stern change places, everything else stays."""
    table = fair_chine(1.0, 1.0)
    rows = tuple(
        replace(r, cells=tuple(_from_bow(c) for c in r.cells)) if r.view == "position" else r for r in table.rows
    )
    one, two = lofted(table, BARGE), lofted(replace(table, rows=rows), BARGE)
    for p, q in zip(one.panels, two.panels, strict=True):
        for a, b in ((p.lower, q.lower), (p.upper, q.upper)):
            turned = q.in_space(b)[::-1] * [-1.0, 1.0, 1.0] + [4000.0, 0.0, 0.0]
            assert p.in_space(a) == pytest.approx(turned, abs=1e-3)
        r = p.patch.at(inside(p, 60, 12))
        feet = foot_points(q.patch, r * [-1.0, 1.0, 1.0] + [4000.0, 0.0, 0.0], _nearest(q, r))
        assert np.abs(q.patch.at(feet) - (r * [-1.0, 1.0, 1.0] + [4000.0, 0.0, 0.0])).max() < 5e-3
    assert one.lines is not None
    assert two.lines is not None
    moves = {(m.row, m.station): m.by for m in one.lines.moves}
    assert {(m.row, m.station): pytest.approx(m.by, abs=1e-4) for m in two.lines.moves} == moves


def _nearest(panel: Panel, r: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
    """(n, 2) chart points of a panel whose x and z are nearest to those of points mirrored about midships."""
    grid = inside(panel, 200, 40)
    space = panel.patch.at(grid)[:, ::2]
    want = np.stack([4000.0 - r[:, 0], r[:, 2]], axis=1)
    return np.asarray(grid[np.argmin(((want[:, None] - space[None]) ** 2).sum(axis=2), axis=1)])


def _from_bow(cell: Cell | None) -> Cell | None:
    return None if cell is None else replace(cell, mm=4000.0 - cell.mm)


def test_a_base_line_lifts_the_boat_and_nothing_else() -> None:
    one, two = lofted(fair_chine(), BARGE), lofted(fair_chine(), replace(BARGE, base_line=-152.4))
    for p, q in zip(one.panels, two.panels, strict=True):
        low = p.in_space(p.lower) - q.in_space(q.lower)
        assert np.abs(low - [0.0, 0.0, 152.4]).max() < 1e-6


def test_a_raked_transom_cuts_every_line_in_one_plane() -> None:
    hull = lofted(fair_chine(), replace(BARGE, transom_rake_deg=12.0))
    for panel in hull.panels:
        assert panel.aft is not None
        r = panel.in_space(panel.aft)
        keel = hull.panel("bottom").in_space(hull.panel("bottom").lower)[0]
        assert np.abs(r[:, 0] - keel[0] + np.tan(np.radians(12.0)) * (r[:, 2] - keel[2])).max() < 1e-6
    assert min(p.in_space(p.aft)[:, 0].min() for p in hull.panels if p.aft) == pytest.approx(0.0, abs=1e-6)


def test_a_transom_curved_in_plan_is_a_cylinder() -> None:
    hull = lofted(fair_chine(), replace(BARGE, transom_radius=2500.0))
    r = np.concatenate([p.in_space(p.aft) for p in hull.panels if p.aft])
    centre = r[np.argmin(np.abs(r[:, 1])), 0] + 2500.0
    assert np.abs(np.hypot(r[:, 0] - centre, r[:, 1]) - 2500.0).max() < 1e-5


def test_a_half_siding_ends_the_panels_off_the_centreline() -> None:
    hull = lofted(fair_chine(), replace(BARGE, half_siding=22.0))
    keel = hull.panel("bottom").in_space(hull.panel("bottom").lower)
    assert np.abs(keel[:, 1] - 22.0).max() < 1e-4
    assert not hull.panel("bottom").lower.centreline


def test_a_slip_is_told_and_blocks() -> None:
    table = fair_chine(1.0, 1.0)
    wrong = table.with_cell("height chine", "5", Cell("175", 175.0))
    found = {f.code: f for f in lofted(wrong, BARGE).findings if f.level == "blocking"}
    assert "height chine, station 5" in found["misprint"].subject
    affirmed = replace(BARGE, locked=(("height chine", "5"),))
    assert "misprint" not in {f.code for f in lofted(wrong, affirmed).findings}


def test_a_move_past_the_tolerance_blocks_unless_allowed() -> None:
    noisy = fair_chine(1.0, 3.0)
    tight = replace(BARGE, tolerance=0.05)
    codes = [f for f in lofted(noisy, tight).findings if f.code == "fairing-move"]
    assert codes
    assert all(f.level == "blocking" for f in codes)
    cells = tuple(tuple(f.subject.split(", station ")) for f in codes)
    allowed = replace(tight, allowed=cells)  # type: ignore[arg-type]
    assert not [f for f in lofted(noisy, allowed).findings if f.code == "fairing-move"]


def test_every_move_is_told_and_locked_cells_stay() -> None:
    noisy = fair_chine(1.0, 3.0)
    hull = lofted(noisy, replace(BARGE, locked=(("half-breadth chine", "3"),)))
    assert hull.lines is not None
    moves = {(m.row, m.station): m for m in hull.lines.moves}
    assert moves["half-breadth chine", "3"].by == 0.0
    assert max(abs(m.by) for m in moves.values()) <= 1.5 * 3.0 / 2 + 1e-9
    chine = dict(hull.lines.lines)["chine"]
    for k, x in enumerate(np.linspace(0.0, 4000.0, 11)):
        at = float(np.interp(x, chine[:, 0], chine[:, 1]))
        assert at == pytest.approx(moves["half-breadth chine", str(k)].faired, abs=0.02)  # nothing is hidden


def test_a_twisted_pair_of_edges_is_refused_or_noted() -> None:
    """Sheer full, chine hollow in plan: straight sections hold, a sheet does not."""
    table = fair_chine()
    x = np.linspace(0.0, 4000.0, 11)
    bent = row("half-breadth", "chine", 500.0 + 150.0 * np.sin(x / 420.0), 1e-6)
    table = replace(table, rows=tuple(bent if r.name == bent.name else r for r in table.rows))
    noted = lofted(table, BARGE)
    assert "not-developable" in {f.code for f in noted.findings}
    assert {"hook", "inflection"} & {f.code for f in noted.findings}
    with pytest.raises(UnworkableError, match="near x"):
        lofted(table, replace(BARGE, panels=(("side", "developable"),)))


@pytest.mark.parametrize(
    ("drop", "named"),
    [
        ("height chine", "there is no height"),
        ("half-breadth chine", "there is no half-breadth"),
        ("height sheer", "there is no height"),
    ],
)
def test_a_missing_row_is_named(drop: str, named: str) -> None:
    table = fair_chine()
    with pytest.raises(InputError, match=named):
        lofted(replace(table, rows=tuple(r for r in table.rows if r.name != drop)), BARGE)


def test_a_cell_with_one_view_only_is_named() -> None:
    table = fair_chine()
    row_ = next(r for r in table.rows if r.name == "height chine")
    holed = Row(row_.view, row_.line, (None, *row_.cells[1:]), row_.step, row_.notation)
    rows = tuple(holed if r.name == holed.name else r for r in table.rows)
    with pytest.raises(InputError, match="station 0 has its half-breadth but no height"):
        lofted(replace(table, rows=rows), BARGE)
