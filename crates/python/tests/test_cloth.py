"""The stitches against outlines that are known, as areas of shapely's."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely.geometry import Point, box
from shapely.geometry.base import BaseGeometry

import laidwork
from conftest import SEED_HEAD, THREAD, drawn_area, thread_area
from laidwork import Layer

BED = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<path id="bed" fill-rule="evenodd" fill="#6b3f1d" d="M5 5H35V25H5Z M15 10H25V20H15Z"/></svg>"""

STEM = """<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="10mm" viewBox="0 0 40 10">
<rect id="stem" x="5" y="3" width="30" height="4" fill="#2f5d34"/></svg>"""


def rule(**keys: object) -> dict[str, object]:
    return {"rule": [keys]}


def bare(drawn: BaseGeometry, plan: laidwork.Plan) -> float:
    """The share of an area that no top thread covers."""
    return float(drawn.difference(thread_area(plan)).area / drawn.area)


@pytest.mark.parametrize(
    ("svg", "outline"),
    [
        (SEED_HEAD, Point(0, 0).buffer(10, quad_segs=256)),
        (BED, box(-15, -10, 15, 10).difference(box(-5, -5, 5, 5))),
    ],
    ids=["disc", "frame"],
)
@pytest.mark.parametrize("angle", [0.0, 37.0, 90.0])
def test_a_fill_covers_its_outline_and_ends_with_it(svg: str, outline: BaseGeometry, angle: float) -> None:
    pull = 0.2
    plan = laidwork.sew(svg, rule(method="fill", angle=angle, pull_compensation=pull))
    assert bare(outline, plan) < 0.0005
    # A row's end may be moved out by up to 0.15 mm to make room for the turn, and lies on a grid of 0.01 mm.
    reach = outline.buffer(pull + 0.15 + THREAD / 2 + 0.01, quad_segs=64)
    assert thread_area(plan).difference(reach).area < 1e-4 * outline.area
    hidden = shapely.union_all(shapely.buffer(shapely.linestrings(plan.segments()), THREAD / 2))
    assert hidden.difference(thread_area(plan)).area < 0.003 * outline.area


def test_the_shapes_are_the_outlines_drawn() -> None:
    (disc,) = laidwork.shapes(SEED_HEAD)
    assert (disc.name, disc.color, disc.is_stroke) == ("seed-head", "#6b3f1d", False)
    # Curves are flattened to within 0.01 mm.
    assert shapely.hausdorff_distance(drawn_area(disc), Point(0, 0).buffer(10, quad_segs=256)) < 0.011
    (bed,) = laidwork.shapes(BED, width=80)
    assert [len(rings) for rings in bed.polygons] == [2]
    assert drawn_area(bed).area == pytest.approx(4 * (30 * 20 - 10 * 10), rel=1e-6)


@pytest.mark.parametrize("spacing", [0.15, 0.2, 0.25])
def test_a_column_covers_as_much_as_a_zigzag_can(spacing: float) -> None:
    plan = laidwork.sew(STEM, rule(method="satin", spacing=spacing, pull_compensation=0.2, push_compensation=0.0))
    outline, height = box(-15, -2, 15, 2), 4.4
    across = np.diff(plan.segments(Layer.TOP), axis=1)[:, 0]
    across = across[np.abs(across[:, 1]) > 2]
    # The first and the last thread lie along the column's ends.
    assert np.abs(across[1:-1]) == pytest.approx(np.array([[spacing, height]] * (len(across) - 2)), abs=0.021)
    assert len(across) == pytest.approx(30 / spacing, rel=0.05)
    # Where two threads part from one needle point the next pair is two spacings away. Between them, from the outline
    # (0.2 mm inside the needle points) to the depth where they touch, a triangle stays bare.
    depth = max(height * (1 - THREAD / (2 * spacing)) - 0.2, 0)
    assert bare(outline, plan) == pytest.approx(depth**2 / (4 * height), rel=0.1, abs=0.002)
    reach = outline.buffer(0.2 + THREAD / 2 + 0.06, join_style="mitre")
    assert thread_area(plan).difference(reach).area < 1e-4 * outline.area


def test_pull_compensation_is_laid_out_along_the_thread() -> None:
    def reach(pull: float) -> tuple[float, float]:
        plan = laidwork.sew(SEED_HEAD, rule(method="fill", angle=0.0, pull_compensation=pull))
        top = plan.segments(Layer.TOP)
        return float(top[..., 0].max()), float(top[..., 1].max())

    plain, pulled = reach(0.0), reach(0.4)
    assert pulled[0] - plain[0] == pytest.approx(0.4, abs=0.05)
    assert pulled[1] - plain[1] == pytest.approx(0.0, abs=0.05)


@pytest.mark.parametrize("length", [2.5, 4.0, 5.0])
def test_each_stitch_length_has_its_number_of_stitches(length: float) -> None:
    plan = laidwork.sew(BED, rule(method="fill", angle=0.0, stitch_length=length))
    lengths = np.linalg.norm(np.diff(plan.segments(Layer.TOP), axis=1)[:, 0], axis=1)
    assert lengths.max() < 1.3 * length
    assert 0.8 * length < np.median(lengths) < 1.05 * length
    # Rows of 30 mm over half of the frame, two of 10 mm each over the other half. Each has a stitch for every length in
    # it, one that turns into the next row, and at most one more, because its points are moved against its neighbour's.
    rows = np.repeat([30, 10], [round(10 / 0.22), 2 * round(10 / 0.22)])
    assert (rows / length + 1).sum() * 0.97 < len(lengths) < (rows / length + 2).sum()


@pytest.mark.parametrize("spacing", [0.2, 0.25, 0.3])
def test_thread_on_an_area_is_one_over_the_spacing(spacing: float) -> None:
    plan = laidwork.sew(BED, rule(method="fill", angle=0.0, spacing=spacing, pull_compensation=0.0))
    top = np.diff(plan.segments(Layer.TOP), axis=1)[:, 0]
    rows = top[np.abs(top[:, 1]) < 0.02]
    laid = np.abs(rows[:, 0]).sum()
    assert laid == pytest.approx((30 * 20 - 10 * 10) / spacing, rel=0.03)


def test_no_stitch_is_too_short_or_too_long(garden: laidwork.Plan) -> None:
    ties = garden.layers == Layer.TIE
    steps = np.linalg.norm(np.diff(garden.points, axis=0), axis=1)
    laid = ~garden.trims[:-1] & ~garden.jumps[1:]
    assert steps[laid].max() <= 12.0
    assert steps[laid & ~ties[1:] & ~ties[:-1]].min() >= 0.29


def test_every_area_of_the_garden_patch_is_covered(garden: laidwork.Plan) -> None:
    covered = thread_area(garden)
    seen: dict[str, float] = {}
    over: BaseGeometry = Point()
    for shape in reversed(garden.shapes):
        visible = drawn_area(shape).difference(over)
        over = over.union(drawn_area(shape))
        methods = {piece.method for piece in garden.pieces if piece.shape == shape.name}
        if "fill" in methods and visible.area > 20:
            seen[shape.name] = visible.difference(covered).area / visible.area
    assert len(seen) >= 3
    assert max(seen.values()) < 0.005, seen


def test_width_is_millimetres() -> None:
    plan = laidwork.sew(SEED_HEAD, rule(method="fill", pull_compensation=0.0), width=60)
    assert np.ptp(plan.points, axis=0) == pytest.approx(np.array([40, 40]), abs=0.6)
    assert plan.drawing == pytest.approx((-30, -30, 60, 60))
    assert laidwork.sew(SEED_HEAD, {"design": {"width": 60}}).drawing == plan.drawing
