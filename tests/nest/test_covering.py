"""Plans put together from loads of both lines of search: covers small enough to find by hand."""

from __future__ import annotations

from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pytest

from strakewright.nest.archive import Archive
from strakewright.nest.covering import covered, handed_over, undoubled
from strakewright.nest.search import standing
from strakewright.nest.ways import Laid


def shed(parts, worth):
    """Boards of some worth; parts lie one way each, sizes do not matter."""
    return SimpleNamespace(
        parts=[None] * parts,
        boards=[None] * len(worth),
        source=np.arange(len(worth)),
        worth=np.array(worth, dtype=float),
        slabs=[object()] * len(worth),
        room=np.full(len(worth), 100.0),
        area=np.ones(parts),
        ways=SimpleNamespace(part=np.arange(parts), area=np.ones(parts)),
        rules=SimpleNamespace(objective="gross", min_offcut=0.0),
        choices=(),
    )


def load(*parts):
    return tuple(Laid(p, 0, 0.0) for p in parts)


def archive(job, *offers):
    made = Archive(len(job.parts))
    for board, *uses in offers:
        made.add(board, load(*uses), uses, float(job.worth[board]))
    return made


def lying(plan):
    return {b: sorted(p.way for p in laid) for b, laid in plan.loads.items()}


def test_half_a_plan_from_each_line_of_search_makes_a_whole_one():
    """By hand: 0 1 on a board of 1, 2 3 on another of 1: 2 in all, where the plan in hand costs 3."""
    job = shed(4, [1, 1, 3])
    hand = standing(job, {2: load(0, 1, 2, 3)}, ())
    found = covered(job, [archive(job, (0, 0, 1)), archive(job, (1, 2, 3))], hand, None, 100)
    assert lying(found) == {0: [0, 1], 1: [2, 3]}
    assert found.cost == pytest.approx(2.0)


def test_a_board_is_opened_once_only():
    """By hand: both cheap loads lie on board 0, so they cannot stand in one plan."""
    job = shed(4, [1, 1, 3])
    hand = standing(job, {2: load(0, 1, 2, 3)}, ())
    assert covered(job, [archive(job, (0, 0, 1)), archive(job, (0, 2, 3))], hand, None, 100) is hand


def test_a_part_in_two_loads_lies_on_one_board_in_the_end():
    job = shed(3, [1, 1, 5])
    hand = standing(job, {2: load(0, 1, 2)}, ())
    found = covered(job, [archive(job, (0, 0, 1), (1, 1, 2))], hand, None, 100)
    assert sorted(p for laid in lying(found).values() for p in laid) == [0, 1, 2]
    assert found.cost == pytest.approx(2.0)
    assert undoubled(job, {0: load(0, 1), 1: load(0, 1)}) == {0: load(0, 1), 1: ()}


@pytest.mark.parametrize("seed", range(4))
def test_covers_cost_what_trying_every_set_of_loads_gives(seed):
    """Against trying all sets of loads one by one."""
    rng = np.random.default_rng(seed)
    job = shed(6, [*rng.uniform(0.5, 1.5, 6).tolist(), 9.0])
    offers = [(int(rng.integers(6)), *sorted(rng.choice(6, 3, replace=False).tolist())) for _ in range(14)]
    hand = standing(job, {6: load(*range(6))}, ())
    costs = [
        sum(job.worth[o[0]] for o in some)
        for n in range(1, 7)
        for some in combinations(offers, n)
        if len({o[0] for o in some}) == n and set().union(*(o[1:] for o in some)) == set(range(6))
    ]
    found = covered(job, [archive(job, *offers[:7]), archive(job, *offers[7:])], hand, None, 100)
    assert found.cost == pytest.approx(min([9.0, *costs]))


def test_a_line_of_search_hands_over_its_plan_too_and_nothing_while_parts_are_left_over():
    job = shed(2, [1, 1])
    hand = standing(job, {0: load(0, 1)}, ())
    assert sorted(handed_over(job, archive(job, (1, 0)), hand).board.tolist()) == [0, 1]
    assert handed_over(job, archive(job, (1, 0)), standing(job, {1: load(0)}, (1,))).loads == []
