"""Glue plans: sums and orders worked by hand.  Minutes: area over the pace, and 0.4 a clamp (common practice, no
source).  A 5.6 m log at 150 mm wants 38 clamps, at 100 mm 57 (worked figures, there with clamps at the very ends;
here the outermost stand 40 mm in)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.yard import settings_of
from tests.exact_hulls import Prism
from tests.shop.members_yard import BOTTOM, SIDE, members, skins_of

from strakewright.errors import Finding
from strakewright.members import Member, Ply
from strakewright.outfit import GlueSettings, Outfit
from strakewright.settings import MemberSettings
from strakewright.shop.clamping import clamp_positions, clamping_of, from_the_middle

PLIES = tuple(Ply(k, 8.0, 50.0, 5600.0, (), ()) for k in range(1, 7))


@pytest.mark.parametrize(("spacing", "want"), [(150.0, 38), (100.0, 57)])
def test_how_many_clamps(spacing: float, want: int) -> None:
    positions = clamp_positions(5600.0, spacing)
    assert abs(len(positions) - want) <= 1
    assert np.diff(positions).max() <= spacing + 1e-9
    assert positions[0] == 5600.0 - positions[-1] == 40.0


def test_glue_by_the_face_and_goes_within_the_open_time() -> None:
    """Five faces of 5.6 x 0.05 = 0.28 m2: 98 g at 350 g/m2; 4.2 min each at 4 m2 an hour.  57 clamps take 22.8 min:
    in 30 min 7.2 are left, one face a go; in 40 min four."""
    plan = clamping_of(PLIES, GlueSettings(spread=350.0, pace=4.0, open_time=30.0, clamp_spacing=100.0))
    assert plan is not None
    assert plan.face_g == pytest.approx([98.0] * 5)
    assert [b.plies for b in plan.batches] == [(1, 2), (3, 3), (4, 4), (5, 5), (6, 6)]
    assert plan.batches[0].minutes == pytest.approx(4.2 + 0.4 * 57)
    plan = clamping_of(PLIES, GlueSettings(open_time=40.0))
    assert plan is not None
    assert [b.plies for b in plan.batches] == [(1, 5), (6, 6)]
    assert [b.glue_g for b in plan.batches] == pytest.approx([4 * 98.0, 98.0])
    assert all(b.minutes <= 40.0 for b in plan.batches)


def test_clamps_are_counted_numbered_and_tightened_from_the_middle_in_time() -> None:
    """Question 16."""
    plan = clamping_of(PLIES, GlueSettings(open_time=35.0))
    assert plan is not None
    assert sorted(plan.order) == list(range(1, len(plan.positions) + 1))
    away = [round(abs(plan.positions[k - 1] - 2800.0), 6) for k in plan.order]
    assert away == sorted(away)
    assert all(b.clamps == len(plan.positions) and b.minutes <= 35.0 for b in plan.batches)
    assert from_the_middle(4) == (3, 2, 4, 1)


def test_a_solid_member_has_no_glue_plan() -> None:
    assert clamping_of(PLIES[:1], GlueSettings()) is None


def clamp(glue: GlueSettings, **more: object) -> tuple[Member, list[Finding]]:
    boat = replace(settings_of((BOTTOM, SIDE)), outfit=Outfit(glue=glue))
    ask = MemberSettings("clamp", "sheer", 45.0, 24.0, plies=3, **more)  # type: ignore[arg-type]
    made, found = members(skins_of(Prism().mesh(), BOTTOM, SIDE), ask, boat=boat)
    return made["clamp"], found


def test_too_few_clamps_and_too_little_time_are_told() -> None:
    """5 m: 51 clamps at 100 mm, 20.4 min of clamping alone."""
    made, found = clamp(GlueSettings(clamps=30, open_time=20.0))
    assert made.clamping is not None
    told = {f.code: f for f in found}
    assert f"{len(made.clamping.positions)} clamps are wanted" in told["clamps-short"].what
    assert "30 are there" in told["clamps-short"].what
    assert "stays open 20 min" in told["glue-time"].what
    _, found = clamp(GlueSettings(clamps=60, open_time=60.0))
    assert not [f for f in found if f.code in ("clamps-short", "glue-time")]
