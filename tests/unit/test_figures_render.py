"""Renderers: the same primitives in SVG and on Axes, true to scale, the same bytes, safe."""

from __future__ import annotations

import io
import itertools
import re
import subprocess
import sys
import textwrap
import xml.etree.ElementTree as ET
import zlib
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pytest
from matplotlib.backend_bases import RendererBase
from matplotlib.path import Path as Outline
from PIL import Image

from designkit.errors import InputError
from designkit.figures import hatching
from designkit.figures.axes import on_axes, png_bytes, save, save_pages
from designkit.figures.drawing import (
    Arc,
    Circle,
    Drawing,
    Hatch,
    Line,
    Picture,
    Polygon,
    Text,
)
from designkit.figures.svg import to_svg
from designkit.model import Home, Layout, Room

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "<script>alert('x')</script> & \"quotes\" $x^2$ \x00\u202e ]]>"


def sample() -> Drawing:
    return Drawing(
        width=100,
        height=60,
        title="A plan",
        text="One of each primitive.",
        scale=50,
        items=(
            Polygon(
                outline=((5, 5), (45, 5), (45, 45), (5, 45)),
                holes=(((10, 10), (20, 10), (20, 20), (10, 20)),),
                weight=0.5,
                fill="#2b2b2b",
                about="wall",
            ),
            Hatch(
                outline=((50, 5), (70, 5), (70, 15), (50, 15)), angle=60, spacing=0.9, weight=0.2
            ),
            Line(points=((50, 20), (70, 24.5), (80, 20)), weight=0.25, dash=(6, 1, 0.6, 1)),
            Arc(centre=(60, 40), radius=10, start=0, end=90, weight=0.13),
            Circle(centre=(90, 40), radius=4, weight=0.3, fill="#ffffff", about="table"),
            Text(at=(60, 54), text="sofa 2200 × 950", size=2.0, halo=0.6, about="sofa"),
        ),
    )


def one_room(name: str = "room") -> Home:
    return Home(
        name="Flat",
        rooms={"r": Room(name=name, outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)},
    )


# --- the same primitives -----------------------------------------------------


