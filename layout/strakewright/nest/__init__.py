"""Parts onto boards: sees outlines, never hulls."""

from strakewright.nest.engine import Search, nest

__all__ = ["Search", "nest"]
