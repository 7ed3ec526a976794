"""Free-standing surfaces laid flat.

flat panel  one smooth piece of a surface, unrolled; seen from the side its triangles face
strain      length in the flat over length on the surface, less one: + = the flat is too long there
squeeze     what a sheet must give way by to take the shape: the same figures, other way round
hole        an inner border: hatch, window
K           product of the two principal curvatures: + like a bowl, - like a saddle, 0 where a sheet lies on
floor       the least strain that any way of laying out a strip of a width leaves: |K| width squared / 16
two ways    every panel is laid flat twice: by its triangles, and by the smooth surface through its corners
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, Ints, frozen_array
from strakewright.errors import Finding


@dataclass(frozen=True)
class TwoWays:
    """Both flats of a panel compared, and which is used.

    used : "triangles" or "surface";  why : in words;  apart : mm between the borders of the two
    off : mm, the most that a corner lies off the surface;  corners : that were compared
    by_triangles, by_surface : largest strain and rms strain of each flat against the lengths it was made from
    """

    used: str
    why: str
    apart: float
    off: float
    corners: int
    by_triangles: tuple[float, float]
    by_surface: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Cover:
    """What may cover a panel, told where it is curved most (of all but the 5 hundredths at either end).

    gauss : K there, 1/mm2;  corner : its number, None where the corners lie on no smooth surface
    floors : width mm -> least strain;  widest : kind of cover, strain it bears, widest strip mm (None = any)
    words : for people
    """

    gauss: float
    corner: int | None
    floors: tuple[tuple[float, float], ...]
    widest: tuple[tuple[str, float, float | None], ...]
    words: str


@dataclass(frozen=True, eq=False)
class FlatPanel:
    """flat : (n, 2) mm, x along the longest extent, least x and least y at 0;  vertices : (n, 3) mm, the same
    points in space;  triangles : (m, 3)

    outline : (k, 2) counter-clockwise;  holes : (k, 2) each, clockwise
    strain : (m, 2) greatest and least;  direction : (m, 2) unit vectors in the flat along the greatest
    strain_max, strain_rms : fractions, over all triangles
    gauss : 5th and 95th percentile by area of the product of the principal curvatures, 1/mm2
    cover : what the panel can be covered with
    rulings : (2, 2) ends in the flat of straight lines on a single-curved panel
    ways : the two ways compared; None where no smooth surface goes through so few corners
    """

    name: str
    flat: Floats
    vertices: Floats
    triangles: Ints
    outline: Floats
    holes: tuple[Floats, ...]
    strain: Floats
    direction: Floats
    strain_max: float
    strain_rms: float
    gauss: tuple[float, float]
    cover: Cover
    rulings: tuple[Floats, ...] = ()
    ways: TwoWays | None = None

    def __post_init__(self) -> None:
        for name, width in (("flat", 2), ("vertices", 3), ("outline", 2), ("strain", 2), ("direction", 2)):
            array = frozen_array(getattr(self, name), (None, width), f"{self.name} {name}")
            object.__setattr__(self, name, array)
        object.__setattr__(self, "rulings", tuple(frozen_array(r, (2, 2), f"{self.name} ruling") for r in self.rulings))
        holes = tuple(frozen_array(hole, (None, 2), f"{self.name} hole") for hole in self.holes)
        object.__setattr__(self, "holes", holes)
        triangles = np.array(self.triangles, dtype=np.int64)
        triangles.setflags(write=False)
        object.__setattr__(self, "triangles", triangles)


@dataclass(frozen=True, eq=False)
class Unrolled:
    """Every panel of a surface, the lowest first, and what is worth telling."""

    panels: tuple[FlatPanel, ...]
    findings: tuple[Finding, ...]
