"""Any surface mesh to flat panels, without a boat about it.

panel     a piece of the surface between creases, numbered from the lowest up
crease    a fold sharper than the given angle; the surface parts there
group     a named part of the mesh file; the builder may say that each group is one panel, whatever its folds
speck     a piece far too small to be meant

Method: derived; flat shapes by `geometry.flatten`, of two ways to take lengths the better (`bothways`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import Check, Finding, InputError, UnworkableError, at_most
from strakewright.flats import FlatPanel, Unrolled
from strakewright.geometry.flatten import Flat, squared_up
from strakewright.geometry.meshes import (
    border_loops,
    components,
    dihedral_fold,
    edges,
    face_areas,
    fans,
    steady_normals,
    weld,
    wound_alike,
)
from strakewright.geometry.outlines import is_simple, signed_area
from strakewright.shop.bothways import differing, lay_both_ways
from strakewright.shop.covering import cover_of, gauss_of
from strakewright.shop.rulings import rulings_of

LIES_FLAT = 5e-4  # strain that no sheet or plank takes notice of
_SPECK = 1e-5  # share of the whole area below which a piece is not meant
_THIN = 1e-6  # share of the size below which the height of a triangle is noise
_SLIT = 1.0  # mm2; a hole no larger is a crack between triangles that do not quite meet
_SOFTER = (0.8, 0.6, 0.45, 0.3, 0.2, 0.13)  # crease angles to try, in shares of the one asked for
_PIECE, _FEW = 0.03, 4  # a panel parts where its second piece is this share of it, and few pieces make it up


@dataclass(frozen=True, eq=False)
class Groups:
    """names : of the groups;  of : (m,) which of them each triangle belongs to"""

    names: tuple[str, ...]
    of: Ints


def unroll_surface(
    vertices: Floats, triangles: Ints, crease_deg: float = 15.0, groups: Groups | None = None
) -> Unrolled:
    """Part a surface at its creases, or into its groups where they are given, and lay every panel flat.

    vertices : (n, 3) mm;  triangles : (m, 3), wound any way;  crease_deg : sharper folds part the surface
    Raises InputError where there is no mesh, UnworkableError where a panel has no flat shape.
    """
    if len(vertices) == 3 * len(triangles):
        vertices, triangles = weld(vertices, triangles)
    triangles, turned = _agreeing(triangles)
    if groups is None:
        label = _parted(vertices, triangles, math.radians(crease_deg))
    else:
        net = edges(triangles)
        label = components(len(triangles), net, groups.of[net.faces[:, 0]] == groups.of[net.faces[:, 1]])
    kept, specks = _worth_keeping(vertices, triangles, label)
    patches = [_patch(vertices, triangles[label == piece]) for piece in kept]
    names = [f"panel{i}" for i in range(1, len(kept) + 1)] if groups is None else _named(kept, label, groups)
    panels = tuple(_panel(name, *patch) for name, patch in zip(names, patches, strict=True))
    return Unrolled(panels, (*turned, *specks, *_strained(panels, crease_deg), *differing(panels)))


def flat_checks(panels: tuple[FlatPanel, ...]) -> tuple[Check, ...]:
    """Flat area of every panel against the area of its triangles in space; strains may take twice their rms."""
    return tuple(
        at_most(f"{panel.name}: flat against surface area", _area_off(panel), _area_limit(panel), "share")
        for panel in panels
    )


def _area_off(panel: FlatPanel) -> float:
    """By what share the outline's area, less its holes, misses the area of the triangles in space."""
    inside = sum(signed_area(ring) for ring in (panel.outline, *panel.holes))
    return abs(float(inside / face_areas(panel.vertices, panel.triangles).sum()) - 1)


def _area_limit(panel: FlatPanel) -> float:
    """Strain, and the little by which facets are smaller than the surface they stand for: fold^2 / 6 at most."""
    net = edges(panel.triangles)
    fold = dihedral_fold(panel.vertices, panel.triangles, net)
    share = face_areas(panel.vertices, panel.triangles)[net.faces[:, 0]]
    return 2 * panel.strain_rms + float(share @ fold**2 / share.sum()) / 6 + 1e-9


# from one mesh to patches


def _agreeing(triangles: Ints) -> tuple[Ints, tuple[Finding, ...]]:
    """Triangles wound alike, and how many had to be turned over."""
    if len(triangles) == 0:
        raise InputError("the mesh has no triangles", fix="Export the surface as a mesh")
    alike = wound_alike(triangles)
    turned = int(np.count_nonzero((alike != triangles).any(axis=1)))
    told = Finding("winding-mended", "note", "mesh", f"{turned} of {len(triangles)} triangles turned over")
    return alike, (told,) if turned else ()


def _parted(vertices: Floats, triangles: Ints, crease: float) -> Ints:
    """(m,) number of the piece each triangle belongs to."""
    net = edges(triangles)
    size = float(np.ptp(vertices, axis=0).max())
    normals = steady_normals(vertices, triangles, net, _THIN * size)
    soft: Bools = dihedral_fold(vertices, triangles, net, normals) <= crease
    return components(len(triangles), net, soft)


def _named(kept: list[int], label: Ints, groups: Groups) -> list[str]:
    """The groups' names, counted where a group hangs together in several pieces."""
    mine = [groups.names[int(groups.of[np.argmax(label == piece)])] for piece in kept]
    return [f"{name} {mine[:i].count(name) + 1}" if mine.count(name) > 1 else name for i, name in enumerate(mine)]


