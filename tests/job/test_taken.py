"""Joints that the boards decide: the nesting takes the split that fits them, and the planks follow."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from tests.acceptance.yard import rectangle, settings_of
from tests.exact_hulls import cylinder_wall
from tests.exact_meshes import Make

from strakewright.job.building import Build, BuildOptions, build
from strakewright.job.inputs import Inputs
from strakewright.job.taken import layers_taken
from strakewright.proof.closure import closure
from strakewright.proof.jointed import joint_checks
from strakewright.settings import PlankingSettings
from strakewright.triangles import TriangleMesh

STRAKES = PlankingSettings(
    panel="side", pattern="strakes", thickness=19.0, courses=6, start="sheer", joint="scarf", alternatives=2
)


@pytest.fixture(scope="module")
def built() -> Build:
    """Cylinder wall in scarfed strakes, enough boards of 3 m for all of them."""
    boards = tuple(rectangle(f"B{i}", 3000.0, 200.0, 25.0) for i in range(60))
    mesh = TriangleMesh(*cylinder_wall(Make(triangles=3000)))
    inputs = Inputs(settings_of((STRAKES,), spacing=450.0), mesh, boards, ())
    return build(inputs, BuildOptions(None, 1), lambda *_: None)


def test_every_jointed_strake_can_be_cut_otherwise(built: Build) -> None:
    assert len(built.choices) >= 3  # alternatives that clash with a neighbour's are not offered
    ids = {p.id for p in (*built.parts, *built.spare_parts)}
    for choice in built.choices:
        assert len(choice.options) >= 2
        assert all(set(option.parts) <= ids for option in choice.options)
        assert all(option.cost >= 0 and option.note.startswith("joints at x") for option in choice.options)
    assert set(built.plan.chosen) == {c.id for c in built.choices}


def test_what_is_placed_is_what_was_chosen(built: Build) -> None:
    placed = {q.part for q in built.plan.placements}
    assert placed == {p.id for p in built.parts}
    assert built.status == 0, [c.name for c in built.checks if not c.holds]


def test_planks_follow_the_choice(built: Build) -> None:
    """Every option of every strake at once: the planks still close, joints keep the rule, neighbours are known."""
    for option in range(2):
        chosen = {c.id: min(option + k % 2, len(c.options) - 1) for k, c in enumerate(built.choices)}
        layers = layers_taken(built.layers, chosen, {"side": 0})
        planks = [p for layer in layers for p in layer.planks]
        ids = {p.id for p in planks}
        assert len(ids) == len(planks)
        for choice in built.choices:
            assert set(choice.options[chosen[choice.id]].parts) <= ids
        assert all(e.neighbour in ids for p in planks for e in (p.first, p.second) if e.meets == "seam")
        checks = (
            *closure(planks, [layer.truth for layer in layers]),
            *joint_checks(planks, built.frames, [layer.joint_rule for layer in layers]),
        )
        assert [c.name for c in checks if not c.holds] == []


def test_without_alternatives_there_is_no_choice(built: Build) -> None:
    plain = replace(STRAKES, alternatives=0)
    inputs = replace(built.inputs, boat=settings_of((plain,), spacing=450.0))
    again = build(inputs, BuildOptions(None, 1), lambda *_: None)
    assert (again.choices, again.spare_parts) == ((), ())
    assert isinstance(inputs.boat.path, Path)
    assert np.isfinite(again.plan.net_yield)
