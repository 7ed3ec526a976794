"""The skin of a half hull parted into panels, lids set aside.

skin      all triangles of the port half
region    triangles that hang together without crossing a crease
lid       a deck that closes the top, a transom that closes an end: not planked here, but known at the border
panel     a region to be planked; counted from the keel up
speck     a region too small to be anything; it goes to the neighbour with which it shares most border

Method: derived.  A lid is told from a panel by where it lies and which way it faces, not by the sense of its
triangles, which meshes get wrong.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.errors import Finding, InputError
from strakewright.geometry.meshes import components, dihedral_fold, edges, face_areas, face_normals, weld
from strakewright.loft.creases import Creases, find_creases
from strakewright.loft.named import OTHER, GroupMap
from strakewright.loft.symmetry import PortHalf

DECK, TRANSOM, BOW_TRANSOM = -1, -2, -3
LID_NAMES = {DECK: "deck", TRANSOM: "transom", BOW_TRANSOM: "bow transom"}
_SPECK = 0.004  # share of the skin
_LEVEL, _ATHWART = 0.8, 0.4  # mean |n_z| of a deck, mean |n_x| of a transom
_MOST_PANELS = 6
_LOST = 0.3  # of the length: a crease that long is a chine


@dataclass(frozen=True, eq=False)
class PartedSkin:
    """label : (m,) for each triangle its panel 0.. from the keel up, or DECK, TRANSOM, BOW_TRANSOM"""

    vertices: Floats
    triangles: Ints
    label: Ints
    names: tuple[str, ...]
    creases: Creases
    findings: tuple[Finding, ...]


@dataclass(frozen=True)
class _Region:
    number: int
    area: float
    x: float
    z: float
    low_x: float
    high_x: float
    facing: tuple[float, float, float]


def part_skin(half: PortHalf, crease_deg: float) -> PartedSkin:
    """Panels, named, and lids.  Raises InputError when the panels do not lie one above the other."""
    if half.groups is not None:
        return _by_groups(half, half.groups)
    creases = find_creases(half.vertices, half.triangles, crease_deg, half.chines)
    region = components(len(half.triangles), creases.net, joined=~creases.parts)
    region, findings = _without_specks(half, creases, region)
    regions = _measured(half, region)
    lids = _lids(regions, half.length)
    panels = sorted((r for r in regions if r.number not in lids), key=lambda r: (r.z, r.number))
    if not panels:
        raise InputError("no side or bottom found: the mesh lies flat", fix="Check [hull] up and forward")
    _check_number(panels, crease_deg, half.length)
    lookup = dict(lids) | {r.number: k for k, r in enumerate(panels)}
    label = np.array([lookup[int(i)] for i in region])
    _check_stack(panels, label, creases, crease_deg)
    names = panel_names(len(panels))
    findings += _crease_findings(half.vertices, creases, label, names, crease_deg) + _lid_findings(lids)
    return PartedSkin(half.vertices, half.triangles, label, names, creases, tuple(findings))


def _by_groups(half: PortHalf, groups: GroupMap) -> PartedSkin:
    """Panels as the file's groups make them; triangles of no panel are left out."""
    panel = groups.at(half.vertices[half.triangles].mean(axis=1))
    count = int(groups.panel.max()) + 1
    empty = [k for k in range(count) if not (panel == k).any()]
    if empty:
        raise InputError(
            f"nothing of panel {empty[0] + 1} (counted from the keel up) lies on the port side of the skin",
            where="[hull] groups",
            fix="Check the names of its groups, and [hull] half",
        )
    vertices, triangles = weld(half.vertices, half.triangles[panel != OTHER])
    label = panel[panel != OTHER]
    net = edges(triangles)
    fold = dihedral_fold(vertices, triangles, net)
    parts = ~net.inner | (label[net.faces[:, 0]] != label[net.faces[:, 1]])
    creases = Creases(net, fold, parts, np.zeros(len(parts), dtype=np.bool_), ())
    names = panel_names(count)
    told = [Finding("panels-by-name", "note", "hull", f"panels taken from the mesh's groups: {', '.join(names)}")]
    return PartedSkin(vertices, triangles, label, names, creases, tuple(told))


def panel_names(count: int) -> tuple[str, ...]:
    """Names from the keel up.

    >>> panel_names(1), panel_names(4)
    (('side',), ('bottom', 'bilge1', 'bilge2', 'side'))
    """
    if count == 1:
        return ("side",)
    return ("bottom", *(f"bilge{i}" for i in range(1, count - 1)), "side")


def _measured(half: PortHalf, region: Ints) -> list[_Region]:
    area, normal = face_areas(half.vertices, half.triangles), np.abs(face_normals(half.vertices, half.triangles))
    centre = half.vertices[half.triangles].mean(axis=1)
    found = []
    for i in range(int(region.max()) + 1):
        mine = region == i
        if not mine.any():
            continue
        share = area[mine] / area[mine].sum()
        x, _, z = share @ centre[mine]
        corners = half.vertices[half.triangles[mine]][..., 0]
        facing = tuple(float(f) for f in share @ normal[mine])
        found.append(
            _Region(i, float(area[mine].sum()), float(x), float(z), corners.min(), corners.max(), facing)  # type: ignore[arg-type]
        )
    return found


