"""Drawings, recipes and lists as users name them: a path, the text itself, bytes, or a dict."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, Union

from ._toml import Written
from .errors import RecipeError

Path_ = Union[str, "os.PathLike[str]"]
"""The name of a file."""

Source = Union[str, bytes, bytearray, memoryview, "os.PathLike[str]"]
"""A file by its path, or what is in it."""

Recipe = Union[Source, Mapping[str, Any]]
"""A recipe by its path, its text, or as a dict of the same keys."""


def drawing(source: Source) -> tuple[bytes, str]:
    """The bytes of a drawing and what it is called. A str that begins with `<` or has several lines is the text."""
    return _content(source, "drawing", lambda text: text.lstrip("\ufeff \t\r\n")[:1] in ("<", "") or "\n" in text)


def stitch_list(source: Source) -> tuple[bytes, str]:
    """The bytes of a stitch list and what it is called. A str of several lines is the text."""
    return _content(source, "list", lambda text: not text or "\n" in text)


def _content(source: Source, name: str, is_text: Callable[[str], bool]) -> tuple[bytes, str]:
    if isinstance(source, (bytes, bytearray, memoryview)):
        return bytes(source), name
    if isinstance(source, str) and is_text(source):
        return source.encode("utf-8", "surrogatepass"), name
    if not isinstance(source, (str, os.PathLike)):
        raise TypeError(f"a {name} is a path, text or bytes, not {type(source).__name__}")
    return Path(source).read_bytes(), os.fspath(source)


class RecipeSource:
    """The text of a recipe, what it is called, and the folder its files are seen from."""

    def __init__(self, recipe: Recipe | None) -> None:
        self._written: Written | None = None
        self.folder = ""
        self.named: tuple[str, str] | None
        if recipe is None:
            self.named = None
        elif isinstance(recipe, Mapping):
            self._written = Written(recipe)
            self.named = self._written.text, "recipe"
        elif isinstance(recipe, str) and not _is_recipe_path(recipe):
            self.named = recipe, "recipe"
        else:
            content, name = _content(recipe, "recipe", lambda _: False)
            if not isinstance(recipe, (bytes, bytearray, memoryview)):
                self.folder = os.path.dirname(name)
            self.named = _utf8(content, name), name

    def told(self, error: RecipeError) -> RecipeError:
        """The error as the user of this source understands it."""
        return error._told_of_dict(self._written.place_of) if self._written else error


def _is_recipe_path(text: str) -> bool:
    if "\n" in text or not text.strip():
        return False
    return text.endswith(".toml") or not any(mark in text for mark in "=[#")


def _utf8(content: bytes, name: str) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        raise RecipeError(name, [("the text is not in UTF-8", "save it as UTF-8", line, 0)]) from None


def reading(
    width: float | None, height: float | None, fonts: Path_ | Iterable[Path_], texts: Mapping[str, str] | None
) -> dict[str, Any]:
    """How a drawing is to be read, as the engine takes it."""
    named: Iterable[Path_] = [fonts] if isinstance(fonts, (str, os.PathLike)) else fonts
    return {
        "width": width,
        "height": height,
        "fonts": [os.fspath(font) for font in named],
        "texts": list((texts or {}).items()),
    }
