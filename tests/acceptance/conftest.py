"""Whole boats, each built once for all acceptance tests."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.acceptance.shapes import arc_section, helicoid, raked_wedge
from tests.acceptance.yard import Planked, planked, rectangle, settings_of
from tests.exact_hulls import (
    Prism,
    RunningChine,
    TwistedBottom,
    cone_wall,
    cylinder_wall,
    helix_wall,
    sphere_zone,
    wedge_bow,
)

from strakewright.settings import PlankingSettings

STRAKES = PlankingSettings(
    panel="side",
    pattern="strakes",
    thickness=19.0,
    courses=6,
    start="sheer",
    joint="none",
    species="white ash",
)
HERRINGBONE = PlankingSettings(
    panel="bottom",
    pattern="herringbone",
    thickness=9.5,
    layers=2,
    width=200.0,
    joint="none",
    species="white ash",
)


@pytest.fixture(scope="session")
def cylinder() -> Planked:
    return planked(cylinder_wall(), settings_of((STRAKES,)))


@pytest.fixture(scope="session")
def cone() -> Planked:
    return planked(cone_wall(), settings_of((STRAKES,)))


@pytest.fixture(scope="session")
def helix() -> Planked:
    return planked(helix_wall(), settings_of((replace(STRAKES, lining="even"),)))


@pytest.fixture(scope="session")
def sphere() -> Planked:
    return planked(sphere_zone(), settings_of((STRAKES,)))


@pytest.fixture(scope="session")
def prism() -> Planked:
    """V bottom of 20 degrees, sides flared 10: the angle at the chine is 120 degrees."""
    return planked(Prism(length=3000.0).mesh(), settings_of((replace(STRAKES, courses=5), HERRINGBONE)))


@pytest.fixture(scope="session")
def capped() -> Planked:
    return planked(wedge_bow(half_angle_deg=29.0), settings_of((replace(STRAKES, courses=3),)))


@pytest.fixture(scope="session")
def lapped() -> Planked:
    return planked(wedge_bow(half_angle_deg=29.0), settings_of((replace(STRAKES, courses=3),), stem_end="lap"))


@pytest.fixture(scope="session")
def raked() -> Planked:
    return planked(raked_wedge(29.0, 40.0), settings_of((replace(STRAKES, courses=3),)))


@pytest.fixture(scope="session")
def running() -> Planked:
    """Chine angle from 100 to 176 degrees; single bottom layer as thick as the side."""
    bottom = replace(HERRINGBONE, layers=1, thickness=19.0)
    return planked(RunningChine().mesh(), settings_of((replace(STRAKES, courses=3), bottom)))


@pytest.fixture(scope="session")
def arc() -> Planked:
    return planked(arc_section(), settings_of((replace(STRAKES, courses=8),)))


@pytest.fixture(scope="session")
def arc_diagonal() -> Planked:
    """Planks at 30 degrees to the axis of a cylinder whose mid-planking radius is 2 m."""
    diagonal = replace(HERRINGBONE, panel="side", layers=1, thickness=19.0, angle_deg=30.0, width=100.0)
    return planked(arc_section(), settings_of((diagonal,)))


@pytest.fixture(scope="session")
def twisted() -> Planked:
    """Hyperbolic paraboloid bottom: diagonals of 160 mm."""
    bottom = replace(HERRINGBONE, layers=1, thickness=19.0, width=160.0)
    return planked(TwistedBottom().mesh(), settings_of((bottom,)))


@pytest.fixture(scope="session")
def wound() -> Planked:
    """Helicoid, planked on the very surface (its middle)."""
    return planked(helicoid(), settings_of((replace(STRAKES, courses=7, thickness=12.0),), surface="middle"))


@pytest.fixture(scope="session")
def jointed() -> Planked:
    """Cylinder wall of about 4.7 m strakes from boards of 3 m."""
    boards = tuple(rectangle(f"B{i}", 3000.0, 160.0, 25.0) for i in range(4))
    return planked(cylinder_wall(), settings_of((replace(STRAKES, joint="scarf"),), spacing=600.0), boards)