def _without_specks(half: PortHalf, creases: Creases, region: Ints) -> tuple[Ints, list[Finding]]:
    """Specks given to a neighbour."""
    region = region.copy()
    area = face_areas(half.vertices, half.triangles)
    inner = np.flatnonzero(creases.net.inner)
    ends = half.vertices[creases.net.ends[inner]]
    length = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)
    given = 0
    for _ in range(int(region.max()) + 1):
        sizes = np.bincount(region, area)
        one, other = region[creases.net.faces[inner]].T
        small = [int(i) for i in np.argsort(sizes) if 0 < sizes[i] < _SPECK * area.sum()]
        moved = False
        for i in small:
            beside = (one == i) ^ (other == i)
            if beside.any():
                share = np.bincount(np.where(one == i, other, one)[beside], length[beside])
                region[region == i] = int(np.argmax(share))
                given, moved = given + 1, True
                break
        if not moved:
            break
    if not given:
        return region, []
    what = f"{given} specks of skin fenced off by sharp folds were given to the panel beside them"
    return region, [Finding("specks-joined", "note", "hull", what, "Look at the mesh there if the surface matters")]


def _lids(regions: list[_Region], length: float) -> dict[int, int]:
    """Region number -> DECK, TRANSOM or BOW_TRANSOM."""
    lids: dict[int, int] = {}
    for r in regions:
        short = r.high_x - r.low_x < 0.25 * length
        if short and r.facing[0] > _ATHWART:
            if r.x < 0.15 * length:
                lids[r.number] = TRANSOM
            elif r.x > 0.85 * length:
                lids[r.number] = BOW_TRANSOM
    upright = [r for r in regions if r.number not in lids and r.facing[2] <= _LEVEL]
    if upright:
        middle = sum(r.area * r.z for r in upright) / sum(r.area for r in upright)
        for r in regions:
            if r.number not in lids and r.facing[2] > _LEVEL and r.z > middle:
                lids[r.number] = DECK
    return lids


def _check_number(panels: list[_Region], crease_deg: float, length: float) -> None:
    if len(panels) <= _MOST_PANELS:
        return
    some = ", ".join(f"x {r.low_x:.0f}-{r.high_x:.0f} at z {r.z:.0f}" for r in panels[:6])
    raise InputError(
        f"the skin falls into {len(panels)} panels at folds above {crease_deg:g} degrees ({some} ...)",
        where="[hull] crease_deg",
        fix="Raise crease_deg, or refine the mesh where it is coarse",
    )


def _check_stack(panels: list[_Region], label: Ints, creases: Creases, crease_deg: float) -> None:
    """Each panel must share a border with the one above it."""
    one, other = label[creases.net.faces[creases.net.inner]].T
    met = set(zip(one.tolist(), other.tolist(), strict=True)) | set(zip(other.tolist(), one.tolist(), strict=True))
    for (k, low), (_, high) in pairwise(enumerate(panels)):
        if (k, k + 1) not in met:
            raise InputError(
                f"{len(panels)} panels were seen, but the one about x {low.x:.0f}, z {low.z:.0f} does not touch"
                f" the next one up, about x {high.x:.0f}, z {high.z:.0f}",
                where="[hull] crease_deg",
                fix=f"Weld the mesh along the chines; or change crease_deg (now {crease_deg:g})",
            )


def _shared(label: Ints, creases: Creases, low: int, high: int) -> Bools:
    """(e,) True for edges between two labels."""
    faces = label[creases.net.faces]
    pair = np.sort(faces, axis=1) == np.array(sorted((low, high)))
    return np.asarray(pair.all(axis=1) & creases.net.inner)


def _crease_findings(
    vertices: Floats, creases: Creases, label: Ints, names: tuple[str, ...], crease_deg: float
) -> list[Finding]:
    found = []
    for k in range(len(names) - 1):
        line = np.flatnonzero(_shared(label, creases, k, k + 1))
        fold = np.degrees(creases.fold[line])
        if fold.min() < crease_deg:
            least = line[int(np.argmin(fold))]
            x = vertices[creases.net.ends[least], 0].mean()
            gap = " and bridged over a gap" if creases.bridged[line].any() else ""
            found.append(
                Finding(
                    "crease-followed",
                    "note",
                    f"{names[k]}/{names[k + 1]}",
                    f"the chine was followed{gap} where its fold is below {crease_deg:g} degrees;"
                    f" it is least, {fold.min():.1f} degrees, at x = {x:.0f} mm",
                )
            )
    return found + _loose_findings(vertices, creases, label)


def _loose_findings(vertices: Floats, creases: Creases, label: Ints) -> list[Finding]:
    """Sharp folds that lie inside one panel and part nothing."""
    one, other = label[creases.net.faces].T
    inside = creases.net.inner & creases.parts & (one == other) & (one >= 0)
    if not creases.loose or not inside.any():
        return []
    x = vertices[creases.net.ends[inside].ravel(), 0]
    if np.ptp(x) > _LOST * np.ptp(vertices[:, 0]):
        raise InputError(
            f"a chine runs from x = {x.min():.0f} to {x.max():.0f} mm and is lost there",
            where="[hull] crease_deg",
            fix="Set crease_deg lower, or refine the mesh along the chine so that it reaches both ends",
        )
    return [
        Finding(
            "crease-inside-panel",
            "warning",
            "hull",
            f"a sharp fold between x = {x.min():.0f} and {x.max():.0f} mm stops inside a panel and is smoothed over",
            "Carry the chine through to an end of the hull, or set crease_deg lower",
        )
    ]


def _lid_findings(lids: dict[int, int]) -> list[Finding]:
    kinds = sorted({LID_NAMES[k] for k in lids.values() if k in LID_NAMES})
    found = []
    if kinds:
        found.append(Finding("lids-set-aside", "note", "hull", f"set aside and not planked: {', '.join(kinds)}"))
    return found
