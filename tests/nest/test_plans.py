"""Plans are sound, complete where that is known to be possible, and the same on every run."""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.lumber import Defect, Rules
from strakewright.nest import Search, engine, nest
from strakewright.nest.job import Order, make_ready
from strakewright.plan import Plan
from strakewright.proof.referee import judge
from tests.bench.nest_yard import planting
from tests.nest.yard import RULES, board, bow, part, planks, planted, rectangle, rough

FIRST = Search(seconds=0)


def faults(parts, boards, rules, plan):
    return [f"{f.code} {f.subject} {f.what}" for f in judge(parts, boards, rules, plan)[1]]


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize(
    "rules",
    [
        RULES,
        Rules(spacing=8, edge_margin=3, defect_margin=3, objective="net"),
        Rules(spacing=4, edge_margin=10, defect_margin=12, max_skew_deg=1, objective="boards"),
        Rules(spacing=0, edge_margin=0, defect_margin=0, max_skew_deg=0, objective="gross"),
    ],
)
def test_plans_on_rough_boards_pass_the_referee(seed, rules):
    rng = np.random.default_rng(seed)
    parts, boards = planks(rng, 14), rough(rng, 9)
    plan = nest(parts, boards, rules, FIRST)
    assert faults(parts, boards, rules, plan) == []
    assert len(plan.placements) + len(plan.unplaced) == len(parts)
    assert set(plan.explained) == set(plan.unplaced)


@pytest.mark.parametrize("seed", range(8))
def test_parts_sawn_from_the_boards_are_all_placed(seed):
    rng = np.random.default_rng(100 + seed)
    parts, boards = planted(rng, 5, 3)
    plan = nest(parts, boards, RULES, Search(rounds=4, seed=seed, workers=1))
    assert plan.unplaced == ()
    assert faults(parts, boards, RULES, plan) == []


def test_searching_is_never_worse_than_the_first_plan():
    rng = np.random.default_rng(5)
    parts, boards = planted(rng, 6, 3)
    first = nest(parts, boards, RULES, FIRST)
    later = nest(parts, boards, RULES, Search(rounds=3, workers=1))
    assert later.gross_m2 <= first.gross_m2
    assert (later.rounds, first.rounds) == (3, 0)


def test_same_seed_and_rounds_give_the_same_plan_on_one_worker_or_two():
    rng = np.random.default_rng(7)
    parts, boards = planks(rng, 18), rough(rng, 9)
    one = nest(parts, boards, RULES, Search(rounds=2, seed=3, workers=1))
    two = nest(parts, boards, RULES, Search(rounds=2, seed=3, workers=2))
    assert one == two


def test_two_spooned_curved_planks_share_a_board_narrower_than_their_boxes():
    """Closed form: boxes are 90 + 40 = 130 wide, two need 2 x 130 + 8 + 8 = 276; spooned they need
    130 + (90 + 8) + 8 = 236 plus what the slope of the curve adds to the spacing (under 1 mm)."""
    parts = [part("A", bow(2400, 90, 40)), part("B", bow(2400, 90, 40))]
    boards = [board("W", rectangle(2450, 240))]
    plan = nest(parts, boards, RULES, FIRST)
    assert plan.unplaced == ()
    assert faults(parts, boards, RULES, plan) == []


def test_slanted_planks_tuck_into_each_other():
    """Closed form: four parallelograms of base 500 and lean 90 end to end need 4 x 500 + 90 + 3 gaps of 8 / sin 45
    + 8 = 2132 mm; as boxes they need 4 x 590 + 3 x 8 + 8 = 2392."""
    ring = np.array([[0.0, 0.0], [500, 0], [590, 90], [90, 90]])
    parts = [part(f"P{k}", ring) for k in range(4)]
    boards = [board("B", rectangle(2160, 108))]
    assert nest(parts, boards, RULES, FIRST).unplaced == ()


