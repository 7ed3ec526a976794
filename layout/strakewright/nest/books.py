"""Book-matched pairs: two mates out of neighbouring leaves of one resawn board, laid as if they were one piece.

book       two neighbouring leaves, which open at the saw cut like the leaves of a book: the same grain on both sides
pair       mates that are to match and are each other turned over
leader     the one of a pair the search lays;  follower : its mate, which lies at the very same place on the other leaf,
           turned over

One leaf of a book is filled with leaders, and the followers copy it.  Of a pair the piece that is turned over lies on
the leaf farther from the face, so that the faces at the saw cut are those without marks: the outsides of planks.
Method: derived.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from strakewright.arrays import Floats, Ints
from strakewright.nest.leaves import Wood
from strakewright.nest.racks import Slab
from strakewright.nest.swift import Timber
from strakewright.nest.swiftly import Swift, rack_of, swift_tables
from strakewright.nest.ways import Laid, Way, Ways, tabled
from strakewright.parts import Part

ALIKE = 0.01
"""mm by which the outlines of a pair may differ: they are written to 0.001."""


@dataclass(frozen=True, eq=False)
class Books:
    """mate : leader -> follower, by number;  over : way of a leader -> that of its follower;
    swift : one leaf of every resawn board, to be filled with leaders."""

    mate: dict[int, int]
    over: dict[int, int]
    swift: Swift

    def leader_of(self, part: int) -> int | None:
        """The leader of the pair a part belongs to, None = it is of no pair."""
        return part if part in self.mate else next((a for a, b in self.mate.items() if b == part), None)


def pairs(parts: Sequence[Part], mate: Ints, wood: Sequence[Wood]) -> dict[int, int]:
    """Leader -> follower of every pair, where some board is resawn.  mate : (parts,) see `Shed`"""
    if all(w.leaves == 1 for w in wood):
        return {}
    asked = [(a, int(b)) for a, b in enumerate(mate) if a < b and int(mate[b]) == a]
    return {a: b for a, b in asked if turned_alike(parts[a], parts[b])}


def turned_alike(a: Part, b: Part) -> bool:
    """Whether two parts are each other turned over, of one wood, quality, stage and leave to turn."""
    if any(getattr(a, k) != getattr(b, k) for k in ("thickness", "species", "quality", "stage", "max_skew_deg")):
        return False
    over = Polygon(b.outline * np.array([1.0, -1.0]))
    return float(Polygon(a.outline).exterior.hausdorff_distance(over.exterior)) <= ALIKE


def with_followers(ways: Ways, mate: dict[int, int]) -> tuple[Ways, dict[int, int]]:
    """The ways with one more for each of a leader's: its follower turned over at the same place.  No part is offered
    these of itself: `of` stays as it was.  returns also way of leader -> way of follower"""
    if not mate:
        return ways, {}
    made: list[Way] = []
    over: dict[int, int] = {}
    for leader, follower in mate.items():
        for w in ways.of[leader].tolist():
            over[w] = len(ways.ways) + len(made)
            made.append(replace(ways.ways[w], part=follower, flip=not ways.ways[w].flip))
    return tabled(ways.step, [*ways.ways, *made], ways.of, (ways.shapes, ways.window)), over


def books_of(
    asked: tuple[dict[int, int], dict[int, int]],
    timber: Timber,
    slabs: Sequence[Slab | None],
    taste: tuple[float, Floats],
) -> Books | None:
    """What the search needs for books, None where there are no pairs.  asked : `mate`, `over`;  slabs : one leaf of
    every resawn board, None for others;  taste : height of the lowest way, hardness of the parts"""
    if not asked[1]:
        return None
    racks = [None if s is None else rack_of(s) for s in slabs]
    return Books(*asked, swift_tables(timber, racks, *taste))


def opened_at(books: Books, ways: Ways, leaf: Sequence[Laid], rack: tuple[int, int], first: int) -> list[Laid]:
    """The pieces of a book.  leaf : leaders, counted on one leaf alone;  rack : leaves of the board, columns from one
    to the next;  first : number of the book's leaf nearer to the face, from 0"""
    found = []
    for laid in leaf:
        both = laid, replace(laid, way=books.over[laid.way])
        near, far = both[::-1] if ways.ways[laid.way].flip else both
        found += [shifted(near, rack, first), shifted(far, rack, first + 1)]
    return found


def shifted(laid: Laid, rack: tuple[int, int], number: int) -> Laid:
    """A piece that lies on one leaf alone, as it lies on leaf `number` (from 0) of all of them end to end."""
    leaves, pitch = rack
    return replace(laid, at=laid.at + (leaves - 1 - number if laid.side else number) * pitch)
