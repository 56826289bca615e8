"""What can go wrong, and what is worth knowing: each names its place and the way out.

Everything raised here is a `laidwork.Error`, which is a `ValueError`. A file that is not there or may not be read
raises Python's own `OSError`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

__all__ = ["Diagnostic", "DrawingError", "Error", "ListError", "PictureError", "RecipeError", "SewingWarning"]

_OPTION = re.compile(r"--(width|height|hoop|font|text)\b(?: MM)?")


def _in_python(text: str) -> str:
    """The engine speaks of the command's options; here they are keyword arguments."""
    return _OPTION.sub(lambda found: {"font": "fonts", "text": "texts"}.get(found[1], found[1]) + "=", text)


class Error(ValueError):
    """Whatever `laidwork` cannot do with what it was given."""

    def __init__(self, message: str, *more: object) -> None:
        super().__init__(message, *more)

    def __str__(self) -> str:
        return _in_python(str(self.args[0]))


class DrawingError(Error):
    """A drawing that cannot be read or sewn."""

    file: str | None
    """The drawing as it was named; `None` when no one drawing is to blame."""
    line: int | None
    """Line of the fault, from 1, where one is known."""
    column: int | None
    """Column of the fault in characters, from 1."""

    def __init__(self, message: str, file: str | None = None, at: tuple[int, int] | None = None) -> None:
        super().__init__(message, file, at)
        self.file = file
        self.line, self.column = at or (None, None)

    def __str__(self) -> str:
        return f"{self.file}: {super().__str__()}" if self.file else super().__str__()


@dataclass(frozen=True)
class Diagnostic:
    """One thing that is wrong with a recipe."""

    message: str
    """What is wrong."""
    advice: str
    """The way out."""
    line: int | None
    """Its line in the recipe's text, from 1; `None` for a recipe that is a dict."""
    column: int | None
    """Its column in characters, from 1; likewise."""
    place: str
    """`FILE:LINE:COLUMN`, or `recipe["rule"][0]["spacing"]` for a recipe that is a dict."""

    def __str__(self) -> str:
        return f"{self.place}: {self.message}; {_in_python(self.advice)}"


class RecipeError(Error):
    """A recipe with something wrong in it; the message has a line for each thing that is."""

    file: str
    """What the recipe is called."""
    diagnostics: tuple[Diagnostic, ...]
    """Everything that is wrong, in the order it stands there; the first thousand."""

    def __init__(self, file: str, found: Sequence[tuple[str, str, int, int]], left_out: int = 0) -> None:
        super().__init__(file, tuple(found), left_out)
        self.file = file
        self._left_out = left_out
        self.diagnostics = tuple(self._in_text(*one) for one in found)

    def _in_text(self, message: str, advice: str, line: int, column: int) -> Diagnostic:
        place = ":".join(str(part) for part in (self.file, line, column) if part)
        return Diagnostic(message, advice, line or None, column or None, place)

    def _told_of_dict(self, place_of: Callable[[int], str]) -> RecipeError:
        """This error for a recipe that was given as a dict: places are keys instead of lines."""
        self.diagnostics = tuple(
            Diagnostic(one.message, one.advice, None, None, place_of(one.line) if one.line else self.file)
            for one in self.diagnostics
        )
        return self

    def __str__(self) -> str:
        lines = [str(one) for one in self.diagnostics]
        if self._left_out:
            lines.append(f"and {self._left_out} more")
        return "\n".join(lines)


class ListError(Error):
    """A stitch list that cannot be read, or a plan that cannot be written as one."""

    file: str | None
    """The list as it was named."""
    line: int | None
    """Line of the fault, from 1, where one is known."""

    def __init__(self, message: str, file: str | None = None, line: int | None = None) -> None:
        super().__init__(message, file, line)
        self.file, self.line = file, line

    def __str__(self) -> str:
        return f"{self.file}: {super().__str__()}" if self.file else super().__str__()


class PictureError(Error):
    """A picture that cannot be made as asked."""


class SewingWarning(UserWarning):
    """Something of a drawing or a recipe that could not be read or sewn as asked."""

    place: str | None
    """The shape, piece or line concerned; `None` for the whole design."""
    what: str
    """What happened."""
    advice: str
    """The way out."""

    def __init__(self, place: str | None, what: str, advice: str) -> None:
        super().__init__(place, what, advice)
        self.place, self.what, self.advice = place, what, _in_python(advice)

    def __str__(self) -> str:
        said = f"{self.what}; {self.advice}"
        return f"{self.place}: {said}" if self.place else said
