"""A first run on a machine does not wait for compiled moves; runs that must repeat exactly do."""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.nest import Search, engine
from strakewright.nest.compiling import all_compiled, compiled, kept
from strakewright.nest.job import Order
from tests.nest.yard import RULES, planks, rough

numba = pytest.importorskip("numba")


@pytest.fixture
def fresh(tmp_path, monkeypatch):
    """A machine that has compiled nothing, and the orders it sets a helper to."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    begun: list[Order] = []
    monkeypatch.setattr(engine, "compile_meanwhile", lambda order, work: begun.append(order))
    return begun


def order():
    rng = np.random.default_rng(5)
    return Order(tuple(planks(rng, 8)), tuple(rough(rng, 5)), RULES)


def test_a_timed_search_on_a_fresh_machine_begins_plain_and_compiles_meanwhile(fresh):
    assert not compiled()
    assert engine.ordered(order(), Search(seconds=5.0)).plain
    assert len(fresh) == 1
    all_compiled()
    assert engine.ordered(order(), Search(seconds=5.0)).plain  # plans of one run are made by the same moves
    assert len(fresh) == 1


@pytest.mark.parametrize("search", [Search(seconds=0.0), Search(rounds=3), Search(seconds=None)])
def test_what_must_repeat_exactly_always_uses_the_same_moves(fresh, search):
    assert not engine.ordered(order(), search).plain
    assert fresh == []


def test_once_compiled_the_moves_are_used_and_other_sources_begin_again(fresh, tmp_path, monkeypatch):
    all_compiled()
    assert compiled()
    assert tmp_path in kept().parents
    assert not engine.ordered(order(), Search(seconds=5.0)).plain
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "other"))
    assert not compiled()
