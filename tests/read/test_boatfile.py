"""The boat file: what a sound one gives, and how every fault is told.

Expected lines are counted in the text given here; lengths by 1 in = 25.4 mm.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from strakewright.errors import InputError
from strakewright.read.boatfile import read_boat
from strakewright.read.boatkeys import LATER, TABLES
from strakewright.settings import BoatSettings, PlankingSettings, StockSettings

SOUND = """\
[boat]
name = "Bläßhuhn"
units = "in"
[hull]
mesh = "hull.ply"
mesh_units = "m"
forward = "-x"
half = true
crease_deg = 12
[frames]
at = [24, "3 ft 6 in", 60]
[[planking]]
panel = "side"
pattern = "strakes"
courses = 9
start = "sheer"
thickness = "3/4 in"
tail_aft = "25 mm"
[[planking]]
panel = "bottom"
pattern = "herringbone"
thickness = "9.5 mm"
layers = 2
width = 4
angle_deg = 45
species = "White Ash"
[stock]
boards = "boards.csv"
spacing = "8 mm"
objective = "gross"
[shop]
species = "Douglas fir"
[joints]
kind = "none"
[backbone]
stem_end = "lap"
"""


def boat_at(folder: Path, text: str) -> Path:
    (folder / "hull.ply").write_text("ply\n")
    (folder / "boards.csv").write_text("id,length,width,thickness\n")
    path = folder / "boat.toml"
    path.write_text(text, encoding="utf-8")
    return path


def read(folder: Path, text: str) -> BoatSettings:
    return read_boat(boat_at(folder, text))


def faults(folder: Path, text: str) -> list[str]:
    with pytest.raises(InputError) as refused:
        read(folder, text)
    return [str(fault) for fault in (refused.value, *refused.value.also)]


def test_a_sound_file_is_read_in_mm(tmp_path: Path) -> None:
    boat = read(tmp_path, SOUND)
    side, bottom = boat.planking
    assert (boat.name, boat.units, boat.species) == ("Bläßhuhn", "in", "Douglas-fir")
    assert (boat.hull.mesh, boat.hull.mesh_scale, boat.hull.forward) == (tmp_path / "hull.ply", 1000.0, "-x")
    assert boat.frames.at == (609.6, 1066.8, 1524.0)
    assert (side.thickness, side.tail_aft, side.species, side.joint) == (19.05, 25.0, "Douglas-fir", "none")
    assert (bottom.width, bottom.layers, bottom.species) == (101.6, 2, "white ash")
    assert (side.where, bottom.where, boat.frames.where) == ("boat.toml:12", "boat.toml:19", "boat.toml:11")
    assert (boat.stock.spacing, boat.stock.objective, boat.backbone.stem_end) == (8.0, "gross", "lap")


LAYERED = """\
[[planking]]
panel = "bottom"
species = "white oak"
fair_allow = "2 mm"
[[planking.layer]]
pattern = "herringbone"
thickness = "10 mm"
width = 3
start_at = "F4"
[[planking.layer]]
pattern = "strakes"
thickness = "12 mm"
courses = 5
species = "white ash"
"""


@pytest.mark.parametrize(
    ("written", "meant"), [("F4", "F4"), ("sta 6", "sta6"), ("Station 6", "sta6"), ("sta6", "sta6")]
)
def test_a_frame_at_a_station_is_named_as_frames_are_set_out(tmp_path: Path, written: str, meant: str) -> None:
    """`[frames] at = ["sta 6"]` makes a frame that the papers call sta6: either spelling means it."""
    text = SOUND.replace(
        SOUND[SOUND.index('[[planking]]\npanel = "bottom"') :], LAYERED.replace('"F4"', f'"{written}"')
    )
    bottom = read(tmp_path, text + "[stock]\nboards = 'boards.csv'\n").planking[1]
    assert bottom.layer(1).start_at == meant


def test_layers_that_differ(tmp_path: Path) -> None:
    """10 + 12 mm from the inside out; what a layer leaves out its panel says."""
    bottom = read(
        tmp_path,
        SOUND.replace(SOUND[SOUND.index('[[planking]]\npanel = "bottom"') :], LAYERED)
        + "[stock]\nboards = 'boards.csv'\n",
    ).planking[1]
    inner, outer = bottom.layer(1), bottom.layer(2)
    assert (bottom.layers, bottom.thicknesses, bottom.total) == (2, (10.0, 12.0), 22.0)
    assert (inner.pattern, inner.species, inner.width, inner.start_at) == ("herringbone", "white oak", 76.2, "F4")
    assert (outer.pattern, outer.species, outer.courses, outer.start) == ("strakes", "white ash", 5, "keel")
    assert inner.fair_allow == outer.fair_allow == 2.0
    assert inner.layers == outer.layers == 2
    assert inner.thicknesses == outer.thicknesses == (10.0, 12.0)


def test_what_is_left_out_has_the_default_of_the_settings(tmp_path: Path) -> None:
    boat = read(tmp_path, SOUND)
    assert boat.stock.edge_margin == StockSettings.edge_margin
    assert boat.planking[0].tail_forward == PlankingSettings.tail_forward
    assert boat.planking[1].start is None


def test_mesh_units_are_those_of_the_boat_when_not_given(tmp_path: Path) -> None:
    hull = read(tmp_path, SOUND.replace('mesh_units = "m"\n', "")).hull
    assert (hull.mesh_units, hull.mesh_scale) == ("in", 25.4)


@pytest.mark.parametrize(("panel", "start"), [("side", "sheer"), ("bottom", "keel"), ("bilge1", "chine")])
def test_course_one_lies_in_the_usual_place(tmp_path: Path, panel: str, start: str) -> None:
    text = SOUND.replace('start = "sheer"\n', "").replace('"side"', f'"{panel}"').replace('"bottom"', '"bilge2"', 1)
    if panel == "bottom":
        text = SOUND.replace('start = "sheer"\n', "").replace('"bottom"', '"bilge2"').replace('"side"', '"bottom"')
    assert read(tmp_path, text).planking[0].start == start


# Each: a line of SOUND, what stands there instead, and what the message must hold.
FAULTS = [
    ('name = "Bläßhuhn"', 'name = ""', "boat.toml:2: [boat] name: '' is not a name"),
    ('units = "in"', 'units = "yards"', "boat.toml:3: [boat] units: 'yards' is not allowed"),
    ('mesh = "hull.ply"', 'mesh = "hul.ply"', "boat.toml:5: [hull] mesh: 'hul.ply' does not exist"),
    ('mesh = "hull.ply"', 'mesh = "."', "boat.toml:5: [hull] mesh: '.' is a folder"),
    ('mesh = "hull.ply"', 'mash = "hull.ply"', 'boat.toml:5: [hull] mash: is not a known key. Did you mean "mesh"?'),
    ('forward = "-x"', 'forward = "x"', "boat.toml:7: [hull] forward: 'x' is not allowed. Write \"+x\""),
    ('forward = "-x"', 'forward = "-z"', "boat.toml:7: [hull] forward: up and forward are the same axis"),
    ("half = true", 'half = "yes"', "boat.toml:8: [hull] half: 'yes' is neither true nor false"),
    ("half = true", "stations_from = 'bow'", "[hull] stations_from: belongs to a table of offsets"),
    ("half = true", "offset = 'o.csv'", 'Did you mean "offsets"?'),
    ("half = true", "spacing = 2", "boat.toml:8: [hull] spacing: is not a known key"),
    ("half = true", "boards = 'b.csv'", "boat.toml:8: [hull] boards: is not a key of [hull]. It belongs in [stock]"),
    ("crease_deg = 12", "crease_deg = true", "boat.toml:9: [hull] crease_deg: true is not a number from 2 to 120"),
    ('at = [24, "3 ft 6 in", 60]', "at = []", "boat.toml:11: [frames] at: [] is no list of frames"),
    ('at = [24, "3 ft 6 in", 60]', "at = [24, 60, 42]", "boat.toml:11: [frames] at: 1066.8 mm comes after 1524 mm"),
    ('at = [24, "3 ft 6 in", 60]', 'at = ["sta"]', "'sta' is not a length"),
    ('at = [24, "3 ft 6 in", 60]', "at = [-3, 60]", "boat.toml:11: [frames] at: -76.2 to 1524 mm is off any hull"),
    ('at = [24, "3 ft 6 in", 60]', "at = [3]\nspacing = 20", "boat.toml:12: [frames] spacing: both at and spacing"),
    ('at = [24, "3 ft 6 in", 60]', "", "boat.toml:10: [frames]: says no place of a frame"),
    (
        'at = [24, "3 ft 6 in", 60]',
        "spacing = 24\nsided = 20",
        "boat.toml:12: [frames] sided: 20 is 508 mm, outside 8 to",
    ),
    (
        'at = [24, "3 ft 6 in", 60]',
        "spacing = 24\nmoulded = 0",
        "boat.toml:12: [frames] moulded: 0 is 0 mm, outside 15",
    ),
    ('at = [24, "3 ft 6 in", 60]', "spacing = 24\njoint = 'mitre'", "boat.toml:12: [frames] joint: 'mitre' is not"),
    ('at = [24, "3 ft 6 in", 60]', "spacing = 24\nlimber = -1", "boat.toml:12: [frames] limber: -1 is -25.4 mm, outs"),
    ('at = [24, "3 ft 6 in", 60]', "spacing = 24\nnotch_clear = 1", "boat.toml:12: [frames] notch_clear: 1 is 25.4"),
    ('at = [24, "3 ft 6 in", 60]', "spacing = 24\nspall_z = 'top'", "boat.toml:12: [frames] spall_z: 'top' is not a"),
    ("[shop]", "[transom]\nsided = 0\n[shop]", "boat.toml:32: [transom] sided: 0 is 0 mm, outside 6 to 200"),
    ("[shop]", "[transom]\ndoubling = -1\n[shop]", "boat.toml:32: [transom] doubling: -1 is -25.4 mm, outside 0 to"),
    ("[shop]", "[transom]\nmotor_height = 2\n[shop]", "boat.toml:32: [transom] motor_height: 2 is 50.8 mm, outside"),
    ("[shop]", "[transom]\nmotor_width = 'x'\n[shop]", "boat.toml:32: [transom] motor_width: 'x' is not a length"),
    ("[shop]", "[transom]\nface = 'aft'\n[shop]", "boat.toml:32: [transom] face: 'aft' is not allowed"),
    ('panel = "side"', 'panel = "topside"', "boat.toml:13: [[planking]] panel: 'topside' is no name of a panel"),
    ('panel = "bottom"', 'panel = "side"', 'boat.toml:20: [[planking]] panel: "side" is planked twice'),
    ('pattern = "strakes"', 'pattern = "tiles"', "boat.toml:14: [[planking]] pattern: 'tiles' is not allowed"),
    ('pattern = "strakes"', "", 'boat.toml:12: [[planking]] pattern: is missing. Write pattern = "strakes"'),
    ('pattern = "herringbone"', 'pattern = "cross"', "boat.toml:25: [[planking]] angle_deg: belongs to herringbone"),
    ("courses = 9", "courses = 9.5", "boat.toml:15: [[planking]] courses: 9.5 is not a whole number from 1 to 500"),
    ("courses = 9", "courses = 0", "boat.toml:15: [[planking]] courses: 0 is not a whole number"),
    ("courses = 9", "courses = 9\nmax_width = 4", "boat.toml:16: [[planking]] max_width: both courses and max_width"),
    ("courses = 9", "", "boat.toml:12: [[planking]]: no width of strakes"),
    ('start = "sheer"', 'start = "stem"', "boat.toml:16: [[planking]] start: 'stem' is not allowed"),
    ('start = "sheer"', "angle_deg = 40", "boat.toml:16: [[planking]] angle_deg: belongs to herringbone"),
    (
        'thickness = "3/4 in"',
        "thickness = -1",
        "boat.toml:17: [[planking]] thickness: -1 is -25.4 mm, outside 1 to 200",
    ),
    ('thickness = "3/4 in"', 'thickness = "thick"', "boat.toml:17: [[planking]] thickness: 'thick' is not a length"),
    ('thickness = "3/4 in"', "thickness = nan", "boat.toml:17: [[planking]] thickness: nan is not a finite number"),
    ('thickness = "3/4 in"', "", "boat.toml:12: [[planking]] thickness: is missing. Write thickness = 19"),
    ('thickness = "3/4 in"', "thicknes = 19", 'thicknes: is not a known key. Did you mean "thickness"?'),
    ('tail_aft = "25 mm"', 'cut = "bent"', "boat.toml:18: [[planking]] cut: 'bent' is not allowed"),
    ('tail_aft = "25 mm"', "stagger_bays = 13", "boat.toml:18: [[planking]] stagger_bays: 13 is not a whole number"),
    ('tail_aft = "25 mm"', "stagger_min = -1", "boat.toml:18: [[planking]] stagger_min: -1 is -25.4 mm, outside"),
    ('tail_aft = "25 mm"', 'joint_sides = "odd"', "boat.toml:18: [[planking]] joint_sides: 'odd' is not allowed"),
    ("angle_deg = 45", 'joint_sides = "shifted"', "[[planking]] joint_sides: belongs to strakes, not to herringbone"),
    ('tail_aft = "25 mm"', "min_end_width = 99", "boat.toml:18: [[planking]] min_end_width: 99 is 2514.6 mm"),
    ('tail_aft = "25 mm"', "spare_shutter = 5", "boat.toml:18: [[planking]] spare_shutter: 5 is 127 mm, outside"),
    ('kind = "none"', "alternatives = 9", "boat.toml:34: [joints] alternatives: 9 is not a whole number"),
    ('tail_aft = "25 mm"', "width_stem = 3", 'boat.toml:18: [[planking]] width_stem: belongs to lining = "graded"'),
    ('tail_aft = "25 mm"', 'joint = "nail"', "boat.toml:18: [[planking]] joint: 'nail' is not allowed"),
    ('tail_aft = "25 mm"', "tail_aft = [25]", "boat.toml:18: [[planking]] tail_aft: [25] is not a length"),
    ('tail_aft = "25 mm"', "layer = [{ width = 3 }]", "boat.toml:18: [[planking]] layer.width: belongs to herringbone"),
    ('tail_aft = "25 mm"', "layer = 2", "boat.toml:18: [[planking]] layer: is not a list of tables"),
    ('tail_aft = "25 mm"', "layer = [{ panel = 'side' }]", "layer.panel: is one for all layers"),
    ('tail_aft = "25 mm"', "layer = [{ wide = 3 }]", "layer.wide: is not a known key"),
    ("layers = 2", "layers = 2\nlayer = [{ }]", "boat.toml:23: [[planking]] layers: is not the number of the layers"),
    ("layers = 2", "layer = [{ pattern = 'strakes' }]", "boat.toml:23: [[planking]] layer: no width of strakes"),
    ("angle_deg = 45", "start_at = 4", "boat.toml:25: [[planking]] start_at: 4 is no name of a frame"),
    ('start = "sheer"', 'start_at = "F2"', "boat.toml:16: [[planking]] start_at: belongs to herringbone"),
    ("width = 4", "width = 400", "boat.toml:24: [[planking]] width: 400 is 10160 mm, outside 10 to 1000 mm"),
    ("width = 4", "", "boat.toml:19: [[planking]]: herringbone needs a width"),
    ("width = 4", 'width = 4\nstart = "keel"', "boat.toml:25: [[planking]] start: belongs to strakes"),
    ("angle_deg = 45", "angle_deg = 10", "boat.toml:25: [[planking]] angle_deg: 10 is not a number from 15 to 90"),
    ('species = "White Ash"', 'species = "wite ash"', 'is no wood of the table. The nearest is "white ash"'),
    ('boards = "boards.csv"', 'boards = ""', "boat.toml:28: [stock] boards: '' is no name of a file"),
    ('spacing = "8 mm"', 'spacing = "8 ft"', "boat.toml:29: [stock] spacing: '8 ft' is 2438.4 mm, outside 0 to 200"),
    ('objective = "gross"', 'objective = "cheap"', "boat.toml:30: [stock] objective: 'cheap' is not allowed"),
    ('objective = "gross"', "resaw = 2", "boat.toml:30: [stock] resaw:"),
    ('objective = "gross"', "resaw_kerf = 30", "boat.toml:30: [stock] resaw_kerf:"),
    ('objective = "gross"', "run_out = 1", "boat.toml:30: [stock] run_out:"),
    ('objective = "gross"', "by_stage = 1", "boat.toml:30: [stock] by_stage:"),
    ("[shop]", "[shopp]", 'boat.toml:31: shopp: is not a known table. Did you mean "shop"?'),
    ("[shop]", "[chine]\njoint = 1\n[shop]", "boat.toml:32: [chine] joint: 1 is not allowed"),
    ('kind = "none"', 'kind = "nail"', "boat.toml:34: [joints] kind: 'nail' is not allowed"),
    ("[backbone]", "[backbone", "boat.toml:35:"),
    ("half = true", "half = true\nhalf = true", "boat.toml:9"),
]


@pytest.mark.parametrize(("old", "new", "message"), FAULTS)
def test_one_fault_is_told_once_with_its_line(tmp_path: Path, old: str, new: str, message: str) -> None:
    assert SOUND.count(old + "\n") == 1
    told = faults(tmp_path, SOUND.replace(old + "\n", new + "\n" if new else "\n"))
    assert any(message in line for line in told), told
    assert len(told) <= 2  # a key that is misspelt is also missing under its right name


def test_all_faults_come_in_one_go_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = SOUND.replace("true", "1").replace("courses = 9", "courses = -9").replace("width = 4", "width = 'w'")
    told = faults(tmp_path, text)
    assert [line.split(": ")[0] for line in told] == ["boat.toml:8", "boat.toml:15", "boat.toml:24"]


def test_wrong_units_raise_no_faults_of_range(tmp_path: Path) -> None:
    assert len(faults(tmp_path, SOUND.replace('units = "in"\n[hull]', 'units = "inch"\n[hull]'))) == 1


@pytest.mark.parametrize("start", ["sheer", "keel"])
def test_a_bilge_has_neither_sheer_nor_keel(tmp_path: Path, start: str) -> None:
    text = SOUND.replace('"side"', '"bilge1"').replace('start = "sheer"', f'start = "{start}"')
    assert any('"bilge1" does not reach the ' + start in line for line in faults(tmp_path, text))


def test_missing_tables_are_named(tmp_path: Path) -> None:
    told = faults(tmp_path, "")
    assert {line.split(": ")[1] for line in told} == {"[boat]", "[hull]", "[[planking]]", "[stock]"}


@pytest.mark.parametrize("text", ["planking = 3\n", "[planking]\npanel = 'side'\n", "planking = []\n"])
def test_planking_must_be_a_list_of_tables(tmp_path: Path, text: str) -> None:
    told = faults(tmp_path, text + "[hull]\nmesh = 'hull.ply'\n")
    assert any("boat.toml:1: [[planking]]" in line for line in told)


def test_every_key_named_for_later_is_refused_as_not_yet_built(tmp_path: Path) -> None:
    for table in (t for t in LATER if t):
        header = f"[[{table}]]" if table == "planking" else f"[{table}]"
        for key in LATER[table]:
            told = faults(tmp_path, f"{header}\n{key} = 1\n")
            assert any("is not yet built" in line and key in line for line in told)
            assert key not in TABLES[table].model_fields


def test_a_file_that_is_no_text(tmp_path: Path) -> None:
    path = boat_at(tmp_path, SOUND)
    path.write_bytes(b'[boat]\nname = "M\xf6we"\n')
    with pytest.raises(InputError, match=r"boat\.toml:2: a character is not in UTF-8"):
        read_boat(path)
    path.write_bytes(b"\x00\x01\x02")
    with pytest.raises(InputError, match="not text"):
        read_boat(path)
    with pytest.raises(InputError, match="not a file"):
        read_boat(tmp_path)
    with pytest.raises(InputError, match="no such boat file"):
        read_boat(tmp_path / "boot.toml")


def test_windows_line_ends_and_a_byte_order_mark_are_welcome(tmp_path: Path) -> None:
    path = boat_at(tmp_path, SOUND)
    path.write_bytes(b"\xef\xbb\xbf" + SOUND.replace("\n", "\r\n").encode())
    assert read_boat(path).name == "Bläßhuhn"


def test_a_file_nested_beyond_reason_is_refused(tmp_path: Path) -> None:
    assert "nested too deeply" in faults(tmp_path, "a = " + "[" * 100_000)[0]


GRADED = 'lining = "graded"\nwidth_transom = 3\nwidth_midship = 4\nwidth_stem = "60 mm"\n'


def test_graded_courses_have_three_widths_and_no_number(tmp_path: Path) -> None:
    side = read_boat(boat_at(tmp_path, SOUND.replace("courses = 9\n", GRADED))).planking[0]
    widths = (side.width_transom, side.width_midship, side.width_stem)
    assert widths == pytest.approx((76.2, 101.6, 60.0))
    assert any(
        "Graded widths say" in f for f in faults(tmp_path, SOUND.replace("courses = 9\n", "courses = 9\n" + GRADED))
    )
    short = GRADED.replace("width_midship = 4\n", "")
    assert any("width_midship: is missing" in f for f in faults(tmp_path, SOUND.replace("courses = 9\n", short)))


def test_strips_are_of_one_width(tmp_path: Path) -> None:
    strips = 'courses = 9\ncut = "straight"\njoint = "butt"\nstagger_bays = 3\n'
    side = read_boat(boat_at(tmp_path, SOUND.replace("courses = 9\n", strips))).planking[0]
    assert (side.cut, side.joint, side.stagger_bays) == ("straight", "butt", 3)
    even = SOUND.replace("courses = 9\n", strips + 'lining = "even"\n')
    assert any("strips are of one width" in f for f in faults(tmp_path, even))


def test_shifted_joints_do_not_go_with_alternatives(tmp_path: Path) -> None:
    """Further splits are offered as pairs."""
    shifted = SOUND.replace("courses = 9\n", 'courses = 9\njoint_sides = "shifted"\n')
    assert [p.joint_sides for p in read(tmp_path, shifted).planking] == ["shifted", "alike"]
    both = shifted.replace('kind = "none"', "alternatives = 2")
    (told,) = faults(tmp_path, both)
    assert '[joints] alternatives: does not go with joint_sides = "shifted"' in told
    read(tmp_path, both.replace("alternatives = 2", "alternatives = 0"))


def test_bevel_keys_and_their_faults(tmp_path: Path) -> None:
    text = SOUND.replace("courses = 9", 'courses = 9\nbevel_on = "next"\nsquare_gap = "0.5 mm"')
    side, bottom = read(tmp_path, text).planking
    assert (side.bevel_on, side.square_gap) == ("next", 0.5)
    assert (bottom.bevel_on, bottom.square_gap) == (None, 0.3)
    for line, word in (('bevel_on = "last"', "is not allowed"), ('square_gap = "1 in"', "outside 0 to 5 mm")):
        assert any(word in told for told in faults(tmp_path, SOUND.replace("courses = 9", f"courses = 9\n{line}")))


WAYS = """
[chine]
joint = "lap"
lap_limit_deg = 140
forward_joint = "butt"
[sheathing]
thickness = "0.5 mm"
panels = ["bottom"]
"""


def test_keys_of_chine_stem_keel_and_sheathing(tmp_path: Path) -> None:
    text = SOUND.replace('stem_end = "lap"', 'stem_end = "rabbet"\nhalf_siding = 1\nkeel_flat = [[24, 2], [160, 1]]')
    boat = read(tmp_path, text.replace("half = true", "half = true\nskin_in_lines = true") + WAYS)
    assert (boat.chine.joint, boat.chine.lap_limit_deg, boat.chine.forward_joint) == ("lap", 140.0, "butt")
    assert boat.backbone.keel_flat == ((609.6, 50.8), (4064.0, 25.4))
    assert (boat.backbone.stem_end, boat.backbone.half_siding) == ("rabbet", 25.4)
    assert [p.sheathed for p in boat.planking] == [0.0, 0.5]
    assert boat.planking[1].outside_of("outside") == -0.5
    assert read(tmp_path, SOUND + WAYS).planking[1].sheathed == 0.0
    assert read(tmp_path, SOUND.replace('stem_end = "lap"', "keel_flat = 2")).backbone.keel_flat == ((0.0, 50.8),)


@pytest.mark.parametrize(
    ("line", "word"),
    [
        ("keel_flat = [[3, 2], [1, 2]]", "from aft to forward"),
        ('keel_flat = "wide"', "is not a length"),
        ("keel_flat = [1, 2]", "is no width of a flat"),
        ('stem_end = "rabbet"', "a rabbet needs the siding of the stem"),
        ("[chine]\nlap_limit_deg = 190", "not a number from 95 to 175"),
        ('[chine]\nforward_joint = "lap"', "is not allowed"),
        ("[hull]\nskin_in_lines = 1", "neither true nor false"),
    ],
)
def test_faults_of_these_keys(tmp_path: Path, line: str, word: str) -> None:
    text = SOUND.replace("half = true", "skin_in_lines = 1") if "skin" in line else SOUND
    wanted = SOUND if "skin" in line else text.replace('stem_end = "lap"', line)
    told = faults(tmp_path, text if "skin" in line else wanted)
    assert any(word in fault for fault in told), told
