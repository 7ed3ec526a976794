"""Tests run as the commands do: one thread of linear algebra (see strakewright_cli)."""

from __future__ import annotations

import strakewright_cli  # noqa: F401  sets the limits before numpy is loaded
