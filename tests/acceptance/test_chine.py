"""A chine whose angle inside the boat runs from 100 to 176 degrees and back to 160: lap, mitre and the step.

Closed forms: `RunningChine` (fold known at every x), trade rule A6 (trigonometry, worked numbers there).
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq
from tests.acceptance.yard import Planked, margins
from tests.exact_hulls import RunningChine

from strakewright.arrays import Floats
from strakewright.parts import Margin

HULL = RunningChine()
T = 19.0
CHINE_STEP = brentq(lambda x: float(HULL.fold(np.array(x))) - 35.0, 500.0, 4000.0)  # theta = 145 degrees


def theta(x: Floats) -> Floats:
    return np.asarray(np.radians(180.0 - HULL.fold(x)))


def chines(boat: Planked, panel: str) -> list[Margin]:
    return [m for p in boat.port(panel) for m in margins(p) if m.border == "chine"]


def test_the_chine_is_followed_where_the_fold_is_four_degrees(running: Planked) -> None:
    """The chine is the straight line y = 700, z = 800 from end to end."""
    for name, border in (("bottom", "upper"), ("side", "lower")):
        panel = running.hull.panel(name)
        line = panel.in_space(getattr(panel, border))
        assert np.abs(line[:, 1:] - [700.0, 800.0]).max() < 0.05
        assert line[[0, -1], 0] == pytest.approx([0.0, 5600.0], abs=0.05)


def test_the_smallest_fold_is_reported(running: Planked) -> None:
    """4 degrees at x = 4200 (closed form); a mesh of cells 40 mm long cannot say it much better than half a degree."""
    told = next(f for f in running.findings if f.code == "crease-followed")
    words = told.what.replace(",", " ").split()
    figures = [float(w) for w in words if w.replace(".", "").isdigit()]
    assert figures[-2] == pytest.approx(4.0, abs=0.5)
    assert figures[-1] == pytest.approx(4200.0, abs=150.0)


def test_lap_and_mitre_of_the_side(running: Planked) -> None:
    """A6 with Tb = Ts = 19, s = 9.5.  Lap: bevel theta - 90, inside wider; mitre: 90 - theta / 2, outside wider."""
    found = chines(running, "side")
    assert sorted(m.seam[:, 0].mean() > CHINE_STEP for m in found) == [False, True]
    for margin in found:
        angle = theta(margin.seam[:, 0])
        mitred = margin.seam[:, 0].mean() > CHINE_STEP
        bevel = np.pi / 2 - angle / 2 if mitred else np.pi / 2 - angle
        up = (T + T * np.cos(angle)) / np.sin(angle) / 2 if mitred else (T + T / 2 * np.cos(angle)) / np.sin(angle)
        assert np.abs(np.degrees(margin.bevel - bevel)).max() < 0.05
        assert np.linalg.norm(margin.fitted - margin.flat, axis=1) == pytest.approx(up, abs=0.05)


def test_the_bottom_ends_the_same_way(running: Planked) -> None:
    found = chines(running, "bottom")
    assert len(found) > 15
    for margin in found:
        angle = theta(margin.seam[:, 0])
        mitred = margin.seam[:, 0].mean() > CHINE_STEP
        bevel = np.pi / 2 - angle / 2 if mitred else np.pi / 2 - angle
        assert np.abs(np.degrees(margin.bevel - bevel)).max() < 0.05


def test_lap_turns_to_mitre_in_one_step_at_one_x(running: Planked) -> None:
    """A6: aftmost x where theta > 145; a square step there, in the side and in the bottom at the same x."""
    side = sorted(chines(running, "side"), key=lambda m: float(m.seam[:, 0].mean()))
    lap_end, mitre_start = side[0].seam[:, 0].max(), side[1].seam[:, 0].min()
    assert lap_end == pytest.approx(mitre_start, abs=1e-6)
    assert lap_end == pytest.approx(CHINE_STEP, abs=10.0)
    laps = [m for m in chines(running, "bottom") if m.bevel.mean() < 0]
    mitres = [m for m in chines(running, "bottom") if m.bevel.mean() > 0]
    assert max(m.seam[:, 0].max() for m in laps) == pytest.approx(lap_end, abs=0.05)
    assert min(m.seam[:, 0].min() for m in mitres) == pytest.approx(lap_end, abs=0.05)


def test_the_step_stands_in_the_outside_face_only(running: Planked) -> None:
    """A6: lap and mitre share the inside edge; the outside edge steps by Tb / sin theta = 19 / sin 145 = 33.1 mm."""
    plank = next(p for p in running.port("side") if any(m.border == "chine" for m in margins(p)))
    near = next(m for m in margins(plank) if m.border == "chine" and m.seam[:, 0].mean() > CHINE_STEP)
    at = near.flat[np.argmin(near.seam[:, 0]), 0]
    heights = {}
    for face in ("face_inside", "face_outside"):
        ring = getattr(plank, face)
        beside = np.abs(ring[:, 0] - at) < 30.0
        low = ring[beside & (ring[:, 1] < ring[:, 1].mean())]
        heights[face] = np.abs(np.diff(low[np.argsort(low[:, 0]), 1])).max()
    assert heights["face_inside"] < 1.0
    assert heights["face_outside"] == pytest.approx(T / np.sin(np.radians(145.0)), abs=1.0)
