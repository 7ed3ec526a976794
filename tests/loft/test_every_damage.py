"""Every sort of damage that `tests/bench/damages.py` can make, one seed each: as the clean hull, or refused by name.

The clean hull is lofted from its own mesh; what the damage did is known, so the answer is too, within 0.1 mm.  Where
every corner is astray by up to 0.1 mm each way, a finding says how far borders may be out, and they are out by less.
The bench runs twenty seeds of each.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.bench.damage_bench import judged
from tests.bench.damaged import Clean, clean
from tests.bench.damages import KINDS


@pytest.fixture(scope="module")
def hull() -> Clean:
    return clean(1)


@pytest.mark.parametrize("kind", KINDS)
def test_damage(kind: str, hull: Clean, tmp_path: Path) -> None:
    verdict, far, words = judged(kind, hull, hull.truth, 1, tmp_path)
    assert verdict in ("same", "refused", *(("told",) if kind == "noise" else ())), (far, words)
    assert not far > 0.3  # what noise of 0.1 mm on borders may cost


@pytest.mark.parametrize(
    ("kind", "code"),
    [
        ("slivers", "slivers-closed"),
        ("doubled shell", "inside-set-aside"),
        ("bulkheads", "inside-set-aside"),
        ("heeled", "tilted"),
        ("t junctions", "seams-stitched"),
        ("off centre", "off-centre"),
        ("decked", "lids-set-aside"),
        ("starboard half", "half-mirrored"),
        ("repeated", "repeated-triangles"),
        ("degenerate", "degenerate-triangles"),
        ("fittings", "bodies-set-aside"),
        ("holes", "holes-closed"),
        ("turned", "triangles-turned"),
        ("one side turned", "triangles-turned"),
        ("skeg", "plate-set-aside"),
        ("specks", "loose-pieces"),
        ("rounded", "chine-sharpened"),
        ("fading", "crease-followed"),
        ("sawtooth", "corners-astray"),
        ("noise", "corners-astray"),
        ("chine apart", "corners-astray"),
    ],
)
def test_each_repair_is_told(kind: str, code: str, hull: Clean, tmp_path: Path) -> None:
    from tests.bench.damage_bench import made_from

    assert code in {f.code for f in made_from(kind, hull, 1, tmp_path).findings}
