"""Every load ever found, kept for the next plan.

offer      a load a board could take, with the parts it uses up and what the board then costs
archive    all offers of one line of search, as one table, so that thousands are weighed at once
"""

from __future__ import annotations

import numpy as np

from strakewright.arrays import Bools, Floats, Ints
from strakewright.nest.job import Load

LIMIT = 12000
"""Offers kept; the older half is dropped when there are more."""


class Archive:
    """member : (n, parts) which parts an offer uses;  board, cost : (n,);  loads : the offers themselves."""

    def __init__(self, parts: int) -> None:
        self._member = np.zeros((256, parts), dtype=bool)
        self._board = np.zeros(256, dtype=np.int64)
        self._cost = np.zeros(256)
        self.loads: list[Load] = []
        self._known: set[tuple[int, bytes]] = set()

    @property
    def member(self) -> Bools:
        """Which parts each offer uses."""
        return self._member[: len(self.loads)]

    @property
    def board(self) -> Ints:
        """Board of each offer."""
        return self._board[: len(self.loads)]

    @property
    def cost(self) -> Floats:
        """Cost of each offer."""
        return self._cost[: len(self.loads)]

    def add(self, board: int, load: Load, parts: list[int], cost: float) -> None:
        """Keep one more offer, unless the same parts on the same board are known."""
        row = self._row(parts)
        key = (board, row.tobytes())
        if key in self._known:
            return
        self._known.add(key)
        n = len(self.loads)
        if n == len(self._board):
            self._grow()
        self._member[n], self._board[n], self._cost[n] = row, board, cost
        self.loads.append(load)

    def take(self, other: Archive, number: int) -> None:
        """Keep an offer of another archive as well."""
        parts = np.flatnonzero(other.member[number]).tolist()
        self.add(int(other.board[number]), other.loads[number], parts, float(other.cost[number]))

    def only(self, numbers: Ints) -> Archive:
        """An archive of some of the offers, in that order."""
        some = Archive(self._member.shape[1])
        for i in numbers:
            some.take(self, int(i))
        return some

    def _row(self, parts: list[int]) -> Bools:
        row = np.zeros(self._member.shape[1], dtype=bool)
        row[parts] = True
        return row

    def _grow(self) -> None:
        """Room for twice as many."""
        n = len(self._board)
        self._member = np.concatenate([self._member, np.zeros_like(self._member)])
        self._board = np.concatenate([self._board, np.zeros(n, dtype=np.int64)])
        self._cost = np.concatenate([self._cost, np.zeros(n)])

    def trim(self) -> None:
        """Drop the older half when there are too many."""
        if len(self.loads) <= LIMIT:
            return
        keep = slice(len(self.loads) - LIMIT // 2, len(self.loads))
        self._member, self._board = self._member[keep].copy(), self._board[keep].copy()
        self._cost, self.loads = self._cost[keep].copy(), self.loads[keep]
        rows = zip(self._board, self._member, strict=True)
        self._known = {(int(b), row.tobytes()) for b, row in rows}
