"""HP-GL/2 by a small reader of its own: lengths, places, words."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from ezdxf.filemanagement import readfile

from strakewright.arrays import Floats
from strakewright.write.pen import Hatch, Role
from strakewright.write.plotter import PlotterPen

RING = np.array([[0.0, 0.0], [1234.567, 10.01], [1200.0, 95.5], [3.33, 90.0]])


def plotted(path: Path) -> tuple[list[Floats], list[tuple[str, Floats]]]:
    """Lines and labels of a plot, mm: every order of two letters, then its numbers; 40 units to the mm."""
    text = path.read_text(encoding="ascii")
    lines: list[list[tuple[float, float]]] = []
    labels: list[tuple[str, Floats]] = []
    here = (0.0, 0.0)
    for order, rest in re.findall(r"([A-Z]{2})((?<=LB)[^\x03]*\x03|[-\d.,]*);", text):
        if order == "LB":
            labels.append((rest[:-1], np.array(here) / 40))
        elif order in ("PU", "PD") and rest:
            numbers = [float(v) for v in rest.split(",")]
            points = list(zip(numbers[::2], numbers[1::2], strict=True))
            if order == "PU":
                lines.append(points[-1:])
            else:
                lines[-1] += points
            here = points[-1]
    return [np.array(line) / 40 for line in lines if len(line) > 1], labels


def test_lengths_and_places_come_back(tmp_path: Path) -> None:
    pen = PlotterPen()
    pen.polyline(RING, closed=True, role=Role.CUT_OUTSIDE)
    pen.write(tmp_path / "a.plt")
    (line,), _ = plotted(tmp_path / "a.plt")
    assert np.abs(line - np.concatenate([RING, RING[:1]])).max() <= 0.0125 + 1e-9  # half a plotter unit
    around = np.linalg.norm(np.diff(line, axis=0), axis=1).sum()
    exact = np.linalg.norm(np.roll(RING, -1, axis=0) - RING, axis=1).sum()
    assert around == pytest.approx(exact, abs=0.05)


def test_words_stand_where_they_should_in_plain_letters(tmp_path: Path) -> None:
    pen = PlotterPen()
    pen.text(np.array([100.0, 20.0]), "Håkon S01a;", height=10, turn=90, anchor="middle", role=Role.LABEL)
    pen.write(tmp_path / "a.plt")
    _, labels = plotted(tmp_path / "a.plt")
    assert labels[0][0] == "Hakon S01a;"
    assert labels[0][1].tolist() == [100.0, 20.0]
    text = (tmp_path / "a.plt").read_text()
    assert "DI0.0000,1.0000;LO5;" in text  # upright, from the middle of the words
    assert re.search(r"SI[\d.]+,1.0000;", text)  # 1 cm high


def test_circles_and_hatching_are_lines(tmp_path: Path) -> None:
    pen = PlotterPen()
    pen.circle(np.array([50.0, 50.0]), 20.0, Role.DRILL)
    pen.area(np.array([[0.0, 0], [90, 0], [90, 90], [0, 90]]), Hatch(0, 30), Role.DEFECT)
    pen.write(tmp_path / "a.plt")
    lines, _ = plotted(tmp_path / "a.plt")
    assert np.linalg.norm(np.diff(lines[0], axis=0), axis=1).sum() == pytest.approx(2 * np.pi * 20, rel=2e-3)
    assert len(lines) == 2 + 3


@pytest.mark.skipif(shutil.which("hp2xx") is None, reason="hp2xx is not on this machine")
def test_another_program_reads_the_same_lengths(tmp_path: Path) -> None:
    pen = PlotterPen()
    pen.polyline(RING, closed=True, role=Role.CUT_OUTSIDE)
    for long in (100.0, 1000.0):
        pen.polyline(np.array([[20.0, 200.0 + long], [20.0 + long, 200.0 + long]]), closed=False, role=Role.CHECK)
    pen.write(tmp_path / "a.plt")
    command = ["hp2xx", "-q", "-t", "-m", "dxf", "-f", str(tmp_path / "a.dxf"), str(tmp_path / "a.plt")]
    subprocess.run(command, check=True, capture_output=True, timeout=60)
    lines = readfile(tmp_path / "a.dxf").modelspace().query("LINE")
    read = sorted(float((line.dxf.end - line.dxf.start).magnitude) for line in lines)
    sides = np.linalg.norm(np.roll(RING, -1, axis=0) - RING, axis=1)
    assert read == pytest.approx(sorted([*sides, 100.0, 1000.0]), abs=0.05)


def test_a_plot_begins_and_ends_as_a_plot_should(tmp_path: Path) -> None:
    pen = PlotterPen()
    pen.polyline(RING, closed=False, role=Role.SCRIBE)
    pen.write(tmp_path / "a.plt")
    text = (tmp_path / "a.plt").read_text()
    assert text.startswith("IN;SP1;PW0.35;")
    assert text.endswith("PU;SP0;PG;\n")
