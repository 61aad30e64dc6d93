"""Sheets, dimensions, marks, and the check for words that cannot be read."""

from __future__ import annotations

import math

import pytest

from designkit.errors import InputError, LookupFailed
from designkit.figures import check, dimensions, marks
from designkit.figures.drawing import Circle, Drawing, Line, Polygon, Text
from designkit.figures.sheet import (
    PAPERS,
    Area,
    TitleBlock,
    drawing_sheet,
    fitting_scale,
    question_sheet,
    scale_bar,
    scale_text,
)
from designkit.reference import table

BLOCK = TitleBlock(
    project="Flat over the orchard: living and dining room",
    title="Furniture plan, option B",
    number="L-201",
    revision="B",
    date="3 February",
    checked="second designer",
    sheet=1,
    sheets=4,
)


@pytest.mark.reference("ISO 216", of="figures")
def test_a_series_has_the_ratio_and_area_of_the_standard() -> None:
    """ISO 216: sides in the ratio 1 : √2, A0 of one square metre, each half the last."""
    for step in (1, 2, 3, 4):
        width, height = PAPERS[f"A{step}"]
        assert width / height == pytest.approx(math.sqrt(2), abs=0.005)
        assert width * height / 1e6 == pytest.approx(0.5**step, rel=0.005)


@pytest.mark.reference("ASME Y14.1", of="figures")
def test_inch_papers_are_whole_half_inches() -> None:
    """ASME Y14.1: A 8.5 × 11, B 11 × 17; architectural C 18 × 24, D 24 × 36 in (memory)."""
    inches = {"Letter": (11, 8.5), "Tabloid": (17, 11), "Arch C": (24, 18), "Arch D": (36, 24)}
    for name, (width, height) in inches.items():
        assert PAPERS[name] == pytest.approx((width * 25.4, height * 25.4))


@pytest.mark.parametrize("imperial", [False, True])
@pytest.mark.parametrize("paper", list(PAPERS))
def test_every_paper_can_be_read_and_keeps_room(paper: str, imperial: bool) -> None:
    scales = (48,) if imperial else (50, 20)
    sheet = drawing_sheet(BLOCK, paper=paper, scales=scales, north=60, imperial=imperial)
    drawing = sheet.drawing([], title=BLOCK.title, text="An empty sheet.", scale=50)
    assert [str(f) for f in check.faults(drawing, margin=5)] == []
    words = [i.text for i in drawing.items if isinstance(i, Text)]
    for word in ("L-201", "study", "1 of 4", "the client", "second designer"):
        assert word in words
    assert any("Check dimensions on site." in w for w in words)
    assert any("check bar" in w for w in words)
    assert sheet.area.width > 180
    assert sheet.area.height > 100


def test_the_check_bar_is_as_long_as_it_says() -> None:
    for imperial, length in ((False, 100.0), (True, 4 * 25.4)):
        sheet = drawing_sheet(BLOCK, scales=(50,), imperial=imperial)
        lines = [
            math.dist(*i.points) for i in sheet.items if isinstance(i, Line) and len(i.points) == 2
        ]
        assert any(abs(found - length) < 1e-6 for found in lines)


@pytest.mark.parametrize(
    ("scale", "imperial", "ends", "length"),
    [
        (50, False, "5\u00a0m", 100.0),
        (20, False, "2\u00a0m", 100.0),
        (100, False, "10\u00a0m", 100.0),
        (10, False, "1\u00a0m", 100.0),
        (48, True, "16\u00a0ft", 4 * 25.4),
        (96, True, "32\u00a0ft", 4 * 25.4),
        (24, True, "8\u00a0ft", 4 * 25.4),
    ],
)
def test_scale_bars_are_as_long_as_they_say(
    scale: int, imperial: bool, ends: str, length: float
) -> None:
    bar = scale_bar(0, 0, scale, imperial=imperial)
    fields = [i for i in bar if isinstance(i, Polygon)]
    assert max(x for f in fields for x, _ in f.outline) == pytest.approx(length)
    assert ends in [i.text for i in bar if isinstance(i, Text)]


def test_scales_in_words() -> None:
    assert scale_text(50) == "1:50"
    assert scale_text(32, imperial=True).replace("\u00a0", " ") == "⅜ in = 1 ft"


