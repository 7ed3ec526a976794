"""Will the wood take the shape?

bend      radius of the plank along itself; the strain at its face is half its thickness over that radius
twist     turn of the plank about its own length (wind); shear at the face = thickness x twist, and the edges
          stretch against the middle
hollow    how far the middle of a flat plank stands off a surface curved across it: width squared / 8 R
fold-out  strain of laying flat a strip of a doubly curved surface whose edges keep their length
verdict   easy, firm (slow, warm, with help) or refused (steam, narrower, thinner, or another run)

Sources: strains derived (beam and strip theory); limits of t/R 1/100 hardwood and 1/125 softwood from the glulam
rule of the National Design Specification (from memory); all other limits are common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from strakewright.arrays import Floats
from strakewright.geometry.surface import geodesic_twist, normal_curvature
from strakewright.parts import Fit
from strakewright.shop.shapes import Shape
from strakewright.shop.skins import Skin


@dataclass(frozen=True)
class Limits:
    """What a species stands, dry.  breaking_strain : MOR / E;  softwood : stricter bend limit."""

    breaking_strain: float
    softwood: bool
    easy_share: float = 0.30
    firm_share: float = 0.60
    easy_bend: float = 1 / 200
    easy_shear: float = 0.002
    firm_shear: float = 0.005
    most_shear: float = 0.010
    easy_hollow: float = 0.3
    firm_hollow: float = 1.0

    @property
    def firm_bend(self) -> float:
        return 1 / 125 if self.softwood else 1 / 100


@dataclass(frozen=True, eq=False)
class Bends:
    """Figures along the middle of a plank.  s mm; curvatures and twist per mm; width mm; x mm in the boat."""

    s: Floats
    along: Floats
    across: Floats
    twist: Floats
    width: Floats
    x: Floats


def measure(skin: Skin, shape: Shape) -> Bends:
    """Curvature and twist along the middle line of a plank, where that lies inside it."""
    lo, hi = shape.reach()
    course = shape.course
    s = np.linspace(lo, hi, max(9, int((hi - lo) / 25.0)))
    inner = s[(s >= lo + 0.02 * (hi - lo)) & (s <= hi - 0.02 * (hi - lo))]
    width = course.width(inner)
    middle = course.side * width / 2
    chart = course.fan.pq(inner, middle)
    ahead = course.fan.pq(inner + 0.5, middle) - course.fan.pq(inner - 0.5, middle)
    across = course.fan.pq(inner, middle + 0.5) - course.fan.pq(inner, middle - 0.5)
    patch = skin.patch
    return Bends(
        inner,
        normal_curvature(patch, chart, ahead),
        normal_curvature(patch, chart, across),
        geodesic_twist(patch, chart, ahead),
        width,
        patch.at(chart)[:, 0],
    )


def judge(run: Bends, thickness: float, fold_out: float, limits: Limits) -> Fit:
    """Figures and verdict for a spiled plank (no edge-set).  thickness : net, mm;  fold_out : flattening strain."""
    bend, twist = np.abs(run.along), np.abs(run.twist)
    hollow = run.width**2 * np.abs(run.across) / 8
    total = thickness * bend / 2 + twist**2 * run.width**2 / 12 + fold_out
    worst = int(np.argmax(total))
    tests = [
        (
            "bend",
            float(thickness * bend.max()),
            limits.easy_bend,
            limits.firm_bend,
            _bend_words(bend, thickness),
        ),
        _twist_test(twist, thickness, limits),
        (
            "hollow",
            float(hollow.max()),
            limits.easy_hollow,
            min(limits.firm_hollow, thickness / 15),
            f"{hollow.max():.1f} mm hollow under a flat plank {run.width[int(np.argmax(hollow))]:.0f} mm wide",
        ),
        (
            "strain",
            float(total.max()) / limits.breaking_strain,
            limits.easy_share,
            limits.firm_share,
            f"strain {100 * total.max():.2f} % at x {run.x[worst]:.0f}",
        ),
    ]
    verdict, reason = _verdict(tests)
    largest = float(bend.max())
    return Fit(
        bend_radius_min=1 / largest if largest > 1e-8 else None,
        twist_max=float(twist.max()),
        edge_set=0.0,
        strain_max=fold_out,
        strain_total=float(total.max()),
        hollow=float(hollow.max()),
        verdict=verdict,
        reason=reason,
    )


Trial = tuple[str, float, float, float, str]
Verdict = Literal["easy", "firm", "refused"]

HELP = {
    "bend": "Use thinner stock, or steam it",
    "twist": "Use narrower planks, steam, or staves there",
    "hollow": "Use narrower planks, or hollow the back",
    "strain": "Use thinner or narrower planks, or steam",
}


def _bend_words(bend: Floats, thickness: float) -> str:
    if bend.max() < 1e-8:
        return "straight"
    return f"bends to R {1 / bend.max() / 1000:.2f} m, {1 / (bend.max() * thickness):.0f} x its thickness"


def _twist_test(twist: Floats, thickness: float, limits: Limits) -> Trial:
    words = f"twists {np.degrees(twist.max()) * 1000:.1f} deg/m, shear {100 * thickness * twist.max():.2f} %"
    return ("twist", float(thickness * twist.max()), limits.easy_shear, limits.most_shear, words)


def _verdict(tests: list[Trial]) -> tuple[Verdict, str]:
    """The worst of the tests: its verdict, and its figure as the reason."""
    verdicts: tuple[Verdict, Verdict, Verdict] = ("easy", "firm", "refused")
    judged = []
    for name, value, easy, firm, words in tests:
        rank = 0 if value <= easy else 1 if value <= firm else 2
        judged.append((rank, value / firm, name, words))
    rank, _, name, words = max(judged)
    verdict = verdicts[rank]
    return verdict, words if verdict == "easy" else f"{words}. {HELP[name]}"
