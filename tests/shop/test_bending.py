"""Bends, plies and springback against closed forms and handbook figures.

Circle: an arc of radius r over an angle a is r a long.  Helix of radius r and climb c a radian: curvature
r / (r2 + c2), torsion c / (r2 + c2), length sqrt(r2 + c2) a (any text on curves).  Curved glued laminations: the
rule of the NDS as given in Hicks, Civil Engineering Formulas, Timber chapter (t/R at most 1/100 hardwood and
southern pine, 1/125 other softwoods; 1 - 2000 (t/R)^2); its check values .8, .872, .911, .950 are worked from it.
Springback y = x / n2: a shop rule in print with the worked figures rise 3 in, 4 plies -> 3/16 in, 8 -> 3/64 in.
Scarfs: Wood Handbook (FPL-GTR-190) chapter 10: 1 in 12 or flatter.  Wood figures: the same, tables 5-3a/b.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from tests.shop.members_yard import helix_stick, ring_stick, stick

from strakewright.errors import InputError
from strakewright.geometry.bends import from_bend
from strakewright.outfit import WoodSettings
from strakewright.settings import MemberSettings
from strakewright.shop.bending import bend_of, curvature_factor, curve_in, plies_needed, ply_curve
from strakewright.shop.endscarfs import backbone_scarf, left_long
from strakewright.shop.fit import limits_of
from strakewright.shop.formers import closing, formed
from strakewright.shop.plies import SLOPE, Layup, joints_at, plies_of
from strakewright.tables import Species, species

ASH, FIR, PINE = species("white ash"), species("Douglas-fir"), species("longleaf pine")


def limit_of(wood: Species) -> float:
    return limits_of(wood, WoodSettings(wood.name)).firm_bend


def test_plies_of_a_circular_member_have_the_lengths_and_radii_of_their_arcs() -> None:
    """Outer face R 900, 60 mm deep in ten plies of 6: ply k from inside has middle radius 840 + 6 (k - 1/2)."""
    swept = ring_stick(900.0, np.radians(60), 45.0, 60.0)
    plies, _ = plies_of(swept, Layup("stem", 10, False, 9000.0, "white ash", mirrored=False))
    want = [(840.0 + 6.0 * (k - 0.5)) * np.radians(60) for k in range(1, 11)]
    assert [p.length for p in plies] == pytest.approx(want, abs=1e-3)
    steps = np.diff([p.length for p in plies])
    assert steps == pytest.approx(np.radians(60) * 6.0, abs=1e-4)  # 6.28 mm a ply: angle x thickness
    bend = bend_of(swept.blank, 10, False, ASH)
    assert bend.flat == pytest.approx(843.0, rel=1e-4)
    assert bend.ratio == pytest.approx(6 / 843, rel=1e-4)
    assert bend.edge is None
    assert bend.edge_strain == pytest.approx(0.0, abs=1e-9)


def test_step_of_ply_lengths_at_60_degrees_and_5_mm() -> None:
    """Worked figure: 60 degrees, 5 mm plies -> 5.2 mm a ply."""
    swept = ring_stick(800.0, np.radians(60), 40.0, 40.0)
    lengths = [ply_curve(swept.blank, 8, k, False).length for k in range(1, 9)]
    assert np.diff(lengths) == pytest.approx(5.236, abs=1e-3)


def test_plies_on_edge_of_a_circular_member_are_bent_in_their_own_width() -> None:
    """38 mm wide at R 4 m: strain w / 2R = 0.475 %, in ash of 12 000 MPa 57 MPa (worked figure: 0.5 %, 57 MPa)."""
    swept = ring_stick(4019.0, 0.5, 30.0, 38.0)
    bend = bend_of(swept.blank, 3, True, ASH)
    assert bend.edge == pytest.approx(4000.0, rel=1e-5)
    assert bend.edge_strain == pytest.approx(0.00475, rel=1e-5)
    assert ASH.stiffness is not None
    assert ASH.stiffness.value * bend.edge_strain == pytest.approx(57.0, abs=0.1)
    assert bend.flat is None


@pytest.mark.parametrize(("radius", "climb"), [(1500.0, 400.0), (900.0, -700.0)])
def test_plies_of_a_helical_member(radius: float, climb: float) -> None:
    swept = helix_stick(radius, climb, 2.0, 40.0, 24.0)
    for k in range(1, 5):
        r = radius - 24.0 + 6.0 * (k - 0.5)
        curve = ply_curve(swept.blank, 4, k, False)
        assert curve.length == pytest.approx(np.hypot(r, climb) * 2.0, abs=1e-3)
        assert curve.flat == pytest.approx(r / (r**2 + climb**2), rel=1e-4)
        assert curve.edge == pytest.approx(0.0, abs=1e-8)
    outer = curve_in(swept.blank, 0.0, 0.0)
    assert np.abs(outer.twist) == pytest.approx(abs(climb) / (radius**2 + climb**2), rel=1e-4)
    assert np.sign(outer.twist[0]) == np.sign(outer.twist.mean())


def test_strain_of_a_ply_bent_both_ways_at_one_place_is_the_sum() -> None:
    """A stick rolled 30 degrees about its run round R 3 m: t cos 30 / 2R flatwise and w sin 30 / 2R edgewise."""
    swept = ring_stick(3000.0, 0.6, 40.0, 5.0)
    across, deep, roll = swept.blank.across, swept.blank.deep, np.radians(30.0)
    rolled = stick(
        swept.blank.outer,
        np.cos(roll) * across + np.sin(roll) * deep,
        np.cos(roll) * deep - np.sin(roll) * across,
        40.0,
        0.002,
    )
    bend = bend_of(rolled.blank, 1, False, ASH)
    want = (0.002 * np.cos(roll) + 40.0 * np.sin(roll)) / 2 / 3000.0
    assert bend.strain == pytest.approx(want, rel=1e-4)


def test_bends_at_two_places_are_not_added() -> None:
    """6 mm plies round R 1200 in plan and, a metre further on, 40 mm of width round R 6 m: 0.25 % flatwise in the
    one place and 0.33 % edgewise in the other; nowhere 0.58 %."""
    x = np.linspace(0.0, 3000.0, 601)
    flat = np.where(x < 1000.0, np.sin(np.pi * x / 1000.0) ** 2, 0.0) / 1200.0
    edge = np.where(x > 2000.0, np.sin(np.pi * x / 1000.0) ** 2, 0.0) / 6000.0
    frame, at, rows = np.eye(3), np.zeros(3), []  # rows: run, across, deep
    for f, e in zip(flat, edge, strict=True):
        rows.append((at, frame[1], frame[2]))
        turned = frame + 5.0 * np.array([e * frame[1] + f * frame[2], -e * frame[0], -f * frame[0]])
        frame = np.linalg.qr(turned.T)[0].T * np.sign(np.diag(np.linalg.qr(turned.T)[1]))[:, None]
        at = at + 5.0 * frame[0]
    points, across, deep = (np.array(column) for column in zip(*rows, strict=True))
    bend = bend_of(stick(points, across, deep, 40.0, 6.0).blank, 1, False, ASH)
    assert bend.ratio / 2 == pytest.approx(6.0 / 2400.0, rel=0.01)
    assert bend.edge_strain == pytest.approx(40.0 / 12000.0, rel=0.01)
    assert bend.strain == pytest.approx(40.0 / 12000.0, rel=0.01)


def test_edge_bend_of_a_ply_off_the_middle_of_a_helical_stick() -> None:
    """A line 20 mm up a stick on a cylinder is a helix too: 20 x climb / way along the tangent puts it on radius
    hypot(1200, 20 x 500 / 1300), with the same climb."""
    swept = helix_stick(1200.0, 500.0, 2.0, 60.0, 12.0)
    up = curve_in(swept.blank, 20.0, 0.0)
    radius = np.hypot(1200.0, 20.0 * 500.0 / 1300.0)
    assert up.length == pytest.approx(np.hypot(radius, 500.0) * 2.0, abs=1e-3)
    assert np.hypot(up.flat, up.edge).max() == pytest.approx(radius / (radius**2 + 500.0**2), rel=1e-4)


@pytest.mark.parametrize(("parts", "share"), [(100, 0.800), (125, 0.872), (150, 0.911), (200, 0.950)])
def test_curvature_factor(parts: int, share: float) -> None:
    assert curvature_factor(1 / parts) == pytest.approx(share, abs=6e-4)


def test_curvature_factor_of_the_printed_calculators() -> None:
    """t 0.9, R 90 -> 0.8."""
    assert curvature_factor(0.9 / 90) == pytest.approx(0.8, abs=1e-12)


def test_limits_by_kind_of_wood() -> None:
    assert limit_of(ASH) == limit_of(PINE) == 1 / 100
    assert limit_of(FIR) == limit_of(species("western redcedar")) == 1 / 125


def test_stress_in_one_ply() -> None:
    """White ash, E 12 000 MPa, 6 mm at R 600: E t / 2R = 60 MPa, against 103 MPa that break it."""
    swept = ring_stick(603.0, 1.0, 40.0, 6.0)
    bend = bend_of(swept.blank, 1, False, ASH)
    assert bend.flat == pytest.approx(600.0, rel=1e-4)
    assert bend.stress == pytest.approx(60.0, rel=1e-4)
    assert ASH.strength is not None
    assert (ASH.strength.value, ASH.strength.status) == (103.0, "secondary")


@pytest.mark.parametrize(("wood", "want"), [(ASH, 8), (FIR, 10)])
def test_fewest_plies_that_keep_the_limit(wood: object, want: int) -> None:
    """Outer face R 650, 48 deep.  Ash: 6 mm at 605 is 1/101, 48/7 at 605.4 is 1/88.  Fir: 4.8 at 604.4, 1/126."""
    swept = ring_stick(650.0, 1.0, 40.0, 48.0)
    assert plies_needed(swept.blank, False, wood, limit_of(wood)) == want  # type: ignore[arg-type]


# -- springback ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("count", "share"), [(4, 15 / 16), (2, 3 / 4), (3, 8 / 9), (8, 63 / 64)])
def test_former_radius(count: int, share: float) -> None:
    assert 1 / closing(count, 1.0, "") == pytest.approx(share)
    swept = ring_stick(800.0, np.radians(50), 40.0, 40.0)
    shape = formed(swept, count, 1.0, "")
    middle = _circle(shape.former)
    assert middle == pytest.approx(760.0 * share, rel=1e-5)  # concave face: 800 - 40
    assert _circle(shape.finished) == pytest.approx(760.0, rel=1e-5)


def _circle(points: np.ndarray) -> float:
    """Radius of the circle through three points (circumscribed circle: abc / 4 area)."""
    a, b, c = points[0], points[len(points) // 2], points[-1]
    sides = [np.linalg.norm(p - q) for p, q in ((a, b), (b, c), (c, a))]
    (bx, by), (cx, cy) = b - a, c - a
    return float(np.prod(sides) / (2 * abs(bx * cy - by * cx)))


@pytest.mark.parametrize(("count", "loss"), [(4, 3 / 16), (8, 3 / 64)])
def test_loss_of_rise_of_the_printed_shop_rule(count: int, loss: float) -> None:
    """Rise 3 in on a long low bend: the form's rise less the finished one is rise / n2 of the form's."""
    chord = 96.0
    radius = chord**2 / (8 * 3.0) + 1.5
    finished = radius / (1 - 1 / count**2)
    rise = finished - np.sqrt(finished**2 - (chord / 2) ** 2)
    assert 3.0 - rise == pytest.approx(loss, rel=0.01)
    assert finished / radius == pytest.approx(closing(count, 1.0, ""))


def test_a_single_ply_on_a_former_is_refused() -> None:
    with pytest.raises(InputError, match="returns to straight"):
        closing(1, 1.0, "boat.toml:9")


def test_springback_factor_scales_the_opening_only() -> None:
    assert closing(4, 0.0, "") == 1.0
    assert closing(4, 2.0, "") == pytest.approx(1 + 2 / 15)


def test_stem_of_varying_curvature_against_an_independent_integration() -> None:
    """A stem profile with curvature k(s) = (1.2 + 0.8 sin(s/300)) / 900 on its concave face: theta' = k 16/15,
    x' = cos theta, y' = sin theta integrated by an adaptive Runge-Kutta of order 8 (scipy DOP853)."""

    def bend(s: float) -> float:
        return (1.2 + 0.8 * np.sin(s / 300.0)) / 900.0

    long, n = 1500.0, 301
    flat = solve_ivp(
        lambda s, y: [np.cos(y[2]), np.sin(y[2]), bend(s)],
        (0, long),
        [0, 0, 0],
        method="DOP853",
        rtol=1e-12,
        atol=1e-12,
        t_eval=np.linspace(0, long, n),
    ).y
    depth = 48.0
    inward = np.stack([-np.sin(flat[2]), np.zeros(n), np.cos(flat[2])], axis=-1)
    concave = np.stack([flat[0], np.zeros(n), flat[1]], axis=-1)

    swept = stick(concave - depth * inward, np.tile([0.0, 1.0, 0.0], (n, 1)), inward, 45.0, depth)
    shape = formed(swept, 4, 1.0, "")
    want = solve_ivp(
        lambda s, y: [np.cos(y[2]), np.sin(y[2]), bend(s) * 16 / 15],
        (0, long),
        [0, 0, 0],
        method="DOP853",
        rtol=1e-12,
        atol=1e-12,
        t_eval=shape.run,
    ).y
    i = len(shape.run) // 2
    c, s = np.cos(want[2, i]), np.sin(want[2, i])
    turned = (want[:2].T - want[:2, i]) @ np.array([[c, -s], [s, c]]) * [1.0, -1.0]
    assert np.abs(shape.former - turned).max() < 0.1
    assert np.abs(shape.former - turned).max() < 5e-3  # what it really does


def test_a_clothoid_from_its_bend() -> None:
    """Bend growing with length: the point at s is the Fresnel integrals' (scipy.special.fresnel)."""
    from scipy.special import fresnel

    run = np.linspace(0.0, 1000.0, 81)
    points, _ = from_bend(run, run / 400.0**2)
    size = 400.0 * np.sqrt(np.pi)
    s, c = fresnel(run / size)
    assert points == pytest.approx(size * np.stack([c, s], axis=-1), abs=1e-6)