def test_the_largest_scale_that_fits_is_taken() -> None:
    room = Area(left=0, bottom=0, right=200, top=150)
    assert fitting_scale(9.9, 5, into=room) == 50
    assert fitting_scale(10.1, 5, into=room) == 100
    assert fitting_scale(9.7, 5, into=room, imperial=True) == 64
    with pytest.raises(InputError, match="larger paper"):
        fitting_scale(150, 5, into=room)


def test_a_question_sheet_asks_and_answers() -> None:
    sheet = question_sheet(
        BLOCK,
        question="Which scenario keeps us under 66,000 €?",
        answer="The lower one does, and changes five things. " * 4,
        scale="amounts in €, tax included",
        note="invented figures",
    )
    drawing = sheet.drawing([], title="q", text="The lower one.")
    assert check.faults(drawing, margin=5) == []
    sizes = {i.text: i.size for i in drawing.items if isinstance(i, Text)}
    assert sizes["Which scenario keeps us under 66,000\u00a0€?"] == max(sizes.values())
    answers = [i for i in drawing.items if isinstance(i, Text) and "scenario" not in i.text]
    assert sheet.area.top < min(i.at[1] for i in answers if i.at[1] > 150)


def test_a_sheet_without_alternative_text_is_refused() -> None:
    with pytest.raises(InputError, match="what the figure shows"):
        drawing_sheet(BLOCK).drawing([], title="x", text=" ")


def test_wrong_words_on_a_sheet_are_refused() -> None:
    with pytest.raises(InputError, match="for approval"):
        TitleBlock(project="p", title="t", status="final")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="1 to the number"):
        TitleBlock(project="p", title="t", sheet=3, sheets=2)
    with pytest.raises(LookupFailed, match="A3"):
        drawing_sheet(BLOCK, paper="A33")
    with pytest.raises(InputError, match="question"):
        question_sheet(BLOCK, question=" ", answer="yes")


# --- dimensions --------------------------------------------------------------


@pytest.mark.parametrize("axis", ["x", "y"])
def test_narrow_segments_lift_their_text(axis: str) -> None:
    items = dimensions.chain([0, 60, 63, 66, 120], ["3000", "150", "150", "2700"], at=50, axis=axis)
    texts = [i for i in items if isinstance(i, Text)]
    drawing = Drawing(width=200, height=200, items=tuple(items)).plus(())
    moved = Drawing(
        width=200, height=200, items=tuple(i for i in drawing.items if isinstance(i, Text))
    )
    kinds = {f.kind for f in check.faults(moved)}
    assert "text on text" not in kinds
    across = [t.at[1] if axis == "x" else -t.at[0] for t in texts]
    assert across[1] > across[0]
    assert across[2] > across[1]
    assert {t.rotation for t in texts} == ({0.0} if axis == "x" else {90.0})


@pytest.mark.parametrize("angle", range(0, 360, 15))
def test_a_dimension_is_read_from_below_or_from_the_right(angle: int) -> None:
    end = (20 * math.cos(math.radians(angle)), 20 * math.sin(math.radians(angle)))
    text = dimensions.between((0, 0), end, "400")[-1]
    assert isinstance(text, Text)
    assert -90 < text.rotation <= 90.0001
    # Its baseline is off the line, on the upper or left side.
    turn = math.radians(text.rotation)
    across = text.at[1] * math.cos(turn) - text.at[0] * math.sin(turn)
    middle = end[1] / 2 * math.cos(turn) - end[0] / 2 * math.sin(turn)
    assert across - middle == pytest.approx(0.9, abs=1e-6)


def test_oblique_strokes_lie_at_45_degrees() -> None:
    stroke = dimensions.chain([0, 60], ["3000"], at=0)[2]
    assert isinstance(stroke, Line)
    (x0, y0), (x1, y1) = stroke.points
    assert math.degrees(math.atan2(y1 - y0, x1 - x0)) == pytest.approx(45)
    assert math.dist((x0, y0), (x1, y1)) == pytest.approx(2.5)


def test_running_dimensions_start_at_an_open_circle() -> None:
    items = dimensions.running(10, [20, 45], ["200", "700"], at=30)
    (circle,) = [i for i in items if isinstance(i, Circle)]
    assert circle.centre == (10, 30)
    assert [i.text for i in items if isinstance(i, Text)] == ["0", "200", "700"]


