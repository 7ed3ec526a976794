"""docs/backbone.md names a figure for every question on backbone, frames and set-up: each stands where it says, and
says what a prism says (source: plane geometry; V bottom of 20 degrees, sides flared 10, no bevel anywhere)."""

from __future__ import annotations

import itertools
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from strakewright.frames import Framing
from strakewright.job.framing import framing_figures
from strakewright.proof.bearing import bearing_checks
from strakewright.proof.framing import judge_frames
from strakewright.settings import BackboneSettings, ChineSettings, FrameSettings, MemberSettings
from strakewright.shop.frames import saw_frame
from strakewright.shop.inside import inside_of
from strakewright.shop.rawpieces import FrameSpec
from strakewright.shop.setup import set_up
from strakewright.write.framerecords import frames_document
from strakewright.write.memberrecords import members_document
from strakewright.write.records import json_text
from tests.acceptance.yard import settings_of
from tests.exact_hulls import Prism
from tests.shop.members_yard import BOTTOM, SIDE, members, skins_of

PAGE = (Path(__file__).parents[2] / "docs" / "backbone.md").read_text(encoding="utf-8")
ROWS = re.findall(r"^\| (\d+) \| [^|]+ \| (.+) \|$", PAGE, re.MULTILINE)


@pytest.fixture(scope="module")
def told() -> dict[str, Any]:
    """The three files of a prism with frames and members, and the names of checks and findings."""
    skins = skins_of(Prism().mesh(), BOTTOM, SIDE)
    clamp = MemberSettings("clamp", "sheer", 45.0, 30.0, plies=30, glued="on former")
    rail = MemberSettings("rail", "sheer", 30.0, 200.0, face="outside", plies=1)
    made, findings = members(
        skins,
        clamp,
        rail,
        chine=ChineSettings(log=32.0, log_land=40.0, log_plies=3),
        backbone=BackboneSettings(keelson_sided=90.0, keelson_moulded=50.0),
        longest=3000.0,
    )
    inner = [m for m in made.values() if m.place == "inside"]
    inside = inside_of(skins.hull, (BOTTOM, SIDE))
    spec = FrameSpec(sided=32.0, moulded=120.0)
    sawn = [saw_frame(f"F{k}", 900.0 * k, spec, inside, inner)[0] for k in (1, 2, 3)]
    sheet, frames, _ = set_up([f for f in sawn if f is not None], [], None, skins.hull.length)
    framing = Framing(frames, (), sheet)
    boat = replace(settings_of((BOTTOM, SIDE)), frames=FrameSettings(spacing=900.0, moulded=120.0))
    depths = {p.name: (t, 0.0) for p, t in zip(skins.hull.panels, skins.thick, strict=True)}
    checks = [*judge_frames(framing, inner), *bearing_checks(skins.hull, made.values(), depths)]
    files = {
        "summary.json": {"framing": framing_figures(framing, boat)},
        "frames.json": frames_document(framing),
        "members.json": members_document(made.values(), ()),
    }
    said = {name: json.loads(json_text(record)) for name, record in files.items()}
    return said | {"checks": {c.name for c in checks}, "codes": {f.code for f in findings}, "held": checks}


def found(record: Any, path: str) -> list[Any]:
    """Everything at a path such as frames[].pieces[].notches."""
    here = [record]
    for step in path.split("."):
        here = [h[step.removesuffix("[]")] for h in here if h is not None]
        if step.endswith("[]"):
            here = [item for row in here for item in row]
    return [h for h in here if h is not None]


def test_every_question_has_its_row() -> None:
    assert [int(number) for number, _ in ROWS] == [3, *range(6, 18)]


@pytest.mark.parametrize(("number", "answer"), ROWS)
def test_the_figure_stands_where_the_page_says(told: dict[str, Any], number: str, answer: str) -> None:
    places = re.findall(r"`(\w+\.json): ([\w.\[\]]+)`", answer)
    assert places, number
    for name, path in places:
        assert found(told[name], path), f"{name}: {path}"
    for check in re.findall(r'check "([^"]+)"', answer):
        assert any(check in name for name in told["checks"]), check


def test_the_answers_of_a_prism(told: dict[str, Any]) -> None:
    summary, frames, made = told["summary.json"]["framing"], told["frames.json"], told["members.json"]
    assert summary["lines_are_to"] == "outside"
    assert [f["x"] for f in frames["frames"]] == [900.0, 1800.0, 2700.0]
    for frame in summary["frames"]:
        assert frame["deduction"]["side"] == pytest.approx([19.0, 19.0], abs=1e-3)  # no bevel, no growth
        assert frame["standing"] == 0
    assert summary["strongback"]["sheer_check"] < 1e-9
    assert len(set(found(frames, "set_up.rows[].leg"))) == 1
    log = next(m for m in made["members"] if m["name"] == "chine log")
    joints = [p["joints"][0] for p in log["plies"]]
    assert all(abs(a - b) >= 300.0 for a, b in itertools.pairwise(joints))
    order = log["glue"]["order"]
    assert sorted(order) == list(range(1, len(order) + 1))
    assert abs(order[0] - (len(order) + 1) / 2) <= 0.5
    assert all(b["minutes"] <= 30.0 for b in log["glue"]["batches"])
    runs = [b["run"] for b in log["bevels"]]
    assert max(b - a for a, b in itertools.pairwise(runs)) <= 300.0 + 1e-6
    assert all(b["bevel_deg"] == pytest.approx([30.0, 30.0], abs=0.02) for b in log["bevels"])  # half the fold of 60
    assert "test-piece" in told["codes"]
    assert all(c.holds for c in told["held"])