def test_a_plank_lies_beside_a_knot_on_either_side():
    """A knot in the middle of a board leaves 85 mm below and 85 above; two 70 mm strips fit, by subtraction."""
    knot = Defect("knot", np.array([[900, 90], [930, 90], [930, 110], [900, 110]], dtype=float))
    boards = [board("B", rectangle(2000, 200), defects=(knot,))]
    parts = [part("A", rectangle(1900, 70)), part("B", rectangle(1900, 70))]
    plan = nest(parts, boards, RULES, FIRST)
    assert plan.unplaced == ()
    assert faults(parts, boards, RULES, plan) == []


def test_a_part_as_long_as_the_board_allows_is_placed():
    """2995.3 long between two margins of 4 in 3004.8: 1.5 mm to spare, by subtraction."""
    plan = nest([part("A", rectangle(2995.3, 60))], [board("B", rectangle(3004.8, 70))], RULES, FIRST)
    assert plan.unplaced == ()


def test_a_part_that_fits_only_askew_is_turned():
    """Closed form: a 2000 x 60 strip drawn 2 deg off its grain is 130 high; turned back it needs 68 of the 75."""
    c, s = np.cos(np.radians(2)), np.sin(np.radians(2))
    leaning = part("A", rectangle(2000, 60) @ np.array([[c, s], [-s, c]]))
    boards = [board("B", rectangle(2040, 75))]
    plan = nest([leaning], boards, RULES, FIRST)
    assert faults([leaning], boards, RULES, plan) == []
    assert plan.placements[0].rotation_deg % 180 == pytest.approx(178, abs=0.01)


def test_reason_names_the_clear_strip_a_part_needs():
    """Closed form: a 200 x 3000 strip needs 200 + 2 x 4 wide and 3000 + 2 x 4 long."""
    parts = [part("wide", rectangle(3000, 200)), part("fits", rectangle(1000, 80))]
    boards = [board(f"B{k}", rectangle(4000, 150)) for k in range(3)]
    plan = nest(parts, boards, RULES, FIRST)
    assert plan.unplaced == ("wide",)
    assert plan.explained == {"wide": "fits none of 3 boards: needs 208 mm clear over 3008 mm"}


def test_reason_tells_wrong_stock_and_full_boards():
    parts = [
        part("thick", rectangle(900, 80), thickness=25.0),
        part("A", rectangle(1900, 80)),
        part("B", rectangle(1900, 80)),
    ]
    plan = nest(parts, [board("only", rectangle(2000, 100))], RULES, FIRST)
    assert plan.explained["thick"] == "no board is white ash of 25 mm or more (1 board looked at)"
    assert plan.explained[plan.unplaced[1]].startswith("fits 1 of 1 board alone, but they are full")


def test_species_and_thickness_are_kept_apart():
    parts = [part("oak", rectangle(900, 80), species="white oak"), part("thin", rectangle(900, 80), thickness=9.0)]
    boards = [board("ash", rectangle(1000, 100)), board("oak", rectangle(1000, 100), species="white oak")]
    plan = nest(parts, boards, RULES, FIRST)
    assert {p.part: p.board for p in plan.placements} == {"oak": "oak", "thin": "ash"}


def test_nothing_fits_is_an_explained_empty_plan_and_so_is_no_parts():
    plan = nest([part("A", rectangle(3000, 300))], [board("B", rectangle(1000, 100))], RULES, FIRST)
    assert (plan.placements, plan.unplaced) == ((), ("A",))
    assert plan.explained["A"].startswith("fits none of 1 board")
    plan = nest([], [board("B", rectangle(1000, 100))], RULES, Search(seconds=1))
    assert (plan.placements, plan.unplaced, plan.gross_m2) == ((), (), 0.0)


def test_ctrl_c_gives_the_best_plan_so_far():
    def watch(stage, figure, fraction):
        if stage == "searching":
            raise KeyboardInterrupt

    rng = np.random.default_rng(1)
    parts, boards = planted(rng, 4, 2)
    plan = nest(parts, boards, RULES, Search(rounds=50, workers=1), watch)
    assert plan.interrupted
    assert isinstance(plan, Plan)
    assert faults(parts, boards, RULES, plan) == []


