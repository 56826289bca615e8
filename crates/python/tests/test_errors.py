"""What is wrong is told with its place and the way out; what is odd is warned of."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

import laidwork
from conftest import SEED_HEAD

RULE = "[[rule]]\n"


@pytest.mark.parametrize(
    ("call", "error", "said"),
    [
        (lambda: laidwork.sew(""), laidwork.DrawingError, "drawing: the drawing is empty; save"),
        (lambda: laidwork.sew("<svg"), laidwork.DrawingError, "drawing: line 1, column"),
        (lambda: laidwork.sew("<html/>"), laidwork.DrawingError, "root element is <html>"),
        (lambda: laidwork.sew(b"\x89PNG\r\n"), laidwork.DrawingError, "drawing: "),
        (lambda: laidwork.sew(SEED_HEAD, width=-1), laidwork.DrawingError, "width=: -1 mm is no size to sew; give"),
        (lambda: laidwork.sew(SEED_HEAD, height=float("nan")), laidwork.DrawingError, "height=: NaN mm is no size"),
        (lambda: laidwork.sew(SEED_HEAD, width=1e6), laidwork.DrawingError, "up to 2000"),
        (lambda: laidwork.sew(SEED_HEAD, fonts="gone.ttf"), laidwork.DrawingError, "gone.ttf"),
        (lambda: laidwork.sew(SEED_HEAD, texts={"gone": "x"}), laidwork.DrawingError, "gone"),
        (lambda: laidwork.sew(SEED_HEAD, RULE + "spacng = 1\n"), laidwork.RecipeError, "recipe:2:1: .*spacing"),
        (lambda: laidwork.sew(SEED_HEAD, RULE + "spacing = 99\n"), laidwork.RecipeError, "recipe:2:11: "),
        (lambda: laidwork.sew(SEED_HEAD, "rule"), FileNotFoundError, "rule"),
        (lambda: laidwork.sew(SEED_HEAD, b"\n\xff"), laidwork.RecipeError, "recipe:2: the text is not in UTF-8; save"),
        (lambda: laidwork.sew("gone.svg"), FileNotFoundError, "gone.svg"),
        (lambda: laidwork.sew(SEED_HEAD, "gone.toml"), FileNotFoundError, "gone.toml"),
        (lambda: laidwork.read("gone.stitches"), FileNotFoundError, "gone.stitches"),
        (lambda: laidwork.read("no\nlist\n"), laidwork.ListError, "list: line 1: found `no`"),
        (lambda: laidwork.read(b""), laidwork.ListError, "list: line 1"),
        (lambda: laidwork.sew(SEED_HEAD).png(show="smoke"), laidwork.PictureError, "threads, kinds, order"),
        (lambda: laidwork.sew(SEED_HEAD).png(fabric="linen"), laidwork.PictureError, "#rrggbb"),
        (lambda: laidwork.sew(SEED_HEAD).png(0), laidwork.PictureError, "width is 0"),
        (lambda: laidwork.sew(SEED_HEAD).png(20_000), laidwork.PictureError, "over the limit"),
        (lambda: laidwork.sew(SEED_HEAD).save("a.exe"), laidwork.ListError, "a.exe: .*[.]stitches"),
        (lambda: laidwork.sew(7), TypeError, "not int"),  # type: ignore[arg-type]
        (lambda: laidwork.sew(SEED_HEAD, 7), TypeError, "not int"),  # type: ignore[arg-type]
    ],
)
def test_errors_name_the_place_and_the_way_out(
    call: Callable[[], object], error: type[Exception], said: str, recwarn: pytest.WarningsRecorder
) -> None:
    with pytest.raises(error, match=said) as found:
        call()
    if issubclass(error, laidwork.Error):
        assert isinstance(found.value, ValueError)
        assert "--" not in str(found.value)


def test_a_drawing_error_has_its_file_line_and_column(tmp_path: Path) -> None:
    file = tmp_path / "leaf.svg"
    file.write_text('<svg xmlns="http://www.w3.org/2000/svg">\n  <g>\n</svg>', encoding="utf-8")
    with pytest.raises(laidwork.DrawingError, match="leaf.svg: line 3") as found:
        laidwork.sew(file)
    assert (found.value.file, found.value.line) == (str(file), 3)
    assert found.value.column is not None


def test_everything_wrong_with_a_recipe_is_told_at_once(tmp_path: Path) -> None:
    file = tmp_path / "leaf.toml"
    file.write_text('[[rule]]\nmethod = "weave"\n\n[[rule]]\nspacing = "narrow"\n', encoding="utf-8")
    with pytest.raises(laidwork.RecipeError) as found:
        laidwork.sew(SEED_HEAD, file)
    first, second = found.value.diagnostics
    assert (first.line, first.column, second.line, second.column) == (2, 10, 5, 11)
    assert str(found.value).splitlines() == [str(first), str(second)]
    assert str(first).startswith(f"{file}:2:10: ")
    assert all(one.advice for one in (first, second))


@pytest.mark.parametrize(
    ("recipe", "place"),
    [
        ({"rule": [{"method": "fill"}, {"spacing": 99}]}, 'recipe["rule"][1]["spacing"]'),
        ({"rule": [{"underlay": ["rows", "netting"]}]}, 'recipe["rule"][0]["underlay"]'),
        ({"desgn": {"width": 30}}, 'recipe["desgn"]'),
        ({"design": {"with": 30}}, 'recipe["design"]["with"]'),
        ({"rule": [{"border": {"width": -1}}]}, 'recipe["rule"][0]["border"]["width"]'),
        ({"material": {"table cloth": {"spacing": "x"}}}, 'recipe["material"]["table cloth"]["spacing"]'),
        ({"design": {"width": None}}, 'recipe["design"]["width"]'),
        ({"design": {"hoop": [100, object()]}}, 'recipe["design"]["hoop"][1]'),
        ({"design": {7: 8}}, 'recipe["design"][7]'),
        ({"design": {"title": "\ud800"}}, 'recipe["design"]["title"]'),
        ({"design": {"width": float("inf")}}, 'recipe["design"]["width"]'),
    ],
)
def test_what_is_wrong_with_a_dict_is_told_by_its_keys(recipe: dict[str, Any], place: str) -> None:
    with pytest.raises(laidwork.RecipeError) as found:
        laidwork.sew(SEED_HEAD, recipe)
    (one,) = found.value.diagnostics
    assert one.place == place
    assert one.line is None
    assert str(found.value) == f"{place}: {one.message}; {one.advice}"


def test_a_list_error_has_its_line(tmp_path: Path) -> None:
    file = tmp_path / "leaf.stitches"
    file.write_text(laidwork.sew(SEED_HEAD).to_text()[:-9], encoding="utf-8")
    with pytest.raises(laidwork.ListError) as found:
        laidwork.read(file)
    assert found.value.file == str(file)
    assert found.value.line is not None


def test_warnings_are_pythons_and_stay_with_the_plan() -> None:
    sizeless = SEED_HEAD.replace('width="30mm" height="30mm"', "")
    with pytest.warns(laidwork.SewingWarning, match="no physical size.*give the size to sew with width=") as told:
        plan = laidwork.sew(sizeless)
    assert [str(one.message) for one in told] == [str(one) for one in plan.warnings]
    assert told[0].filename == __file__
    assert plan.warnings[0].place is None
    assert plan.warnings[0].advice
    assert laidwork.sew(sizeless, width=30).warnings == ()
    with pytest.warns(laidwork.SewingWarning, match="no physical size") as told:
        laidwork.shapes(sizeless)
    assert told[0].filename == __file__


def test_a_warning_names_its_shape() -> None:
    faded = SEED_HEAD.replace("fill=", 'fill-opacity="0.5" fill=')
    with pytest.warns(laidwork.SewingWarning) as told:
        laidwork.sew(faded)
    found = told[0].message
    assert isinstance(found, laidwork.SewingWarning)
    assert found.place == "seed-head"


def test_nothing_to_sew_is_an_error_that_says_why() -> None:
    with pytest.raises(laidwork.DrawingError, match="nothing in the drawing can be sewn"):
        laidwork.sew('<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9"/>')


@pytest.mark.parametrize(
    "call",
    [
        lambda: laidwork.sew("<svg"),
        lambda: laidwork.sew(SEED_HEAD, RULE + "spacng = 1\n"),
        lambda: laidwork.read(b""),
        lambda: laidwork.sew(SEED_HEAD).png(0),
    ],
)
def test_errors_travel_between_processes(call: Callable[[], object]) -> None:
    with pytest.raises(laidwork.Error) as found:
        call()
    again = pickle.loads(pickle.dumps(found.value))
    assert type(again) is type(found.value)
    assert str(again) == str(found.value)
