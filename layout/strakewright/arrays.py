"""Arrays of measured numbers, kept safe from being changed by accident.

Every noun of the program that holds an array copies it and makes the copy read-only, so that a
plank, once worked out, is the same plank on the sheet, in the book and in the proof.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Ints: TypeAlias = NDArray[np.int64]
Bools: TypeAlias = NDArray[np.bool_]


def frozen_array(values: ArrayLike, shape: tuple[int | None, ...], what: str) -> Floats:
    """A read-only float copy of `values`.

    shape : expected shape; None accepts any length on that axis
    what : name used in the message;  raises ValueError when shape or numbers are wrong

    >>> frozen_array([[0, 1], [2, 3]], (None, 2), "outline").flags.writeable
    False
    """
    array = np.array(values, dtype=np.float64)
    fits = array.ndim == len(shape) and all(n in (None, m) for n, m in zip(shape, array.shape, strict=True))
    if not fits:
        raise ValueError(f"{what}: expected shape {shape}, got {array.shape}")
    if not np.isfinite(array).all():
        raise ValueError(f"{what}: a number is not finite")
    array.setflags(write=False)
    return array


def refreeze(array: Floats) -> Floats:
    """The same array made read-only again (pickling between processes loses the flag)."""
    array.setflags(write=False)
    return array
