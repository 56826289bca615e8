"""Laidwork turns drawn outlines into embroidery stitches.

    >>> import laidwork
    >>> plan = laidwork.sew("flower.svg", recipe={"design": {"width": 80}})
    >>> plan.points.shape
    (2841, 2)

Lengths are millimetres, x to the right and y downwards, from the hoop's centre. The same drawing and recipe give the
same plan on every run and thread count. What is wrong is raised as a `laidwork.Error` that names the place and the way
out; what could not be sewn as asked is warned of (`SewingWarning`) and stands in `Plan.warnings`.
"""

from __future__ import annotations

import warnings as _warnings
from collections.abc import Iterable, Mapping

from . import _laidwork, _sources
from ._sources import Path_ as _Path
from ._sources import Recipe, Source
from .errors import (
    Diagnostic,
    DrawingError,
    Error,
    ListError,
    PictureError,
    RecipeError,
    SewingWarning,
)
from .plan import Layer, Pass, Piece, Plan, Shape, Thread, shapes_of

__all__ = [
    "Diagnostic",
    "DrawingError",
    "Error",
    "Layer",
    "ListError",
    "Pass",
    "PictureError",
    "Piece",
    "Plan",
    "Recipe",
    "RecipeError",
    "SewingWarning",
    "Shape",
    "Source",
    "Thread",
    "read",
    "sew",
    "shapes",
]

__version__: str = _laidwork.__version__


def sew(
    svg: Source | None = None,
    recipe: Recipe | None = None,
    *,
    width: float | None = None,
    height: float | None = None,
    fonts: _Path | Iterable[_Path] = (),
    texts: Mapping[str, str] | None = None,
    colourway: str | None = None,
) -> Plan:
    """Turns a drawing into stitches. Other threads of Python run on meanwhile.

    Args:
        svg: the drawing: its path, its text (a str that begins with `<`) or its bytes, also of `.svgz`. May be left
            out when the recipe places drawings of its own.
        recipe: how shapes become stitches: the path of a TOML file, its text (a str of several lines, or with a `=`),
            or a dict of the same keys. Without one every shape gets the method that its width asks for. Drawings that
            it places are seen from the file's folder; without a file, from the working folder.
        width: sewn width, mm, up to 2000, in place of the recipe's. With `width` alone the height follows.
        height: sewn height, mm, likewise.
        fonts: files or folders of fonts for text; none are searched for on the machine.
        texts: new texts for elements of the drawing, by id.
        colourway: the name of one of the recipe's colourways.

    Raises:
        DrawingError: the drawing cannot be read, or nothing of it can be sewn.
        RecipeError: the recipe is wrong, or does not suit the drawing.
        OSError: a file that cannot be read.

    Warns:
        SewingWarning: each thing that could not be read or sewn as asked.
    """
    given = None if svg is None else _sources.drawing(svg)
    source = _sources.RecipeSource(recipe)
    reading = _sources.reading(width, height, fonts, texts)
    try:
        plan = Plan(_laidwork.sew(given, source.named, source.folder, reading, colourway))
    except RecipeError as error:
        raise source.told(error) from None
    _warn(plan.warnings)
    return plan


def shapes(
    svg: Source,
    *,
    width: float | None = None,
    height: float | None = None,
    fonts: _Path | Iterable[_Path] = (),
    texts: Mapping[str, str] | None = None,
) -> tuple[Shape, ...]:
    """The shapes of a drawing, in the order they are painted, without sewing them.

    Arguments, errors and warnings are those of `sew`.
    """
    found, told = _laidwork.shapes(_sources.drawing(svg), _sources.reading(width, height, fonts, texts))
    _warn(SewingWarning(*one) for one in told)
    return shapes_of(found)


def read(stitches: Source) -> Plan:
    """Reads a stitch list: its path, its text (a str of several lines) or its bytes.

    A path that ends in `.csv` or `.json` is that twin of the list.

    Raises:
        ListError: it is damaged, cut short or no list; the message names the line.
        OSError: the file cannot be read.
    """
    named = _sources.stitch_list(stitches)
    ending = named[1].lower().rpartition(".")[2]
    return Plan(_laidwork.read(named, ending if ending in ("csv", "json") else "stitches"))


def _warn(told: Iterable[SewingWarning]) -> None:
    for one in told:
        _warnings.warn(one, stacklevel=3)
