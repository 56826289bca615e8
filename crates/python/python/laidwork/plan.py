"""A design in sewing order, as arrays, records, figures and pictures.

Lengths are millimetres, x to the right and y downwards, from the hoop's centre.
"""

from __future__ import annotations

import json
import os
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import IntEnum
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt

from . import _laidwork
from .errors import ListError, PictureError, SewingWarning

__all__ = ["Layer", "Pass", "Piece", "Plan", "Shape", "Thread"]

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


class Layer(IntEnum):
    """What the thread of a pass is for; the numbers of `Plan.layers`."""

    UNDERLAY = 0
    """Carries the top stitching."""
    TOP = 1
    """What the eye sees."""
    TRAVEL = 2
    """Moves through a shape before it is covered."""
    TIE = 3
    """Locks a thread at its start or end."""

    @property
    def word(self) -> str:
        """The word for it in lists and reports."""
        return _laidwork.LAYERS[self]


@dataclass(frozen=True)
class Thread:
    """A thread of a plan."""

    color: str
    """`#rrggbb`"""
    name: str | None
    """What its owner calls it, if the recipe says."""


@dataclass(frozen=True, eq=False)
class Shape:
    """A painted area of the drawing: the inside of an outline, or the ink of a stroke."""

    name: str
    """The ids of its groups and its own, joined by `/`; what a rule's `match` picks it by."""
    color: str
    """`#rrggbb`"""
    is_stroke: bool
    """Whether it is the ink of a stroke."""
    polygons: tuple[tuple[Floats, ...], ...]
    """Its connected parts: the outer ring of each, then its holes. A ring is an array of shape (n, 2), mm, that does
    not repeat its first point."""


@dataclass(frozen=True)
class Pass:
    """One unbroken run of needle points of a piece."""

    layer: Layer
    """What it is for."""
    slice: slice
    """Its needle points: `plan.points[one.slice]`."""


@dataclass(frozen=True)
class Piece:
    """One connected part of a shape, sewn by one method in one thread."""

    name: str
    """The shape's name; those of a shape in several parts have a number after it: `NAME`, `NAME.2`, `NAME.3`."""
    shape: str
    """Name of the shape it comes from (`Shape.name`); of a plan that was read the piece's own."""
    method: str
    """`run`, `satin`, `fill` or `manual`"""
    thread: Thread
    """What it is sewn with."""
    slice: slice
    """Its needle points: `plan.points[piece.slice]`, and so with every array of the plan."""
    passes: tuple[Pass, ...] = field(repr=False)
    """Its passes in sewing order."""

    @property
    def layers(self) -> tuple[Layer, ...]:
        """What is sewn of it: each layer once, in the order of first use."""
        return tuple(dict.fromkeys(one.layer for one in self.passes))


