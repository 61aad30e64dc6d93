"""The drawings that explain rules, and the page that lists them."""

from __future__ import annotations

import itertools
import math
from pathlib import Path
from typing import Any

import pint
import pytest
from test_glossary import unknown

from designkit import project as files
from designkit.errors import LookupFailed
from designkit.figures.check import faults
from designkit.figures.drawing import Circle, Drawing, Line, Polygon, Text
from designkit.figures.learning import LESSONS, lesson_drawing, lesson_of
from designkit.figures.learning_light import _waves
from designkit.model import Home
from designkit.reference import Row, all_rows, lookup, value
from designkit.studies.learn_study import SUBJECTS, Learn, learn, subject_of, value_text

NBSP = "\u00a0"


def texts(drawing: Drawing) -> list[str]:
    return [item.text for item in drawing.items if isinstance(item, Text)]


@pytest.mark.parametrize("id", LESSONS)
@pytest.mark.parametrize("units", ["m", "ft"])
def test_each_drawing_can_be_read(id: str, units: str) -> None:
    lesson = LESSONS[id]
    for rule in lesson.rules:
        assert lookup(rule).id == rule
        drawing = lesson_drawing(id, units=units, rule=rule)
        assert faults(drawing, margin=1.0) == []
    assert drawing.title == lesson.question
    assert len(drawing.text) > 40


@pytest.mark.parametrize("id", [i for i in LESSONS if lesson_drawing(i).scale])
def test_dimensions_are_drawn_to_scale(id: str) -> None:
    """Each dimension line that tells a rule is as long as the rule says, at the scale."""
    drawing = lesson_drawing(id)
    assert drawing.scale is not None
    seen = 0
    for item, after in zip(drawing.items, drawing.items[1:]):
        if isinstance(item, Line) and item.about and isinstance(after, Line):
            rule = lookup(item.about)
            if rule.unit == "m":
                long = math.dist(*item.points)
                if long > 3.0:  # the dimension itself, not one of its strokes
                    assert long * drawing.scale / 1000 == pytest.approx(rule.number, abs=1e-6)
                    seen += 1
    if id not in ("screen", "fullness"):
        assert seen >= 1


def test_the_rule_asked_about_stands_out() -> None:
    drawing = lesson_drawing("routes", rule="plan.route.pinch")
    bold = {t.text for t in drawing.items if isinstance(t, Text) and t.weight == "semibold"}
    assert {"800", "one narrow place in it"} <= bold
    assert "900" not in bold


@pytest.mark.parametrize("ratio", [1.0001, 1.25, 2.2, 3.0])
def test_folds_are_as_long_as_the_cloth(ratio: float) -> None:
    """Length of the drawn polyline against the fullness; many short chords."""
    depth = _waves(ratio, length=1.0, folds=8)
    n = 200_000
    points = [(i / n, depth * math.sin(math.tau * 8 * i / n)) for i in range(n + 1)]
    long = math.fsum(math.dist(a, b) for a, b in itertools.pairwise(points))
    assert long == pytest.approx(ratio, rel=1e-5)


@pytest.mark.reference("A29", of="plan")
def test_the_nearest_seat_is_where_lines_run_together() -> None:
    """ITU-R BT.2022, design viewing distance, rounded: 1.6 picture heights at 2160 lines."""
    drawing = lesson_drawing("screen")
    high = 1.22 * 9 / 16
    near = next(int(t) for t in texts(drawing) if t.isdigit() and 900 < int(t) < 1200)
    assert near / 1000 / high == pytest.approx(1.6, abs=0.05)


def test_greys_are_true() -> None:
    """The patches' sRGB turned back to Y by IEC 61966-2-1, typed here."""
    drawing = lesson_drawing("lrv")
    said = [float(t.removeprefix("LRV ")) for t in texts(drawing) if t.startswith("LRV 1")]
    fills = [p.fill for p in drawing.items if isinstance(p, Polygon) and p.fill]
    assert len(fills) == 8

    def light(fill: str) -> float:
        v = int(fill[1:3], 16) / 255
        return 100 * (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4)

    assert [round(light(f)) for f in fills] == [10, 40, 10, 30, 55, 85, 10, 14]
    assert said == [10, 10, 10, 14]


