"""Figures of every chine for summary.json: how sharp it is, and where its lap gives way."""

from __future__ import annotations

from typing import Any

import numpy as np

from strakewright.job.building import Build
from strakewright.shop.bevels import Corner, surroundings

Record = dict[str, Any]


def chine_figures(done: Build) -> list[Record]:
    """One row a chine; none for a hull without one."""
    boat = done.inputs.boat
    corners = surroundings(done.hull, boat.planking, boat.backbone, boat.chine).corners
    return [_figures(corner) for corner in corners.values()]


def _figures(corner: Corner) -> Record:
    """changes_at, angle_there_deg : where the lap becomes the other joint, and the angle inside the boat there; null
    where one joint runs all along.  aft, forward : the joints"""
    x, theta = corner.points[:, 0], np.degrees(corner.theta)
    at = corner.mitre_from
    changes = bool(x.min() < at < x.max())
    order = np.argsort(x)
    return {
        "name": corner.name,
        "aft": "lap" if at > x.min() else corner.forward,
        "forward": corner.forward if at < x.max() else "lap",
        "changes_at": at if changes else None,
        "angle_there_deg": float(np.interp(at, x[order], theta[order])) if changes else None,
        "angle_min_deg": float(theta.min()),
        "angle_max_deg": float(theta.max()),
    }
