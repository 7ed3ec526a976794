"""Verdicts of fit: thresholds of the trade page (glulam bend limits from memory, the rest common practice)."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from strakewright.parts import Fit
from strakewright.shop.fit import Bends, Limits, judge

ASH = Limits(0.0086, softwood=False)
FIR = replace(ASH, softwood=True)
T, W = 19.0, 100.0
STRONG = 1.0  # breaking strain so large that strain never decides


def bends(along: float = 0.0, across: float = 0.0, twist: float = 0.0, width: float = W) -> Bends:
    full = np.ones(9)
    return Bends(np.linspace(0, 1000, 9), along * full, across * full, twist * full, width * full, 1000.0 * full)


def verdict(limits: Limits = ASH, fold_out: float = 0.0, strong: bool = True, **figures: float) -> Fit:
    limits = replace(limits, breaking_strain=STRONG) if strong else limits
    return judge(bends(**figures), T, fold_out, limits)


def just(limit: float) -> tuple[float, float]:
    return limit * 0.999, limit * 1.001


@pytest.mark.parametrize(
    ("limits", "easy", "firm"), [(ASH, 1 / 200, 1 / 100), (FIR, 1 / 200, 1 / 125)], ids=["hardwood", "softwood"]
)
def test_bend(limits: Limits, easy: float, firm: float) -> None:
    """t / R easy to 1/200, firm to 1/100 (softwood 1/125)."""
    for limit, below, above in ((easy, "easy", "firm"), (firm, "firm", "refused")):
        assert [verdict(limits, along=x / T).verdict for x in just(limit)] == [below, above]
    assert verdict(limits, along=firm / T).bend_radius_min == pytest.approx(T / firm)


def test_twist() -> None:
    """t x twist: easy to 0.2 % (19 mm: 6 degrees a metre), refused past 1 % (30 degrees a metre)."""
    assert [verdict(twist=x / T).verdict for x in just(0.002)] == ["easy", "firm"]
    assert [verdict(twist=x / T).verdict for x in just(0.010)] == ["firm", "refused"]
    assert verdict(twist=np.radians(31.0) / 1000).verdict == "refused"
    assert verdict(twist=np.radians(5.9) / 1000).verdict == "easy"


def test_hollow() -> None:
    """w^2 / 8R: easy to 0.3 mm, firm to 1.0 mm and t / 15."""
    assert [verdict(across=8 * x / W**2).verdict for x in just(0.3)] == ["easy", "firm"]
    assert [verdict(across=8 * x / W**2).verdict for x in just(1.0)] == ["firm", "refused"]
    thin = replace(ASH, breaking_strain=STRONG)
    found = [judge(bends(across=8 * x / W**2), 9.0, 0.0, thin).verdict for x in just(9.0 / 15)]
    assert found == ["firm", "refused"]


def test_combined_strain() -> None:
    """Over the breaking strain (ash 0.86 %): easy to 0.30, firm to 0.60."""
    assert [verdict(strong=False, fold_out=x * 0.0086).verdict for x in just(0.30)] == ["easy", "firm"]
    assert [verdict(strong=False, fold_out=x * 0.0086).verdict for x in just(0.60)] == ["firm", "refused"]


def test_strains_add_up() -> None:
    """Bend t / 2R (beam theory), twist tau^2 w^2 / 12 (edges against the mean, strip theory), flattening."""
    fit = verdict(along=1 / 4000.0, twist=2e-4, fold_out=1e-4)
    assert fit.strain_total == pytest.approx(T / 8000 + 4e-8 * W**2 / 12 + 1e-4)
    assert fit.strain_max == 1e-4


def test_a_straight_plank() -> None:
    fit = verdict()
    assert fit.bend_radius_min is None
    assert (fit.verdict, fit.twist_max, fit.hollow, fit.edge_set) == ("easy", 0.0, 0.0, 0.0)


def test_the_worst_decides_and_its_figure_stands_in_the_reason() -> None:
    fit = verdict(along=1 / 2500.0, across=8 * 1.5 / W**2)
    assert fit.verdict == "refused"
    assert "1.5 mm hollow" in fit.reason
    assert "R 2.50 m" in verdict(along=1 / 2500.0).reason


def test_curvature_of_either_sign_counts() -> None:
    assert verdict(along=-1 / 1000.0).verdict == "refused"
    assert verdict(across=-8 * 1.5 / W**2).hollow == pytest.approx(1.5)
