"""Parts onto boards: sees outlines, never hulls."""

from strakewright.nest.engine import Search, nest
from strakewright.nest.practice import compile_ahead

__all__ = ["Search", "compile_ahead", "nest"]
