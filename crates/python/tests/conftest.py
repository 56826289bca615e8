"""What the tests share: drawings of known outline, and the thread of a plan as shapely's areas."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

import laidwork

FIXTURES = Path(__file__).resolve().parents[3] / "fixtures"

THREAD = 0.3
"""Width of a sewn No. 40 thread, mm (common practice, no source)."""

SEED_HEAD = """<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="30mm" viewBox="0 0 30 30">
<circle id="seed-head" cx="15" cy="15" r="10" fill="#6b3f1d"/></svg>"""
"""A disc of 20 mm, its middle in the middle of the drawing."""


@pytest.fixture(scope="session")
def garden() -> laidwork.Plan:
    """The garden patch by its recipe."""
    return laidwork.sew(FIXTURES / "drawings/garden-patch.svg", FIXTURES / "recipes/garden-patch.toml")


def thread_area(plan: laidwork.Plan, layer: laidwork.Layer = laidwork.Layer.TOP) -> BaseGeometry:
    """The ground under the thread of a layer."""
    return shapely.union_all(shapely.buffer(shapely.linestrings(plan.segments(layer)), THREAD / 2))


def drawn_area(shape: laidwork.Shape) -> BaseGeometry:
    """The area of a shape."""
    return MultiPolygon([Polygon(outer, holes) for outer, *holes in shape.polygons])
