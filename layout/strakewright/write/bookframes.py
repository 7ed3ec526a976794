"""What the book says of frames: the set-up sheet, bevels of every piece, notches, the transom.

height    above the strongback, with the boat upside down
big face  the face that stands on the station line; bevels take wood off the other one
"""

from __future__ import annotations

import numpy as np

from strakewright.frames import BevelAt, FramePiece, SawnFrame, SetUp, SetUpRow, Transom
from strakewright.write.book import Block, Facts, Section, Table, Words, bare, in_line, two_lines
from strakewright.write.framerecords import LOOKING

FACE = {"aft": "AFT", "forward": "FWD"}  # narrow columns

LAMINATED = 100.0  # R/t of hardwoods by the glued laminations rule (see `shop/bending`); solid wood bends no further

_CAUTION = (
    "A boat on a strongback is heavy and top-heavy before her frames are tied together: brace every frame both ways"
    " before you lean on it."
)


def set_up_sheet(facts: Facts) -> Section | None:
    """Where every frame stands, and the diagonals that prove it."""
    sheet = facts.framing.set_up
    if sheet is None:
        return None
    blocks: list[Block] = [
        Words(f"{LOOKING[0].upper()}{LOOKING[1:]}.", strong=True),
        Words(
            f"The top of the strongback is z {bare(sheet.h_ref)} of the lines; every height below is measured UP from"
            " it. Tape all stations from the one after end, never from frame to frame."
        ),
        _heights(sheet),
        *_legs(sheet),
        *_spalls(facts),
        Words(_CAUTION),
        Words(
            f"DIAGONALS: nail the strongback's centreline at its after end (A) and {in_line(sheet.points[1])}"
            " forward of it (B). Tape to the marks on the big face; port and starboard must read the same.",
            strong=True,
        ),
        _diagonals(sheet),
    ]
    return Section("Set-up sheet: frames on the strongback", tuple(blocks), bench=True)


def _heights(sheet: SetUp) -> Table:
    names = _marks(sheet)
    head = ("frame", "from A", "big face", *(f"{n} up" for n in names))
    return Table(head, tuple(_height_row(row, names) for row in sheet.rows), tall=(0,))


def _legs(sheet: SetUp) -> list[Block]:
    """One leg does for all frames that have a spall."""
    leg = next((row.leg for row in sheet.rows if row.leg is not None), None)
    if leg is None:
        return []
    without = [row.name for row in sheet.rows if row.leg is None]
    words = f"LEGS, from the spall's upper edge down to the strongback: {in_line(leg)}, the same for every frame"
    return [Words(words + (f" but {', '.join(without)}, which have no spall." if without else "."), strong=True)]


def _spalls(facts: Facts) -> list[Block]:
    """Cross spalls: what to cut, and how they lie."""
    rows = []
    for s in facts.framing.spalls:
        wide = float(np.ptp(s.ring[:, 1]))
        wood = "rough stuff" if s.thickness is None else f"{s.id}: {bare(s.thickness)} mm {s.species}"
        rows.append((s.frame, *(two_lines(x) for x in s.lengths), bare(wide), wood))
    if not rows:
        return []
    head = ("frame", "upper edge", "lower edge", "broad", "wood")
    words = (
        "CROSS SPALLS: screw them to the big face, upper edge (towards the sheer) to the reference mark of both sides,"
        " ends flush with the frame's outer edges, centreline squared across. They come off after turning over."
    )
    return [Words(words), Table(head, tuple(rows), "Cross spalls", tall=(0,))]


def _height_row(row: SetUpRow, names: list[str]) -> tuple[str, ...]:
    x = row.at.get("keel", min(row.at.values()))
    heights = [two_lines(row.heights[n]) if n in row.heights else "–" for n in names]
    return (
        _short(row.name),
        two_lines(x),
        FACE[row.control_faces],
        *heights,
    )


