"""Quotes sheets: every line and question is there, and nothing clashes."""

from __future__ import annotations

from decimal import Decimal

import pytest
from figures_money import BLOCK, LONG, ONE

from designkit.costs import Levelling, level, money_text
from designkit.errors import InputError
from designkit.figures import ink
from designkit.figures.check import faults
from designkit.figures.drawing import Drawing, Hatch, Polygon, Text
from designkit.figures.quotes import quotes
from designkit.model import Building, Home, Project, QuoteLine, Scope, ScopeLine
from designkit.project import read
from designkit.shipped import shipped

D = Decimal


def words(drawings: tuple[Drawing, ...]) -> list[str]:
    return [i.text for drawing in drawings for i in drawing.items if isinstance(i, Text)]


def made(
    *,
    lines: int = 5,
    contractors: int = 3,
    long: bool = False,
    factor: Decimal = ONE,
    old: bool = True,
) -> Levelling:
    """A scope with gaps of every kind in its quotes."""
    tail = f", {LONG}" if long else ""
    scope = Scope(
        name=f"Walls made good{tail}",
        trade="plasterer",
        unit="m²",
        quantity=D(40),
        disturbs_old_surface=old,
        lines={
            f"l{i}": ScopeLine(text=f"work {i + 1}{tail}", quantity=D(40), unit="m²")
            for i in range(lines)
        },
    )
    rows = []
    states = ("yes", "no", "apart", "unclear")
    for c in range(contractors):
        for i in range(lines):
            if (i + 2 * c) % 7 == 6:
                continue  # not mentioned
            state = states[(i + c) % 4] if c else "yes"
            amount = D(300 + 40 * i + 90 * c) * factor
            rows.append(
                QuoteLine(
                    scope="walls",
                    contractor=f"Contractor {'ABCDEFG'[c]}{tail}",
                    line=f"l{i}",
                    quantity=D(40),
                    unit="m²",
                    amount=amount if state in ("yes", "unclear") else None,
                    included=state,
                    valid_until="" if c == 1 else f"2027-0{1 + c}-15",
                )
            )
    home = Home(name="A flat", building=Building(year=1950, sampled="no"), scopes={"walls": scope})
    return level(Project(home=home, quotes=tuple(rows)), scope="walls", on="2027-02-01")


CASES = {
    "usual": {},
    "one contractor": {"contractors": 1},
    "six contractors": {"contractors": 6, "lines": 8},
    "long names": {"long": True},
    "thirty lines": {"lines": 30},
    "thirty long lines": {"lines": 30, "long": True, "contractors": 5},
    "huge": {"factor": D(10) ** 7},
    "no gate": {"old": False},
}


@pytest.mark.parametrize("name", CASES)
@pytest.mark.parametrize("paper", ["A4", "Letter", "page"])
def test_a_hostile_scope_can_be_read(name: str, paper: str) -> None:
    result = made(**CASES[name])
    drawings = (
        quotes(result, page=True) if paper == "page" else quotes(result, block=BLOCK, paper=paper)
    )
    assert [str(fault) for drawing in drawings for fault in faults(drawing)] == []


@pytest.mark.parametrize("name", ["usual", "six contractors", "thirty lines", "huge", "no gate"])
def test_no_line_and_no_question_is_lost(name: str) -> None:
    result = made(**CASES[name])
    drawings = quotes(result, block=BLOCK)
    text = words(drawings)
    joined = " ".join(text)
    for cell in result.quotes[0].cells:
        assert sum(cell.text.capitalize() == t for t in text) == 1
    for quote in result.quotes:
        # One total a quote, on the last sheet that has rows.
        same = [q for q in result.quotes if q.levelled == quote.levelled]
        assert text.count(money_text(quote.levelled, code="EUR")) == len(same)
        assert joined.count("– ") == sum(len(q.questions) for q in result.quotes)
        for question in quote.questions:
            assert all(word in joined for word in question.split())


def test_a_long_scope_says_which_page_it_is() -> None:
    drawings = quotes(made(lines=30, long=True, contractors=5), block=BLOCK)
    assert len(drawings) > 2
    for number, drawing in enumerate(drawings, 1):
        assert any(f"page {number} of {len(drawings)}" in w for w in words((drawing,)))


@pytest.mark.parametrize("folder", ["harbour-flat", "parlor-floor"])
def test_the_demos_say_what_the_levelling_says(folder: str) -> None:
    project = read(shipped(f"data/{folder}")).project
    for scope in project.home.scopes:
        result = level(project, scope=scope, on="2027-01-15")
        paper = "A4" if folder == "harbour-flat" else "Letter"
        for drawings in (quotes(result, block=BLOCK, paper=paper), quotes(result, page=True)):
            assert len(drawings) == 1
            assert faults(drawings[0]) == []
            text = words(drawings)
            for quote in result.quotes:
                assert quote.contractor in text
                assert money_text(quote.levelled, code=result.currency) in text
                assert f"{money_text(quote.quoted, code=result.currency)} as quoted" in text
                assert quote.contractor in drawings[0].text
            if result.gate is not None:
                assert result.gate.what in " ".join(text)
                assert result.gate.mend in drawings[0].text


def test_estimates_are_hatched_and_prices_are_filled() -> None:
    result = made()
    drawing = quotes(result, block=BLOCK)[0]
    cells = [c for quote in result.quotes for c in quote.cells]
    open_ = sum(bool(c.levelled) and (c.estimate or c.state == "unclear") for c in cells)
    firm = sum(
        bool(c.levelled) and not c.estimate and c.state not in ("unclear", "in another line")
        for c in cells
    )
    assert sum(isinstance(i, Hatch) for i in drawing.items) == open_
    filled = [i for i in drawing.items if isinstance(i, Polygon) and i.fill == ink.INK and i.about]
    assert len(filled) == firm


def test_the_accent_is_the_gate() -> None:
    def accented(result: Levelling) -> list[str]:
        drawing = quotes(result, block=BLOCK)[0]
        return [i.text for i in drawing.items if isinstance(i, Text) and i.ink == ink.TIMBER]

    assert accented(made())[0].startswith("Gate: ")
    assert accented(made(old=False)) == []


def test_a_sheet_needs_its_foot() -> None:
    with pytest.raises(InputError, match="TitleBlock"):
        quotes(made())