def _worth_keeping(vertices: Floats, triangles: Ints, label: Ints) -> tuple[list[int], tuple[Finding, ...]]:
    """Pieces from the lowest up (then from the right, then from aft), and a word about the specks left out."""
    area = face_areas(vertices, triangles)
    shares = np.bincount(label, area) / area.sum()
    middle = vertices[triangles].mean(axis=1) * area[:, None]
    step = 1e-6 * np.ptp(vertices, axis=0).max()
    places = [np.bincount(label, column) / (shares * area.sum()) // step for column in middle.T]
    order = np.lexsort((places[0], places[1], places[2]))
    kept = [int(piece) for piece in order if shares[piece] > _SPECK]
    left = len(shares) - len(kept)
    told = Finding(
        "specks-left-out",
        "warning",
        "mesh",
        f"{left} pieces smaller than {_SPECK * area.sum():.3g} mm2 left out",
        "Smooth the mesh or raise the crease angle if they belong to a panel",
    )
    return kept, (told,) if left else ()


def _patch(vertices: Floats, triangles: Ints) -> tuple[Floats, Ints]:
    """One piece with corners of its own, parted where it touches itself in a single corner."""
    own, origin = fans(triangles, edges(triangles))
    return vertices[origin], own


# from patches to panels


def _panel(name: str, vertices: Floats, triangles: Ints) -> FlatPanel:
    """The patch laid flat; says which panel it was when it has no flat shape."""
    try:
        laid = lay_both_ways(vertices, triangles)
    except UnworkableError as trouble:
        raise UnworkableError(trouble.what, where=f"{name} {_whereabouts(vertices)}", fix=trouble.fix) from trouble
    flat, smooth = squared_up(laid.flat), laid.smooth
    points = flat.points - flat.points.min(axis=0)
    rings = [points[loop] for loop in border_loops(triangles)]
    rings.sort(key=signed_area, reverse=True)
    _check_cuttable(name, vertices, flat, rings[0])
    gauss, corners = gauss_of(smooth, triangles, flat.area)
    holes = [ring for ring in rings[1:] if -signed_area(ring) > _SLIT]
    return FlatPanel(
        name, points, vertices, triangles, _from_corner(rings[0]), tuple(map(_from_corner, holes)),
        flat.strain, flat.direction, flat.strain_max, flat.strain_rms, gauss, cover_of(gauss, corners, flat),
        rulings_of(points, vertices, triangles, smooth, rings[0]) if flat.strain_max < LIES_FLAT else (),
        laid.ways,
    )  # fmt: skip


def _check_cuttable(name: str, vertices: Floats, flat: Flat, outline: Floats) -> None:
    """Refuse a flat that folds over or runs into itself."""
    where = f"{name} {_whereabouts(vertices)}"
    if flat.flipped:
        raise UnworkableError(
            f"no flat shape without folds: {flat.flipped} triangles would lie on their back",
            where=where,
            fix="Part the surface where it bends both ways, or lower the crease angle",
        )
    if not is_simple(outline):
        raise UnworkableError(
            "the flat shape runs over itself", where=where, fix="Cut the surface into two or more pieces"
        )


def _whereabouts(vertices: Floats) -> str:
    """Where a piece lies, for messages."""
    low, high = vertices.min(axis=0), vertices.max(axis=0)
    spans = (f"{axis} {a:.0f} to {b:.0f}" for axis, a, b in zip("xyz", low, high, strict=True))
    return f"({', '.join(spans)} mm)"


def _from_corner(ring: Floats) -> Floats:
    """The ring beginning at its point nearest the lower left."""
    return np.roll(ring, -int(np.argmin(ring.sum(axis=1))), axis=0)


def _strained(panels: tuple[FlatPanel, ...], crease_deg: float) -> list[Finding]:
    """A finding for every panel that cannot lie flat unstrained."""
    return [_strain_finding(panel, crease_deg) for panel in panels if panel.strain_max > LIES_FLAT]


def _strain_finding(panel: FlatPanel, crease_deg: float) -> Finding:
    """How much it must give and where, what covers it all the same, and whether a softer crease would part it."""
    advice = [panel.cover.words.capitalize()]
    softer = _softer_crease(panel, crease_deg)
    if softer is not None:
        advice.append(f"A crease fades inside it: with a crease angle of {softer:g} deg it parts in two")
    what = f"doubly curved: the flat is up to {_place(panel, 0)}, {_place(panel, 1)}"
    return Finding("does-not-lie-flat", "warning", panel.name, what, ". ".join(advice))


def _place(panel: FlatPanel, column: int) -> str:
    """Where the flat is longest (0) or shortest (1) for the surface, and by how much."""
    along = panel.strain[:, column]
    face = int(along.argmin() if column else along.argmax())
    x, y, z = panel.vertices[panel.triangles[face]].mean(axis=0)
    return f"{100 * abs(along[face]):.2f} % too {'short' if column else 'long'} (at x {x:.0f}, y {y:.0f}, z {z:.0f})"


def _softer_crease(panel: FlatPanel, crease_deg: float) -> float | None:
    """The bluntest lesser angle at which the panel parts into pieces worth having; None if it never does."""
    net = edges(panel.triangles)
    fold = np.degrees(dihedral_fold(panel.vertices, panel.triangles, net))
    area = face_areas(panel.vertices, panel.triangles)
    for share in _SOFTER:
        angle = float(f"{share * crease_deg:.2g}")
        pieces = np.bincount(components(len(area), net, fold <= angle), area)
        large = np.sort(pieces)[::-1] / area.sum()
        if len(large) > 1 and large[1] > _PIECE and large[:_FEW].sum() > 0.98:
            return angle
    return None
