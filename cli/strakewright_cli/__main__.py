"""`python -m strakewright_cli` is the same as `strakewright`."""

from __future__ import annotations

from strakewright_cli.app import main

main()
