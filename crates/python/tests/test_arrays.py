"""The arrays and records of a plan hold together, and say what the stitch list says."""

from __future__ import annotations

import numpy as np
import pytest

import laidwork
from conftest import SEED_HEAD
from laidwork import Layer


def test_every_point_has_an_entry_in_every_array(garden: laidwork.Plan) -> None:
    count = len(garden)
    assert count > 1000
    assert garden.points.shape == (count, 2)
    assert garden.points.dtype == np.float64
    for array in (garden.layers, garden.piece_of, garden.jumps, garden.trims, garden.stops):
        assert array.shape == (count,)
        assert not array.flags.writeable
    assert not garden.points.flags.writeable
    assert np.isfinite(garden.points).all()


def test_arrays_say_what_the_list_says(garden: laidwork.Plan) -> None:
    points: list[list[float]] = []
    layers: list[str] = []
    pieces: list[int] = []
    trims: list[int] = []
    threads: list[int] = []
    layer, piece, thread = "", -1, 0
    for line in garden.to_text().splitlines():
        word, _, rest = line.partition(" ")
        if word == "pass":
            layer = rest
        elif word == "piece":
            piece += 1
            thread = int(rest.split()[2])
        elif word == "trim":
            trims.append(len(points) - 1)
        elif word[0] in "-0123456789":
            points.append([float(number) for number in line.split()])
            layers.append(layer)
            pieces.append(piece)
            threads.append(thread - 1)
    assert np.array_equal(garden.points, points)
    assert [Layer(number).word for number in garden.layers] == layers
    assert np.array_equal(garden.piece_of, pieces)
    assert np.flatnonzero(garden.trims).tolist() == trims
    sewn_in = [garden.threads.index(piece.thread) for piece in garden.pieces]
    assert np.array_equal(np.take(sewn_in, garden.piece_of), threads)


def test_pieces_and_passes_are_slices_of_the_points(garden: laidwork.Plan) -> None:
    assert len(garden.pieces) > 10
    at = 0
    for number, piece in enumerate(garden.pieces):
        assert piece.slice.start == piece.passes[0].slice.start == at
        assert (garden.piece_of[piece.slice] == number).all()
        for one in piece.passes:
            assert one.slice.start == at
            assert (garden.layers[one.slice] == one.layer).all()
            at = one.slice.stop
        assert piece.slice.stop == at
        assert Layer.TOP in piece.layers
    assert at == len(garden)
    assert garden.pieces[0].layers[0] == Layer.TIE


def test_a_piece_names_its_shape_its_thread_and_its_method(garden: laidwork.Plan) -> None:
    drawn = {shape.name for shape in garden.shapes}
    assert {piece.shape for piece in garden.pieces} <= drawn
    disc = next(piece for piece in garden.pieces if piece.shape == "flower/disc")
    assert (disc.method, disc.thread.name) == ("fill", "Loam")
    assert disc.thread.color == "#663c1e"


def test_parts_of_a_shape_name_that_shape() -> None:
    seeds = SEED_HEAD.replace("<circle", '<path id="seeds" d="M1 1h5v5h-5z M20 20h5v5h-5z"/><circle')
    plan = laidwork.sew(seeds)
    assert sorted(piece.name for piece in plan.pieces) == ["seed-head", "seeds", "seeds.2"]
    assert sorted(piece.shape for piece in plan.pieces) == ["seed-head", "seeds", "seeds"]


def test_segments_are_the_thread_that_the_report_counts(garden: laidwork.Plan) -> None:
    def length(segments: np.ndarray) -> float:
        return float(np.linalg.norm(segments[:, 1] - segments[:, 0], axis=1).sum())

    laid = garden.report()["total"]["laid_mm"]
    # The report adds up thousandths: five lengths for each piece.
    rounding = 0.0005 * 5 * len(garden.pieces)
    assert length(garden.segments(floats=True)) == pytest.approx(laid, abs=rounding)
    by_layer = sum(length(garden.segments(layer)) for layer in Layer)
    assert length(garden.segments()) == pytest.approx(by_layer, rel=1e-9)


def test_a_list_read_back_is_the_same_plan(garden: laidwork.Plan) -> None:
    again = laidwork.read(garden.to_text())
    for name in ("points", "layers", "piece_of", "jumps", "trims", "stops"):
        assert np.array_equal(getattr(garden, name), getattr(again, name)), name
    assert again.threads == garden.threads
    assert [piece.name for piece in again.pieces] == [piece.name for piece in garden.pieces]
    assert [piece.slice for piece in again.pieces] == [piece.slice for piece in garden.pieces]
    assert (again.title, again.hoop, again.drawing) == (garden.title, garden.hoop, garden.drawing)
    assert again.shapes == ()


def test_a_list_without_stitches_has_empty_arrays() -> None:
    plan = laidwork.read("stitch-list 1\nunit mm\nend 0\n")
    assert len(plan) == 0
    assert plan.points.shape == (0, 2)
    assert plan.layers.shape == plan.jumps.shape == plan.trims.shape == (0,)
    assert plan.segments(floats=True).shape == (0, 2, 2)
    assert plan.pieces == ()
    assert plan.threads == ()


def test_a_trim_parts_the_thread_and_a_jump_makes_it_float() -> None:
    text = """stitch-list 1
unit mm
thread 1 #2f5d34
piece 1 thread 1 method run name stem
pass top
jump 0.00 0.00
0.00 0.00
2.00 0.00
trim
jump 5.00 0.00
5.00 0.00
7.00 0.00
jump 8.00 0.00
8.00 0.00
9.00 0.00
stop
end 6
"""
    plan = laidwork.read(text)
    assert plan.jumps.tolist() == [True, False, True, False, True, False]
    assert plan.trims.tolist() == [False, True, False, False, False, False]
    assert plan.stops.tolist() == [False, False, False, False, False, True]
    assert plan.segments()[:, :, 0].tolist() == [[0, 2], [5, 7], [8, 9]]
    assert plan.segments(floats=True)[:, :, 0].tolist() == [[0, 2], [5, 7], [7, 8], [8, 9]]
    assert plan.segments(Layer.TRAVEL).shape == (0, 2, 2)
    assert plan.broken != ()


def test_the_report_counts_what_the_arrays_hold(garden: laidwork.Plan) -> None:
    report = garden.report()
    assert report["total"]["stitches"] == len(garden)
    assert report["total"]["trims"] == garden.trims.sum()
    size = garden.points.max(axis=0) - garden.points.min(axis=0)
    assert [report["size"]["width"], report["size"]["height"]] == pytest.approx(size.tolist())
    assert str(len(garden)) in garden.report_text().replace(",", "").replace(" ", "")
    assert garden.broken == ()


def test_the_layers_are_those_of_the_engine() -> None:
    from laidwork import _laidwork

    assert [layer.word for layer in Layer] == [layer.name.lower() for layer in Layer] == _laidwork.LAYERS
