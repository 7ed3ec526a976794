"""Without numba, an optional extra: the same answers, only slower, and the output says so.

A process in which numba cannot be imported does what this one does compiled; lines and places must be the same.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from strakewright.geometry.fans import shoot_fan
from strakewright.geometry.geodesics import base_curve
from strakewright.write.records import boards_document, parts_document, write_json
from strakewright_cli.app import run
from tests.geometry.exact_patches import sphere_patch
from tests.nest.yard import RULES, board, bow, part, rectangle

ROOT = Path(__file__).parents[1]
WITHOUT = "import sys; sys.modules['numba'] = None; sys.path.insert(0, sys.argv.pop(1)); "
PARTS = [part(f"A{i}", rectangle(900, 80)) for i in range(3)] + [part("C", bow(1500, 90, 20))]
BOARDS = [board(f"B{i}", rectangle(2400, 210), rough_thickness=25.4) for i in range(2)]


def without(code: str, *words: str) -> subprocess.CompletedProcess[str]:
    """A Python without numba.  code : what it does, with `words` as its arguments"""
    paths = os.pathsep.join(str(ROOT / name) for name in ("layout", "cli"))
    surroundings = {**os.environ, "PYTHONPATH": paths}
    line = [sys.executable, "-c", WITHOUT + code, str(ROOT), *words]
    return subprocess.run(line, capture_output=True, text=True, env=surroundings, check=False, timeout=300)


def test_a_plan_is_the_same_and_the_note_says_why_it_took_long(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write_json(tmp_path / "parts.json", parts_document(PARTS, RULES))
    write_json(tmp_path / "boards.json", boards_document(BOARDS))
    line = ["nest", str(tmp_path / "parts.json"), str(tmp_path / "boards.json"), "--rounds", "0", "--out"]
    assert run([*line, str(tmp_path / "fast")]) == 0
    assert "numba" not in capsys.readouterr().err
    slow = without("from strakewright_cli.app import run; sys.exit(run(sys.argv[1:]))", *line, str(tmp_path / "slow"))
    assert slow.returncode == 0, slow.stderr
    assert "numba: is not installed" in slow.stderr
    assert "RuntimeWarning" not in slow.stderr
    plans = [json.loads((tmp_path / name / "nest.json").read_text()) for name in ("fast", "slow")]
    assert plans[0]["placements"] == plans[1]["placements"]
    assert len(plans[0]["placements"]) == len(PARTS)


FAN = """
import json
from tests.test_uncompiled import shot
print(json.dumps(shot()))
"""


def shot() -> list[list[float]]:
    """Chart points of a fan of geodesics on a sphere."""
    patch = sphere_patch()
    along = np.column_stack([np.linspace(-200.0, 200.0, 30), np.full(30, 300.0)])
    fan = shoot_fan(patch, base_curve(patch, along, before=0.0, after=0.0), t_lo=-50.0, t_hi=50.0)
    s, t = np.random.default_rng(0).uniform((0.0, -50.0), (380.0, 50.0), (40, 2)).T
    return np.asarray(fan.pq(s, t)).tolist()


def test_geodesics_are_the_same() -> None:
    slow = without(FAN)
    assert slow.returncode == 0, slow.stderr
    assert np.abs(np.array(json.loads(slow.stdout)) - np.array(shot())).max() < 1e-9