# -- pieces ----------------------------------------------------------------------------------------


def test_scarf_of_inch_stock_is_a_foot_long() -> None:
    """1 in 12 in 1 in stock: 12 in; both pieces reach past the joint by half of it and 10 mm of spoil."""
    assert pytest.approx(12 * 25.4) == SLOPE * 25.4
    swept = ring_stick(1e6, 0.006, 50.0, 25.4)
    plies, parts = plies_of(swept, Layup("keelson", 1, False, 4000.0, "white ash", mirrored=False))
    sizes = [float(np.ptp(p.outline[:, 0])) for p in parts]
    assert len(parts) == 2
    # both ends 50 long, and the scarf's 304.8 counted in both pieces with 10 of spoil each
    assert sum(sizes) == pytest.approx(plies[0].length + 2 * 50 + 12 * 25.4 + 2 * 10, abs=0.05)
    assert all(float(np.ptp(p.outline[:, 1])) == pytest.approx(58.0, abs=0.01) for p in parts)


@pytest.mark.parametrize("longest", [2500.0, 3700.0, 5000.0])
def test_scarfs_of_neighbouring_plies_stand_apart(longest: float) -> None:
    rows = [joints_at(6000.0, 9.0, longest, k) for k in range(1, 8)]
    for a, b in pairwise(rows):
        gap = np.abs(np.subtract.outer(a, b)).min()
        assert gap >= 300.0 - 1e-9
        assert gap >= 2 * 12 * 9.0 - 1e-9
    for row in rows:
        ends = np.array([-50.0, *row, 6050.0])
        reach = np.full(len(ends), 54.0 + 10.0)
        reach[[0, -1]] = 0.0
        assert (np.diff(ends) + reach[:-1] + reach[1:]).max() <= longest


