"""Pictures and files."""

from __future__ import annotations

import struct
import threading
import time
import zlib
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

import laidwork
from conftest import FIXTURES, SEED_HEAD


def pixels(png: bytes) -> np.ndarray:
    """The pixels of a PNG of 8 bits a channel, read by the specification (W3C, PNG, third edition)."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    at, packed, width, height, channels = 8, b"", 0, 0, 0
    while at < len(png):
        (length,) = struct.unpack_from(">I", png, at)
        kind, content = png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        (sum_,) = struct.unpack_from(">I", png, at + 8 + length)
        assert zlib.crc32(kind + content) == sum_
        if kind == b"IHDR":
            width, height, depth, color = struct.unpack_from(">IIBB", content)
            assert depth == 8
            channels = {0: 1, 2: 3, 6: 4}[color]
        elif kind == b"IDAT":
            packed += content
        at += 12 + length
    rows = np.frombuffer(zlib.decompress(packed), dtype=np.uint8).reshape(height, 1 + width * channels)
    out = np.zeros((height, width * channels), dtype=np.int64)
    for row, (filter_, *line) in enumerate(rows.tolist()):
        above = out[row - 1] if row else np.zeros(width * channels, dtype=np.int64)
        out[row] = unfiltered(filter_, line, above.tolist(), channels)
    return out.reshape(height, width, channels)


def unfiltered(filter_: int, line: list[int], above: list[int], step: int) -> list[int]:
    out: list[int] = []
    for at, value in enumerate(line):
        left = out[at - step] if at >= step else 0
        corner = above[at - step] if at >= step else 0
        if filter_ == 4:
            distance = [abs(above[at] - corner), abs(left - corner), abs(left + above[at] - 2 * corner)]
            guess = [left, above[at], corner][distance.index(min(distance))]
        else:
            guess = [0, left, above[at], (left + above[at]) // 2][filter_]
        out.append((value + guess) % 256)
    return out


@pytest.mark.parametrize("width", [1, 97, 640])
def test_a_picture_is_as_wide_as_asked(garden: laidwork.Plan, width: int) -> None:
    png = garden.png(width)
    assert struct.unpack(">II", png[16:24])[0] == width


def test_a_picture_shows_thread_on_cloth() -> None:
    plan = laidwork.sew(SEED_HEAD, {"rule": [{"method": "fill"}]})
    seen = pixels(plan.png(120, fabric="#3050a0"))[..., :3]
    height, width = seen.shape[:2]
    assert abs(height - width) <= 2
    middle, corner = seen[height // 2 - 20 : height // 2 + 20, width // 2 - 20 : width // 2 + 20], seen[:8, :8]
    assert np.abs(middle.mean(axis=(0, 1)) - [0x6B, 0x3F, 0x1D]).max() < 40
    assert np.abs(corner.mean(axis=(0, 1)) - [0x30, 0x50, 0xA0]).max() < 40


def test_pictures_show_what_is_asked(garden: laidwork.Plan) -> None:
    shows = [garden.png(160, show=show) for show in ("threads", "kinds", "order", "density", "penetrations")]
    assert len(set(shows)) == 5
    assert garden._repr_png_() == garden.png()
    assert garden.png(160) == shows[0]


def test_svg_and_html_are_well_formed(garden: laidwork.Plan) -> None:
    assert ElementTree.fromstring(garden.svg()).tag == "{http://www.w3.org/2000/svg}svg"
    assert garden.svg(show="order") != garden.svg()
    page = garden.html()
    assert page.lower().startswith("<!doctype html>")
    assert "Tool-roll patch" in page


def test_the_ending_says_what_is_saved(garden: laidwork.Plan, tmp_path: Path) -> None:
    endings = ["stitches", "csv", "json", "png", "svg", "html", "report.txt"]
    for ending in endings:
        garden.save(tmp_path / f"patch.{ending}")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(f"patch.{ending}" for ending in endings)
    assert (tmp_path / "patch.stitches").read_bytes() == garden.to_text().encode()
    assert (tmp_path / "patch.report.txt").read_text(encoding="utf-8") == garden.report_text()
    assert (tmp_path / "patch.png").read_bytes() == garden.png()
    for twin in ("csv", "json", "stitches"):
        assert laidwork.read(str(tmp_path / f"patch.{twin}")).to_text() == garden.to_text()


def test_a_file_that_cannot_be_written_leaves_nothing_behind(garden: laidwork.Plan, tmp_path: Path) -> None:
    with pytest.raises(OSError):
        garden.save(tmp_path / "missing" / "patch.stitches")
    (tmp_path / "patch.stitches").mkdir()
    with pytest.raises(OSError):
        garden.save(tmp_path / "patch.stitches")
    assert [path.name for path in tmp_path.iterdir()] == ["patch.stitches"]


def test_the_same_input_gives_the_same_bytes_from_many_threads() -> None:
    wanted = laidwork.sew(SEED_HEAD).to_text()
    found: list[str] = []
    threads = [threading.Thread(target=lambda: found.append(laidwork.sew(SEED_HEAD).to_text())) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [wanted] * 8


def test_python_runs_on_while_the_engine_sews() -> None:
    large = FIXTURES / "corpus/world-atlas__Kyrgyzstan-50m.svg"
    ticks: list[float] = []
    done = threading.Event()

    def tick() -> None:
        while not done.is_set():
            ticks.append(time.perf_counter())
            time.sleep(0.001)

    clock = threading.Thread(target=tick)
    clock.start()
    start = time.perf_counter()
    for _ in range(3):
        laidwork.sew(large, width=200)
    end = time.perf_counter()
    done.set()
    clock.join()
    # Were the interpreter held, the clock would tick but between the calls.
    assert len([at for at in ticks if start < at < end]) > 10


def test_a_plan_tells_what_it_is(garden: laidwork.Plan) -> None:
    assert repr(garden).startswith("<laidwork.Plan 'Tool-roll patch', ")
    assert f"{len(garden)} stitches, {len(garden.pieces)} pieces" in repr(garden)
    assert laidwork.__version__.count(".") == 2
