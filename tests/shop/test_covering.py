"""What covers a bowl and a saddle, against strips of surfaces of even curvature in closed form.

About a geodesic the lengths at distance t are f(t) of the middle's, f = cos(t/R) on the sphere, cosh(t/R) on a surface
of curvature -1/R^2 (do Carmo, Differential Geometry of Curves and Surfaces).  A straight strip has one length c of all:
the largest strain is least where c is the harmonic mean of 1 and f(w/2): tan^2(w/4R) and tanh^2(w/4R); the squares are
least where c = w / integral of 1/f (derived).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import cumulative_trapezoid
from tests.bench.flatten_shapes import irregular, sphere_strip

from strakewright.flats import FlatPanel
from strakewright.geometry.flatten import Flat, flatten, strip_strains
from strakewright.shop.covering import BEARS, cover_of
from strakewright.shop.unrolling import unroll_surface
from strakewright.write.flatdraw import flat_document

RADIUS, WAIST, LENGTH = 1500.0, 1200.0, 3000.0


def saddle(width: float, count: int) -> FlatPanel:
    """A strip about the waist of the surface of revolution with dt^2 + (a cosh(t/R))^2 dphi^2: K = -1/R^2 all over."""
    places, faces = irregular(LENGTH, width, count)
    far = places[:, 1] - width / 2
    t = np.linspace(-width / 2, width / 2, 4001)
    rise = cumulative_trapezoid(np.sqrt(1 - (WAIST / RADIUS * np.sinh(t / RADIUS)) ** 2), t, initial=0)
    turn, out = places[:, 0] / WAIST, WAIST * np.cosh(far / RADIUS)
    space = np.column_stack([out * np.cos(turn), out * np.sin(turn), np.interp(far, t, rise)])
    (panel,) = unroll_surface(space, faces, crease_deg=40.0).panels
    return panel


def bowl(width: float, count: int) -> FlatPanel:
    shape = sphere_strip(width, count)
    (panel,) = unroll_surface(shape.vertices, shape.triangles, crease_deg=40.0).panels
    return panel


def paces(panel: FlatPanel, width: float) -> tuple[float, float]:
    """Strain along the edges and along the middle of a saddle strip: pace of the flat against true length there,
    over the middle third."""
    turn = np.arctan2(panel.vertices[:, 1], panel.vertices[:, 0])
    far = RADIUS * np.arccosh(np.maximum(np.hypot(*panel.vertices[:, :2].T) / WAIST, 1.0))
    found = []
    for place in (far > 0.999 * width / 2, far < width / 50):
        chosen = place & (np.abs(WAIST * turn - LENGTH / 2) < LENGTH / 6)
        pace = abs(np.polyfit(WAIST * turn[chosen], panel.flat[chosen, 0], 1)[0])
        found.append(float(pace / np.cosh(far[chosen] / RADIUS).mean() - 1))
    return found[0], found[1]


@pytest.mark.parametrize("width", [150.0, 300.0, 600.0])
def test_saddle_strips_strain_as_the_closed_form(width: float) -> None:
    """Edges too short, middle too long for it, both within 2 %; none below the floor."""
    panel = saddle(width, 6000)
    c = width / (4 * RADIUS * np.arctan(np.tanh(width / 4 / RADIUS)))  # integral of 1/cosh in closed form
    exact = c / np.cosh(width / 2 / RADIUS) - 1, c - 1
    assert paces(panel, width) == pytest.approx(exact, rel=0.02)
    assert exact == pytest.approx(strip_strains(-1 / RADIUS**2, width), rel=0.1)  # the series used elsewhere
    assert panel.strain_max > np.tanh(width / 4 / RADIUS) ** 2
    place = flat_document([panel])["panels"][0]["squeeze"]
    assert abs(place["flat"][1] - width / 2) > 0.4 * width  # worst at an edge, along it
    assert min(place["direction_deg"], 180.0 - place["direction_deg"]) < 15.0


@pytest.mark.parametrize(("made", "sign", "word"), [(saddle, -1.0, "saddle"), (bowl, 1.0, "bowl")])
def test_widest_strips_keep_their_limit(made, sign, word) -> None:
    """Largest strain of the best straight strip of each width told: tanh^2 and tan^2 of w / 4R, within 2 %."""
    cover = made(600.0, 3000).cover
    assert cover.gauss == pytest.approx(sign / RADIUS**2, rel=0.01)
    assert f"like a {word}: wide planks, up to 26" in cover.words
    best = np.tan if sign > 0 else np.tanh
    for (kind, limit, width), (other, bears) in zip(cover.widest, BEARS, strict=True):
        assert (kind, limit) == (other, bears)
        assert width is not None
        assert best(width / 4 / RADIUS) ** 2 == pytest.approx(limit, rel=0.02)
    for width, floor in cover.floors:
        assert floor == pytest.approx(best(width / 4 / RADIUS) ** 2, rel=0.02)


@pytest.mark.parametrize("made", [saddle, bowl])
def test_a_strip_of_the_widest_plank_is_a_plank(made) -> None:
    """Cut out as a panel of its own it needs no force, and its own floor is the limit."""
    width = _widths(made(600.0, 2000))["plank that lies easily"]
    assert width is not None
    alone = made(width, 3000)
    assert alone.strain_max > 0.002
    assert _widths(alone)["plank that is forced"] is None
    assert _widths(alone)["plank that lies easily"] == pytest.approx(width, rel=0.02)


def _widths(panel: FlatPanel) -> dict[str, float | None]:
    return {kind: width for kind, _, width in panel.cover.widest}


def test_a_knuckle_is_no_bowl_and_still_bounds_the_width() -> None:
    """K says nothing of a panel strained along a line: strain grows with the width squared, so 0.8 % at 500 mm leaves
    250 mm at 0.2 %."""
    flat = bowl(600.0, 500)
    laid = laid_flat(flat, breadth=500.0, strain=0.008)
    cover = cover_of((0.0, 0.0), None, laid)
    assert cover.words.startswith("curved in a line")
    assert {kind: w for kind, _, w in cover.widest}["plank that lies easily"] == pytest.approx(250.0)


def laid_flat(panel: FlatPanel, breadth: float, strain: float) -> Flat:
    """A flat of that breadth and largest strain."""
    flat = flatten(panel.vertices, panel.triangles)
    points = flat.points * (breadth / np.ptp(flat.points[:, 1]))
    return replace(flat, points=points, stretch=np.full_like(flat.stretch, 1.0 + strain))


def test_flat_panels_take_paper() -> None:
    places, faces = irregular(800.0, 400.0, 200)
    (panel,) = unroll_surface(np.column_stack([places, np.zeros(len(places))]), faces).panels
    assert panel.cover.words == "paper and sheets cover it whole"
    assert all(width is None for _, _, width in panel.cover.widest)


def test_narrow_strips_only() -> None:
    """R = 300 mm: 4 sqrt(0.002) 300 = 54 mm easily, 85 by force."""
    shape = sphere_strip(200.0, 2000, radius=300.0, length=600.0)
    (panel,) = unroll_surface(shape.vertices, shape.triangles, crease_deg=40.0).panels
    assert panel.cover.words == "like a bowl: narrow strips only: up to 54 mm lie easily, up to 85 mm by force"
