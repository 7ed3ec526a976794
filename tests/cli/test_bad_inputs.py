"""Bad input of every kind, through the command line: the right exit status, one clear message, no traceback, and an
earlier result left byte for byte as it was."""

from __future__ import annotations

import json
import struct
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from strakewright_cli.app import run
from strakewright_cli.starter import write_starter

Prepare = Callable[[Path], list[str]]

BUILD = ["build", "boat.toml", "--out", "result", "--seconds", "0"]
NEST = ["nest", "parts.json", "boards.json", "--out", "result", "--seconds", "0"]

PLY = "ply\nformat ascii 1.0\nelement vertex {n}\nproperty float x\nproperty float y\nproperty float z\n"
PLY += "element face {m}\nproperty list uchar int vertex_indices\nend_header\n{body}"


LINING = '{{"layers": [{{"panel": "side", "layer": 1, "courses": {}}}]}}'


@dataclass(frozen=True)
class Case:
    """A bad input.  says : what the message must hold;  prepare : spoils a sound folder, returns the command line"""

    name: str
    status: int
    says: str
    prepare: Prepare


def mesh(name: str, says: str, content: bytes | str, suffix: str = "ply") -> list[Case]:
    """The same bad mesh file for `build` and for `unroll`."""
    raw = content.encode() if isinstance(content, str) else content

    def for_build(folder: Path) -> list[str]:
        folder.joinpath(f"bad.{suffix}").write_bytes(raw)
        edit("boat.toml", 'mesh       = "hull.ply"', f'mesh = "bad.{suffix}"')(folder)
        return BUILD

    def for_unroll(folder: Path) -> list[str]:
        folder.joinpath(f"bad.{suffix}").write_bytes(raw)
        return ["unroll", f"bad.{suffix}", "--out", "result"]

    return [Case(f"build, {name}", 3, says, for_build), Case(f"unroll, {name}", 3, says, for_unroll)]


def edit(file: str, old: str, new: str, command: list[str] = BUILD) -> Prepare:
    def prepare(folder: Path) -> list[str]:
        text = folder.joinpath(file).read_text(encoding="utf-8")
        assert old in text
        folder.joinpath(file).write_text(text.replace(old, new, 1), encoding="utf-8")
        return command

    return prepare


def whole(file: str, content: bytes | str, command: list[str] = BUILD) -> Prepare:
    def prepare(folder: Path) -> list[str]:
        folder.joinpath(file).write_bytes(content.encode() if isinstance(content, str) else content)
        return command

    return prepare


def gone(file: str, command: list[str] = BUILD, in_its_place: str = "") -> Prepare:
    def prepare(folder: Path) -> list[str]:
        folder.joinpath(file).unlink()
        if in_its_place == "folder":
            folder.joinpath(file).mkdir()
        return command

    return prepare


def line(*arguments: str) -> Prepare:
    return lambda folder: list(arguments)


def boat(name: str, says: str, old: str, new: str) -> Case:
    return Case(f"boat file, {name}", 3, says, edit("boat.toml", old, new))


def board_row(name: str, says: str, row: str) -> Case:
    return Case(f"boards, {name}", 3, says, whole("boards.csv", "id,length,width,thickness,count\n" + row))


def nest_file(name: str, says: str, file: str, old: str, new: str) -> Case:
    return Case(f"nest, {name}", 3, says, edit(file, old, new, NEST))