def _diagonals(sheet: SetUp) -> Table:
    rows = [
        (
            _short(row.name) if n == 0 else "",
            mark,
            two_lines(row.at[mark]),
            two_lines(row.half_breadths[mark]),
            two_lines(a),
            two_lines(b),
        )
        for row in sheet.rows
        for n, (mark, (a, b)) in enumerate(row.diagonals.items())
    ]
    return Table(
        ("frame", "mark", "from A along", "half breadth", "tape from A", "tape from B"), tuple(rows), tall=(0,)
    )


def _marks(sheet: SetUp) -> list[str]:
    every = {n for row in sheet.rows for n in row.heights}
    return ["keel", *sorted(n for n in every if n.startswith("chine")), "sheer"]


def _short(name: str) -> str:
    return {"transom": "T", "bow transom": "BT"}.get(name, name)


# -- frames ------------------------------------------------------------------------------------------


def frame_pieces(facts: Facts) -> Section | None:
    """Every piece with its bevels and notches."""
    frames = facts.framing.frames
    if not frames:
        return None
    blocks: list[Block] = [
        Words(
            "Each piece is sawn to a line that holds BOTH its faces; bevels then only take wood off. Degrees from"
            " square, square to the edge: + under bevel, the far face is the smaller; - standing bevel, the far face is"
            " the larger. 'square': less than 0.3 mm over the siding."
        ),
        Words(_joint_words(frames[0].joint)),
        Words(
            f"The lines are to the {str(facts.hull.get('surface', 'outside')).upper()} of the planking; every frame is"
            " drawn to its INSIDE: all layers are taken off square to the surface, which is thickness / cos(bevel) in"
            " the plane of the frame, and the chine is where the two insides meet."
        ),
        Table(_HEAD, tuple(row for f in frames for row in _frame_rows(f, facts)), tall=(0,)),
    ]
    notches = [row for f in frames for p in f.pieces if p.side != "starboard" for row in _notch_rows(p)]
    if notches:
        blocks += [
            Words(
                "NOTCHES: saw square to what both outlines share, then pare to both scribed lines. Clearance on the"
                " sides only; the member bears on the bottom of the notch. A router leaves round corners: clear them"
                " with a chisel."
            ),
            Table(("piece", "member", "wood left behind it"), tuple(notches)),
        ]
    return Section("Frames: pieces, bevels, notches", tuple(blocks), bench=True)


_HEAD = ("piece", "big face", "thick", "blank", "bevels from below, degrees")


def _joint_words(joint: str) -> str:
    return {
        "lap": "LAPPED: neighbouring pieces stand on either side of the station line; the plane of their joints stands"
        " on it.",
        "half lap": "HALF LAPS: all pieces in one plane, the lower piece halved from the big face, the upper from the"
        " far face.",
        "gusset": "GUSSETS: all pieces in one plane, gussets and floor on the far face, set back 10 mm from the"
        " planking.",
    }[joint]


def _frame_rows(frame: SawnFrame, facts: Facts) -> list[tuple[str, ...]]:
    parts = {p.id: p for p in facts.parts}
    rows: list[tuple[str, ...]] = []
    for piece in frame.pieces:
        if piece.side == "starboard":
            continue
        part = parts.get(piece.id)
        long, wide = np.ptp(part.outline if part else piece.outline, axis=0)
        pair = piece.id.removesuffix("-P") + (" P+S" if piece.side == "port" else "")
        rows.append(
            (
                pair,
                piece.control_faces.upper(),
                bare(piece.thickness),
                f"{bare(float(long))} x {bare(float(wide))}",
                _bevel_words(piece.bevels) if piece.bevels else "square",
            )
        )
    return rows


def _bevel_words(bevels: tuple[BevelAt, ...]) -> str:
    if all(b.square for b in bevels):
        return "square"
    return "  ".join("sq" if b.square else f"{np.degrees(b.angle):+.1f}" for b in bevels)


