"""The sample boats loft to the shapes their notes promise (what `sample_hulls/make.py` put in)."""

from __future__ import annotations

import csv
import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from strakewright.hull import Hull
from strakewright.loft.hulls import loft_hull
from strakewright.read.boatfile import read_boat
from strakewright.read.mesh import read_mesh
from strakewright.shop.transoms import transom_plates
from tests.loft.hulls import codes, space

HERE = Path(__file__).parents[2] / "sample_hulls"


def script(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"sample_{name}", HERE / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses look their module up
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def make() -> ModuleType:
    return script("make")


def lofted(name: str) -> Hull:
    boat = read_boat(HERE / name / "boat.toml")
    return loft_hull(read_mesh(boat.hull.mesh), boat.hull, boat.name)


def lines_of(make: ModuleType, name: str, count: int = 400, start: float = 0.0) -> list[np.ndarray]:
    """start : below 0 where a curved transom makes lines run on aft of their points"""
    return [make.line(points)(np.linspace(start, 1, count)) for points in getattr(make, name)]


def off(points: np.ndarray, line: np.ndarray) -> float:
    """Largest distance of points from a fine polyline."""
    from scipy.spatial import KDTree

    near = KDTree(line).query(points)[1]
    best = np.full(len(points), np.inf)
    for i in (-1, 0):
        a, b = line[np.clip(near + i, 0, len(line) - 2)], line[np.clip(near + i, 0, len(line) - 2) + 1]
        share = np.clip(((points - a) * (b - a)).sum(1) / ((b - a) ** 2).sum(1), 0, 1)
        best = np.minimum(best, np.linalg.norm(points - a - share[:, None] * (b - a), axis=1))
    return float(best.max())


def test_teasel(make: ModuleType) -> None:
    """Chine fold down to 6 degrees in the forefoot, keel and chine in one point at the stem."""
    hull = lofted("teasel")
    bottom, side = hull.panels
    assert hull.length == pytest.approx(5850.0, abs=0.01)
    assert bottom.forward is None
    assert [b.name for b, _ in side.ring()] == ["chine", "stem", "sheer", "transom"]
    assert "crease-followed" in codes(hull)
    keel, chine, sheer = lines_of(make, "TEASEL", 20000)
    for panel, name, line in (
        (bottom, "keel", keel),
        (bottom, "chine", chine),
        (side, "chine", chine),
        (side, "sheer", sheer),
    ):
        assert off(space(panel, name), line) < 0.03


def test_corncrake(make: ModuleType) -> None:
    """Bow towards -x, metres, half; the upper chine fades to nothing at the plumb stem and is carried to it."""
    hull = lofted("corncrake")
    assert [p.name for p in hull.panels] == ["bottom", "bilge1", "side"]
    assert hull.length == pytest.approx(7300.0, abs=0.01)
    _, chine1, chine2, sheer = lines_of(make, "CORNCRAKE", 20000, -0.05)
    bottom, bilge, side = hull.panels
    assert off(space(bottom, "chine1"), chine1) < 0.03
    assert off(space(side, "sheer"), sheer) < 0.03
    carried = space(bilge, "chine2")
    assert off(carried[carried[:, 0] < 7000.0], chine2) < 0.03
    assert off(carried, chine2) < 0.5
    assert np.abs(space(side, "stem")[:, [0, 1]] - [7300.0, 0.0]).max() < 0.03
    plate, away = transom_plates(hull)["transom"]
    assert -1 / plate.bend == pytest.approx(make.CORNCRAKE_BEND, rel=1e-3)
    assert np.degrees(np.arctan2(-plate.up[0], plate.up[2])) == pytest.approx(
        np.degrees(np.arctan2(210, 890)), abs=0.01
    )
    assert away < 0.01


def test_sallow(make: ModuleType) -> None:
    """Closed, inches, off centre; lids named at the borders; flat across, so z is the keel's all over the bottom."""
    hull = lofted("sallow")
    bottom, side = hull.panels
    assert {"lids-set-aside", "off-centre"} <= codes(hull)
    assert [b.name for b, _ in side.ring()] == ["chine", "bow transom", "sheer", "transom"]
    assert [b.name for b, _ in bottom.ring()] == ["keel", "bow transom", "chine", "transom"]
    assert hull.figures["centreline_moved"] == pytest.approx(3.0, abs=0.01)
    _, chine, sheer = lines_of(make, "SALLOW", 20000)
    assert off(space(bottom, "chine"), chine) < 0.03
    assert off(space(side, "sheer"), sheer) < 0.03


@pytest.mark.parametrize("name", ["teasel", "corncrake", "sallow"])
def test_committed_meshes_are_what_the_script_writes(make: ModuleType, name: str) -> None:
    """Same count and same size; figures may differ in the last place between machines."""
    path = next((HERE / name).glob("hull.*"))
    vertices, triangles = getattr(make, name)()
    mesh = read_mesh(path)
    assert len(mesh.triangles) == len(triangles) >= 15000
    assert np.abs(np.ptp(mesh.vertices, axis=0) - np.ptp(vertices, axis=0)).max() < 1e-3
    assert path.stat().st_size < 1.5e6


PILES = ("teasel/boards", "teasel/boards-enough", "corncrake/boards", "sallow/boards")


def test_committed_piles_are_what_the_script_writes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A board put in by hand would be lost when the script runs next."""
    piles = script("piles")
    for name in {p.split("/")[0] for p in PILES}:
        (tmp_path / name).mkdir()
    monkeypatch.setattr(piles, "HERE", tmp_path)
    piles.main()
    for table in PILES:
        written, committed = (folder / f"{table}.csv" for folder in (tmp_path, HERE))
        assert written.read_text(encoding="utf-8") == committed.read_text(encoding="utf-8"), table


@pytest.mark.parametrize("table", PILES)
def test_piles_are_marked_invented(table: str) -> None:
    text = (HERE / f"{table}.csv").read_text(encoding="utf-8").splitlines()
    assert "Invented" in text[0]
    rows = list(csv.DictReader(text[1:]))
    assert len({row["id"] for row in rows}) == len(rows) >= 20


def test_the_second_pile_of_teasel_is_the_first_and_two_boards() -> None:
    first, second = (
        {line for line in (HERE / "teasel" / name).read_text().splitlines() if "," in line and line[0] != "#"}
        for name in ("boards.csv", "boards-enough.csv")
    )
    assert first < second
    assert len(second - first) == 2
