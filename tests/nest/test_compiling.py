"""Every search is made by compiled moves: compiled once on a machine, by a helper process if asked ahead."""

from __future__ import annotations

import multiprocessing
import shutil
import time
from pathlib import Path

import numpy as np
import pytest

from strakewright.compiling import home
from strakewright.nest import Search, compiling, engine, nest, practice, swift, swiftfill
from strakewright.nest.compiling import all_compiled, compiled, kept
from tests.nest.yard import RULES, board, part, planks, rectangle, rough


@pytest.fixture
def fresh(tmp_path, monkeypatch):
    """A machine that has compiled nothing."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    home.cache_clear()
    yield tmp_path
    home.cache_clear()


def test_a_search_waits_until_all_is_compiled(fresh, monkeypatch):
    begun, told = [], []
    monkeypatch.setattr(engine, "compile_now", lambda: begun.append(1))
    job = [part("P", rectangle(500, 80))], [board("B", rectangle(900, 120))]
    assert nest(*job, RULES, Search(seconds=0.0), lambda stage, *_: told.append(stage)).placements
    assert begun == [1]
    assert told[0].startswith("compiling")
    all_compiled()
    assert nest(*job, RULES, Search(seconds=0.0)).placements
    assert begun == [1]


def test_one_helper_compiles_ahead_and_is_waited_for(fresh, monkeypatch):
    monkeypatch.setattr(practice, "practise", lambda: time.sleep(0.5))  # a forked helper sees this too
    practice.compile_ahead()
    practice.compile_ahead()
    helpers = [c for c in multiprocessing.active_children() if c.name == practice.COMPILER]
    assert len(helpers) == 1
    monkeypatch.setattr(practice, "practise", lambda: pytest.fail("compiled twice"))
    practice.compile_now()
    assert compiled()
    assert not helpers[0].is_alive()


def test_what_is_compiled_belongs_to_exactly_these_sources(fresh):
    assert not compiled()
    all_compiled()
    assert compiled()
    assert fresh in kept().parents


def test_another_installation_compiles_for_itself(fresh, monkeypatch, tmp_path):
    """Numba keeps machine code by the path and the time of the source, so the mark must tell them apart as well."""
    all_compiled()
    there = tmp_path / "elsewhere" / "nest"
    shutil.copytree(Path(compiling.__file__).parent, there)
    monkeypatch.setattr(compiling, "__file__", str(there / "compiling.py"))
    assert not compiled()


def test_practice_leaves_nothing_to_compile():
    """Signatures known after practice are all a job with defects, matched pairs and resawn boards asks for."""
    practice.practise()
    made = {f: len(f.signatures) for m in (swift, swiftfill) for f in vars(m).values() if hasattr(f, "signatures")}
    assert len(made) > 20

    rng = np.random.default_rng(5)
    nest(planks(rng, 12), rough(rng, 8), RULES, Search(rounds=1, workers=1))
    assert {f: len(f.signatures) for f in made} == made


def test_where_nothing_can_be_kept_a_folder_for_the_run_serves(fresh, monkeypatch):
    monkeypatch.setenv("XDG_CACHE_HOME", "/proc/nowhere")
    home.cache_clear()
    all_compiled()
    assert compiled()
    assert "/proc" not in str(kept())
