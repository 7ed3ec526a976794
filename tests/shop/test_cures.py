"""What would help: every cure told is put back into the verdict and must cure.

Strains by beam and strip theory; limits of the trade page (glulam bend limits from memory, the rest common practice).
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.shapes import arc_section
from tests.acceptance.yard import planked, settings_of
from tests.exact_meshes import Make

from strakewright.errors import Finding
from strakewright.job.building import _will_not_bend
from strakewright.outfit import BentPlank, WoodSettings
from strakewright.parts import Fit
from strakewright.settings import PlankingSettings
from strakewright.shop.fit import Bends, Limits, judge, limits_of, whereabouts
from strakewright.tables import species

ASH = Limits(0.0086, softwood=False)
T, W = 19.0, 100.0
FRAMES = (("F1", 600.0), ("F2", 1200.0), ("F3", 1800.0))


def bends(width: float = W, **figures: float) -> Bends:
    full = np.ones(9)
    value = {"along": 0.0, "across": 0.0, "twist": 0.0} | figures
    lines = {name: v * full for name, v in value.items()}
    return Bends(np.linspace(0, 1000, 9), width=width * full, x=np.linspace(700, 1700, 9), **lines)


def figure(words: str, pattern: str) -> float:
    found = re.search(pattern, words)
    assert found, words
    return float(found[1])


def cures(fit: Fit) -> str:
    return "; ".join(fit.cures)


def test_a_thinner_plank_bends() -> None:
    """R 1.5 m, t 19: t / R = 1/79, over 1/100; 15 mm is 1/100."""
    strong = replace(ASH, breaking_strain=1.0)
    fit = judge(bends(along=1 / 1500), T, 0.0, strong)
    assert fit.verdict == "refused"
    thin = figure(cures(fit), r"thinner, ([\d.]+) mm")
    assert thin == 15.0
    assert judge(bends(along=1 / 1500), thin, 0.0, strong).verdict == "firm"
    assert judge(bends(along=1 / 1500), thin + 0.6, 0.0, strong).verdict == "refused"


def test_steam_is_offered_with_its_time_and_radius_where_it_reaches() -> None:
    """19 mm: 0.8 h; hardwood to 25 x 19 = 0.48 m, softwood to 50 x 19 = 0.95 m (common practice, no source)."""
    hard = cures(judge(bends(along=1 / 700), T, 0.0, ASH))
    assert figure(hard, r"steam for ([\d.]+) h") == pytest.approx(0.8)
    assert figure(hard, r"about R ([\d.]+) m") == pytest.approx(0.475, abs=0.01)
    assert "common practice, no source" in hard
    assert "steam" not in cures(judge(bends(along=1 / 700), T, 0.0, replace(ASH, softwood=True)))
    assert "steam" not in cures(judge(bends(along=1 / 400), T, 0.0, ASH))


def test_a_narrower_plank_lies_on_the_round() -> None:
    """w^2 / 8R at R 1 m: 2 mm under 126 mm; 1.0 mm allowed under 89 mm."""
    fit = judge(bends(126.5, across=1 / 1000), T, 0.0, ASH)
    narrow = figure(cures(fit), r"narrower, (\d+) mm")
    assert narrow == np.floor(np.sqrt(8 * 1000 * 1.0))
    assert judge(bends(narrow, across=1 / 1000), T, 0.0, ASH).verdict == "firm"
    assert judge(bends(narrow + 1.2, across=1 / 1000), T, 0.0, ASH).verdict == "refused"


def test_backing_out_cures_a_hollow_and_says_what_it_costs() -> None:
    """2 mm of 19 leaves 17; more than a sixth of the thickness is no cure; nor is it when the bend is refused too."""
    fit = judge(bends(np.sqrt(16000.0), across=1 / 1000), T, 0.0, ASH)
    assert (fit.verdict, fit.backs_out) == ("refused", True)
    assert "by 2.0 mm: 19 mm is then 17.0 thick" in cures(fit)
    assert "from 21 mm stock" in cures(fit)
    deep = judge(bends(np.sqrt(8000 * 3.3), across=1 / 1000), T, 0.0, ASH)
    assert not deep.backs_out
    assert "back out" not in cures(deep)
    bent = judge(bends(np.sqrt(16000.0), across=1 / 1000, along=1 / 500), T, 0.0, ASH)
    assert not bent.backs_out


def test_cures_of_the_combined_strain_cure_it() -> None:
    """Bend t / 2R and twist^2 w^2 / 12 together over 0.6 of the breaking strain."""
    run = {"along": 1 / 2600, "twist": 1.1e-3}
    limits = replace(ASH, most_shear=1.0)
    fit = judge(bends(130.0, **run), T, 0.0, limits)
    assert fit.verdict == "refused"
    assert "strain" in fit.reason
    narrow, thin = (figure(cures(fit), rf"{way}, ([\d.]+) mm") for way in ("narrower", "thinner"))
    assert judge(bends(narrow, **run), T, 0.0, limits).verdict == "firm"
    assert judge(bends(130.0, **run), thin, 0.0, limits).verdict == "firm"
    assert judge(bends(narrow + 1.5, **run), T, 0.0, limits).verdict == "refused"


def test_a_wound_plank_is_told_how_thin() -> None:
    """t x twist at most 1 %: 40 degrees a metre wants 14 mm."""
    fit = judge(bends(twist=np.radians(40.0) / 1000), T, 0.0, replace(ASH, breaking_strain=1.0))
    assert figure(cures(fit), r"thinner, ([\d.]+) mm") == 14.0
    assert "staves" in cures(fit)


def test_the_worst_place_is_named_by_its_frame() -> None:
    run = bends()
    along = np.full(9, 1e-6)
    along[4] = 1 / 1500
    fit = judge(replace(run, along=along), T, 0.0, ASH, FRAMES)
    assert (fit.worst_x, fit.worst_at) == (1200.0, "at F2")
    assert "at F2" in fit.reason
    assert whereabouts(1500.0, FRAMES) == "between F2 and F3"
    assert whereabouts(2500.0, FRAMES) == "forward of F3"


def test_own_figures_and_planks_already_bent_move_the_limits() -> None:
    wood = species("white ash")
    own = WoodSettings("white ash", firm_radius=80.0, easy_hollow=0.5, most_shear=0.02)
    limits = limits_of(wood, own)
    assert (limits.firm_bend, limits.easy_hollow, limits.most_shear, limits.bent) == (1 / 80, 0.5, 0.02, False)
    bent = WoodSettings("white ash", bent_ok=(BentPlank(19.0, 1400.0), BentPlank(19.0, None, np.radians(35.0) / 1000)))
    limits = limits_of(wood, bent)
    assert limits.firm_bend == pytest.approx(19.0 / 1400.0)
    assert limits.most_shear == pytest.approx(19.0 * np.radians(35.0) / 1000)
    assert limits.bent
    assert judge(bends(along=1 / 1400), T, 0.0, limits).verdict == "firm"
    assert judge(bends(along=1 / 1400), T, 0.0, limits_of(wood, WoodSettings("white ash"))).verdict == "refused"


def test_strength_and_stiffness_of_the_boat_file_set_the_breaking_strain() -> None:
    own = WoodSettings("white ash", strength=90.0, stiffness=9000.0)
    assert limits_of(species("white ash"), own).breaking_strain == pytest.approx(0.01)


def test_a_hollow_that_can_be_backed_out_warns_and_does_not_block() -> None:
    """Strakes 160 wide round R 2 m: w^2 / 8R = 1.6 mm (closed form, mid-planking radius 2 m)."""
    strakes = PlankingSettings(
        panel="side", pattern="strakes", thickness=19.0, courses=13, start="sheer", joint="none", species="white ash"
    )
    boat = planked(arc_section(Make(triangles=2000)), settings_of((strakes,)))
    told = _will_not_bend(boat.planks, ())
    assert {f.code for f in told} == {"plank-back-out"}
    assert all(f.level == "warning" for f in told)
    assert "back out the inside" in told[0].fix.lower()
    doubt = Finding("misprint", "blocking", "half-breadth chine, station 5", "out of line")
    beside_it = _will_not_bend(boat.planks, (doubt,))
    assert beside_it[0].fix.startswith("First settle the doubted cell (half-breadth chine, station 5)")
