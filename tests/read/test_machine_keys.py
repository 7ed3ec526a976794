"""[machine] and [paper]: what they give and how wrong values are told.  1 in = 25.4 mm, 1 ft = 304.8 mm."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.read.test_boatfile import SOUND, faults, read

from strakewright.job.building import rules_of
from strakewright.machine import MachineSettings, PaperSettings

ROUTER = '[machine]\ncutting = "router"\nbed = ["8 ft", "4 ft"]\ncutter = "1/4 in"\ntabs = "skin"\n'


def test_a_router_is_read_in_mm(tmp_path: Path) -> None:
    more = 'resaw_max = 8\nplaner_min = 14\nsnipe = 3\ndxf = "R12"\narcs = true\ntext = "strokes"\n'
    boat = read(tmp_path, SOUND.replace('spacing = "8 mm"', 'spacing = "9 mm"') + ROUTER + more)
    machine = boat.machine
    assert machine is not None
    assert (machine.bed, machine.cutter, machine.tabs) == ((2438.4, 1219.2), 6.35, "skin")
    assert (machine.resaw_max, machine.planer_min, machine.snipe) == pytest.approx((203.2, 355.6, 76.2))
    assert (rules_of(boat).planer_min, rules_of(boat).snipe) == pytest.approx((355.6, 76.2))
    assert (machine.dxf, machine.arcs, machine.text) == ("R12", True, "strokes")
    assert boat.stock.spacing == 9.0


@pytest.mark.parametrize(
    ("machine", "spacing"),
    [
        ("[machine]\n", 8.0),  # 6 mm cutter and 2 to spare
        ('[machine]\ncutter = "1/2 in"\n', 14.7),
        ('[machine]\ncutting = "bandsaw"\n', 5.0),
        ('[machine]\ncutting = "table saw"\n', 5.0),
        ("", 8.0),
    ],
)
def test_parts_keep_clear_of_the_machine_there_is(tmp_path: Path, machine: str, spacing: float) -> None:
    boat = read(tmp_path, SOUND.replace('spacing = "8 mm"\n', "") + machine)
    assert boat.stock.spacing == pytest.approx(spacing)
    assert (boat.machine is None) == (machine == "")


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[machine]\ncutter = "1/2 in"\n', "8 mm between parts is too little for a cutter of 12.7 mm"),
        ('[machine]\ncutting = "laser"\n', '"router" or "bandsaw" or "table saw"'),
        ('[machine]\nbed = ["8 ft"]\n', "no pair of lengths"),
        ('[machine]\nbed = ["8 ft", "2 in"]\n', "50.8 mm is outside 100 to 5000 mm"),
        ("[machine]\ncutter = 9\n", "228.6 mm, outside 1 to 40"),
        ('[machine]\ntabs = "glue"\n', '"tabs" or "skin" or "none"'),
        ('[machine]\ncutting = "bandsaw"\nbed = ["8 ft", "4 ft"]\n', "belongs to a router"),
        ('[machine]\ndxf = "R14"\n', '"R2000" or "R12"'),
        ('[machine]\narcs = "yes"\n', "neither true nor false"),
        ('[machine]\ntext = "runes"\n', '"words" or "strokes"'),
        ("[machine]\nresaw_max = 0.5\n", "12.7 mm, outside 30 to 1000"),
        ("[machine]\nplaner_min = 0.5\n", "12.7 mm, outside 50 to 2000"),
        ("[machine]\nsnipe = 15\n", "381 mm, outside 0 to 300"),
        ("[machine]\nkerf = 3\n", "is not a known key"),
        ('[paper]\nroll = "A9"\n', 'Write "A0", "36 in" or a width'),
        ('[paper]\nroll = "9 ft"\n', "2743.2 mm is outside 250 to 2000"),
        ('[paper]\ntiles = "A5"\n', '"A4" or "Letter" or "A3"'),
        ('[paper]\nbook = "A3"\n', '"A4" or "Letter"'),
        ('[paper]\ntile_measured = ["110 mm", "100 mm"]\n', "110 mm is outside 97 to 103"),
        ('[paper]\nroll_measured = ["100 mm", "100 mm"]\n', "100 mm is outside 970 to 1030"),
    ],
)
def test_wrong_values_are_told(tmp_path: Path, text: str, told: str) -> None:
    (fault,) = faults(tmp_path, SOUND + text)
    assert told in fault
    assert "boat.toml:" in fault


def test_paper_is_read_and_corrects_the_other_way(tmp_path: Path) -> None:
    text = '[paper]\nroll = "A0"\ntiles = "A3"\nbook = "Letter"\nroll_measured = ["1004 mm", "99.5 mm"]\n'
    paper = read(tmp_path, SOUND + text).paper
    assert (paper.roll, paper.tiles, paper.book) == (841.0, "A3", "Letter")
    assert paper.roll_correction == pytest.approx((1 / 1.004, 1 / 0.995))
    assert read(tmp_path, SOUND).paper == PaperSettings()
    assert read(tmp_path, SOUND + '[paper]\nroll = "30 in"\n').paper.roll == pytest.approx(762.0)


def test_a_router_needs_its_cutter_and_two_millimetres() -> None:
    assert MachineSettings(cutter=12.7).spacing == 14.7
    assert MachineSettings(cutting="bandsaw").spacing == 5.0
