"""A free-standing panel laid flat both ways, and which of the two flats is used.

by triangles   lengths from the corners round about each corner: follows every corner, and every corner's noise
by surface     lengths from one smooth surface fitted to all corners: evens noise out, and what it cannot follow
miss           mm by which a corner lies off that surface, + on the side its triangles face
shared miss    what neighbours miss alike: a shape that the surface did not follow, where noise would not agree
surplus        strain that one flat has beyond the other's, as the root of the difference of the squares

Rule (derived, tried on closed forms with noise, knuckles, dents and waves): lengths that are wrong do not fit together
in a plane, so of two sound flats the one with less rms strain is nearer the truth.  The surface is sound where it
meets every corner, or where the corners are rough and its misses look like noise: none shared, none that stands out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Floats, Ints
from strakewright.errors import Finding, UnworkableError
from strakewright.flats import FlatPanel, TwoWays
from strakewright.geometry.arcs import Smooth, arc_lengths, smooth_surface
from strakewright.geometry.flatten import Flat, flatten_sides
from strakewright.geometry.meshes import edges
from strakewright.geometry.surface import FitOptions, Patch, fit_patch, foot_points
from strakewright.geometry.twoflats import apart, second_flat, smooth_on

ROUNDS = 20
APART = 1.0  # mm between the two borders that is worth telling
_FEWEST, _INSIDE = 30, 0.2  # corners a surface goes through; the share of them that must lie inside the border
_ENOUGH = 30_000  # corners to fit to, and to lay flat twice without a good reason
_REACH = 50.0  # mm that the surface runs on past the corners
_MET = 0.05  # mm: a surface as near as that to every corner has missed nothing
_PEAK, _ALIKE = 6.0, 0.5  # largest miss over their rms, shared miss over the rest, that noise does not pass
_ROUGH = 0.5  # mean trust below which corners are rough
_SURPLUS = 1e-5  # strain
_BY = {"triangles": "its triangles", "surface": "the smooth surface"}


@dataclass(frozen=True, eq=False)
class Laid:
    """flat : of the corners;  smooth : the surface at them, as far as it is known;  ways : the comparison"""

    flat: Flat
    smooth: Smooth
    ways: TwoWays | None


@dataclass(frozen=True, eq=False)
class _Mesh:
    """The panel as it came, and its flat by triangles."""

    vertices: Floats
    triangles: Ints
    flat: Flat
    smooth: Smooth

    @property
    def rough(self) -> bool:
        """Whether most of its corners lie on no smooth surface with those round about."""
        weight = np.bincount(self.triangles.ravel(), np.repeat(self.flat.area, 3))
        return float(weight @ self.smooth.trust) <= _ROUGH * float(weight.sum())


@dataclass(frozen=True, eq=False)
class _Fit:
    """A surface and the mesh's corners on it.  miss : (n,) mm;  rim : corners on the border"""

    patch: Patch
    feet: Floats
    miss: Floats
    rim: Ints


def lay_both_ways(vertices: Floats, triangles: Ints) -> Laid:
    """The better of both flats.  vertices : (n, 3) mm;  triangles : (m, 3).  Raises as `flatten_sides`."""
    smooth = smooth_surface(vertices, triangles)
    flat = flatten_sides(vertices, triangles, arc_lengths(vertices, triangles, smooth), rounds=ROUNDS)
    mesh = _Mesh(vertices, triangles, flat, smooth)
    try:
        fit = _fitted(mesh)
        return Laid(flat, smooth, None) if fit is None else _better(mesh, fit)
    except UnworkableError:  # the triangles have a flat, the surface has none
        return Laid(flat, smooth, None)


