"""The checker of joints sees every way of spoiling them; sound ones pass (rule of glued scarfs, common practice)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.yard import Planked, planked, rectangle, settings_of
from tests.exact_hulls import cylinder_wall
from tests.exact_meshes import Make

from strakewright.errors import Check
from strakewright.parts import Margin, Plank
from strakewright.proof.jointed import JointRule, joint_checks
from strakewright.settings import PlankingSettings

STRAKES = PlankingSettings(panel="side", pattern="strakes", thickness=19.0, courses=6, start="sheer")
BOARDS = tuple(rectangle(f"B{i}", 3000.0, 200.0, 25.0) for i in range(4))
CUT, RULE = "joints meet and taper as they should, side layer 1", "joints keep the rule in force, side layer 1"


@pytest.fixture(scope="module")
def scarfed() -> Planked:
    return planked(cylinder_wall(Make(triangles=3000)), settings_of((STRAKES,), spacing=500.0), BOARDS)


@pytest.fixture(scope="module")
def butted() -> Planked:
    butts = replace(STRAKES, joint="butt")
    return planked(cylinder_wall(Make(triangles=3000)), settings_of((butts,), spacing=300.0), BOARDS)


def checks(boat: Planked, planks: list[Plank] | None = None, rule: JointRule | None = None) -> dict[str, Check]:
    rule = rule or boat.layers[0].joint_rule
    return {c.name: c for c in joint_checks(planks or boat.planks, boat.frames, [rule])}


def test_sound_joints_pass(scarfed: Planked, butted: Planked) -> None:
    for boat in (scarfed, butted):
        assert sum(e.meets in ("scarf", "butt") for p in boat.planks for e in p.ends) >= 8
        assert all(c.holds for c in checks(boat).values())
    assert {c.name for c in checks(scarfed).values()} == {CUT, RULE}


def test_a_butt_is_square_and_a_scarf_eight_to_one(scarfed: Planked, butted: Planked) -> None:
    """L = 8 x 19 = 152."""
    for boat, long in ((scarfed, 152.0), (butted, 0.0)):
        for end in (e for p in boat.planks for e in p.ends if e.meets in ("scarf", "butt")):
            assert 19.0 * abs(np.tan(end.bevel[0])) == pytest.approx(long, abs=1e-6)
            assert end.neighbour is not None


Spoil = Callable[[Margin], Margin]


@pytest.mark.parametrize(
    "spoil",
    [
        lambda e: replace(e, seam=e.seam + 0.1),
        lambda e: replace(e, bevel=-e.bevel),
        lambda e: replace(e, bevel=e.bevel * 0.99),
        lambda e: replace(e, neighbour=None),
        lambda e: replace(e, meets="butt"),
    ],
    ids=["apart", "feather forward", "too short", "no mate", "a butt to a scarf"],
)
def test_a_spoiled_joint_is_seen(scarfed: Planked, spoil: Spoil) -> None:
    first = next(p for p in scarfed.planks if any(e.meets == "scarf" for e in p.ends))
    ends = tuple(spoil(e) if e.meets == "scarf" else e for e in first.ends)
    planks = [replace(p, ends=ends) if p.id == first.id else p for p in scarfed.planks]
    assert not checks(scarfed, planks)[CUT].holds


def test_a_rule_that_is_broken_is_seen(scarfed: Planked) -> None:
    """Joints of neighbours in this boat stand a bay or two apart: no rule of six bays or two metres is kept."""
    kept = scarfed.layers[0].joint_rule
    assert not checks(scarfed, rule=replace(kept, bays=6))[RULE].holds
    assert not checks(scarfed, rule=replace(kept, apart=2000.0))[RULE].holds


def test_joints_of_one_bay_are_counted_across_strakes(scarfed: Planked) -> None:
    """Six strakes over few bays: some strake repeats the bay of one not beside it."""
    kept = scarfed.layers[0].joint_rule
    one_bay = checks(scarfed, rule=replace(kept, between=3))[RULE]
    assert not one_bay.holds
    assert one_bay.value >= 1
