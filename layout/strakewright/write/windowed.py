"""Sheets for a router: what holds the board is drawn on the sheet, and every window of a long board is a file.

window file   the same drawing as the bed sees it: x = 0 where the bed begins, cut lines only of its own share
lead          mm that cuts of neighbouring windows run past each other, so that no thread of wood is left
open cut      a cut line that the window's end cuts off; it runs counter-clockwise: the cutter goes on its right
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.outlines import as_ccw
from strakewright.machine import MachineSettings
from strakewright.plan import Placement
from strakewright.write.dxf import DxfPen, DxfStyle
from strakewright.write.pen import Pen, Role, Stroke, lay, placed
from strakewright.write.setups import PIN, SCREW, TAB_HIGH, TAB_LONG, Setup, Window
from strakewright.write.sheets import Sheet, Title, draw_square
from strakewright.write.windows import Drawing, StrokePen, clipped, draw_in, drawing_of

LEAD = 5.0
_WORDS = 16.0


@dataclass(frozen=True, eq=False)
class WindowFile:
    """path of a window's DXF;  shift : x of the board at its x = 0"""

    sheet: str
    path: Path
    shift: float
    window: Window


def style_of(machine: MachineSettings | None) -> DxfStyle:
    """How sheets are written for a machine."""
    if machine is None:
        return DxfStyle()
    return DxfStyle(machine.dxf, machine.arcs, machine.text == "strokes")


def draw_setup(pen: Pen, sheet: Sheet, setup: Setup) -> None:
    """Pins to drill; screws with the ring the cutter keeps out of; tabs; where windows meet."""
    for n, pin in enumerate(setup.pins, start=1):
        pen.circle(pin, PIN, Role.DRILL)
        _name(pen, pin, f"PIN {n}")
    _draw_held(pen, setup)
    high = float(sheet.board.outline[:, 1].max())
    for window in setup.windows if setup.is_moved else ():
        _draw_window(pen, window, high)


def _name(pen: Pen, at: Floats, words: str) -> None:
    pen.text(at + np.array([PIN + 3.0, 0.0]), words, height=8, turn=0, anchor="left", role=Role.CHECK)


def _draw_held(pen: Pen, setup: Setup) -> None:
    """Screws and tabs."""
    for screw in setup.screws:
        pen.circle(screw, SCREW, Role.CHECK)
        for arm in (np.array([4.0, 4.0]), np.array([4.0, -4.0])):
            pen.polyline(np.stack([screw - arm, screw + arm]), closed=False, role=Role.CHECK)
    for tab in setup.tabs:
        _draw_tab(pen, tab[:2], tab[2:])


def _draw_tab(pen: Pen, at: Floats, way: Floats) -> None:
    """A bracket over the cut line, as long as the bridge."""
    out = np.array([way[1], -way[0]])
    ends = [at + sign * TAB_LONG / 2 * way for sign in (-1.0, 1.0)]
    line = np.stack([ends[0] - 3 * out, ends[0] + 4 * out, ends[1] + 4 * out, ends[1] - 3 * out])
    pen.polyline(line, closed=False, role=Role.CHECK)


def _draw_window(pen: Pen, window: Window, high: float) -> None:
    """A line where its share ends, and words above the board."""
    if window.number < window.count:
        line = np.array([[window.cut_to, 0.0], [window.cut_to, high + 40.0]])
        pen.polyline(line, closed=False, role=Role.CHECK)
    words = f"WINDOW {window.number} of {window.count}: x {window.start:.0f} to {window.end:.0f} on the bed"
    at = np.array([window.cut_from + 10.0, high + 25.0])
    pen.text(at, words, height=_WORDS, turn=0, anchor="left", role=Role.CHECK)


def setup_notes(setup: Setup, machine: MachineSettings) -> list[str]:
    """What the person at the router reads under the sheet."""
    held = {
        "tabs": f"{len(setup.tabs)} TABS (brackets on the cut lines): leave {TAB_HIGH:g} x {TAB_LONG:g} mm there.",
        "skin": "SKIN: leave the last 0.5 mm everywhere, trim by hand.",
        "none": "No tabs: hold the parts down before they come loose.",
    }[machine.tabs]
    notes = [
        f"{held} {len(setup.screws)} SCREWS (crossed rings) in waste: keep out of the rings with the cutter"
        f" ({machine.cutter:g} mm)."
    ]
    if setup.is_moved:
        count = len(setup.windows)
        moves = " ".join(_move(setup, n) for n in range(count - 1))
        notes.append(f"LONGER THAN THE BED: {count} windows, one file each in sheets/windows. {moves}")
    return notes


def _move(setup: Setup, n: int) -> str:
    before, after = setup.windows[n], setup.windows[n + 1]
    step = f"{after.start - before.start:.1f}"
    pins = setup.pins[2 * n : 2 * n + 2] if len(setup.pins) == 2 * (len(setup.windows) - 1) else ()
    pegs = ", ".join(f"({x - after.start:.1f}, {y:.1f})" for x, y in pins)
    on = f" onto 8 mm pegs at {pegs} of the bed" if len(pins) else ""
    return f"After window {n + 1} move the board {step} towards the bed's start{on}."


