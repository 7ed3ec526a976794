"""The boat as the engine sees it: port half, in the contract's axes (x forward, y to port, z up).

panel     one smooth surface of the skin, carried by a patch that runs on past its borders
chart     flat coordinates (p forward, q up towards the sheer; mm, nearly true to length) of a patch
border    one of the curves that bound a panel, in its chart: keel, chine, sheer, stem, transom
chine     corner line between two panels;  crease: the same line while it is still only a fold in a mesh
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from strakewright.arrays import Floats, frozen_array
from strakewright.errors import Finding
from strakewright.geometry.surface import Patch
from strakewright.offsets import LinesPlan

SurfaceFace = Literal["outside", "middle", "inside"]


@dataclass(frozen=True, eq=False)
class Border:
    """One bounding curve of a panel.

    name : "keel", "chine" ("chine1", "chine2" ... from the keel up when there are several), "sheer",
        "stem", "transom" (a bow transom is "bow transom")
    chart : (n, 2) mm, fine points (chord error far below 0.001 mm after spline interpolation): long
        borders (keel, chine, sheer) run aft to forward, ends (stem, transom) from the lower long border to
        the upper one
    centreline : True when the border lies in y = 0 (planks are cut by that plane, not carried square)
    """

    name: str
    chart: Floats
    centreline: bool

    def __post_init__(self) -> None:
        object.__setattr__(self, "chart", frozen_array(self.chart, (None, 2), f"border {self.name!r}"))


@dataclass(frozen=True, eq=False)
class Panel:
    """A patch with its borders.

    patch : r(p, q), smooth and valid at least `reach` mm past the borders; r_p x r_q points INBOARD
    lower, upper : the long borders;  aft, forward : the ends, None where the long borders meet in a point
    residual : largest distance mm between the mesh's vertices and the patch
    flats_apart : mm between its borders laid flat from its triangles and from the patch; None where not compared
    misses : (k, 3) chart p, q and mm by which the mesh lies off the patch there, + outside it, the worst of each patch
        of corners; None for panels without a mesh
    """

    name: str
    patch: Patch
    lower: Border
    upper: Border
    aft: Border | None
    forward: Border | None
    residual: float
    flats_apart: float | None = None
    misses: Floats | None = None

    def __post_init__(self) -> None:
        if self.misses is not None:
            object.__setattr__(self, "misses", frozen_array(self.misses, (None, 3), f"misses of {self.name!r}"))

    def ring(self) -> tuple[tuple[Border, Floats], ...]:
        """The borders counter-clockwise in the chart, each with its points in that direction."""
        walk: list[tuple[Border, Floats]] = [(self.lower, self.lower.chart)]
        if self.forward is not None:
            walk.append((self.forward, self.forward.chart))
        walk.append((self.upper, self.upper.chart[::-1]))
        if self.aft is not None:
            walk.append((self.aft, self.aft.chart[::-1]))
        return tuple(walk)

    def in_space(self, border: Border) -> Floats:
        """(n, 3) mm points of one of the panel's borders."""
        return self.patch.at(border.chart)


@dataclass(frozen=True, eq=False)
class Hull:
    """Panels from the keel up.  surface : the face of the planking that the shape describes.

    length : mm between the aftmost (x = 0) and the foremost point;  figures : headline numbers for reports
    lines : what became of the table of offsets, None for a hull from a mesh
    """

    name: str
    panels: tuple[Panel, ...]
    surface: SurfaceFace
    length: float
    findings: tuple[Finding, ...]
    figures: dict[str, float | str]
    lines: LinesPlan | None = None

    def panel(self, name: str) -> Panel:
        """The panel of that name; raises KeyError."""
        return {p.name: p for p in self.panels}[name]
