"""Joints shifted from side to side: starboard's stand in another bay than port's and 300 mm off (common practice, no
source).

The boat is the cylinder wall of `test_scarfs`: every strake runs from x = 0 to the stem, so that places of joints can
be measured on the finished planks; areas come from the closed form R theta x height.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise, product
from pathlib import Path

import numpy as np
import pytest
import shapely
from tests.acceptance.yard import Planked, planked, rectangle, settings_of
from tests.exact_hulls import cylinder_wall
from tests.exact_meshes import Make
from tests.shop.test_stealers import SIDING, STRAKES, WALL

from strakewright.errors import Check
from strakewright.job.building import frames_of
from strakewright.job.headline import lining_record
from strakewright.job.inputs import Inputs, hull_of
from strakewright.job.patterning import on_paper
from strakewright.job.planked import plank_hull
from strakewright.job.strakes import strake_figures
from strakewright.parts import Plank
from strakewright.proof.closure import closure
from strakewright.proof.jointed import joint_checks
from strakewright.proof.nibs import nib_checks
from strakewright.read.liningfile import read_lining
from strakewright.settings import PlankingSettings
from strakewright.shop.blanks import blank_of
from strakewright.shop.screws import Fastening, screwed
from strakewright.triangles import TriangleMesh
from strakewright.write.book import LayerFacts
from strakewright.write.bookplanks import pair_stem
from strakewright.write.labels import labels_of
from strakewright.write.patterns import Pattern, pattern_block
from strakewright.write.windows import StrokePen

T = 19.0
SHIFTED = PlankingSettings("side", "strakes", T, courses=2, start="sheer", joint_sides="shifted")
BOARDS = tuple(rectangle(f"B{i}", 3000.0, 360.0, 25.0) for i in range(4))
SMALL = Make(triangles=1600)
APART, WHOLE = "joints stand apart from the other side's, side layer 1", "courses joined unlike are whole alike"
MIRROR = "mirror pairs"


@pytest.fixture(scope="module")
def boat() -> Planked:
    return planked(cylinder_wall(SMALL), settings_of((SHIFTED,), spacing=600.0), BOARDS)


def proved(boat: Planked, planks: list[Plank] | None = None) -> dict[str, Check]:
    mine, layer = planks or list(boat.planks), boat.layers[0]
    rows = (*closure(mine, [layer.truth]), *joint_checks(mine, boat.frames, [layer.joint_rule]))
    return {c.name: c for c in rows}


def joints(planks: list[Plank], side: str) -> dict[int, list[float]]:
    """Course -> x of every end of a piece that is a scarf, aft piece and forward piece."""
    found: dict[int, list[float]] = {}
    for p in (p for p in planks if p.side == side):
        found.setdefault(p.course, []).extend(float(e.seam[:, 0].mean()) for e in p.ends if e.meets == "scarf")
    return found


def test_starboard_is_joined_in_other_bays(boat: Planked) -> None:
    stations = np.array([x for _, x in boat.frames])
    port, starboard = (joints(list(boat.planks), side) for side in ("port", "starboard"))
    assert sorted(port) == sorted(starboard) == [1, 2] == list(boat.layers[0].hung.shifted)
    for course in port:
        for a, b in product(port[course], starboard[course]):
            assert abs(a - b) >= 300.0
            assert np.searchsorted(stations, a) != np.searchsorted(stations, b)
    for side in (port, starboard):  # and each side keeps the rule of neighbours by itself
        for one, two in pairwise(sorted(side)):
            for a, b in product(side[one], side[two]):
                assert abs(a - b) >= 300.0
                assert np.searchsorted(stations, a) != np.searchsorted(stations, b)


def test_pieces_have_numbers_of_their_own_and_name_no_mate(boat: Planked) -> None:
    ids = [p.id for p in boat.planks]
    assert ids == ["S01aP", "S01bP", "S02aP", "S02bP", "S01cS", "S01dS", "S02cS", "S02dS"]
    assert len({pair_stem(i) for i in ids}) == 8
    assert all(p.mate is None and p.stands_for for p in boat.planks)
    for p in boat.planks:  # neighbours, joints and what must hang before are of its own side
        around = [p.first.neighbour, p.second.neighbour, *(e.neighbour for e in p.ends), *p.extra["needs"]]  # type: ignore[misc]
        assert {name[-1] for name in around if name} <= {p.id[-1]}
        assert {name for name in around if name} <= set(ids)
    steps = {
        p.extra["step"]: {q.course for q in boat.planks if q.extra["step"] == p.extra["step"]} for p in boat.planks
    }
    assert all(len(courses) == 1 for courses in steps.values())


def test_both_sides_cover_the_skin(boat: Planked) -> None:
    """R theta x height on the mid-surface, as in `test_scarfs`."""
    radius = 6000.0 - T / 2
    area = radius * np.arccos(6000.0 * np.cos(0.75) / radius) * 600.0
    for side in ("port", "starboard"):
        mine = [p for p in boat.planks if p.side == side]
        assert sum(shapely.Polygon(p.net_outline).area for p in mine) == pytest.approx(area, rel=1e-5)
    checks = proved(boat)
    assert all(c.holds for c in checks.values())
    assert {APART, WHOLE, MIRROR, "joints keep the rule in force, side layer 1 starboard"} <= set(checks)


Spoil = Callable[[list[Plank]], list[Plank]]


def _as_port(planks: list[Plank]) -> list[Plank]:
    """Starboard joined just as port is."""
    over = np.array([1.0, -1.0, 1.0])

    def turned(p: Plank) -> Plank:
        rims = [replace(m, seam=m.seam * over) for m in (p.first, p.second, *p.ends)]
        return replace(p, id=p.id[:-1] + "S", side="starboard", first=rims[0], second=rims[1], ends=tuple(rims[2:]))

    port = [p for p in planks if p.side == "port"]
    return [*port, *map(turned, port)]


def _raised(planks: list[Plank]) -> list[Plank]:
    """One starboard edge a quarter of a millimetre too high."""
    up = np.array([0.0, 0.0, 0.25])
    return [replace(p, first=replace(p.first, seam=p.first.seam + up)) if p.id == "S02cS" else p for p in planks]


def _short(planks: list[Plank]) -> list[Plank]:
    return [p for p in planks if p.id != "S01dS"]


@pytest.mark.parametrize("spoil", [_raised, _short], ids=["raised", "one lost"])
def test_a_course_that_is_not_whole_is_seen(boat: Planked, spoil: Spoil) -> None:
    found = {c.name: c for c in closure(spoil(list(boat.planks)), [boat.layers[0].truth])}
    assert not found[WHOLE].holds


def apart(boat: Planked, planks: list[Plank], shifted: tuple[int, ...]) -> Check:
    rule = replace(boat.layers[0].joint_rule, shifted=shifted)
    return next(c for c in joint_checks(planks, boat.frames, [rule]) if c.name == APART)


def test_joints_that_are_not_shifted_as_said_are_seen(boat: Planked) -> None:
    planks = list(boat.planks)
    assert apart(boat, planks, (1, 2)).holds
    assert apart(boat, _as_port(planks), (1, 2)).value == 2.0
    assert apart(boat, planks, (1,)).value == 1.0  # course 2 is not joined alike
    assert not apart(boat, [p for p in planks if p.course == 1], (1, 2)).holds


def test_a_mate_may_be_missing_only_where_joints_are_said_to_be_shifted(boat: Planked) -> None:
    untold = replace(boat.layers[0].truth, shifted=(1,))
    assert not next(c for c in closure(boat.planks, [untold]) if c.name == MIRROR).holds


def test_papers_serve_one_side(boat: Planked) -> None:
    layer = boat.layers[0]
    assert [p.id for p in on_paper(layer)][:4] == ["S01aP", "S01bP", "S01cS", "S01dS"]
    labels = labels_of(boat.planks)
    for plank in on_paper(layer)[:3]:
        part = blank_of(plank)
        assert part.mate is None
        pen = StrokePen()
        pattern_block(Pattern(plank, part, labels[plank.id])).draw(pen)
        mine, other = ("PORT", "STBD") if plank.side == "port" else ("STBD", "PORT")
        assert labels[plank.id].side == mine
        assert other not in labels[plank.id].words
    facts = LayerFacts(layer.settings, 1, layer.planks, layer.truth.girths, layer.truth.area)
    assert [p.id for p in facts.unlike] == [p.id for p in layer.planks if p.side == "starboard"]


def test_figures_and_lining_tell_both_sides(boat: Planked) -> None:
    layer = boat.layers[0]
    figures = strake_figures(layer, boat.frames)
    assert [row["aft"] for row in figures["starboard_joints"]] == ["S01cS", "S02cS"]
    assert figures["shutter"]["planks"] == ["S02aP", "S02bP", "S02cS", "S02dS"]


def test_screws_of_starboard_lie_on_its_own_pieces(boat: Planked) -> None:
    """Carried over, starboard's screws stand 12 mm clear of the seams that port's do (A rule of `screws`)."""
    how = Fastening(T, covered=False, on_layer=False, plugs=True, frames={})
    found = screwed(boat.planks, (), np.zeros((0, 3)), how)
    for plank in found.planks:
        rows = [m.points for m in plank.marks if m.kind == "screw"]
        assert rows
        ring = shapely.Polygon(plank.fitted_outline).buffer(-11.9)
        assert all(ring.contains(shapely.Point(spot)) for row in rows for spot in row)
    assert (found.spots[:, 1] > 0).all()


def test_where_no_other_bay_will_do_both_sides_stay_alike() -> None:
    """Strakes of 4.3 m from boards of 2.5 m: a joint lies within 0.4 m of the middle, and there is one bay."""
    boards = tuple(rectangle(f"B{i}", 2500.0, 720.0, 25.0) for i in range(4))
    one = replace(SHIFTED, courses=1)
    boat = planked(cylinder_wall(SMALL), settings_of((one,), spacing=1400.0), boards)
    (told,) = [f for f in boat.findings if f.code == "joints-not-shifted"]
    assert (told.subject, told.level) == ("S01P", "warning")
    assert boat.layers[0].hung.shifted == ()
    assert [p.mate for p in boat.planks] == ["S01aS", "S01bS", "S01aP", "S01bP"]
    assert all(c.holds for c in proved(boat).values())


@pytest.mark.parametrize(
    "asked",
    [replace(SHIFTED, joint="butt"), replace(SHIFTED, layers=2, thickness=9.5), replace(SHIFTED, scarf_slope=12.0)],
    ids=["butts", "two layers", "long scarfs"],
)
def test_butts_layers_and_long_scarfs_are_shifted_too(asked: PlankingSettings) -> None:
    boat = planked(cylinder_wall(SMALL), settings_of((asked,), spacing=600.0), BOARDS)
    assert [layer.hung.shifted for layer in boat.layers] == [(1, 2)] * asked.layers
    for layer in boat.layers:
        mine = [p for p in boat.planks if p.layer == layer.lined.skin.layer]
        found = (*closure(mine, [layer.truth]), *joint_checks(mine, boat.frames, [layer.joint_rule]))
        assert {APART, WHOLE} <= {c.name.replace(f"layer {mine[0].layer}", "layer 1") for c in found}
        assert [c.name for c in found if not c.holds] == []


@pytest.mark.parametrize("spacing", [300.0, 450.0, 600.0])
def test_strakes_dropped_in_nibs_are_shifted_too(spacing: float) -> None:
    """The wall of `test_stealers`: two of four strakes stop in nibs.  Where a joint comes near a nib, most of a piece's
    edge meets the strake past the dropped one; such an edge was once held against the wrong seam."""
    asked = replace(STRAKES, joint="scarf", joint_sides="shifted")
    boat = planked(WALL.mesh(SMALL), settings_of((asked,), surface="middle", spacing=spacing), BOARDS)
    (layer,) = boat.layers
    assert layer.hung.shifted == (1, 2, 3, 4)
    dropped = [p.course for p in boat.planks if p.extra.get("nibs")]
    assert sorted(dropped) == [1, 1, 3, 3]
    planks = list(boat.planks)
    found = (*proved(boat).values(), *nib_checks(planks, boat.frames, SIDING))
    assert [c.name for c in found if not c.holds] == []


def test_an_edge_that_names_the_wrong_neighbour_is_seen(boat: Planked) -> None:
    planks = list(boat.planks)
    first = planks[0]
    edge = replace(first.second, neighbour=planks[-1].id)
    assert first.second.meets == "seam"
    assert planks[-1].side == "starboard"
    found = {c.name: c.holds for c in closure([replace(first, second=edge), *planks[1:]], [boat.layers[0].truth])}
    assert [name for name, holds in found.items() if not holds] == ["seam points shared by neighbours"]


def laid_down(rows: Sequence[Mapping[str, object]], folder: Path, sides: str, spacing: float) -> Planked:
    """The boat with a lining.json taken back."""
    file = folder / "lining.json"
    file.write_text(json.dumps({"format": "strakewright/lining@1", "units": "mm", "layers": list(rows)}))
    settings = settings_of((replace(SHIFTED, joint_sides=sides),), spacing=spacing)  # type: ignore[arg-type]
    inputs = Inputs(settings, TriangleMesh(*cylinder_wall(SMALL)), BOARDS, (), lining=read_lining(file))
    hull = hull_of(inputs)
    frames = frames_of(settings.frames, hull)
    layers, findings = plank_hull(inputs, hull, frames, lambda *_: None)
    return Planked(inputs, hull, frames, layers, tuple(findings))


def test_joints_laid_down_for_one_side_are_kept(tmp_path: Path) -> None:
    """A lining.json names starboard's joints; a course it does not name stays a pair beside the one it does."""
    row = {"panel": "side", "layer": 1, "joints_at_x": {"1": [2100.0], "2": [2700.0]}}
    boat = laid_down([row | {"starboard_joints_at_x": {"2": [1500.0]}}], tmp_path, "alike", 600.0)
    findings = boat.findings
    assert boat.layers[0].hung.shifted == (2,)
    (told,) = [f for f in findings if f.code == "joints-not-shifted"]
    assert told.subject == "S01P"
    assert joints(list(boat.planks), "starboard")[2] == pytest.approx([1500.0] * 2, abs=2.0)
    by_id = {p.id: p for p in boat.planks}
    assert (by_id["S01aP"].mate, by_id["S01aS"].mate, by_id["S02cS"].mate) == ("S01aS", "S01aP", None)
    assert np.array_equal(by_id["S01aP"].outline, by_id["S01aS"].outline)
    assert by_id["S01aS"].second.neighbour in ("S02cS", "S02dS")
    assert by_id["S01aP"].second.neighbour in ("S02aP", "S02bP")
    assert all(c.holds for c in proved(boat).values())
    (record,) = lining_record(boat)["layers"]  # type: ignore[arg-type]
    assert list(record["starboard_joints_at_x"]) == ["2"]


def test_a_lining_that_is_taken_back_is_kept_though_its_figures_are_off_by_a_hair(tmp_path: Path) -> None:
    """Joints 300 mm apart as they were placed; what is written of them is measured on the cut ends, here 0.5 mm off."""
    row = {"panel": "side", "layer": 1, "joints_at_x": {"1": [2150.0], "2": [1850.0]}}
    across = {"starboard_joints_at_x": {"1": [1850.5], "2": [2149.5]}}
    boat = laid_down([row | across], tmp_path, "shifted", 500.0)
    assert boat.layers[0].hung.shifted == (1, 2)
    assert not {f.code for f in boat.findings} & {"joint-stagger-eased", "joints-not-shifted"}
    checks = joint_checks(boat.planks, boat.frames, [boat.layers[0].joint_rule])
    assert len(checks) == 5
    assert all(c.holds for c in checks)
