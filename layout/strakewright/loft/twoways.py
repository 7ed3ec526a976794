"""A panel laid flat two ways: from its mesh as it is, and from the smooth surface that is worked with.

apart           the largest distance between the borders of the two, one laid on the other as well as it goes

Rule: planks are lined off on the fitted surface, so its flat is the one that is used; where the two lie further apart
than `LIMIT` that is told, for then one of them is wrong: a coarse mesh, normals that lie, or a surface that missed a
knuckle.  The second flat is that of `geometry/twoflats`.
"""

from __future__ import annotations

from collections.abc import Sequence

from strakewright.errors import Finding
from strakewright.hull import Panel

LIMIT = 1.0  # mm, what a builder's fairing takes up along a whole panel


def told_apart(name: str, far: float | None) -> tuple[Finding, ...]:
    """The finding where the two flats differ by more than `LIMIT` mm."""
    if far is None or far <= LIMIT:
        return ()
    what = f"laid flat from triangles and from the smooth surface through it, the borders come {far:.1f} mm apart"
    fix = "The smooth surface's flat is used; give a finer mesh, or look for a knuckle inside the panel"
    return (Finding("flats-differ", "warning", name, what, fix),)


def figures_apart(panels: Sequence[Panel]) -> dict[str, float | str]:
    """A headline figure for each panel that was laid flat twice, mm."""
    return {f"{p.name} flats_apart": p.flats_apart for p in panels if p.flats_apart is not None}
