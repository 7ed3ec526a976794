"""Weights of a whole boat gathered: the check of planks against their skin holds, and fails when a weight is wrong."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh
from tests.acceptance.conftest import HERRINGBONE, STRAKES
from tests.acceptance.yard import planked, settings_of
from tests.exact_hulls import Prism

from strakewright.job.reckoning import Made, _missing, _stores, _weight_checks, _weights, bodies_by_group
from strakewright.ledger import total
from strakewright.outfit import Item, Outfit
from strakewright.settings import SheathingSettings
from strakewright.solids import Body
from strakewright.stores.joints import withdrawal
from strakewright.weigh.weights import Woods


@pytest.fixture(scope="module")
def made() -> Made:
    boat = settings_of((replace(STRAKES, courses=4), HERRINGBONE))
    found = planked(Prism(length=2400.0).mesh(), boat)
    return Made(boat, found.hull, found.frames, found.layers, (), None, {})  # type: ignore[arg-type]


def test_planks_against_their_skin_hold_and_fail_when_broken(made: Made) -> None:
    weights = _weights(made, _stores(made), Woods(moisture=15.0))
    checks = _weight_checks(made, weights)
    assert len(checks) == 3
    assert all(c.holds for c in checks)
    heavier = [replace(w, mass=w.mass * 1.2) if w.name in {p.id for p in made.layers[0].planks} else w for w in weights]
    assert [c.holds for c in _weight_checks(made, heavier)] == [False, True, True]


def test_groups_of_other_wood_and_what_is_missing(made: Made) -> None:
    """A keelson of 2000 x 60 x 40 mm and a frame piece: ash at 12 % is 672 kg/m3."""
    box = trimesh.creation.box((2000.0, 60.0, 40.0))
    keelson = Body("keelson", np.array(box.vertices), np.array(box.faces), {"species": "white ash"})
    piece = replace(keelson, name="F1 floor", info={"species": "white ash", "frame": "F1"})
    with_wood = replace(made, bodies=bodies_by_group([piece], [keelson]))
    weights = _weights(with_wood, _stores(with_wood), Woods())
    assert total(w for w in weights if w.group == "members") == pytest.approx(2000 * 60 * 40 * 672e-9)
    assert total(w for w in weights if w.group == "frames") == pytest.approx(2000 * 60 * 40 * 672e-9)
    assert _missing(with_wood)[0] == "transom"
    assert "[[item]]" in _missing(made)[-1]


def test_cloth_and_items_are_weighed(made: Made) -> None:
    outfit = Outfit(items=(Item("crew", 80.0, (1000.0, 0.0, 400.0), "person", 2),))
    boat = replace(made.boat, sheathing=SheathingSettings(panels=("bottom",)), outfit=outfit)
    sheathed = replace(made, boat=boat)
    weights = {w.name: w for w in _weights(sheathed, _stores(sheathed), Woods())}
    assert weights["crew"].mass == 160.0
    job = _stores(sheathed).sheathed
    assert job is not None
    assert weights["cloth and resin"].mass == pytest.approx(job.aboard)


def test_screws_hold_in_the_wood_they_go_into(made: Made) -> None:
    """Withdrawal goes with the square of the gravity (Wood Handbook): from oak frames, not from the planking; an outer
    rail holds no thread."""
    planking = {s.wood for s in _stores(made).screw}
    assert planking == {p.species for p in made.planks}
    box = trimesh.creation.box((600.0, 32.0, 90.0))
    frame = Body("F1 floor", np.array(box.vertices), np.array(box.faces), {"species": "white oak", "frame": "F1"})
    rail = replace(frame, name="rail", info={"species": "western larch", "place": "outside the planking"})
    framed = _stores(replace(made, bodies=bodies_by_group([frame], [rail]))).screw
    assert {s.wood for s in framed} == {"white oak"}
    pulls = {g: withdrawal(g, framed[0].diameter, framed[0].thread)[0] for g in (0.60, 0.68)}
    assert pulls[0.60] <= framed[0].ultimate <= pulls[0.68]  # white oak: between green and dry gravity of the handbook
