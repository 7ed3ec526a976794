"""Names that somebody mistyped."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

ID = re.compile(r"[A-Za-z0-9_.-]{1,40}")
ID_RULE = "an id is 1 to 40 of the letters A-Z and a-z, digits, _ . and -"


def nearest(word: str, known: Iterable[str]) -> str:
    """The known word most like the given one (capitals do not count), by the share of letters in common.

    >>> nearest("thicknes", ["width", "thickness"])
    'thickness'
    """
    folded = word.casefold()[:80]
    return max(known, key=lambda name: difflib.SequenceMatcher(None, folded, name.casefold()).ratio())