def test_plies_lengthen_outwards_and_their_scarfs_are_staggered() -> None:
    """Question 13: lengths rise from inside to outside by angle x t; ply scarfs staggered."""
    swept = ring_stick(3000.0, 1.5, 45.0, 40.0)
    plies, _ = plies_of(swept, Layup("keelson", 5, False, 2500.0, "white ash", mirrored=False))
    assert np.diff([p.length for p in plies]) == pytest.approx(1.5 * 8.0, abs=1e-3)
    assert all(p.joints for p in plies)
    gaps = [np.abs(np.subtract.outer(a.joints, b.joints)).min() for a, b in pairwise(plies)]
    assert min(gaps) >= 290.0  # 300 on ply lengths that differ by 12


def test_radius_over_ply_thickness_is_within_the_limit_at_every_point() -> None:
    """Question 14, at every station and for inner and outer plies alike."""
    swept = helix_stick(1100.0, 300.0, 1.8, 40.0, 30.0)
    count = plies_needed(swept.blank, False, ASH, limit_of(ASH))
    t = 30.0 / count
    for k in range(1, count + 1):
        assert (np.abs(ply_curve(swept.blank, count, k, False).flat) * t <= 1 / 100 + 1e-9).all()
    assert (np.abs(ply_curve(swept.blank, count - 1, 1, False).flat) * 30.0 / (count - 1) > 1 / 100).any()