def half_of_hull(folder: Path) -> list[str]:
    raw = folder.joinpath("hull.ply").read_bytes()
    folder.joinpath("hull.ply").write_bytes(raw[: len(raw) // 2])
    return BUILD


def triangle_ply(x: str, m: int = 1, face: str = "3 0 1 2") -> str:
    return PLY.format(n=3, m=m, body=f"{x} 0 0\n1000 0 0\n0 1000 0\n" + f"{face}\n" * m)


BINARY_STL = b"\0" * 80 + struct.pack("<I", 500) + b"\0" * 50
MESHES = [
    *mesh("cut-off binary STL", "bad.stl", BINARY_STL, "stl"),
    *mesh("a picture for an OBJ", "bad.obj", b"\xff\xd8\xff\xe0" + bytes(range(256)) * 4, "obj"),
    *mesh("prose for an STL", "bad.stl", "Dear builder, here is your hull.\n", "stl"),
    *mesh("an empty file", "empty", b""),
    *mesh("a vertex that is not a number", "bad.ply", triangle_ply("nan")),
    *mesh("a vertex at infinity", "bad.ply", triangle_ply("inf")),
    *mesh("no triangles", "bad.ply", PLY.format(n=3, m=0, body="0 0 0\n1 0 0\n0 1 0\n")),
    *mesh("a triangle of vertices that are not there", "bad.ply", triangle_ply("0", face="3 0 1 9")),
    *mesh("fewer triangles than promised", "bad.ply", triangle_ply("0", m=3)[:-9]),
    *mesh("only triangles without area", "bad.ply", triangle_ply("0", face="3 1 1 1")),
    *mesh("noise for a GLB", "bad.glb", b"glTF" + b"\x07" * 300, "glb"),
    *mesh("noise for a 3MF", "bad.3mf", b"PK\x03\x04" + b"\x07" * 300, "3mf"),
    *mesh("an OFF that ends early", "bad.off", "OFF\n4 4 6\n0 0 0\n1 0 0\n", "off"),
    *mesh("a drawing", "'.dwg' is not known", b"AC1027" + b"\0" * 200, "dwg"),
    Case("build, half of a binary PLY", 3, "hull.ply", half_of_hull),
    Case("build, a missing mesh", 3, "'hull.ply' does not exist", gone("hull.ply")),
    Case("build, a folder for a mesh", 3, "'hull.ply' is a folder", gone("hull.ply", in_its_place="folder")),
    Case("unroll, a missing mesh", 3, "nix.stl", line("unroll", "nix.stl", "--out", "result")),
    Case("unroll, a folder for a mesh", 3, "is a folder", line("unroll", ".", "--out", "result")),
]

BOATS = [
    boat("unknown key", '[hull] hlaf: is not a known key. Did you mean "half"?', "half  ", "hlaf  "),
    boat("unknown table", 'Did you mean "frames"?', "[frames]", "[frame]"),
    boat("text for a number", "[[planking]] courses: 'four' is not a whole number", "= 4 ", '= "four" '),
    boat("number for text", "[hull] mesh: 3 is no name of a file", '= "hull.ply"', "= 3"),
    boat("a list for a length", "thickness: [12] is not a length", "thickness = 12", "thickness = [12]"),
    boat("negative size", "width: -90 is -90 mm, outside 10 to 1000 mm", "width     = 90", "width = -90"),
    boat("not a number", "nan is not a finite number", "thickness = 12", "thickness = nan"),
    boat("wrong unit", "[boat] units: 'furlong' is not allowed", 'units = "mm" ', 'units = "furlong" '),
    boat("a table that is not there", "'o.csv' does not exist", 'mesh       = "hull.ply"', 'offsets = "o.csv"'),
    boat("an unknown panel", "'topsides' is no name of a panel", '= "side"', '= "topsides"'),
    boat("a panel the hull has not", "bilge1", '= "side"', '= "bilge1"'),
    boat("a frame off the hull", "off the hull", "spacing = 500", "at = [500, 9000]"),
    boat("an unknown wood", 'nearest is "Douglas-fir"', '= "Douglas-fir"', '= "Duglas fir"'),
    boat("axes that coincide", "up and forward are the same axis", '"+z"', '"-x"'),
    boat("TOML that is cut off", "boat.toml:", 'species = "Douglas-fir"', 'species = "Doug'),
    boat("an unclosed table", "not TOML", "[stock]", "[stock"),
    Case("boat file, empty", 3, "[boat]: is missing", whole("boat.toml", "")),
    Case("boat file, a picture", 3, "UTF-8", whole("boat.toml", b"\x89PNG\r\n\x1a\n\0\0\0")),
    Case("boat file, not UTF-8", 3, "boat.toml:2", whole("boat.toml", b'[boat]\nname = "M\xf6we"\n')),
    Case("boat file, missing", 3, "no such boat file", gone("boat.toml")),
    Case("boat file, a folder", 3, "not a file", gone("boat.toml", in_its_place="folder")),
    Case("boat file, check", 3, "is missing", whole("boat.toml", "[boat]\n", ["check", "boat.toml"])),
]

BOARDS = [
    board_row("zero width", "boards.csv:2: width: '0' is 0 mm", "A,4000,0,16,1\n"),
    board_row("negative length", "boards.csv:2: length: '-4' is -4 mm", "A,-4,200,16,1\n"),
    board_row("text for a size", "boards.csv:2: thickness: 'thick' is not a length", "A,4000,200,thick,1\n"),
    board_row("an empty cell", "boards.csv:3: width: the cell is empty", "A,4000,200,16,1\nB,4000,,16,1\n"),
    board_row("the same id twice", "boards.csv:3: id: a second board 'a'", "A,4000,200,16,1\na,4000,200,16,1\n"),
    board_row("an id that is no id", "boards.csv:2: id: 'Brett Ö' is no id", "Brett Ö,4000,200,16,1\n"),
    board_row("half a board", "boards.csv:2: count: '0.5'", "A,4000,200,16,0.5\n"),
    board_row("an open quote", "boards.csv:2: not a table", 'A,"4000,200,16,1\n'),
    board_row("too many cells", "boards.csv:2: row: 6 cells under 5 columns", "A,4,000,200,16,1\n"),
    board_row("no boards at all", "the table has no boards", ""),
    Case("boards, wrong columns", 3, "no column 'width'", whole("boards.csv", "id,length,breadth,thickness\n")),
    Case("boards, no table", 3, "no column 'id'", whole("boards.csv", "all my ash\n")),
    Case("boards, not text", 3, "boards.csv", whole("boards.csv", b"\xff\xfe\0\0\x01")),
    Case("boards, missing", 3, "'boards.csv' does not exist", gone("boards.csv")),
]

NESTS = [
    nest_file("cut-off JSON", "parts.json:1:", "parts.json", ', "marks": []}]}', ""),
    nest_file("NaN", "NaN is no number", "parts.json", '"thickness": 19', '"thickness": NaN'),
    nest_file("another form", "format is", "parts.json", "strakewright/parts@1", "strakewright/boards@1"),
    nest_file("inches", "units is 'in'", "parts.json", '"units": "mm"', '"units": "in"'),
    nest_file("a bow tie", "crosses or touches itself", "parts.json", "[900, 0], [900, 90]", "[900, 90], [900, 0]"),
    nest_file("two corners", "has no area", "parts.json", "[[0, 0], [900, 0], [900, 90], [0, 90]]", "[[0, 0], [9, 9]]"),
    nest_file("no id", "id is None", "parts.json", '"id": "S1"', '"name": "S1"'),
    nest_file("negative thickness", "thickness is -19", "parts.json", '"thickness": 19', '"thickness": -19'),
    nest_file("a missing rule", "spacing is missing", "parts.json", '"spacing": 8, ', ""),
    nest_file("a board without area", "has no area", "boards.json", "[2400, 150], [0, 150]", "[2400, 0], [0, 0]"),
    nest_file("a knot that is no outline", "defect 0", "boards.json", '"defects": []', '"defects": [{"kind": "knot"}]'),
    nest_file("a board of text", '"B1": a coordinate', "boards.json", "[2400, 0]", '["long", 0]'),
    Case("nest, missing parts", 3, "parts.json", gone("parts.json", NEST)),
    Case("nest, missing boards", 3, "boards.json", gone("boards.json", NEST)),
    Case("nest, a boat file for parts", 3, "not JSON", line("nest", "boat.toml", "boards.json", "--out", "result")),
    nest_file("no part fits any board", "S1", "parts.json", '"thickness": 19', '"thickness": 60'),
]
NESTS[-1] = Case(NESTS[-1].name, 4, NESTS[-1].says, NESTS[-1].prepare)

LINES = [
    Case("no command", 2, "Missing command", line()),
    Case("unknown command", 2, "bild", line("bild", "boat.toml")),
    Case("no boat file", 2, "BOAT", line("build", "--out", "result")),
    Case("no folder", 2, "--out", line("build", "boat.toml")),
    Case("unknown option", 2, "--fast", line(*BUILD, "--fast")),
    Case("one file too many", 2, "other.toml", line(*BUILD, "other.toml")),
    Case("seconds below zero", 2, "--seconds", line("build", "boat.toml", "--out", "result", "--seconds", "-1")),
    Case("seconds in words", 2, "--seconds", line("build", "boat.toml", "--out", "result", "--seconds", "ten")),
    Case("seconds without number", 2, "--seconds", line("build", "boat.toml", "--out", "result", "--seconds", "nan")),
    Case("seconds and rounds", 2, "exclude each other", line(*BUILD, "--rounds", "3")),
    Case("rounds in parts", 2, "--rounds", line("build", "boat.toml", "--out", "result", "--rounds", "1.5")),
    Case("unknown unit", 2, "furlong", line("unroll", "hull.ply", "--out", "result", "--units", "furlong")),
    Case("a crease of nothing", 2, "--crease-deg", line("unroll", "hull.ply", "--out", "result", "--crease-deg", "0")),
    Case("boards left out", 2, "BOARDS", line("nest", "parts.json", "--out", "result")),
    Case("somebody's own folder", 2, "summary.json", line("build", "boat.toml", "--out", "mine")),
    Case("a file for a folder", 2, "is a file", line("build", "boat.toml", "--out", "boards.csv")),
    Case("new in a full folder", 2, "is not empty", line("new", "mine")),
    Case("new over a file", 2, "is a file", line("new", "boat.toml")),
]

LININGS = [
    Case("lining, missing", 3, "nix.json", line(*BUILD, "--lining", "nix.json")),
    Case("lining, another form", 3, "format is", line(*BUILD, "--lining", "parts.json")),
    Case("lining, no layers", 3, "layers", whole("l.json", "{}", [*BUILD, "--lining", "l.json"])),
    Case("lining, no courses", 3, "courses", whole("l.json", LINING.format("0"), [*BUILD, "--lining", "l.json"])),
    Case("lining, cut off", 3, "l.json:1:", whole("l.json", LINING[:20], [*BUILD, "--lining", "l.json"])),
]

CASES = [*MESHES, *BOATS, *BOARDS, *NESTS, *LINES, *LININGS]

PARTS_JSON = {
    "format": "strakewright/parts@1",
    "units": "mm",
    "rules": {"spacing": 8, "edge_margin": 4, "defect_margin": 4, "max_skew_deg": 3, "min_offcut": 600},
    "parts": [
        {
            "id": "S1",
            "outline": [[0, 0], [900, 0], [900, 90], [0, 90]],
            "thickness": 19,
            "species": "white ash",
            "marks": [],
        }
    ],
}
BOARDS_JSON = {
    "format": "strakewright/boards@1",
    "units": "mm",
    "boards": [
        {
            "id": "B1",
            "outline": [[0, 0], [2400, 0], [2400, 150], [0, 150]],
            "thickness": 20,
            "species": "white ash",
            "defects": [],
        }
    ],
}


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """A sound folder, file by file: the starter boat, a small nest job, an earlier result, somebody's own folder."""
    folder = tmp_path_factory.mktemp("sound") / "boat"
    write_starter(folder)
    files = {path.name: path.read_bytes() for path in folder.iterdir()}
    files["parts.json"] = json.dumps(PARTS_JSON).encode()
    files["boards.json"] = json.dumps(BOARDS_JSON).encode()
    files["result/summary.json"] = b'{"format": "strakewright/summary@1", "earlier": true}'
    files["result/sheets/A.dxf"] = b"an earlier sheet"
    files["mine/thesis.txt"] = b"years of work"
    return files


def laid_out(files: dict[str, bytes], folder: Path) -> None:
    for name, content in files.items():
        folder.joinpath(name).parent.mkdir(parents=True, exist_ok=True)
        folder.joinpath(name).write_bytes(content)


def kept(folder: Path) -> dict[str, bytes]:
    """What must not change: the earlier result and somebody's own folder."""
    held = [*folder.joinpath("result").rglob("*"), *folder.joinpath("mine").rglob("*")]
    return {str(path.relative_to(folder)): path.read_bytes() for path in held if path.is_file()}


def test_there_are_enough_of_them_each_with_its_own_name() -> None:
    assert len({case.name for case in CASES}) == len(CASES) >= 60


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name.replace(" ", "-"))
def test_bad_input(
    case: Case,
    sound: dict[str, bytes],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capfd: pytest.CaptureFixture[str],
) -> None:
    laid_out(sound, tmp_path)
    monkeypatch.chdir(tmp_path)
    arguments = case.prepare(tmp_path)
    before, names = kept(tmp_path), sorted(tmp_path.rglob("*"))
    status = run(arguments)
    out, err = capfd.readouterr()
    assert (status, out) == (case.status, ""), err
    assert case.says in err
    assert "Traceback" not in err
    assert 1 <= len(err.splitlines()) <= 6, err
    assert kept(tmp_path) == before
    assert sorted(tmp_path.rglob("*")) == names


@pytest.mark.parametrize(
    ("arguments", "status", "says"),
    [(BUILD, 3, "[hull] surfaces: is not a known key"), (["bild"], 2, "No such command")],
)
def test_the_installed_command_does_the_same(
    arguments: list[str], status: int, says: str, sound: dict[str, bytes], tmp_path: Path
) -> None:
    laid_out(sound, tmp_path)
    edit("boat.toml", "surface ", "surfaces ")(tmp_path)
    command = [sys.executable, "-m", "strakewright_cli", *arguments]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stdout) == (status, "")
    assert says in done.stderr
    if status == 3:
        rows = (tmp_path / "boat.toml").read_text(encoding="utf-8").splitlines()
        line = next(n for n, row in enumerate(rows, 1) if row.startswith("surfaces "))
        assert f"boat.toml:{line}: " in done.stderr
    assert "Traceback" not in done.stderr
