"""Rows and whole fills over the shapes of cases a, b and c, by shapely and numpy: what the engine's are held against.

The shapes are those of benches/src/lib.rs. Bare rows are cut in two ways that a script would choose, and the faster
one counts: all rows of a shape as one multi-line intersected at once, or each row by itself. A third way does without
shapely: where edges cross the rows is found and sorted by numpy, which is good for outlines that do not cross
themselves. A whole fill is what a script without routing would lay: rows lengthened at both ends and divided into
stitches, on top of an edge run round the shape buffered inwards and open rows across. Which way it goes and in which
order is given to it. Everything that can be is one call for all shapes, or numpy over all rows.
"""

import math
import sys
import time

import numpy as np
import shapely

SPACING, STITCH, SHORTEST = 0.22, 4.0, 0.8
COMPENSATION = 0.2
INSET, OPEN_SPACING, UNDER_STITCH = 0.5, 2.5, 3.0
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


def lines(shapes, spacing, across=False):
    """Lines over the bounds of all shapes, the shape of each, and which row of its grid it is."""
    bounds = shapely.bounds(shapes)
    along, up = (1, 0) if across else (0, 1)
    first, last = np.ceil(bounds[:, up] / spacing), np.floor(bounds[:, up + 2] / spacing)
    counts = (last - first + 1).astype(np.intp)
    shape = np.repeat(np.arange(len(shapes)), counts)
    row = np.arange(len(shape)) - np.repeat(np.cumsum(counts) - counts - first, counts)
    ends = np.empty((len(row), 2, 2))
    ends[:, 0, along], ends[:, 1, along] = bounds[shape, along] - 1, bounds[shape, along + 2] + 1
    ends[:, :, up] = row[:, None] * spacing
    return shapely.linestrings(ends), shape


def at_once(shapes, lines, of):
    have = np.bincount(of, minlength=len(shapes)) > 0
    return shapely.intersection(shapes[have], shapely.multilinestrings(lines, indices=(np.cumsum(have) - 1)[of]))


def one_by_one(shapes, lines, of):
    shapely.prepare(shapes)
    return shapely.intersection(lines, shapes[of])


def spans(clipped):
    """Both ends of every piece of clipped lines."""
    parts = shapely.get_parts(clipped)
    parts = parts[shapely.get_type_id(parts) == shapely.GeometryType.LINESTRING]
    ends = np.cumsum(shapely.get_num_coordinates(parts))
    places = shapely.get_coordinates(parts)
    return places[np.append(0, ends[:-1])], places[ends - 1]


def crossings(shapes, spacing, across=False):
    """Both ends of every piece of a row, from where edges cross the rows: half-open, so that corners count once."""
    rings, of = shapely.get_rings(shapes, return_index=True)
    places, ring = shapely.get_coordinates(rings, return_index=True)
    places = places[:, ::-1] if across else places
    edges = ring[1:] == ring[:-1]
    a, b, shape = places[:-1][edges], places[1:][edges], of[ring[:-1][edges]]
    level = np.ceil(np.stack((a[:, 1], b[:, 1])) / spacing).astype(np.intp)
    first, counts = level.min(axis=0), np.abs(level[1] - level[0])
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1])
    row = np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts - first, counts)
    y = row * spacing
    x = np.repeat(a[:, 0], counts) + (y - np.repeat(a[:, 1], counts)) * np.repeat(slope, counts)
    order = np.lexsort((x, row, np.repeat(shape, counts)))
    ends = np.column_stack((x[order], y[order]))
    ends = ends[:, ::-1] if across else ends
    return ends[::2], ends[1::2]