def test_eyes_see_under_the_pendant() -> None:
    drawing = lesson_drawing("pendant")
    heads = [c for c in drawing.items if isinstance(c, Circle) and c.radius > 2]
    eye = {round(c.centre[1], 3) for c in heads}
    assert len(eye) == 1
    shade = next(
        p for p in drawing.items if isinstance(p, Polygon) and len(p.outline) == 4 and p.dash
    )
    assert min(y for _, y in shade.outline) > eye.pop()


def test_an_unknown_drawing_names_the_others() -> None:
    with pytest.raises(LookupFailed, match="use routes"):
        lesson_drawing("route")
    assert lesson_of("no.such.rule") == ""


# --- values in her units -------------------------------------------------------------


def row(unit: str, number: float, name: str = "what") -> Row:
    return Row(
        id="x.y",
        name=name,
        value=str(number),
        unit=unit,
        kind="assumption",
        source="designkit",
        locator="",
        known="assumption",
        licence="fact",
        note="",
        subject="plan",
    )


@pytest.mark.parametrize(
    ("unit", "number", "to", "word"),
    [
        ("m²/L", 8.59, "ft²/gal", "sq ft a gallon"),
        ("lx", 300.0, "lm/ft²", "fc"),
        ("h/m²", 5.0, "hour/ft²", "h a sq ft"),
        ("kg/m²", 30.0, "lb/ft²", "lb a sq ft"),
        ("kg/m³", 2500.0, "lb/ft³", "lb a cu ft"),
        ("m²", 15.0, "ft²", "sq ft"),
        ("m³", 0.5, "gal", "gal"),
        ("kg", 13.6, "lb", "lb"),
    ],
)
def test_feet_against_pint(unit: str, number: float, to: str, word: str) -> None:
    """Pint's unit registry, which our own code does not call."""
    ureg = pint.UnitRegistry()
    source = {"lx": "lm/m²", "h/m²": "hour/m²"}.get(unit, unit)
    wanted = ureg.Quantity(number, source).to(to).magnitude
    told = value_text(row(unit, number), units="ft").replace(NBSP, " ")
    figure, _, rest = told.partition(" ")
    if " " in rest and rest[0].isdigit():  # thousands apart
        more, _, rest = rest.partition(" ")
        figure += more
    assert float(figure) == pytest.approx(wanted, abs=0.06)
    assert rest.startswith(word)


@pytest.mark.parametrize(
    ("unit", "number", "name", "metric", "feet"),
    [
        ("m", 0.9144, "w", "914 mm", "3'-0\""),
        ("1", 0.15, "share of black", "15 %", "15 %"),
        ("", 0.05, "waste of a floor", "5 %", "5 %"),
        ("1", 2160, "lines of a screen", "2 160", "2 160"),
        ("1", -0.2, "guess: how far below", "−20 %", "−20 %"),
        ("°", 40, "angle", "40°", "40°"),
        ("year", 2000, "year", "2000", "2000"),
        ("a", 65, "age", "65 years", "65 years"),
        ("m/m", 0.25, "rise", "250 mm a metre", "3 in a foot"),
        ("lx", 100, "page", "100 lx", "9.3 fc (100 lx)"),
    ],
)
def test_values_as_they_are_read(
    unit: str, number: float, name: str, metric: str, feet: str
) -> None:
    for units, wanted in (("m", metric), ("ft", feet)):
        assert value_text(row(unit, number, name), units=units).replace(NBSP, " ") == wanted


def test_every_rule_has_a_value_and_a_subject() -> None:
    subjects = {id for id, _ in SUBJECTS}
    for rule in all_rows().values():
        assert subject_of(rule) in subjects - {"all"}, rule.id
        for units in ("m", "ft"):
            text = value_text(rule, units=units)
            assert text, rule.id
            assert "-" not in text.replace("'-", "").replace("-hour", ""), (rule.id, text)


# --- the page ------------------------------------------------------------------------


def said(page: Learn, changed: str | None = None, **values: Any) -> dict[str, Any]:
    return page.show({**page.values, **values}, changed)["said"]


def test_the_page_says_where_a_number_comes_from() -> None:
    page = Learn()
    first = page.show({}, None)
    assert first["said"]["answer"][1] == [f"900{NBSP}mm"]
    assert "no published source" in first["said"]["answer"][2]
    assert "<svg" in first["picture"]
    words = page.act("pick", {"table": "rules", "row": "light.box.ceiling"})
    assert words is not None
    assert "NFPA 70" in words["said"]["answer"][2]
    assert words["picture"] == ""
    assert ["kind", "a standard says so", "standard"] in words["said"]["working"]