def test_net_objective_keeps_a_long_offcut():
    """A 1000 x 80 strip on a 4000 x 100 board: 4000 - 4 - 1000 - 8 (saw) >= 600 comes back, by subtraction."""
    rules = Rules(spacing=8, edge_margin=4, defect_margin=4, objective="net", min_offcut=600)
    plan = nest([part("A", rectangle(1000, 80))], [board("B", rectangle(4000, 100))], rules, FIRST)
    assert plan.gross_m2 == pytest.approx(0.4)
    assert plan.net_m2 == pytest.approx(0.4 - 0.1 * (4.0 - 0.004 - 1.0 - 0.008), abs=1e-3)


def test_a_board_sawn_up_with_a_millimetre_to_spare_is_filled_again():
    """Twelve parts sawn from three boards without a rest (its own sawing passes the referee); columns of 4 mm round one
    part out, finer ones do not."""
    job = planting(0)
    assert job.sawing is not None
    assert faults(job.parts, job.boards, job.rules, job.sawing) == []
    plan = nest(job.parts, job.boards, job.rules, Search(rounds=8, seed=0, workers=1))
    assert plan.unplaced == ()
    assert faults(job.parts, job.boards, job.rules, plan) == []


@pytest.mark.parametrize("seed", [1, 3, 5])
def test_bound_lies_below_the_sawing_and_close_to_it(seed):
    """The boards a planting was sawn from are a plan, so the bound may not pass their area."""
    job = planting(seed)
    sawn = {q.board for q in job.sawing.placements}
    area = sum(float(np.prod(np.ptp(b.outline, axis=0))) for b in job.boards if b.id in sawn) / 1e6
    plan = nest(job.parts, job.boards, job.rules, FIRST)
    assert plan.bound is not None
    assert plan.bound <= area + 1e-9
    assert plan.bound > 0.8 * area


def test_a_part_left_over_is_tried_for_whatever_the_time():
    """Rounds are counted in the plan; one part is longer than every board, so it stays left over."""
    rng = np.random.default_rng(3)
    parts = [*planks(rng, 5), part("long", rectangle(99000, 60))]
    plan = nest(parts, rough(rng, 6), RULES, Search(seconds=1e-6, workers=1))
    assert plan.unplaced == ("long",)
    assert plan.rounds >= 3


def test_finer_columns_are_tried_only_while_there_is_time(monkeypatch):
    """A part that fits no board asks for finer columns; by work both are tried, by the clock what fits in the time.
    Each first plan is made to take a second of a clock of our own, so 10 s take 1 + 1 + 1, 2.5 s only the first."""
    tried: list[int] = []
    clock = [0.0]

    def ready(order, finer):
        tried.append(finer)
        clock[0] += 1.0
        return make_ready(order, finer)

    monkeypatch.setattr(engine, "make_ready", ready)
    monkeypatch.setattr(engine.time, "monotonic", lambda: clock[0])
    order = Order(
        (part("long", rectangle(3000, 60)), part("A", rectangle(500, 60))), (board("B", rectangle(2000, 100)),), RULES
    )
    for until, expected in ((None, [1, 2, 4]), (10.0, [1, 2, 4]), (2.5, [1])):
        tried.clear()
        clock[0] = 0.0
        engine.begin(order, np.random.SeedSequence(0), until)
        assert tried == expected


def test_plans_are_put_together_within_the_time_even_where_it_ran_out_meanwhile(monkeypatch):
    """The clock is our own and goes on whenever it is asked, so in some search time is up between the question whether
    another round may begin and the round; the solver must be given a limit all the same."""
    limits: list[float | None] = []
    clock = [0.0, 0.0]

    def monotonic():
        clock[0] += clock[1]
        return clock[0]

    def covered(_shed, _archives, best, seconds, _nodes):
        limits.append(seconds)
        return best

    monkeypatch.setattr(engine.time, "monotonic", monotonic)
    monkeypatch.setattr(engine, "covered", covered)
    rng = np.random.default_rng(3)
    parts, boards = planks(rng, 6), rough(rng, 8)
    for step in np.linspace(0.05, 0.5, 10):
        clock[:] = 0.0, float(step)
        nest(parts, boards, RULES, Search(seconds=6.0, workers=1))
    assert len(limits) > 10
    assert all(limit is not None and 0.0 < limit < 6.0 for limit in limits)
