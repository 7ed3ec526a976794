"""From a mesh through the loft to the water: whole boats whose displacement is known on paper."""

from __future__ import annotations

import time

import numpy as np
import pytest
import trimesh

from strakewright.afloat.lying import at_rest
from strakewright.afloat.shell import shell_of, with_outer_wood
from strakewright.afloat.upright import at_level
from strakewright.arrays import Floats
from strakewright.geometry.meshes import edges
from strakewright.solids import Body
from tests.afloat.forms import box
from tests.exact_hulls import Prism, wedge_bow
from tests.exact_meshes import Make, hull_of
from tests.loft.hulls import lofted
from tests.shop.test_transoms import box as bent_box

CLOSE = 5e-4


def prism_figures(hull: Prism, water: float) -> tuple[float, float]:
    """Volume and waterplane of a V-bottomed prism with the water above the chine (plane geometry)."""
    (_, _), (b, rise), (_, _) = hull.section()
    half = b + (water - rise) * np.tan(np.radians(hull.flare_deg))
    area = b * rise + (b + half) * (water - rise)
    return area * hull.length, 2 * half * hull.length


@pytest.mark.parametrize("make", [Make(), Make(deck=True, transom=True), Make(whole=False)])
def test_v_bottomed_prism_through_the_loft(make: Make) -> None:
    hull = Prism(length=4000.0)
    boat = lofted(hull.mesh(make), half=not make.whole)
    volume, plane = prism_figures(hull, 500.0)
    found = at_level(shell_of(boat), 500.0)
    assert found.volume == pytest.approx(volume, rel=1e-5)
    assert found.waterplane == pytest.approx(plane, rel=1e-5)
    assert found.lcb == pytest.approx(2000.0, abs=0.1)
    ends = 2 * volume / hull.length  # both transoms are wet
    sides = np.hypot(900.0, 900 * np.tan(np.radians(20))) + (500 - 900 * np.tan(np.radians(20))) / np.cos(
        np.radians(10)
    )
    assert found.wetted == pytest.approx(2 * sides * 4000 + ends, rel=1e-5)


def test_pointed_bow_through_the_loft() -> None:
    """Upright plane sides y = (4000 - x) tan 20: area of the waterplane 4000^2 tan 20, centre a third along."""
    boat = lofted(wedge_bow(Make()))
    found = at_level(shell_of(boat), 300.0)
    assert found.waterplane == pytest.approx(4000.0**2 * np.tan(np.radians(20.0)), rel=1e-4)
    assert found.lcf == pytest.approx(4000.0 / 3, abs=0.5)


def test_wigley_hull_through_the_loft() -> None:
    """Aft half of the hull's forward half: cut off at its middle (a transom) so that she has bow and stern.

    V = 2/9 L B T by symmetry; LCB from the middle 3 L / 16 and BM as for the whole hull (derived)."""
    length, breadth, draught = 9000.0, 1600.0, 600.0

    def face(u: Floats, v: Floats) -> Floats:
        y = breadth / 2 * (1 - u**2) * (1 - (1 - v) ** 2)
        points = np.stack([u * length / 2, y, v * draught], axis=-1)
        points[(u == 1.0) | (v == 0.0), 1] = 0.0
        return points

    boat = lofted(hull_of([face], Make(triangles=30_000)))
    shell = shell_of(boat)
    found = at_level(shell, draught - 1e-6)
    assert found.volume == pytest.approx(2 / 9 * length * breadth * draught, rel=CLOSE)
    assert found.waterplane == pytest.approx(length * breadth / 3, rel=CLOSE)
    assert found.kb == pytest.approx(5 * draught / 8, rel=CLOSE)
    assert found.bm == pytest.approx(3 * breadth**2 / (35 * draught), rel=CLOSE)
    assert found.lcb == pytest.approx(3 * length / 16, rel=CLOSE)


def test_planking_outside_the_lines_adds_its_own_room() -> None:
    """Lines to the inside: 20 mm of planking all round a box-sided prism makes her 40 mm broader, 20 deeper."""
    hull = Prism(length=4000.0, deadrise_deg=0.0, flare_deg=0.0)
    boat = lofted(hull.mesh())
    out = shell_of(boat, {"bottom": 20.0, "side": 20.0})
    found = at_level(out, 300.0)
    assert out.low == pytest.approx(-20.0, abs=1e-3)
    corner = 20.0 * 20.0 / 2  # the chine stands open by a square of 20 mm, bridged straight
    section = 2 * (900 * 20 + 920 * 300 + corner)
    assert found.volume == pytest.approx(4000 * section, rel=1e-5)


def test_shell_is_closed_but_for_the_sheer() -> None:
    """Every loose edge of the welded shell lies on the sheer."""
    from tests.exact_meshes import weld

    shell = shell_of(lofted(Prism(length=4000.0).mesh()))
    vertices, triangles = weld(np.round(shell.vertices, 2), shell.triangles)
    net = edges(triangles)
    loose = net.ends[net.faces[:, 1] < 0]
    assert np.abs(vertices[loose.ravel(), 2] - shell.sheer[0, 2]).max() < 0.02


def test_curves_of_form_are_quick() -> None:
    """A builder waits for planks, not for this: one draught in a tenth of a second of processor time."""
    shell = shell_of(lofted(Prism(length=4000.0).mesh()))
    since = time.process_time()
    at_level(shell, 500.0)
    assert time.process_time() - since < 1.0


def test_a_keel_shoe_displaces_its_own_volume() -> None:
    """Box barge 4000 x 1600, a shoe of 3000 x 80 x 40 mm under it: 640 kg less the shoe's 9.6 kg are carried by the
    barge, so the water stands 98.5 mm over her bottom; Archimedes."""
    barge = box(4000.0, 1600.0, 600.0)
    block = trimesh.creation.box((3000.0, 80.0, 40.0))
    block.apply_translation((2000.0, 0.0, -20.0))
    shod = with_outer_wood(barge, [Body("shoe", np.array(block.vertices), np.array(block.faces))])
    lies = at_rest(shod, 640.0, np.array([2000.0, 0.0, 250.0]))
    assert lies.level == pytest.approx((640e6 - 3000 * 80 * 40) / (4000 * 1600), abs=0.01)
    assert lies.draught == pytest.approx(lies.level + 40.0, abs=0.01)
    assert at_level(shod, 100.0).wetted == pytest.approx(at_level(barge, 100.0).wetted, rel=1e-9)
    assert shod.top == barge.top == 600.0


@pytest.mark.parametrize("rake", [0.0, 12.0])
def test_the_bend_of_a_transom_displaces_too(rake: float) -> None:
    """Box 3000 x 1000, 250 mm in the water, her end a cylinder of R 1500 whose middle bulges aft: in plan she lacks
    two corners, 2 b R - b sqrt(R2 - b2) - R2 asin(b / R), over the cosine of the rake (exact)."""
    half, radius = 500.0, 1500.0
    shell = shell_of(lofted(bent_box(rake, radius)))
    lean, deep = np.tan(np.radians(rake)), 250.0
    corners = 2 * half * radius - half * np.sqrt(radius**2 - half**2) - radius**2 * np.arcsin(half / radius)
    after = (600.0 - deep / 2) * lean + corners / np.cos(np.radians(rake)) / (2 * half)  # mean x of the end
    exact = 2 * half * deep * (3000.0 - after)
    assert at_level(shell, deep).displacement == pytest.approx(exact * 1e-6, rel=2e-4)