def _fitted(mesh: _Mesh) -> _Fit | None:
    """The smooth surface, None where too few corners would carry it."""
    net, count = edges(mesh.triangles), len(mesh.vertices)
    rim = np.unique(net.ends[net.border])
    if count < _FEWEST or count - len(rim) < _INSIDE * count:
        return None
    chart, some = mesh.flat.points, slice(None, None, max(1, count // _ENOUGH))
    patch, _ = fit_patch(chart[some], mesh.vertices[some], options=FitOptions(reach=_REACH))
    feet = foot_points(patch, mesh.vertices, chart)
    miss = np.einsum("ij,ij->i", mesh.vertices - patch.at(feet), -patch.normal(feet))
    return _Fit(patch, feet, miss, rim)


def _better(mesh: _Mesh, fit: _Fit) -> Laid:
    sound, why = _soundness(mesh, fit)
    smooth = smooth_on(fit.patch, fit.feet)
    known = smooth if mesh.rough else mesh.smooth
    if len(mesh.vertices) > _ENOUGH and not (sound and mesh.rough):  # of fine smooth meshes a few corners will do
        why = why if not sound else "so many smooth corners leave nothing to even out"
        second = second_flat(fit.patch, fit.feet, mesh.vertices, mesh.triangles, mesh.flat.points)
        return Laid(mesh.flat, known, _ways(mesh, fit, (second.flat, second.apart), ("triangles", why)))
    on = fit.patch.at(fit.feet)
    flat = flatten_sides(on, mesh.triangles, arc_lengths(on, mesh.triangles, smooth), rounds=ROUNDS)
    second_way = flat, apart(mesh.flat.points[fit.rim], flat.points[fit.rim])
    surplus = mesh.flat.strain_rms**2 - flat.strain_rms**2
    if sound and flat.flipped == 0 and surplus > _SURPLUS**2:
        told = f"its lengths fit together better, by {100 * np.sqrt(surplus):.2g} % of rms strain, and {why}"
        return Laid(flat, smooth, _ways(mesh, fit, second_way, ("surface", told)))
    told = "their lengths fit together as well or better" if sound else why
    return Laid(mesh.flat, known, _ways(mesh, fit, second_way, ("triangles", told)))


def _soundness(mesh: _Mesh, fit: _Fit) -> tuple[bool, str]:
    """Whether the surface may stand for the mesh, and why or why not."""
    worst = float(np.abs(fit.miss).max())
    if worst <= _MET:
        return True, f"the surface meets every corner within {_MET} mm"
    if not mesh.rough:
        return False, f"the corners are smooth, and the surface misses some by up to {worst:.2f} mm"
    shared, rest = _shared(fit.miss, mesh.triangles)
    if worst > _PEAK * float(np.sqrt(np.mean(fit.miss**2))) or shared > _ALIKE * rest:
        return False, f"the surface misses a shape in the mesh by up to {worst:.2f} mm"
    return True, f"what it misses of the corners, up to {worst:.2f} mm, is noise"


def _shared(miss: Floats, triangles: Ints) -> tuple[float, float]:
    """mm that neighbours miss alike, and mm that each misses by itself.

    >>> both = _shared(np.array([1.0, 1.0, 1.0]), np.array([[0, 1, 2]]))
    >>> [round(each, 12) for each in both]
    [1.0, 0.0]
    """
    a, b = miss[edges(triangles).ends].T
    alike, whole = float(np.mean(a * b)), float(np.mean(a * a + b * b)) / 2
    return float(np.sqrt(max(alike, 0.0))), float(np.sqrt(max(whole - alike, 0.0)))


def _ways(mesh: _Mesh, fit: _Fit, second: tuple[Flat, float], verdict: tuple[str, str]) -> TwoWays:
    flat, far = second
    (used, why), worst = verdict, float(np.abs(fit.miss).max())
    told = [(each.strain_max, each.strain_rms) for each in (mesh.flat, flat)]
    return TwoWays(used, why, far, worst, len(flat.points), *told)


def differing(panels: tuple[FlatPanel, ...]) -> list[Finding]:
    """A finding for every panel whose two flats lie further apart than fairing takes up."""
    return [
        Finding(
            "flats-differ",
            "warning",
            panel.name,
            f"laid flat by its triangles and by the smooth surface through it, the borders come {w.apart:.1f} mm apart;"
            f" the flat by {_BY[w.used]} is used: {w.why}",
            "Look for a knuckle, a dent or noise in the mesh, or give a finer one; cut with an allowance till then",
        )
        for panel in panels
        if (w := panel.ways) is not None and w.apart > APART
    ]