def stitched(start, end, across, length, shifts):
    """Needle points of rows `across` an axis: both ends, and a grid moved from row to row between them."""
    low, high = np.minimum(start, end), np.maximum(start, end)
    shift = shifts[np.rint(across / SPACING).astype(np.intp) % len(shifts)]
    first = np.ceil((low + SHORTEST) / length - shift)
    inner = np.maximum(np.floor((high - SHORTEST) / length - shift) - first + 1, 0).astype(np.intp)
    counts = inner + 2
    begins = np.cumsum(counts) - counts
    points = np.empty((counts.sum(), 2))
    offset = first - 1 + shift - begins
    points[:, 0] = (np.arange(len(points)) + np.repeat(offset, counts)) * length
    points[begins, 0], points[begins + counts - 1, 0] = low, high
    points[:, 1] = np.repeat(across, counts)
    return points


def run(polygons):
    """Needle points round every ring, evenly and at most a stitch apart."""
    rings = shapely.get_rings(polygons)
    places, ring = shapely.get_coordinates(rings, return_index=True)
    steps = np.hypot(*np.diff(places, axis=0, prepend=places[:1]).T)
    firsts = np.searchsorted(ring, np.arange(len(rings)))
    steps[firsts] = 1e-6
    along = np.cumsum(steps)
    from_, to = along[firsts], along[np.append(firsts[1:], len(ring)) - 1]
    counts = np.ceil((to - from_) / UNDER_STITCH).astype(np.intp) + 1
    share = (np.arange(counts.sum()) - np.repeat(np.cumsum(counts) - counts, counts)) / np.repeat(counts - 1, counts)
    at = np.repeat(from_, counts) + np.repeat(to - from_, counts) * share
    return np.column_stack((np.interp(at, along, places[:, 0]), np.interp(at, along, places[:, 1])))


def fill(shapes, cut):
    """Needle points of whole fills; `cut` gives both ends of every piece of the rows over some shapes."""
    shrunk = shapely.get_parts(shapely.buffer(shapes, -INSET, quad_segs=3))
    shrunk = shrunk[~shapely.is_empty(shrunk)]
    edge = run(shrunk)
    start, end = cut(shrunk, OPEN_SPACING, True)
    open_rows = stitched(start[:, 1], end[:, 1], start[:, 0], UNDER_STITCH, np.zeros(1))[:, ::-1]
    start, end = cut(shapes, SPACING)
    low, high = np.minimum(start, end)[:, 0] - COMPENSATION, np.maximum(start, end)[:, 0] + COMPENSATION
    top = stitched(low, high, start[:, 1], STITCH, np.array([0.0, 0.5, 0.25, 0.75]))
    return np.concatenate((edge, open_rows, top))


def clipped_by(way):
    """Bare rows by shapely, their length in mm; and their ends."""

    def bare(shapes):
        return shapely.length(way(shapes, *lines(shapes, SPACING))).sum()

    def cut(shapes, spacing, across=False):
        return spans(way(shapes, *lines(shapes, spacing, across)))

    return bare, cut


def bare_crossings(shapes):
    start, end = crossings(shapes, SPACING)
    return np.abs(end - start).sum()


def timed(work, *given):
    began = time.perf_counter()
    result = work(*given)
    return time.perf_counter() - began, result


def main():
    stitches = float(sys.argv[1]) if len(sys.argv) > 1 else 1e6
    print(f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}, {stitches:.0f} stitches a case")
    for name, make in (("a", one_shape), ("b", many_holes), ("c", many_shapes)):
        shapes = np.array(make(stitches))

        def bare(way, work):
            seconds, total = timed(work, shapes)
            each = seconds / stitches * 1e9
            print(f"{name} rows, {way}: {seconds:.3f} s, {each:.0f} ns/stitch, {total:.0f} mm of rows", flush=True)
            return seconds

        def whole(way, cut):
            seconds, points = timed(fill, shapes, cut)
            each = seconds / len(points) * 1e9
            print(f"{name} fill, {way}: {seconds:.3f} s, {each:.0f} ns/stitch, {len(points)} needle points", flush=True)

        tried = []
        for way in (at_once, one_by_one):
            work, cut = clipped_by(way)
            tried.append((bare(way.__name__, work), way.__name__, cut))
        whole(*min(tried, key=lambda way: way[0])[1:])
        bare("numpy alone", bare_crossings)
        whole("numpy and a buffer by shapely", crossings)


main()