def write_windows(
    folder: Path, sheet: Sheet, setup: Setup, about: tuple[Title, MachineSettings], wood: Callable[[Pen], None]
) -> tuple[WindowFile, ...]:
    """One DXF for every window of a board that is moved; none for a board that lies on the bed whole.

    wood : draws board and parts
    """
    if not setup.is_moved:
        return ()
    strokes = _strokes(setup, wood)
    drills = [s for s in strokes if s.role is Role.DRILL]
    drawn = drawing_of([s for s in strokes if s.role is not Role.DRILL])
    found = []
    for window in setup.windows:
        path = folder / f"{sheet.name}-w{window.number}.dxf"
        pen = DxfPen(style_of(about[1]))
        on_bed = placed(pen, Placement("", "", -window.start, 0.0))
        _draw_share(on_bed, sheet, (drawn, drills), window)
        _draw_pins(on_bed, setup, window)
        _draw_foot(pen, sheet, window, about[0])
        pen.write(path)
        found.append(WindowFile(sheet.name, path, window.start, window))
    return tuple(found)


def _draw_foot(pen: Pen, sheet: Sheet, window: Window, title: Title) -> None:
    """Check square and words below the board, at the bed's start."""
    low = float(sheet.board.outline[:, 1].min())
    draw_square(pen, np.array([0.0, low - 170.0]))
    words = f"{title.boat} rev {title.revision}  BOARD {sheet.name}  WINDOW {window.number} of {window.count}"
    for k, line in enumerate((words, _told(window))):
        spot = np.array([140.0, low - 90.0 - 30.0 * k])
        pen.text(spot, line, height=20.0 if k == 0 else _WORDS, turn=0, anchor="left", role=Role.CHECK)


def _told(window: Window) -> str:
    ends = f"its share is x {window.cut_from - window.start:.0f} to {window.cut_to - window.start:.0f} here"
    return f"x = 0 here is x = {window.start:.1f} of the board; {ends}. Open cuts: cutter on the right, square outside."


def _strokes(setup: Setup, wood: Callable[[Pen], None]) -> list[Stroke]:
    """Everything but the cut lines and the pins."""
    pen = StrokePen()
    wood(pen)
    _draw_held(pen, setup)
    return [s for s in pen.strokes if s.role not in (Role.CUT_OUTSIDE, Role.CUT_INSIDE)]


def _draw_pins(pen: Pen, setup: Setup, window: Window) -> None:
    """Pins to drill here for the next window; pegs that hold the board here by holes drilled before."""
    if len(setup.pins) != 2 * (window.count - 1):
        return
    for n, pin in enumerate(setup.pins):
        move = n // 2 + 1
        if move == window.number:
            pen.circle(pin, PIN, Role.DRILL)
            _name(pen, pin, f"PIN {n + 1}")
        elif move == window.number - 1:
            pen.circle(pin, PIN, Role.CHECK)
            _name(pen, pin, f"PEG {n + 1}")


def _draw_share(pen: Pen, sheet: Sheet, drawn: tuple[Drawing, Sequence[Stroke]], window: Window) -> None:
    """Marks and words on the bed; cut lines of the window's share, with a lead into the next one."""
    low, high = sheet.board.outline.min(axis=0) - 60.0, sheet.board.outline.max(axis=0) + 60.0
    others, drills = drawn
    draw_in(pen, others, np.array([window.start, low[1]]), np.array([window.end, high[1]]))
    for hole in (s for s in drills if window.cut_from <= s.points[0, 0] < window.cut_to):
        pen.circle(hole.points[0], hole.size, Role.DRILL)
    first = window.start if window.number == 1 else window.cut_from - LEAD
    last = window.end if window.number == window.count else window.cut_to + LEAD
    for part, placement in sheet.laid:
        ring = as_ccw(lay(part.outline, placement))
        for piece, closed in share_of(ring, first, last):
            pen.polyline(piece, closed=closed, role=Role.CUT_OUTSIDE)


def share_of(ring: Floats, first: float, last: float) -> Sequence[tuple[Floats, bool]]:
    """A cut line between two x: whole and closed, or in open pieces that keep its way round.  ring : (n, 2)"""
    x = ring[:, 0]
    if x.min() >= first and x.max() <= last:
        return [(ring, True)]
    if x.max() <= first or x.min() >= last:
        return []
    low, high = np.array([first, ring[:, 1].min() - 1.0]), np.array([last, ring[:, 1].max() + 1.0])
    outside = int(np.argmax(np.maximum(first - x, x - last)))
    line = np.roll(ring, -outside, axis=0)
    return [(piece, False) for piece in clipped(np.concatenate([line, line[:1]]), low, high)]