def test_keelson_and_stem_are_scarfed_where_one_takes_over() -> None:
    """Depths 40 and 65: 12 x 40 = 480 mm, half each side of the joint, 10 mm of spoil on each feather; the aft piece
    is tapered outside.  A keelson that runs on up the stem itself has none."""
    keelson = MemberSettings("keelson", "keel", 90.0, 40.0, forward=4750.0)
    stem = MemberSettings("inner stem", "keel+stem", 60.0, 65.0, aft=4750.0)
    wanted = (keelson, stem, MemberSettings("cap", "keel+stem", 20.0, 25.0, face="outside", aft=4750.0))
    aft, ahead, cap = (backbone_scarf(m, wanted) for m in wanted)
    assert cap is None
    assert aft is not None
    assert ahead is not None
    assert (aft.to, aft.end, aft.x, aft.length, aft.tapered) == ("inner stem", "forward", 4750.0, 480.0, "outside")
    assert (ahead.to, ahead.end, ahead.x, ahead.length, ahead.tapered) == ("keelson", "aft", 4750.0, 480.0, "inside")
    assert left_long(aft) == (50.0, 250.0)
    assert left_long(ahead) == (250.0, 50.0)
    assert backbone_scarf(stem, (stem,)) is None
    swept = ring_stick(3000.0, 0.5, 90.0, 40.0)
    layup = Layup("keelson", 2, False, 9000.0, "white ash", mirrored=False, over=left_long(aft))
    plies, parts = plies_of(swept, layup)
    assert [np.ptp(p.outline[:, 0]) for p in parts] == pytest.approx([p.length + 300.0 for p in plies], abs=0.01)