def test_subjects_words_and_drawings_lead_to_rules() -> None:
    page = Learn()
    for subject, _ in SUBJECTS:
        table = said(page, "subject", subject=subject)["tables"][0]
        assert table["picked"] in table["pick"]
        assert len(table["rows"]) == len(table["pick"]) <= 40
    page.show({**page.values, "subject": "all", "words": "pendant table"}, "words")
    assert lookup(page.rule).name.count("pendant")
    for id, lesson in LESSONS.items():
        shown = page.show({**page.values, "lesson": id}, "lesson")
        assert shown["said"]["question"] == lesson.question
        assert page.rule == lesson.rules[0]
        assert page.rule in shown["said"]["tables"][0]["pick"]
        assert shown["values"]["lesson"] == id


def test_the_project_s_own_rules_stand_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = files.new(tmp_path / "flat", demo="harbour-flat")
    file = folder / "project.toml"
    file.write_text(f"{file.read_text('utf-8')}\n[rules.plan.route]\nmain = 0.95\n", "utf-8")
    (folder / "studies").mkdir()
    monkeypatch.chdir(folder / "studies")
    monkeypatch.delenv("DESIGNKIT_PROJECT", raising=False)
    page = learn()
    said = dict(page.said)
    assert page.values["subject"] == "own"
    assert said["where"].startswith("Flat over the harbour")
    assert said["answer"][1] == [f"950{NBSP}mm"]
    assert f"This project's own value; it ships as 900{NBSP}mm" in said["answer"][2]
    (table,) = said["tables"]
    assert table["pick"] == ["plan.route.main"]
    assert "the values that ship" in said["note"]
    # the same value under its subject
    page = Learn(files.read(folder).project.home)
    shown = page.show({**page.values, "subject": "plan"}, "subject")["said"]["tables"][0]
    assert shown["rows"][shown["pick"].index("plan.route.main")][1] == [[f"950{NBSP}mm"]]


def test_a_project_that_cannot_be_read_does_not_shut_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "project.toml").write_text("name = Flat", "utf-8")
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("DESIGNKIT_PROJECT", raising=False)
    page = learn()
    assert page.said["answer"][1] == [f"900{NBSP}mm"]
    assert "cannot be read" in page.said["note"]


def test_words_that_no_rule_holds() -> None:
    page = Learn()
    words = said(page, "words", words="sofa and a zebra")
    assert words["tables"] == []
    assert "Use fewer words" in words["note"]
    words = said(page, "words", words="upholsterer")
    assert "under all" in words["note"]
    assert page.rule == "plan.route.main"
    assert said(page, "words", words="")["tables"]


def test_a_message_that_names_nothing_does_nothing() -> None:
    page = Learn()
    assert page.act("pick", {"row": "no.such.rule"}) is None
    assert page.act("look", {}) is None


def test_every_word_stands_in_the_glossary() -> None:
    page = Learn(Home(name="flat", rules={"plan.route.main": 0.95}))
    page.values["subject"] = "plan"
    shown = page.show({}, None)
    labels = [c["label"] for c in shown["controls"]]
    labels += [t for c in shown["controls"] for _, t in c.get("choices", ())]
    labels += [shown["said"]["tables"][0]["title"], *shown["said"]["tables"][0]["head"]]
    labels += [r[5] for r in shown["said"]["tables"][0]["rows"]]
    for id in LESSONS:
        labels += [t for t in texts(lesson_drawing(id)) if len(t.split()) <= 4 and t[-1] != "."]
    labels = [
        t for t in labels if not t.startswith(("LRV", "ΔL", "black: L", "dark: L", "light: L"))
    ]
    assert unknown((t.split("° ")[-1] for t in labels), set()) == []


def test_values_come_from_the_tables(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another value in the table is another dimension on the drawing."""
    from designkit.figures import learning_parts, learning_plan

    def other(id: str, overrides: object = None) -> float:
        return 1.0 if id == "plan.route.main" else value(id)

    monkeypatch.setattr(learning_plan, "value", other)
    monkeypatch.setattr(learning_parts, "value", other)
    assert "1000" in texts(lesson_drawing("routes"))
