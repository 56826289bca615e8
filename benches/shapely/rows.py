"""Rows over the shapes of cases a, b and c, cut by shapely: what the engine's rows are held against.

The shapes are those of benches/src/lib.rs. Each case is cut in two ways that a
script would choose, and the faster one counts: all rows as one multi-line
intersected at once, or each row by itself (vectorised), with prepared shapes.
"""

import math
import sys
import time

import numpy as np
import shapely

SPACING = 0.22
AREA_OF_A_STITCH = 0.88


def wavy(x, y, radius, corners, turns):
    angle = np.arange(corners) * (math.tau / corners)
    reach = radius * (1.0 + 0.1 * np.sin(turns * angle))
    return np.column_stack((x + reach * np.cos(angle), y + reach * np.sin(angle)))


def one_shape(stitches):
    return [shapely.Polygon(wavy(0, 0, math.sqrt(stitches * AREA_OF_A_STITCH / math.pi), 64, 5))]


def many_holes(stitches):
    radius = math.sqrt(stitches * 1.35 * AREA_OF_A_STITCH / math.pi)
    step = radius * 1.2 / 20
    at = [(i - 9.5) * step for i in range(20)]
    return [shapely.Polygon(wavy(0, 0, radius, 1000, 25), [wavy(x, y, step * 0.3, 34, 3) for x in at for y in at])]


def many_shapes(stitches):
    radius = math.sqrt(stitches / 10_000 * AREA_OF_A_STITCH / math.pi)
    step = radius * 2.4
    return [shapely.Polygon(wavy(i % 100 * step, i // 100 * step, radius, 24, 5)) for i in range(10_000)]


def lines(shape):
    left, low, right, high = shape.bounds
    y = np.arange(math.ceil(low / SPACING), math.floor(high / SPACING) + 1) * SPACING
    ends = np.empty((len(y), 2, 2))
    ends[:, 0, 0], ends[:, 1, 0] = left - 1, right + 1
    ends[:, 0, 1] = ends[:, 1, 1] = y
    return shapely.linestrings(ends)


def at_once(shapes):
    return sum(shapely.length(shapely.intersection(shape, shapely.multilinestrings(lines(shape)))) for shape in shapes)


def one_by_one(shapes):
    total = 0.0
    for shape in shapes:
        shapely.prepare(shape)
        total += shapely.length(shapely.intersection(lines(shape), shape)).sum()
    return total


def main():
    stitches = float(sys.argv[1]) if len(sys.argv) > 1 else 1e6
    print(f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}, {stitches:.0f} stitches a case")
    for name, make in (("a", one_shape), ("b", many_holes), ("c", many_shapes)):
        shapes = make(stitches)
        for way in (at_once, one_by_one):
            began = time.perf_counter()
            total = way(shapes)
            seconds = time.perf_counter() - began
            print(f"{name} {way.__name__}: {seconds:.3f} s, {seconds / stitches * 1e9:.0f} ns/stitch, {total:.0f} mm of rows", flush=True)


main()
