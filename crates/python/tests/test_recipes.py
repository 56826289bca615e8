"""Drawings and recipes in every form they may have: paths, texts, bytes, dicts; and several drawings in one hoop."""

from __future__ import annotations

import shutil
import warnings
from pathlib import Path

import numpy as np
import pytest

import laidwork
from conftest import FIXTURES, SEED_HEAD

tomllib = pytest.importorskip("tomllib", reason="Python 3.10 has no reader of TOML")

RECIPE = '[[rule]]\nmethod = "fill"\nspacing = 0.25\nunderlay = ["edge-run", "rows"]\n'


def test_every_form_of_a_drawing_is_the_same_drawing(tmp_path: Path) -> None:
    file = tmp_path / "seed head.svg"
    file.write_text(SEED_HEAD, encoding="utf-8")
    wanted = laidwork.sew(SEED_HEAD).to_text()
    forms: list[laidwork.Source] = [file, str(file), SEED_HEAD.encode(), bytearray(SEED_HEAD.encode())]
    for form in [*forms, "\ufeff\n" + SEED_HEAD]:
        assert laidwork.sew(form).to_text() == wanted


def test_every_form_of_a_recipe_is_the_same_recipe(tmp_path: Path) -> None:
    file = tmp_path / "spacing=0.25.toml"
    file.write_text(RECIPE, encoding="utf-8")
    other = tmp_path / "recipe"
    shutil.copy(file, other)
    wanted = laidwork.sew(SEED_HEAD, RECIPE).to_text()
    assert wanted != laidwork.sew(SEED_HEAD).to_text()
    forms: list[laidwork.Recipe] = [file, str(file), str(other), RECIPE.encode(), tomllib.loads(RECIPE)]
    for form in forms:
        assert laidwork.sew(SEED_HEAD, form).to_text() == wanted
    assert laidwork.sew(SEED_HEAD, "").to_text() == laidwork.sew(SEED_HEAD, {}).to_text()


@pytest.mark.parametrize("name", ["garden-patch", "every-key", "smallest"])
def test_a_dict_says_what_its_file_says(name: str) -> None:
    path = FIXTURES / f"recipes/{name}.toml"
    drawing = FIXTURES / "drawings/garden-patch.svg"
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", laidwork.SewingWarning)
        from_file = laidwork.sew(drawing, path)
        from_dict = laidwork.sew(drawing, tomllib.loads(path.read_text(encoding="utf-8")))
    assert from_dict.to_text() == from_file.to_text()
    assert len(from_dict.warnings) == len(from_file.warnings)


def test_numbers_of_numpy_are_numbers() -> None:
    keys = {"method": "fill", "spacing": np.float32(0.25), "underlay": ("edge-run", "rows"), "angle": np.int64(30)}
    plain = {"method": "fill", "spacing": 0.25, "underlay": ["edge-run", "rows"], "angle": 30}
    numpy = laidwork.sew(SEED_HEAD, {"design": {"hoop": np.array([90.0, 80.0])}, "rule": [keys]})
    assert numpy.to_text() == laidwork.sew(SEED_HEAD, {"design": {"hoop": [90, 80]}, "rule": [plain]}).to_text()
    assert numpy.hoop == (90, 80)


def test_titles_of_any_letters_arrive() -> None:
    title = 'Kürbis "Uchiki" \\ 南瓜'
    assert laidwork.sew(SEED_HEAD, {"design": {"title": title}}).title == title


def test_a_colourway_changes_threads_and_nothing_else(garden: laidwork.Plan) -> None:
    files = FIXTURES / "drawings/garden-patch.svg", FIXTURES / "recipes/garden-patch.toml"
    navy = laidwork.sew(*files, colourway="navy")
    assert {"Willow", "Snowdrop"} <= {thread.name for thread in navy.threads}
    assert [shape.name for shape in navy.shapes] == [shape.name for shape in garden.shapes]
    assert sorted(piece.name for piece in navy.pieces) == sorted(piece.name for piece in garden.pieces)
    assert navy.report()["total"]["top_m"] == pytest.approx(garden.report()["total"]["top_m"], rel=0.02)
    with pytest.raises(laidwork.RecipeError, match="no colourway \"nayv\".*Navy"):
        laidwork.sew(*files, colourway="nayv")


def test_text_is_drawn_in_a_font_and_may_be_another() -> None:
    svg = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="20mm" viewBox="0 0 60 20">'
        '<text id="plant" x="2" y="15" font-family="Inconsolata" font-size="14" fill="#2f5d34">Bean</text></svg>'
    )
    fonts = FIXTURES / "fonts/Inconsolata.otf"
    bean = laidwork.sew(svg, fonts=fonts)
    assert {piece.shape.split("-")[0] for piece in bean.pieces} == {"plant"}
    peas = laidwork.sew(svg, fonts=[fonts.parent], texts={"plant": "Peas"})
    assert peas.to_text() != bean.to_text()
    with pytest.raises(laidwork.DrawingError, match="nothing in the drawing can be sewn .*with fonts="):
        laidwork.sew(svg)


def test_a_recipe_places_drawings_seen_from_its_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    wreath = laidwork.sew(recipe=FIXTURES / "recipes/trowel-wreath.toml")
    assert len(wreath.pieces) > 10
    assert wreath.drawing is None
    (tmp_path / "seed.svg").write_text(SEED_HEAD, encoding="utf-8")
    two = {
        "design": {"hoop": [100, 60]},
        "place": [
            {"drawing": Path("seed.svg"), "name": "left", "move": [-20, 0]},
            {"name": "right", "move": [20, 0], "width": 30},
        ],
    }
    monkeypatch.chdir(tmp_path)
    placed = laidwork.sew(SEED_HEAD, two)
    assert [piece.shape for piece in placed.pieces] == ["left/seed-head", "right/seed-head"]
    left, right = (placed.points[piece.slice].mean(axis=0) for piece in placed.pieces)
    assert right - left == pytest.approx(np.array([40, 0]), abs=0.5)


def test_a_place_without_its_drawing_is_told_with_its_key() -> None:
    with pytest.raises(laidwork.RecipeError, match=r'^recipe\["place"\]\[0\]: cannot read the drawing .*gone.svg'):
        laidwork.sew(recipe={"place": [{"drawing": "gone.svg"}]})
    with pytest.raises(laidwork.DrawingError, match="name a drawing"):
        laidwork.sew(recipe={})
