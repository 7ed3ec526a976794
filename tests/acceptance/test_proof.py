"""The proof sees what is wrong: every check of closure holds on a sound boat and fails when its thing is broken."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from tests.acceptance.yard import Planked

from strakewright.arrays import Floats
from strakewright.errors import Check
from strakewright.parts import Plank
from strakewright.proof.closure import closure

Break = Callable[[Plank], Plank]


def checks(boat: Planked, spoil: Break | None = None, one: str = "S02P") -> dict[str, Check]:
    planks = [spoil(p) if spoil is not None and p.id == one else p for p in boat.planks]
    return {c.name: c for c in closure(planks, [layer.truth for layer in boat.layers])}


def test_every_check_holds_on_a_sound_boat(capped: Planked, prism: Planked, jointed: Planked) -> None:
    for boat in (capped, prism, jointed):
        found = checks(boat)
        assert len(found) >= 6
        assert [c.name for c in found.values() if not c.holds] == []


def stretched(plank: Plank) -> Plank:
    """Second edge 0.1 mm too long in the flat."""
    flat = plank.second.flat.copy()
    flat[-1] += (flat[-1] - flat[-2]) / np.linalg.norm(flat[-1] - flat[-2]) * 0.1
    return replace(plank, second=replace(plank.second, flat=flat))


def moved_seam(plank: Plank) -> Plank:
    return replace(plank, second=replace(plank.second, seam=plank.second.seam + np.full(3, 0.001)))


def without_an_end(plank: Plank) -> Plank:
    return replace(plank, ends=plank.ends[1:])


def other_outline(plank: Plank) -> Plank:
    return replace(plank, outline=plank.outline + 0.001)


def same_face(plank: Plank) -> Plank:
    """Two port planks where a pair was wanted."""
    return replace(plank, face_up="outside" if plank.face_up == "inside" else "inside")


def narrow(plank: Plank, by: float = 1.0) -> Plank:
    """One millimetre off the whole width of one plank, marks and ring alike."""

    def shrink(points: Floats) -> Floats:
        height = np.ptp(plank.net_outline[:, 1])
        return np.asarray(points * [1.0, 1.0 - by / height])

    marks = tuple(replace(m, points=shrink(m.points)) for m in plank.marks)
    return replace(plank, net_outline=shrink(plank.net_outline), marks=marks)


def much_narrower(plank: Plank) -> Plank:
    return narrow(plank, 2.0)


def short_of_the_border(plank: Plank) -> Plank:
    """A gap of half a millimetre beside the next plank's end."""
    at = next(i for i, e in enumerate(plank.ends) if e.border is not None)
    end = plank.ends[at]
    seam = end.seam + np.linspace(0.5, 0.0, len(end.seam))[:, None] * [0.0, 0.0, 1.0]
    return replace(plank, ends=(*plank.ends[:at], replace(end, seam=seam), *plank.ends[at + 1 :]))


def lost_mark(plank: Plank) -> Plank:
    return replace(plank, marks=tuple(m for m in plank.marks if m.kind != "frame"))


@pytest.mark.parametrize(
    ("spoil", "name"),
    [
        (stretched, "edge length in the flat against the boat"),
        (moved_seam, "seam points shared by neighbours"),
        (without_an_end, "edges and ends make the ring"),
        (other_outline, "mirror pairs"),
        (same_face, "mirror pairs"),
        (narrow, "widths round each frame add up to the girth, side layer 1"),
        (lost_mark, "widths round each frame add up to the girth, side layer 1"),
        (short_of_the_border, "planks follow one another round the border, side layer 1"),
        (much_narrower, "flat planks against the skin's area, side layer 1"),
    ],
    ids=lambda x: getattr(x, "__name__", str(x)[:12]),
)
def test_a_broken_plank_is_seen(capped: Planked, spoil: Break, name: str) -> None:
    assert checks(capped)[name].holds
    assert not checks(capped, spoil)[name].holds


def test_a_plank_left_out_is_seen(capped: Planked) -> None:
    rest = [p for p in capped.planks if p.id != "S02P"]
    failed = {c.name for c in closure(rest, [layer.truth for layer in capped.layers]) if not c.holds}
    assert "mirror pairs" in failed
    assert any(name.startswith("widths") for name in failed)
    assert any(name.startswith("flat planks") for name in failed)


def test_girths_and_areas_of_the_proof_are_the_true_ones(prism: Planked, arc: Planked) -> None:
    """What the planks are held against, from closed forms: breadth w - d tan a of a prism's layer; R phi of an arc."""
    deadrise = np.radians(20.0)
    for layer in prism.layers:
        skin = layer.lined.skin
        if skin.panel == "bottom":
            breadth = 900.0 / np.cos(deadrise) - skin.depth * np.tan(deadrise)
            assert list(layer.truth.girths.values()) == pytest.approx([breadth] * len(prism.frames), abs=0.01)
            assert layer.truth.area == pytest.approx(3000.0 * breadth, rel=1e-6)
    truth = arc.layers[0].truth
    assert list(truth.girths.values()) == pytest.approx([2000.0 * np.radians(60.0)] * len(arc.frames), abs=0.01)
    assert truth.area == pytest.approx(4000.0 * 2000.0 * np.radians(60.0), rel=1e-5)
