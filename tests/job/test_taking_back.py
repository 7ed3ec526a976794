"""A lining.json that was edited by hand decides seams and joints."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from strakewright.errors import InputError
from strakewright.job import BuildOptions, build, load
from strakewright.job.headline import lining_record
from strakewright.read.liningfile import read_lining
from strakewright.write.records import lining_document, write_json
from strakewright_cli.app import run


def quiet(stage: str, figure: float, done: float) -> None:
    """Nobody watches."""


@pytest.fixture(scope="module")
def starter(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("starter") / "boat"
    assert run(["new", str(folder)]) == 0
    return folder / "boat.toml"


def test_a_moved_joint_stays_where_it_was_put(starter: Path, tmp_path: Path) -> None:
    first = build(load(starter), BuildOptions(seconds=0), quiet)
    record = lining_record(first)
    side = next(row for row in record["layers"] if row["panel"] == "side")
    side["courses"], side["joints_at_x"] = 5, {"2": [1700.0]}
    file = tmp_path / "lining.json"
    write_json(file, lining_document(record))
    again = build(load(starter, file), BuildOptions(seconds=0), quiet)
    planks = [p for p in again.planks if p.panel == "side" and p.side == "port"]
    assert {p.course for p in planks} == {1, 2, 3, 4, 5}
    ends = [e for p in planks if p.course == 2 for e in p.ends if e.meets == "scarf"]
    assert len(ends) == 2
    for end in ends:  # the joint is cut square to the plank at its middle line: x there is what was written
        assert float(np.mean(end.seam[:, 0])) == pytest.approx(1700.0, abs=2.0)


@pytest.mark.parametrize(
    ("change", "word"),
    [
        ({"courses": 0}, "courses"),
        ({"lining": "wavy"}, "lining"),
        ({"joints_at_x": {"two": [1]}}, "two"),
        ({"joints_at_x": {"2": [900, 300]}}, "order"),
        ({"starboard_joints_at_x": {"2": [900, 300]}}, "order"),
        ({"width": "wide"}, "width"),
    ],
)
def test_a_bad_lining_file_is_told_by_layer_and_key(tmp_path: Path, change: dict[str, object], word: str) -> None:
    file = tmp_path / "lining.json"
    row = {"panel": "side", "layer": 1} | change
    file.write_text(json.dumps({"format": "strakewright/lining@1", "units": "mm", "layers": [row]}))
    with pytest.raises(InputError, match=word) as caught:
        read_lining(file)
    assert "layers[0]" in str(caught.value)