def test_dimensions_without_their_words_are_refused() -> None:
    with pytest.raises(InputError, match="one fewer"):
        dimensions.chain([0, 1, 2], ["1"], at=0)
    with pytest.raises(InputError, match="two points apart"):
        dimensions.between((1, 1), (1, 1), "0")
    with pytest.raises(InputError, match="one text a stop"):
        dimensions.running(0, [1, 2], ["1"], at=0)


# --- marks -------------------------------------------------------------------


def test_every_symbol_has_a_word_in_the_glossary() -> None:
    words = {row["word"] for row in table("glossary-figures")}
    assert {name for name, _ in marks.SYMBOLS.values()} <= words


@pytest.mark.parametrize("kind", list(marks.SYMBOLS))
def test_symbols_turn_about_their_place(kind: str) -> None:
    def points(angle: float) -> list[tuple[float, float]]:
        found: list[tuple[float, float]] = []
        for item in marks.symbol(kind, (0, 0), angle=angle):
            if isinstance(item, Line):
                found += item.points
            elif isinstance(item, Circle):
                found.append(item.centre)
        return found

    straight, turned = points(0), points(90)
    if kind in ("socket", "switch", "wall light", "track spot", "drapery track", "wall outlet"):
        far = max(straight, key=lambda p: math.hypot(*p))
        assert any(math.dist((-far[1], far[0]), p) < 1e-9 for p in turned)
    assert all(math.hypot(*p) <= 7.5 for p in straight)


def test_an_unknown_symbol_names_the_nearest() -> None:
    with pytest.raises(LookupFailed, match="nearest: sprinkler"):
        marks.symbol("sprinklr", (0, 0))


def test_a_leader_runs_from_the_rim_to_its_dot() -> None:
    line, dot, circle, figure = marks.keyed((10, 10), 3, to=(10, 30))
    assert isinstance(line, Line)
    assert isinstance(dot, Circle)
    assert isinstance(circle, Circle)
    assert isinstance(figure, Text)
    assert line.points[0] == pytest.approx((10, 10 + circle.radius))
    assert dot.centre == (10, 30)
    assert figure.text == "3"


# --- the check ---------------------------------------------------------------


def _kinds(*items: object, **options: float) -> list[str]:
    drawing = Drawing(width=100, height=60, items=items)  # type: ignore[arg-type]
    return [f.kind for f in check.faults(drawing, **options)]


SOFA = Text(at=(20, 20), text="sofa 2200", size=2.0)
GROUND = ((15, 15), (45, 15), (45, 30), (15, 30))


def test_a_clean_drawing_has_no_fault() -> None:
    assert _kinds(Polygon(outline=GROUND, weight=0.3, fill="#ffffff"), SOFA) == []


@pytest.mark.parametrize(
    ("kind", "items"),
    [
        ("text on text", (SOFA, Text(at=(24, 20.5), text="table", size=2.0))),
        ("off the sheet", (Text(at=(95, 20), text="sofa 2200", size=2.0),)),
        ("too small", (Text(at=(20, 20), text="sofa", size=1.5),)),
        ("on a line", (Line(points=((10, 21), (60, 21)), weight=0.3), SOFA)),
        ("on a line", (SOFA, Line(points=((10, 21), (60, 21)), weight=0.3))),
        ("on a like ground", (Polygon(outline=GROUND, fill="#2b2b2b"), SOFA)),
        ("under something", (SOFA, Polygon(outline=GROUND, fill="#ffffff"))),
    ],
)
def test_each_kind_of_fault_is_found(kind: str, items: tuple[object, ...]) -> None:
    assert kind in _kinds(*items)


def test_what_hides_a_line_or_edges_a_word_is_understood() -> None:
    line = Line(points=((10, 21), (60, 21)), weight=0.3)
    assert _kinds(line, Polygon(outline=GROUND, fill="#ffffff"), SOFA) == []
    edged = Text(at=(20, 20), text="sofa 2200", size=2.0, halo=0.6)
    assert _kinds(line, edged) == []
    thin = Line(points=((10, 21), (60, 21)), weight=0.09)
    assert _kinds(thin, SOFA) == []


def test_turned_words_are_tested_as_they_stand() -> None:
    upright = Text(at=(30, 10), text="bookcase 2000", size=2.0, rotation=90)
    beside = Text(at=(31, 20), text="rug", size=2.0)
    assert _kinds(upright, beside) == []
    across = Text(at=(26, 15), text="rug 2800", size=2.0)
    assert _kinds(upright, across) == ["text on text"]
