"""strakewright: planking layout for hard-chine boats in solid timber.

The front door.  `load` a boat file, `build` it, `write_all` the folder; or take the rooms one by one: `loft_hull`
makes a hull of a mesh, `line_off` seams of a panel, `nest` a plan of parts and boards, `judge` a verdict on it.
Names are fetched when first used, so that opening the door costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import Any

_ROOMS = {
    "Board": "lumber",
    "Build": "job",
    "BuildOptions": "job",
    "Finding": "errors",
    "Hull": "hull",
    "InputError": "errors",
    "Part": "parts",
    "Patch": "geometry.surface",
    "Plan": "plan",
    "Plank": "parts",
    "Rules": "lumber",
    "Search": "nest.engine",
    "StrakewrightError": "errors",
    "UnworkableError": "errors",
    "UsageError": "errors",
    "build": "job",
    "build_files": "job",
    "check": "job",
    "flatten": "geometry.flatten",
    "judge": "proof.referee",
    "line_off": "shop.lining",
    "load": "job",
    "loft_hull": "loft.hulls",
    "nest": "nest.engine",
    "read_mesh": "read.mesh",
    "write_all": "job",
}
_VERSION = "0.1.0"

__all__ = sorted(_ROOMS)  # noqa: PLE0605  # pyright: ignore[reportUnsupportedDunderAll]
__version__ = _VERSION


def __getattr__(name: str) -> Any:
    if name not in _ROOMS:
        raise AttributeError(f"module 'strakewright' has no attribute {name!r}")
    return getattr(import_module(f"strakewright.{_ROOMS[name]}"), name)


def __dir__() -> list[str]:
    return __all__