def _numbers(text: str) -> list[float]:
    return [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", text)]


class Recorder(RendererBase):
    """Notes what it is told to draw, in paper millimetres and points."""

    def __init__(self) -> None:
        super().__init__()
        self.outlines: list[Outline] = []
        self.texts: list[tuple[str, float]] = []

    def draw_path(self, gc: Any, path: Any, transform: Any, rgbFace: Any = None) -> None:
        self.outlines.append(path)

    def draw_text(
        self, gc: Any, x: Any, y: Any, s: str, prop: Any, angle: Any, ismath: Any = False,
        mtext: Any = None,
    ) -> None:  # fmt: skip
        self.texts.append((s, prop.get_size_in_points()))

    def draw_image(self, gc: Any, x: Any, y: Any, im: Any, transform: Any = None) -> None:
        pass


def painted(drawing: Drawing) -> tuple[list[Outline], list[tuple[str, float]]]:
    recorder = Recorder()
    on_axes(drawing).draw(recorder)
    return recorder.outlines, recorder.texts


def test_both_renderers_draw_the_same_lines() -> None:
    drawing = sample()
    root = ET.fromstring(to_svg(drawing))
    paths = [
        np.array(_numbers(p.get("d", ""))).reshape(-1, 2)
        for p in root.iter(f"{SVG}path")
        if "A" not in p.get("d", "") and p.get("class") != "paper"
    ]
    for points in paths:
        points[:, 1] = drawing.height - points[:, 1]
    outlines, texts = painted(drawing)
    drawn = [
        path.vertices[path.codes != 79]
        for path in outlines
        if not {3, 4} & set(path.codes.tolist())  # arcs; the halo of a word
    ]
    assert len(paths) == len(drawn) == 3
    for ours, theirs in zip(paths, drawn):
        # Holes may run the other way round: compare as sets of points.
        a = sorted(map(tuple, np.round(ours, 3).tolist()))
        b = sorted(map(tuple, np.round(theirs, 3).tolist()))
        assert np.allclose(a, b, atol=0.0011)
    assert [words for words, _ in texts] == [t.text for t in root.iter(f"{SVG}text")]


def test_an_arc_ends_where_it_should_in_both() -> None:
    drawing = sample()
    (path,) = [
        p for p in ET.fromstring(to_svg(drawing)).iter(f"{SVG}path") if "A" in p.get("d", "")
    ]
    x0, y0, _, _, _, large, sweep, x1, y1 = _numbers(path.get("d", ""))
    assert (x0, 60 - y0) == (70, 40)
    assert (x1, 60 - y1) == (60, 50)
    assert (large, sweep) == (0, 0)
    arc = next(path for path in painted(drawing)[0] if 4 in path.codes)
    vertices = arc.vertices
    assert vertices[0] == pytest.approx((70, 40))
    assert vertices[-1] == pytest.approx((60, 50))


def test_a_hole_is_not_filled() -> None:
    image = np.asarray(_open(png_bytes(sample(), dpi=254)).convert("L"))
    assert image[image.shape[0] - 150, 150] > 250  # 15, 15 mm: in the hole
    assert image[image.shape[0] - 300, 300] < 60  # 30, 30 mm: in the wall


def test_hatch_strokes_lie_in_the_area_at_their_spacing() -> None:
    hatch = Hatch(
        outline=((0, 0), (20, 0), (20, 10), (0, 10)),
        holes=(((5, 2), (15, 2), (15, 8), (5, 8)),),
        angle=45,
        spacing=1.0,
        weight=0.1,
    )
    lines = hatching.strokes(hatch)
    # Length of all strokes times the spacing is the hatched area.
    total = sum(np.hypot(c - a, d - b) for a, b, c, d in lines)
    assert total == pytest.approx(20 * 10 - 10 * 6, rel=0.02)
    for a, b, c, d in lines:
        x, y = (a + c) / 2, (b + d) / 2
        assert 0 <= x <= 20
        assert 0 <= y <= 10
        assert not (5.01 < x < 14.99 and 2.01 < y < 7.99)


# --- true to scale -----------------------------------------------------------


def _open(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(data))


def _plan() -> Drawing:
    from designkit.figures.plan import plan_drawing

    return plan_drawing(one_room(), Layout(name="A"), scale=50)


@pytest.mark.reference("ISO 5455 scale 1:50", of="figures")
def test_one_metre_is_twenty_millimetres_in_the_svg() -> None:
    """ISO 5455: at 1:50 one metre is 20 mm; the room's inner face is 4.00 m wide."""
    root = ET.fromstring(to_svg(_plan()))
    assert root.get("width", "").endswith("mm")
    box = _numbers(root.get("viewBox", ""))
    assert float(root.get("width", "0mm")[:-2]) == box[2]  # a user unit is a millimetre
    wall = next(p for p in root.iter(f"{SVG}path") if p.get("fill") == "#2b2b2b")
    inner = np.array(_numbers(wall.get("d", "").split("Z")[1])).reshape(-1, 2)
    assert np.ptp(inner[:, 0]) / 4 == pytest.approx(20.0, abs=0.2)
    assert np.ptp(inner[:, 1]) / 3 == pytest.approx(20.0, abs=0.2)


@pytest.mark.reference("ISO 5455 scale 1:50", of="figures")
def test_one_metre_is_twenty_millimetres_in_the_png() -> None:
    """Counted in pixels at 254 to the inch, ten to the millimetre."""
    image = np.asarray(_open(png_bytes(_plan(), dpi=254)).convert("L"))
    dark = image[image.shape[0] // 2] < 100
    edges = np.flatnonzero(np.diff(dark.astype(int)))
    # Left wall, room, right wall: the widest light run between dark ones.
    runs = [(b - a) for a, b in itertools.pairwise(edges) if not dark[a + 1]]
    assert max(runs) / 10 / 4 == pytest.approx(20.0, abs=0.2)


@pytest.mark.reference("ISO 5455 scale 1:50", of="figures")
def test_one_metre_is_twenty_millimetres_in_the_pdf(tmp_path: Path) -> None:
    """Read from the page's own operators, 72 units to the inch (ISO 32000-1, 8.3.2.3)."""
    drawing = _plan()
    data = save(drawing, tmp_path / "a.pdf").read_bytes()
    (media,) = re.findall(rb"/MediaBox\s*\[([^\]]*)\]", data)
    assert float(media.split()[2]) == pytest.approx(drawing.width / 25.4 * 72, abs=0.01)
    streams = [
        zlib.decompress(s)
        for s in re.findall(rb"stream\r?\n(.*?)\r?\nendstream", data, re.S)
        if s[:1] == b"\x78"
    ]
    page = next(s for s in streams if b" m\n" in s or b" l\n" in s)
    found = [
        float(b) - float(a)
        for a, y0, b, y1 in re.findall(rb"([\d.]+) ([\d.]+) m\n([\d.]+) ([\d.]+) l\s+S", page)
        if y0 == y1
    ]
    assert any(abs(length / 72 * 25.4 / 4 - 20.0) < 0.2 for length in found)


# --- the same bytes ----------------------------------------------------------

MAKE = textwrap.dedent(
    """
    import hashlib, sys, tempfile
    sys.path.insert(0, {here!r})
    from figures_sample import ROUTE, SIGHT, findings, l_shaped
    from designkit.figures.axes import save
    from designkit.figures.layouts_sheet import furniture_plan_sheet
    from designkit.figures.sheet import TitleBlock
    home = l_shaped()
    block = TitleBlock(project=home.name, title="Furniture plan", number="L-1")
    sheet = furniture_plan_sheet(home, home.layouts["a"], block=block, findings=findings(),
                                 routes=[ROUTE], sight=list(SIGHT))
    folder = tempfile.mkdtemp()
    for kind in ("svg", "pdf", "png"):
        data = save(sheet, folder + "/a." + kind, dpi=80).read_bytes()
        print(kind, hashlib.sha256(data).hexdigest())
    """
)


def test_two_fresh_processes_write_the_same_bytes() -> None:
    code = MAKE.format(here=str(Path(__file__).parent))
    runs = [
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONHASHSEED": str(seed), "PATH": "", "HOME": str(Path.home())},
        ).stdout
        for seed in (1, 2)
    ]
    assert runs[0] == runs[1]
    assert runs[0].count("\n") == 3


def test_svg_of_equal_drawings_is_equal() -> None:
    assert to_svg(sample()) == to_svg(sample())
    assert "-0 " not in to_svg(
        Drawing(width=1, height=0, items=(Line(points=((0, 0), (1, 0)), weight=1),))
    )


# --- safe and open to all ----------------------------------------------------


def test_hostile_words_stay_words() -> None:
    drawing = Drawing(
        width=50,
        height=20,
        title=HOSTILE,
        text=HOSTILE,
        items=(Text(at=(5, 5), text=HOSTILE, size=2, about='"><x onload=1>'),),
    )
    text = to_svg(drawing)
    root = ET.fromstring(text)
    assert "<script" not in text
    assert {e.tag for e in root.iter()} == {
        f"{SVG}{n}" for n in ("svg", "title", "desc", "path", "g", "text")
    }
    assert all(not k.startswith("on") for e in root.iter() for k in e.attrib)
    (word,) = root.iter(f"{SVG}text")
    assert word.text is not None
    assert "<script>alert('x')</script>" in word.text
    assert "\u202e" not in word.text


def test_hostile_words_on_axes_are_not_read_as_formulas() -> None:
    drawing = Drawing(width=50, height=20, items=(Text(at=(5, 5), text=HOSTILE, size=2),))
    assert png_bytes(drawing, dpi=72)[:4] == b"\x89PNG"


def test_every_picture_has_a_text_alternative(tmp_path: Path) -> None:
    drawing = sample()
    root = ET.fromstring(to_svg(drawing))
    ids = (root.get("aria-labelledby") or "").split()
    by_id = {e.get("id"): e.text for e in root.iter() if e.get("id")}
    assert [by_id[i] for i in ids] == ["A plan", "One of each primitive."]
    assert root.get("role") == "img"
    info = _open(png_bytes(drawing)).info
    assert info["Description"] == "One of each primitive."
    assert b"One of each primitive." in save(drawing, tmp_path / "a.pdf").read_bytes()


def test_pictures_inside_a_drawing_carry_theirs() -> None:
    png = png_bytes(Drawing(width=10, height=10), dpi=50)
    picture = Picture(at=(2, 3), size=(10, 5), png=png, text="cloth <b>")
    drawing = Drawing(width=30, height=20, items=(picture,))
    (image,) = ET.fromstring(to_svg(drawing)).iter(f"{SVG}image")
    assert image.get("aria-label") == "cloth <b>"
    assert float(image.get("y", "0")) == 20 - 3 - 5
    assert on_axes(drawing).get_xlim() == (0, 30)


def test_ids_can_be_left_out() -> None:
    assert "data-about" in to_svg(sample())
    assert "data-about" not in to_svg(sample(), ids=False)


# --- manners -----------------------------------------------------------------


def test_no_setting_of_matplotlib_changes_and_no_window_opens(tmp_path: Path) -> None:
    before = dict(matplotlib.rcParams)
    save(sample(), tmp_path / "a.png", dpi=60)
    save(sample(), tmp_path / "a.pdf")
    assert dict(matplotlib.rcParams) == before


def test_pages_need_no_matplotlib() -> None:
    code = (
        "import sys, designkit.figures.plan, designkit.figures.layouts_sheet, "
        "designkit.figures.svg, designkit.figures.check; "
        "print([m for m in ('matplotlib', 'pandas', 'colour', 'IPython') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_axes_of_another_figure_keep_the_proportions() -> None:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(5, 5), dpi=72)
    ax = figure.add_subplot()
    on_axes(sample(), ax=ax)
    width = ax.get_window_extent().width / figure.dpi * 72  # points
    recorder = Recorder()
    ax.draw(recorder)
    ((_, points),) = recorder.texts
    # The cap height is to the drawing's width as 2 mm to 100 mm.
    assert points * 0.660 / width == pytest.approx(2.0 / 100, rel=1e-6)


def test_several_sheets_make_one_pdf(tmp_path: Path) -> None:
    path = save_pages([sample(), Drawing(width=210, height=297)], tmp_path / "set.pdf")
    pages = re.findall(rb"/MediaBox\s*\[([^\]]*)\]", path.read_bytes())
    assert len(pages) == 2
    assert float(pages[1].split()[3]) == pytest.approx(297 / 25.4 * 72, abs=0.01)


def test_svg_file_carries_its_font_and_says_its_encoding(tmp_path: Path) -> None:
    text = save(sample(), tmp_path / "a.svg").read_text(encoding="utf-8")
    assert text.startswith('<?xml version="1.0" encoding="UTF-8"?>')
    assert "@font-face" in text
    assert "http" not in text.replace("http://www.w3.org/2000/svg", "")
    ET.fromstring(text)


def test_unknown_endings_and_empty_sets_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"\.png, \.svg, \.pdf"):
        save(sample(), tmp_path / "a.jpg")
    with pytest.raises(InputError, match="1 or more"):
        save_pages([], tmp_path / "a.pdf")
    with pytest.raises(InputError, match="20 to 1200"):
        png_bytes(sample(), dpi=0)
    assert not list(tmp_path.iterdir())
