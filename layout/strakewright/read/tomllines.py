"""On which line of a TOML file each key and each element stands.

path      keys and list positions from the top: ("planking", 1, "width"), ("frames", "at", 2)
header    a line such as [hull] or [[planking]]

The standard reader gives values without places.  This walks text that it has already accepted, so it only has
to know where tokens end (TOML 1.0), not whether they are lawful.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass, field

Path = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'',
    re.DOTALL,
)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}#\n]*")
_SPACES = re.compile(r"[ \t]*")


def lines_of(text: str) -> dict[Path, int]:
    """Line (from 1) of every key, header and list element.  text : TOML that tomllib reads without complaint

    >>> lines_of('[frames]\\nat = [\\n  600,\\n  1200]')[("frames", "at", 1)]
    4
    """
    walk = _Walk(text)
    walk.document()
    return walk.lines


@dataclass
class _Walk:
    """A walk through the text: where it stands, the table it is in, and what it has seen."""

    text: str
    at: int = 0
    table: Path = ()
    lines: dict[Path, int] = field(default_factory=dict)
    counts: dict[Path, int] = field(default_factory=dict)

    def document(self) -> None:
        self._skip(_BLANK)
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                self._header()
            else:
                self._assignment(self.table)
            self._skip(_BLANK)

    def _header(self) -> None:
        line = self._line()
        double = self.text.startswith("[[", self.at)
        self.at += 2 if double else 1
        names = self._keys()
        self.at += 2 if double else 1
        self.table = self._inside(names[:-1])
        if double:
            array = (*self.table, names[-1])
            self.lines.setdefault(array, line)
            self.counts[array] = self.counts.get(array, -1) + 1
        self.table = self._inside(names)
        self.lines.setdefault(self.table, line)

    def _inside(self, names: tuple[str, ...]) -> Path:
        """The path of a header, with the running number of every array of tables on its way."""
        path: Path = ()
        for name in names:
            path = (*path, name)
            if path in self.counts:
                path = (*path, self.counts[path])
        return path

    def _assignment(self, table: Path) -> None:
        line = self._line()
        path = table
        for name in self._keys():
            path = (*path, name)
            self.lines.setdefault(path, line)
        self.at += 1  # the equals sign
        self._skip(_SPACES)
        self._value(path)

    def _value(self, path: Path) -> None:
        opening = self.text[self.at : self.at + 1]
        if opening == "[":
            self._list(path)
        elif opening == "{":
            self._inline_table(path)
        elif not self._skip(_STRING):
            self._skip(_SCALAR)

    def _list(self, path: Path) -> None:
        self.at += 1
        self._skip(_BLANK)
        position = 0
        while self.text[self.at] != "]":
            self.lines[(*path, position)] = self._line()
            self._value((*path, position))
            self._comma()
            position += 1
        self.at += 1

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        self._skip(_BLANK)
        while self.text[self.at] != "}":
            self._assignment(path)
            self._comma()
        self.at += 1

    def _comma(self) -> None:
        self._skip(_BLANK)
        if self.text[self.at] == ",":
            self.at += 1
            self._skip(_BLANK)

    def _keys(self) -> tuple[str, ...]:
        """A key with its dotted parts; stands after the blank that follows it."""
        names = []
        while True:
            self._skip(_SPACES)
            start = self.at
            quoted = self._skip(_STRING)
            if not quoted:
                self._skip(_BARE_KEY)
            name = self.text[start : self.at]
            names.append(tomllib.loads(f"k = {name}")["k"] if quoted else name)
            self._skip(_SPACES)
            if self.text[self.at] != ".":
                return tuple(names)
            self.at += 1

    def _skip(self, token: re.Pattern[str]) -> bool:
        """Step over a token if it stands here; whether it did."""
        found = token.match(self.text, self.at)
        if found:
            self.at = found.end()
        return found is not None

    def _line(self) -> int:
        return self.text.count("\n", 0, self.at) + 1