def _notch_rows(piece: FramePiece) -> list[tuple[str, ...]]:
    return [(piece.id, n.member, f"{n.left:.0f} mm") for n in piece.notches]


# -- transom -----------------------------------------------------------------------------------------


def transom_pages(facts: Facts) -> Section | None:
    """Rake, sizes, bevels and boards of every transom."""
    if not facts.framing.transoms:
        return None
    blocks: list[Block] = []
    for transom in facts.framing.transoms:
        blocks += _transom(transom)
    return Section("Transom", tuple(blocks), bench=True)


def _bend_of(transom: Transom) -> list[Block]:
    """How a curved transom is cut and bent; limits as for members, of the glued laminations rule."""
    if transom.radius is None:
        return []
    radius, (half, _) = abs(transom.radius), transom.outside.corners["sheer"][:2]
    rise, ratio = radius * (1 - float(np.cos(half / radius))), radius / transom.thickness
    told = (
        f"Cut flat, bent when it is made up: breadths run along the bend. Bent, its outside stands {bare(rise)} further"
        f" {'out' if transom.radius > 0 else 'in'} in the middle than at the sheer; t/R is 1/{ratio:.0f}."
    )
    if ratio < LAMINATED:
        told += f" Wood of one thickness is not bent beyond 1/{LAMINATED:.0f} (softwood less): glue it up of layers."
    return [Words(told)]


def _transom(transom: Transom) -> list[Block]:
    bent = "flat" if transom.radius is None else f"bent to R {abs(transom.radius) / 1000:.2f} m"
    breadth = "half breadth" if transom.radius is None else "along the bend"
    rows = tuple(
        (b.name, bare(float(b.at[0])), bare(float(b.at[1])), "square" if b.square else f"{np.degrees(b.angle):+.1f}")
        for b in transom.bevels
    )
    corners = tuple(
        (name, *(two_lines(float(v)) for v in (at[0], at[1]))) for name, at in transom.inside.corners.items()
    )
    blocks: list[Block] = [
        Words(
            f"{transom.name.upper()}: {bent}, raked {np.degrees(transom.rake):.1f} degrees from upright,"
            f" {bare(transom.thickness)} mm of {transom.species}, {_count(transom, 'board')} boards, seen from inside.",
            strong=True,
        ),
        Words(
            "True shape in its own face, heights along the rake from the keel's outside. The cut line holds both faces;"
            " bevels from square, + the outside face is the smaller."
        ),
        *_bend_of(transom),
        Table(("corner of the inside face", breadth, "height along the rake"), corners),
        Table(("edge", breadth, "height", "bevel"), rows),
    ]
    if transom.doubling is not None:
        low, high = transom.doubling.min(axis=0), transom.doubling.max(axis=0)
        blocks.append(
            Words(
                f"DOUBLING inside, {bare(transom.doubling_thickness)} mm, {_count(transom, 'doubling')} staves with the"
                f" grain up and down: {bare(float(high[0] - low[0]))} wide, {bare(float(high[1] - low[1]))} high."
            )
        )
    if transom.cut_out is not None:
        low, high = transom.cut_out.min(axis=0), transom.cut_out.max(axis=0)
        blocks.append(
            Words(
                f"{transom.opening.upper()}: {bare(float(high[0] - low[0]))} wide, its edge"
                f" {in_line(float(low[1]))} above the keel's outside, along the transom. Saw it after gluing up."
                f"{_left_above(transom)} Strength of a transom under a motor is not"
                " reckoned here: follow the motor maker's and your own authority's rules.",
                strong=True,
            )
        )
    return blocks


def _left_above(transom: Transom) -> str:
    return "" if transom.bridge is None else f" {in_line(transom.bridge)} of transom stays above it as a bridge."


def _count(transom: Transom, kind: str) -> int:
    return sum(b.kind == kind for b in transom.boards)
