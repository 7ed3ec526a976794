"""Several faults told as one error."""

from __future__ import annotations

from collections.abc import Sequence

from strakewright.errors import InputError


def together(faults: Sequence[InputError]) -> InputError:
    """The first fault, carrying the others in `also`.  faults : at least one

    >>> together([InputError("a"), InputError("b")]).also
    (InputError('b', '', ''),)
    """
    first = faults[0]
    return InputError(first.what, where=first.where, fix=first.fix, also=tuple(faults[1:]))
