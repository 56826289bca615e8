"""The code on docs/python.md runs, and prints what the page says it prints.

Words have to be the same. Numbers may differ by a seventh, so that the page stays true when stitches change a little
and is looked at when they change much. `LAIDWORK_UPDATE=1` writes what is printed into the page; a run that changed it
fails, so that nobody updates without reading the difference.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from conftest import FIXTURES

PAGE = FIXTURES.parent / "docs/python.md"
README = FIXTURES.parent / "crates/python/README.md"

BLOCK = re.compile(r"```python\n(?P<code>.*?)```(?:\n\n```text\n(?P<output>.*?)```)?", re.DOTALL)
NUMBER = re.compile(r"\d+(?:\.\d+)?")


@dataclass
class Block:
    code: str
    output: str
    line: int
    at: tuple[int, int]


def blocks(text: str) -> list[Block]:
    def block(found: re.Match[str]) -> Block:
        at = found.span("output")
        return Block(found["code"], found["output"] or "", text.count("\n", 0, found.start("code")), at)

    return [block(found) for found in BLOCK.finditer(text)]


def printed(code: Block, page: Path, names: dict[str, Any]) -> str:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        exec(compile("\n" * code.line + code.code, str(page), "exec"), names)
    return out.getvalue()


def agree(found: str, wanted: str) -> bool:
    """Whether two texts are the same but for blanks, and for numbers that differ by little."""
    if NUMBER.sub("0", found).split() != NUMBER.sub("0", wanted).split():
        return False
    pairs = zip(NUMBER.findall(found), NUMBER.findall(wanted))
    # The last digit of a short number is as good as its neighbours.
    return all(
        abs(float(a) - float(b)) <= max(float(b) / 7, 2 * 10 ** -len(b.partition(".")[2]) * ("." in b)) for a, b in pairs
    )


@pytest.fixture
def garden_shed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the drawings and recipes of the page, to work in."""
    for folder in ("drawings", "recipes"):
        shutil.copytree(FIXTURES / folder, tmp_path / folder)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_page_runs_and_prints_what_it_says(garden_shed: Path) -> None:
    text = PAGE.read_text(encoding="utf-8")
    names: dict[str, Any] = {"__name__": "page"}
    told = [(block, printed(block, PAGE, names)) for block in blocks(text)]
    assert len(told) >= 6
    assert sum(bool(output) for _, output in told) >= 5
    if os.environ.get("LAIDWORK_UPDATE"):
        for block, output in reversed(told):
            if block.output:
                text = text[: block.at[0]] + output + text[block.at[1] :]
        changed = text != PAGE.read_text(encoding="utf-8")
        PAGE.write_text(text, encoding="utf-8", newline="\n")
        assert not changed, "docs/python.md was updated; read the difference and run again without LAIDWORK_UPDATE"
    for block, output in told:
        assert agree(output, block.output), f"docs/python.md:{block.line + 1} prints\n{output}\nnot\n{block.output}"


def test_the_readme_runs(garden_shed: Path) -> None:
    found = blocks(README.read_text(encoding="utf-8"))
    assert found
    for block in found:
        printed(block, README, {"__name__": "readme"})


def test_the_comparison_can_fail() -> None:
    assert agree("disc 1.02 m", "disc  1.00 m")
    assert agree("bare 0.1 %", "bare 0.0 %")
    assert not agree("disc 1.3 m", "disc 1.0 m")
    assert not agree("disk 1.0 m", "disc 1.0 m")
    assert not agree("", "disc 1.0 m")
    assert not agree("7 pieces", "9 pieces")
