"""A recipe that is a dict, written as the TOML that the engine reads.

Every key gets a line of its own, so that what is wrong with a line can be told by its key.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Mapping, Sequence
from datetime import date, time
from numbers import Integral, Real
from typing import Any

import numpy as np

from .errors import RecipeError

_BARE = re.compile(r"[A-Za-z0-9_-]+")


class Written:
    """The text of a recipe, and for each of its lines the keys that it came from."""

    def __init__(self, recipe: Mapping[str, Any]) -> None:
        self._lines: list[str] = []
        self._places: list[str] = []
        self._table(recipe, (), "recipe")

    @property
    def text(self) -> str:
        return "".join(line + "\n" for line in self._lines)

    def place_of(self, line: int) -> str:
        """The keys of a line, from 1: `recipe["rule"][0]["spacing"]`."""
        return self._places[line - 1] if 0 < line <= len(self._places) else "recipe"

    def _add(self, line: str, place: str) -> None:
        self._lines.append(line)
        self._places.append(place)

    def _table(self, table: Mapping[str, Any], path: tuple[str, ...], place: str) -> None:
        # In TOML a key after a table's heading is that table's, so tables come last.
        inner = [(key, value) for key, value in table.items() if _is_table(value) or _is_tables(value)]
        for key, value in table.items():
            at = _at(place, key)
            if not _is_table(value) and not _is_tables(value):
                self._add(f"{_key(key, at)} = {_value(value, at)}", at)
        for key, value in inner:
            at = _at(place, key)
            inside = (*path, _key(key, at))
            if _is_table(value):
                self._add(f"[{'.'.join(inside)}]", at)
                self._table(value, inside, at)
            else:
                for number, one in enumerate(value):
                    self._add(f"[[{'.'.join(inside)}]]", f"{at}[{number}]")
                    self._table(one, inside, f"{at}[{number}]")


def _is_table(value: object) -> bool:
    return isinstance(value, Mapping)


def _is_tables(value: object) -> bool:
    return isinstance(value, (list, tuple)) and len(value) > 0 and all(map(_is_table, value))


def _at(place: str, key: object) -> str:
    return f"{place}[{json.dumps(key, ensure_ascii=False) if isinstance(key, str) else repr(key)}]"


def _wrong(at: str, message: str, advice: str) -> RecipeError:
    wrong = RecipeError("recipe", [(message, advice, 1, 0)])
    return wrong._told_of_dict(lambda _: at)


def _key(key: object, at: str) -> str:
    if not isinstance(key, str):
        raise _wrong(at, f"a key is text, not {type(key).__name__}", "write it as a str")
    return key if _BARE.fullmatch(key) else _string(key, at)


def _string(text: str, at: str) -> str:
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        raise _wrong(at, "the text holds half a character", "take out lone surrogates") from None
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _value(value: object, at: str) -> str:
    if isinstance(value, str):
        return _string(value, at)
    if isinstance(value, (bool, np.bool_)):
        return "true" if value else "false"
    if isinstance(value, Integral):
        return str(int(value))
    if isinstance(value, Real):
        return repr(float(value))
    if isinstance(value, os.PathLike):
        return _string(os.fsdecode(value), at)
    if isinstance(value, (date, time)):
        return value.isoformat()
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{_key(key, at)} = {_value(one, _at(at, key))}" for key, one in value.items()) + "}"
    if isinstance(value, (Sequence, np.ndarray)) and not isinstance(value, (bytes, bytearray)):
        return "[" + ", ".join(_value(one, f"{at}[{number}]") for number, one in enumerate(value)) + "]"
    if value is None:
        raise _wrong(at, "None is no value of a recipe", "leave the key out for its default")
    raise _wrong(at, f"{type(value).__name__} is no value of a recipe", "write text, a number, a bool, a list or a dict")