class Plan:
    """A design in sewing order, as `laidwork.sew` and `laidwork.read` give it.

    The arrays have an entry for each needle point, in sewing order. They cannot be written to: copy them to change
    them. Thread lies from each point to the next, but for cuts (`trims`); the thread that comes to a point belongs to
    that point's pass.
    """

    def __init__(self, inner: _laidwork.Plan) -> None:
        """Not for users: `laidwork.sew` and `laidwork.read` make plans."""
        self._inner = inner
        table = np.array(inner.passes(), dtype=np.int64).reshape(-1, 6)
        self._piece, self._layer, self._count = table[:, 0], table[:, 1], table[:, 2]
        self._jumped, self._cut, self._halted = table[:, 3:].astype(np.bool_).T
        self._end = np.cumsum(self._count)

    @cached_property
    def points(self) -> Floats:
        """Needle points, shape (n, 2), float64, mm."""
        return np.frombuffer(self._inner.points(), dtype=np.float64).reshape(-1, 2)

    @cached_property
    def layers(self) -> npt.NDArray[np.uint8]:
        """What the thread that comes to each point is for, shape (n,), uint8: numbers of `Layer`."""
        return _fixed(np.repeat(self._layer.astype(np.uint8), self._count))

    @cached_property
    def piece_of(self) -> npt.NDArray[np.int64]:
        """The piece of each point, shape (n,), int64: an index into `pieces`."""
        return _fixed(np.repeat(self._piece, self._count))

    @cached_property
    def jumps(self) -> Bools:
        """Whether the needle comes to the point by a jump rather than by a stitch, shape (n,), bool."""
        starts = (self._end - self._count)[self._jumped & (self._count > 0)]
        return self._marked(starts)

    @cached_property
    def trims(self) -> Bools:
        """Whether the thread is cut after the point, shape (n,), bool."""
        return self._marked(self._end[self._cut & (self._end > 0)] - 1)

    @cached_property
    def stops(self) -> Bools:
        """Whether the machine halts for its operator after the point, shape (n,), bool."""
        return self._marked(self._end[self._halted & (self._end > 0)] - 1)

    def _marked(self, places: npt.NDArray[np.int64]) -> Bools:
        marks = np.zeros(len(self), dtype=np.bool_)
        marks[places] = True
        return _fixed(marks)

    def segments(self, layer: Layer | int | None = None, *, floats: bool = False) -> Floats:
        """Thread laid between needle points, shape (m, 2, 2), float64, mm: from, to; x, y. In sewing order.

        Args:
            layer: only thread of this layer.
            floats: also thread that untrimmed jumps drag over the surface.
        """
        laid = ~self.trims[:-1]
        if not floats:
            laid = laid & ~self.jumps[1:]
        if layer is not None:
            laid = laid & (self.layers[1:] == layer)
        return np.stack([self.points[:-1][laid], self.points[1:][laid]], axis=1)

    @cached_property
    def threads(self) -> tuple[Thread, ...]:
        """The threads in the order of first use."""
        return tuple(Thread(*thread) for thread in self._inner.threads())

    @cached_property
    def pieces(self) -> tuple[Piece, ...]:
        """The pieces in sewing order."""
        told = self._inner.pieces()
        first = np.searchsorted(self._piece, np.arange(len(told) + 1))
        pieces = []
        for (name, method, thread), begin, end in zip(told, first[:-1], first[1:]):
            passes = tuple(self._pass(number) for number in range(begin, end))
            start = passes[0].slice.start if passes else (int(self._end[begin - 1]) if begin else 0)
            stop = passes[-1].slice.stop if passes else start
            pieces.append(Piece(name, self._shape_of(name), method, self.threads[thread], slice(start, stop), passes))
        return tuple(pieces)

    def _shape_of(self, piece: str) -> str:
        """Parts of a shape, and a border along it, are called by its name and something after a point or a slash."""
        drawn = {shape.name for shape in self.shapes}
        ends = (at for at in range(len(piece), 0, -1) if at == len(piece) or piece[at] in "./")
        return next((piece[:at] for at in ends if piece[:at] in drawn), piece)

    def _pass(self, number: int) -> Pass:
        end, count = int(self._end[number]), int(self._count[number])
        return Pass(Layer(int(self._layer[number])), slice(end - count, end))

    @cached_property
    def shapes(self) -> tuple[Shape, ...]:
        """What was drawn, in the order it is painted; empty for a plan that was read."""
        return shapes_of(self._inner.shapes())

    @property
    def title(self) -> str | None:
        """What the design is called."""
        return self._inner.title()

    @property
    def drawing(self) -> tuple[float, float, float, float] | None:
        """The drawing's viewport: left, top, width and height, mm."""
        return self._inner.drawing()

    @property
    def hoop(self) -> tuple[float, float] | None:
        """Width and height of the inside of the hoop it is meant for, mm; the hoop's centre is at 0, 0."""
        return self._inner.hoop()

    @cached_property
    def warnings(self) -> tuple[SewingWarning, ...]:
        """What could not be read or sewn as asked; the same that `sew` warned of."""
        return tuple(SewingWarning(*told) for told in self._inner.warnings())

    @cached_property
    def broken(self) -> tuple[str, ...]:
        """Every promise of a sound plan that this one breaks; empty for whatever `sew` gives."""
        return tuple(self._inner.broken())

    def report(self) -> dict[str, Any]:
        """Every figure and check, as `laidwork sew --json` prints them; docs/report.schema.json is their schema."""
        report: dict[str, Any] = json.loads(self._inner.report_json())
        return report

    def report_text(self) -> str:
        """The report as the command prints it."""
        return self._inner.report_text()

    def to_text(self) -> str:
        """The stitch list (docs/stitch-list.md).

        Raises:
            ListError: a name or a coordinate that no list can hold; never for what `sew` gives.
        """
        return self._inner.list()

    def png(self, width: int | None = None, *, show: str = "threads", fabric: str | None = None) -> bytes:
        """A picture as the bytes of a PNG file.

        Args:
            width: pixels across; 10 a millimetre unless given.
            show: `threads` as sewn, `kinds` of thread, sewing `order`, `density` or `penetrations`.
            fabric: colour of the cloth, `#rrggbb`; the recipe's, or a raw linen.

        Raises:
            PictureError: an unknown `show` or colour, or too many pixels.
        """
        if width is not None and not 1 <= width <= 65_535:
            raise PictureError(f"width is {width}; it is a number of pixels from 1 to 65535")
        return self._inner.png(width, show, fabric)

    def svg(self, *, show: str = "threads", fabric: str | None = None) -> str:
        """A picture as the text of an SVG file; arguments and errors are those of `png`."""
        return self._inner.svg(show, fabric)

    def html(self, *, fabric: str | None = None) -> str:
        """A page that sews the design, complete in itself; arguments and errors are those of `png`."""
        return self._inner.html(fabric)

    def save(self, path: str | os.PathLike[str]) -> None:
        """Writes a file, whole or not at all; its ending says what: `.stitches`, and its twins `.csv` and `.json`;
        `.png`, `.svg`, `.html`; `.report.txt`.

        Raises:
            ListError: another ending.
            OSError: a file that cannot be written.
        """
        name = os.fspath(path)
        makers: dict[str, Callable[[], str | bytes]] = {
            ".stitches": self.to_text,
            ".csv": self._inner.csv,
            ".json": self._inner.json,
            ".png": self.png,
            ".svg": self.svg,
            ".html": self.html,
            ".report.txt": self.report_text,
        }
        make = next((make for ending, make in makers.items() if name.lower().endswith(ending)), None)
        if make is None:
            raise ListError(f"{name}: the ending says no kind of file; use one of {' '.join(makers)}")
        content = make()
        _write_whole(Path(path), content.encode("utf-8") if isinstance(content, str) else content)

    def __len__(self) -> int:
        """Number of needle points."""
        return int(self._end[-1]) if len(self._end) else 0

    def __repr__(self) -> str:
        title = f"{self.title!r}, " if self.title else ""
        return f"<laidwork.Plan {title}{len(self)} stitches, {len(self.pieces)} pieces, {len(self.threads)} threads>"

    def _repr_png_(self) -> bytes:
        return self.png()


def shapes_of(told: list[tuple[str, str, bool, list[list[bytes]]]]) -> tuple[Shape, ...]:
    """Shapes as the engine tells them."""

    def ring(points: bytes) -> Floats:
        return np.frombuffer(points, dtype=np.float64).reshape(-1, 2)

    return tuple(
        Shape(name, color, is_stroke, tuple(tuple(map(ring, rings)) for rings in polygons))
        for name, color, is_stroke, polygons in told
    )


_Array = TypeVar("_Array", bound=npt.NDArray[Any])


def _fixed(array: _Array) -> _Array:
    array.flags.writeable = False
    return array


def _write_whole(path: Path, content: bytes) -> None:
    # Named as the command names such files, which sweeps up what killed processes leave.
    beside = path.with_name(f".laidwork-{os.getpid()}-{secrets.token_hex(3)}")
    try:
        with beside.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except BaseException:
        beside.unlink(missing_ok=True)
        raise
