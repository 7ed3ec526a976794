"""Windows, pins, screws and tabs against arithmetic of their own; the proof sees every one that is in the way."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely

from strakewright.lumber import Board, Rules
from strakewright.machine import MachineSettings
from strakewright.parts import Part
from strakewright.plan import Placement, Plan
from strakewright.proof.heldback import Held, Share, clearances, windows_whole
from strakewright.write.labels import Label
from strakewright.write.pen import Pen, lay
from strakewright.write.setups import PIN, SCREW, setup_of, tabs_of, windows_of
from strakewright.write.sheets import Sheet, Title, draw_wood, sheets_of
from strakewright.write.windowed import setup_notes, share_of, style_of, write_windows

BED = MachineSettings(bed=(2438.4, 1219.2), cutter=6.0)


def strake(name: str, long: float) -> Part:
    """A crooked strake: 90 wide, its middle 40 up."""
    x = np.linspace(0.0, long, 60)
    low = np.column_stack([x, 40 * np.sin(np.pi * x / long)])
    return Part(name, np.concatenate([low, (low + np.array([0.0, 90.0]))[::-1]]), 20.0, "larch")


def laid(long: float = 4800.0, wide: float = 200.0) -> Sheet:
    board = Board("B1", np.array([[0.0, 0], [long, 0], [long, wide], [0, wide]]), 20.0, "larch")
    parts = (strake("S1", long - 40), replace(strake("S2", 900.0), id="S2"))
    places = (Placement("S1", "B1", 20.0, 8.0),)
    plan = Plan(places, (), 1, 1.0, 1.0, 0.5, 0.5, None, None, 0, 0)
    return sheets_of(plan, parts, [board])[0]


@pytest.mark.parametrize("long", [2000.0, 2438.4, 2500.0, 3600.0, 4800.0, 7300.0])
def test_windows_reach_every_millimetre_and_never_past_the_bed(long: float) -> None:
    windows = windows_of(0.0, long, 2438.4)
    assert windows[0].cut_from == 0.0
    assert windows[-1].cut_to == long
    for w in windows:
        assert w.end - w.start <= 2438.4 + 1e-9
        assert w.start <= w.cut_from < w.cut_to <= w.end + 1e-9
    for a, b in pairwise(windows):
        assert a.cut_to == b.cut_from
        assert a.end - b.start >= 100.0 - 1e-9
        assert b.cut_from - b.start >= 50.0 - 1e-9
    assert len(windows) == max(1, int(np.ceil((long - 100) / 2338.4)))  # as few as can be


def test_pins_and_screws_stand_in_waste() -> None:
    sheet = laid()
    setup = setup_of(sheet, BED)
    assert len(setup.windows) == 3
    assert len(setup.pins) == 4
    ring = shapely.Polygon(lay(sheet.laid[0][0].outline, sheet.laid[0][1]))
    wood = shapely.Polygon(sheet.board.outline)
    for points, radius in ((setup.pins, PIN), (setup.screws, SCREW)):
        discs = [shapely.Point(p).buffer(radius) for p in points]
        assert min(d.distance(ring) for d in discs) >= 6.0 + 2.0 - 0.1
        assert all(wood.contains(d) for d in discs)
    for n in (0, 1):  # both pins of a move are reached before and after it
        a, b = setup.windows[n], setup.windows[n + 1]
        assert np.all((setup.pins[2 * n : 2 * n + 2, 0] > b.start) & (setup.pins[2 * n : 2 * n + 2, 0] < a.end))
        assert abs(np.diff(setup.pins[2 * n : 2 * n + 2, 0])[0]) > 500.0


def test_tabs_lie_on_the_cut_line_off_the_corners() -> None:
    ring = strake("S", 3000.0).outline
    tabs = np.array(tabs_of(ring))
    line = shapely.LinearRing(ring)
    assert len(tabs) == pytest.approx(line.length / 450, abs=1)
    for x, y, *way in tabs:
        assert line.distance(shapely.Point(x, y)) < 1e-6
        assert np.hypot(*way) == pytest.approx(1.0)
    ends = ring[[0, 59, 60, 119]]
    assert np.hypot(*(tabs[:, None, :2] - ends).T).min() >= 30.0 - 1e-6


def test_what_has_no_room_is_told() -> None:
    sheet = laid(wide=140.0)  # hardly any waste along a crooked strake 130 high
    full = replace(sheet.laid[0][0], outline=np.array([[-10.0, 2], [4770, 2], [4770, 122], [-10, 122]]))
    tight = replace(sheet, laid=((full, sheet.laid[0][1]),))
    codes = {f.code for f in setup_of(tight, BED).findings}
    assert {"no-room-for-pins", "no-room-to-hold"} <= codes
    wide = setup_of(laid(wide=1500.0), BED).findings
    assert [f.code for f in wide] == ["board-off-bed"]


def written(folder: Path, sheet: Sheet, machine: MachineSettings) -> tuple[list[Held], list[Share]]:
    setup = setup_of(sheet, machine)

    def wood(pen: Pen) -> None:
        draw_wood(pen, sheet, {"S1": Label("PORT")})

    files = write_windows(folder, sheet, setup, (Title("Proof", "ab"), machine), wood)
    rings = tuple(lay(p.outline, q) for p, q in sheet.laid)
    discs = np.array([(*p, PIN) for p in setup.pins] + [(*s, SCREW) for s in setup.screws])
    held = Held(sheet.name, rings, sheet.board.outline, discs, machine.cutter)
    return [held], [Share(f.sheet, f.path, f.shift, 2438.4) for f in files]


@pytest.mark.parametrize("machine", [BED, replace(BED, arcs=True), replace(BED, dxf="R12")])
def test_windows_laid_together_are_the_sheet(tmp_path: Path, machine: MachineSettings) -> None:
    boards, shares = written(tmp_path, laid(), machine)
    assert len(shares) == 3
    assert all(c.holds for c in windows_whole(boards, shares, machine.arcs))
    checks, findings = clearances(boards)
    assert checks[0].holds
    assert not findings


def test_a_missing_or_moved_window_is_seen(tmp_path: Path) -> None:
    boards, shares = written(tmp_path, laid(), BED)
    assert not windows_whole(boards, shares[:2], False)[0].holds
    off = [replace(shares[0], shift=0.01), *shares[1:]]
    assert not windows_whole(boards, off, False)[0].holds
    assert not windows_whole(boards, [replace(s, reach=1200.0) for s in shares], False)[1].holds
    shares[1].path.write_text("no drawing")
    assert not windows_whole(boards, shares, False)[0].holds


def test_a_screw_in_the_cutters_way_is_seen(tmp_path: Path) -> None:
    boards, _ = written(tmp_path, laid(), BED)
    x, y = boards[0].rings[0][5]
    for spot in ((x, y - 10.0), (4799.0, 199.0), (-20.0, 50.0)):
        moved = replace(boards[0], discs=np.array([[*spot, SCREW]]))
        checks, findings = clearances([moved])
        assert not checks[0].holds
        assert [f.code for f in findings] == ["pin-in-the-way"]


def test_open_pieces_keep_the_way_round() -> None:
    ring = np.array([[0.0, 0], [100, 0], [100, 50], [0, 50]])
    ((piece, closed),) = share_of(ring, 40.0, 200.0)
    assert not closed
    assert piece.tolist() == [[40.0, 0.0], [100.0, 0.0], [100.0, 50.0], [40.0, 50.0]]  # counter-clockwise
    assert share_of(ring, 200.0, 300.0) == []
    assert share_of(ring, -1.0, 300.0)[0][1]


def test_notes_tell_the_move_and_the_pegs() -> None:
    setup = setup_of(laid(), BED)
    told = " ".join(setup_notes(setup, BED))
    step = setup.windows[1].start
    assert f"move the board {step:.1f} towards" in told
    assert f"({setup.pins[0, 0] - step:.1f}, {setup.pins[0, 1]:.1f})" in told
    assert "keep out of the rings" in told
    assert "SKIN" in " ".join(setup_notes(setup, replace(BED, tabs="skin")))
    assert style_of(None).version == "R2000"
    assert Rules().spacing >= BED.spacing
