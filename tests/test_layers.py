"""The house stands: imports run one way, and each room uses only the third parties it is meant to."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

SOURCE = Path(__file__).parents[1] / "layout" / "strakewright"
CLI = Path(__file__).parents[1] / "cli" / "strakewright_cli"

LAYERS: list[set[str]] = [
    {"errors", "units", "arrays", "compiling"},
    {"geometry"},
    {
        "hull",
        "parts",
        "lumber",
        "measure",
        "plan",
        "settings",
        "outfit",
        "machine",
        "floating",
        "ledger",
        "tables",
        "triangles",
        "flats",
        "solids",
        "drawn",
        "members",
        "frames",
        "offsets",
    },
    {"loft", "shop"},
    {"afloat", "weigh", "stores"},
    {"nest", "proof"},
    {"read", "write"},
    {"job"},
]
RANK = {room: rank for rank, rooms in enumerate(LAYERS) for room in rooms}

FIGURING = ("afloat", "weigh", "stores")
FORBIDDEN = {
    "nest": {"shop", "loft", "proof", "geometry", *FIGURING},
    "read": {"shop", "loft", "nest", "proof", *FIGURING},
    "write": {"shop", "loft", "nest", "proof", *FIGURING},
    "proof": {"shop", "loft", "nest", "geometry", "write", "read", *FIGURING},
    "loft": {"shop"},
    "shop": {"loft"},
}
THIRD_PARTY = {
    "errors": set(),
    "units": set(),
    "arrays": {"numpy"},
    "compiling": {"numba"},
    "geometry": {"numpy", "scipy", "shapely"},
    "hull": {"numpy"},
    "parts": {"numpy"},
    "lumber": {"numpy"},
    "measure": {"numpy"},
    "plan": set(),
    "settings": set(),
    "outfit": set(),
    "machine": set(),
    "floating": {"numpy"},
    "ledger": {"numpy"},
    "triangles": {"numpy"},
    "flats": {"numpy"},
    "solids": {"numpy"},
    "drawn": {"numpy"},
    "members": {"numpy"},
    "frames": {"numpy"},
    "offsets": {"numpy"},
    "tables": set(),
    "loft": {"numpy", "scipy"},
    "shop": {"numpy"},
    "afloat": {"numpy"},
    "weigh": {"numpy", "shapely"},
    "stores": {"numpy"},
    "nest": {"numpy", "scipy", "shapely"},
    "proof": {"numpy", "shapely"},
    "read": {"numpy", "pydantic", "trimesh", "shapely"},
    "write": {"numpy", "ezdxf", "reportlab", "shapely", "PIL"},
    "job": {"numpy"},
}


def imports(path: Path) -> set[str]:
    """Full names of the modules a file imports."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
    return found


def room_of(path: Path) -> str:
    parts = path.relative_to(SOURCE).parts
    return parts[0].removesuffix(".py")


def broken(room: str, names: set[str]) -> list[str]:
    """Imports of a room that run upward or to a forbidden room."""
    inside = {n.split(".")[1] for n in names if n.startswith("strakewright.")}
    faults = [f"{room} -> {other}" for other in inside if RANK.get(other, 99) > RANK[room]]
    faults += [f"{room} -> {other}" for other in inside & FORBIDDEN.get(room, set())]
    if "strakewright" in names:
        faults.append(f"{room} -> the front door")
    return faults


FILES = sorted(p for p in SOURCE.rglob("*.py") if p.relative_to(SOURCE).parts != ("__init__.py",))


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(SOURCE)))
def test_imports_run_one_way(path: Path) -> None:
    assert broken(room_of(path), imports(path)) == []


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(SOURCE)))
def test_third_parties_stay_in_their_rooms(path: Path) -> None:
    import sys

    tops = {n.split(".")[0] for n in imports(path)} - {"strakewright", "__future__"} - set(sys.stdlib_module_names)
    assert tops <= THIRD_PARTY[room_of(path)], f"{room_of(path)} uses {tops - THIRD_PARTY[room_of(path)]}"


def test_typer_stays_in_the_command_line() -> None:
    for path in FILES:
        assert not {n for n in imports(path) if n.split(".")[0] in ("typer", "rich", "click", "strakewright_cli")}


def test_the_check_sees_an_upward_arrow() -> None:
    assert broken("nest", {"strakewright.shop.planking"}) == ["nest -> shop"]
    assert broken("geometry", {"strakewright.hull"}) == ["geometry -> hull"]


def test_files_stay_readable() -> None:
    """Budget of the house: a file of at most 400 lines, a function of at most 60, six parameters."""
    for path in [*FILES, *CLI.rglob("*.py")]:
        text = path.read_text(encoding="utf-8")
        assert text.count("\n") <= 400, path
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                assert (node.end_lineno or 0) - node.lineno <= 60, (path, node.name)
