"""Turning, halving and measuring: the same boat however its file lies.  Expected numbers are what was put in."""

from __future__ import annotations

import numpy as np
import pytest

from strakewright.errors import InputError
from strakewright.loft.hulls import loft_hull
from strakewright.loft.symmetry import port_half, turned
from strakewright.triangles import TriangleMesh
from tests import exact_hulls as exact
from tests.exact_meshes import Make
from tests.loft.hulls import codes, lofted, settings, space

SMALL = Make(triangles=3000)
HALF = Make(triangles=1500, whole=False)


@pytest.mark.parametrize(
    ("forward", "up"), [("+x", "+z"), ("-x", "+z"), ("+y", "+z"), ("-z", "+y"), ("+z", "-x"), ("-y", "-x")]
)
def test_any_axes_give_the_same_hull(forward: str, up: str) -> None:
    vertices, triangles = exact.v_prism(HALF)
    keys = settings(forward=forward, up=up, half=True)
    rows = turned(np.eye(3), keys)  # the file's unit vectors in the boat's axes; orthonormal, so the inverse is .T
    assert np.linalg.det(rows) == pytest.approx(1.0)
    half = port_half(TriangleMesh(vertices @ rows.T, triangles), keys)
    assert np.allclose(np.sort(half.vertices, axis=0), np.sort(vertices, axis=0), atol=1e-9)


def test_forward_along_up_is_refused() -> None:
    with pytest.raises(InputError, match="lie along one axis"):
        turned(np.eye(3), settings(forward="+z", up="-z"))


def test_off_centre_hull_is_moved() -> None:
    vertices, triangles = exact.cone_wall(SMALL)
    hull = lofted((vertices + np.array([250.0, 3.0, 40.0]), triangles))
    assert hull.figures["centreline_moved"] == pytest.approx(3.0, abs=0.01)
    assert "off-centre" in codes(hull)
    stem = space(hull.panels[0], "stem")
    assert np.abs(stem[:, 1]).max() < 1e-6
    assert stem[:, 2].min() == pytest.approx(40.0, abs=0.03)  # z stays as in the file
    assert space(hull.panels[0], "transom")[:, 0].min() == pytest.approx(0.0, abs=0.03)  # x = 0 aftmost


def test_halves_meshed_differently_agree() -> None:
    port, starboard = (exact.helix_wall(Make(triangles=4000, seed=s)) for s in (1, 2))
    keep = [t[side(v[t, 1])] for (v, t), side in ((port, _to_port), (starboard, _to_starboard))]
    mesh = np.concatenate([port[0], starboard[0]]), np.concatenate([keep[0], keep[1] + len(port[0])])
    assert float(lofted(mesh).figures["halves_mismatch"]) < 0.5


def _to_port(y: np.ndarray) -> np.ndarray:
    return y.min(axis=1) >= 0


def _to_starboard(y: np.ndarray) -> np.ndarray:
    return y.max(axis=1) <= 0


def test_unequal_halves_are_told_then_refused() -> None:
    vertices, triangles = exact.v_prism(SMALL)
    wider = vertices * np.where(vertices[:, 1:2] < 0, [1.0, 1.003, 1.0], 1.0)
    assert "halves-differ" in codes(lofted((wider, triangles)))
    twice = vertices * np.where(vertices[:, 1:2] < 0, [1.0, 1.3, 1.0], 1.0)
    with pytest.raises(InputError, match="halves of the hull do not agree"):
        lofted((twice, triangles))


def test_triangles_across_the_centreline_are_cut() -> None:
    """Flat bottom 1600 wide in two triangles a bay: the keel appears where none was drawn."""
    section = np.array([[-900.0, 500.0], [-800.0, 0.0], [800.0, 0.0], [900.0, 500.0]])
    x = np.linspace(0.0, 5000.0, 40)
    vertices = np.array([[a, *yz] for a in x for yz in section])
    quads = [(4 * i + j, 4 * i + j + 1, 4 * i + j + 4, 4 * i + j + 5) for i in range(39) for j in range(3)]
    hull = lofted((vertices, np.array([t for a, b, c, d in quads for t in ((a, b, c), (b, d, c))])))
    bottom, side = hull.panels
    assert np.abs(space(bottom, "keel")[:, 1:]).max() < 1e-6
    assert np.abs(space(side, "chine")[:, 1:] - [800.0, 0.0]).max() < 0.01


def test_starboard_half_is_mirrored() -> None:
    vertices, triangles = exact.wedge_bow(HALF)
    hull = lofted((vertices * np.array([1.0, -1.0, 1.0]), triangles), half=True)
    assert "half-mirrored" in codes(hull)
    assert space(hull.panels[0], "transom")[:, 1].min() > 1000.0


def test_half_clear_of_the_centreline() -> None:
    """Drawn to the half-siding, 22 mm out: the keel border lies there and is no centreline."""
    vertices, triangles = exact.v_prism(HALF)
    bottom, _ = lofted((vertices + np.array([0.0, 22.0, 0.0]), triangles), half=True).panels
    assert bottom.lower.name == "keel"
    assert not bottom.lower.centreline
    assert np.abs(bottom.in_space(bottom.lower)[:, 1] - 22.0).max() < 0.01


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"half": True}, "Set half = false"),
        ({"forward": "+y"}, "check forward and up"),
        ({"scale": 0.001}, "mesh_units = "),
        ({"scale": 25.4}, "mesh_units = "),
        ({"forward": "+q"}, "is no axis"),
    ],
)
def test_wrong_settings_name_the_cure(keys: dict[str, object], said: str) -> None:
    with pytest.raises(InputError) as caught:
        lofted(exact.wedge_bow(SMALL), **keys)  # type: ignore[arg-type]
    assert said in str(caught.value)


@pytest.mark.parametrize(("scale", "read"), [(1000.0, "4000 m long"), (0.001, "4 mm long")])
def test_a_boat_of_kilometres_or_of_millimetres_is_questioned(scale: float, read: str) -> None:
    """The wedge is 4 m long: its length as read is told, with the unit that makes a boat of it; nothing is scaled."""
    with pytest.raises(InputError) as caught:
        lofted(exact.wedge_bow(SMALL), scale=scale)
    assert read in str(caught.value)
    assert "mesh_units = 'mm'" in str(caught.value)


def test_errors_name_the_mesh_file() -> None:
    mesh = TriangleMesh(*exact.wedge_bow(HALF), source="boats/wedge.stl")
    with pytest.raises(InputError) as caught:
        loft_hull(mesh, settings(), "wedge")
    assert str(caught.value).startswith("boats/wedge.stl")


def test_half_given_as_whole_names_the_cure() -> None:
    with pytest.raises(InputError, match="Set half = true"):
        lofted(exact.wedge_bow(HALF))


def test_bow_the_wrong_way() -> None:
    with pytest.raises(InputError, match="narrow at its after end"):
        lofted(exact.wedge_bow(HALF), half=True, forward="-x")
    assert "bow-looks-aft" in codes(lofted(exact.wedge_bow(SMALL), forward="-x"))


def test_hull_on_its_side_is_refused() -> None:
    with pytest.raises(InputError, match=r"forward and up"):
        lofted(exact.wedge_bow(SMALL), up="+y")
