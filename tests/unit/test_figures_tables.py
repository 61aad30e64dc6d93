"""Table sheets: every cell is there, no column of another audience, nothing clashes."""

from __future__ import annotations

from decimal import Decimal

import pytest
from figures_money import BLOCK, LONG

from designkit.errors import InputError, LookupFailed
from designkit.figures.check import faults
from designkit.figures.drawing import Drawing, Text
from designkit.figures.tables import Head, Row, Sheeted, table_pages, table_sheets
from designkit.model import Project
from designkit.project import read
from designkit.schedule.programme import programme
from designkit.shipped import shipped
from designkit.takeoff.assemble import takeoff
from designkit.takeoff.tables import finish_schedule, furniture_schedule


def words(drawings: tuple[Drawing, ...]) -> list[str]:
    return [i.text for drawing in drawings for i in drawing.items if isinstance(i, Text)]


def table(rows: int, *, columns: int = 4, cell: str = "cell", groups: int = 1) -> Sheeted:
    """A plain table whose cells can be told apart."""
    return Sheeted(
        question="What is there?",
        answer="All of this.",
        scale="none",
        heads=tuple(Head(words=f"column {c}") for c in range(columns)),
        rows=tuple(
            Row(
                cells=tuple(f"{cell} {r}.{c}" for c in range(columns)),
                group=f"group {r * groups // rows}",
            )
            for r in range(rows)
        ),
    )


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter", "page"])
@pytest.mark.parametrize(
    "made",
    [
        table(1),
        table(120, groups=5),
        table(6, cell=LONG),
        table(30, columns=14),
        table(8, columns=9, cell=LONG),
        table(3, columns=2, cell=" ".join([LONG] * 40)),
        table(3, columns=3, cell="x" * 400),
        table(2, columns=1),
    ],
    ids=["one", "120 rows", "long", "14 columns", "9 long", "over a sheet", "word", "one column"],
)  # fmt: skip
def test_a_hostile_table_can_be_read(made: Sheeted, paper: str) -> None:
    drawings = (
        table_pages(made, page=True)
        if paper == "page"
        else table_pages(made, block=BLOCK, paper=paper)
    )
    assert [str(f) for drawing in drawings for f in faults(drawing)] == []
    letters = "".join(words(drawings)).replace(" ", "").replace("\u00a0", "")
    for row in made.rows:
        for cell in row.cells:
            # However it is wrapped and however many sheets it takes, all of it is there.
            end = cell.split(" ")[-1]
            assert end in letters


def test_a_long_table_says_which_page_it_is() -> None:
    drawings = table_pages(table(120, groups=5), block=BLOCK)
    assert len(drawings) > 2
    for number, drawing in enumerate(drawings, 1):
        text = words((drawing,))
        assert any(f"page {number} of {len(drawings)}" in w for w in text)
        assert sum(w.startswith("column ") for w in text) == 4  # heads on every sheet
    shown = [w for w in words(drawings) if w.startswith("cell ")]
    assert len(shown) == len(set(shown)) == 480


def test_no_heading_ends_a_sheet() -> None:
    made = table(60, groups=30)
    for drawing in table_pages(made, block=BLOCK):
        text = [w for w in words((drawing,)) if w.startswith(("group ", "cell "))]
        assert text[-1].startswith("cell ")


@pytest.fixture(scope="module", params=["harbour-flat", "parlor-floor"])
def project(request: pytest.FixtureRequest) -> Project:
    return read(shipped(f"data/{request.param}")).project


@pytest.mark.parametrize("audience", ["client", "trade", "studio"])
def test_the_furniture_schedule_holds_its_audience_only(project: Project, audience: str) -> None:
    rows = furniture_schedule(project, audience=audience)
    home = project.home
    given = {"units": home.units, "currency": home.money.currency}
    for drawings in (
        table_sheets(rows, block=BLOCK, **given),
        table_sheets(rows, page=True, **given),
    ):
        assert [str(f) for drawing in drawings for f in faults(drawing)] == []
        said = " ".join([*words(drawings), *(d.text for d in drawings)]).replace("\u00a0", " ")
        for row in rows.rows:
            assert str(row["what"])[1:] in said or len(str(row["what"])) > 25
        inside = {line.supplier for line in project.costs if line.supplier}
        assert any(name in said for name in inside) == (audience != "client")
        assert ("trade price" in said) == (audience == "studio")


def test_sizes_are_in_the_units_of_the_project(project: Project) -> None:
    rows = furniture_schedule(project, audience="client")
    text = " ".join(words(table_sheets(rows, block=BLOCK, units=project.home.units)))
    sofa = next(row for row in rows.rows if row["kind"] == "sofa")
    if project.home.units == "ft":
        wanted = f"{sofa['width'] / 0.0254:.0f}"  # 84 in is written as such in the demo
        assert "height, in" in text
    else:
        wanted = f"{sofa['width'] * 1000:.0f}"
        assert "height, mm" in text
    assert f"{wanted}\u00a0× " in text.replace("×\u00a0", "× ")


def test_the_finish_schedule_names_every_surface(project: Project) -> None:
    rows = finish_schedule(project, audience="trade")
    drawings = table_sheets(rows, block=BLOCK, units=project.home.units)
    text = words(drawings)
    assert [str(f) for drawing in drawings for f in faults(drawing)] == []
    for row in rows.rows:
        assert row["surface"] in text
    square_feet = 0.3048**2
    first = rows.rows[0]
    area = (
        f"{first['area'] / square_feet:,.0f}"
        if project.home.units == "ft"
        else f"{first['area']:,.1f}"
    )
    assert area in text


def test_the_takeoff_shows_order_and_why(project: Project) -> None:
    rows = takeoff(project)
    for drawings in (table_sheets(rows, block=BLOCK), table_sheets(rows, page=True)):
        assert [str(f) for drawing in drawings for f in faults(drawing)] == []
        said = " ".join(" ".join(words((d,))) for d in drawings).replace("\u00a0", " ")
        for line in rows.lines:
            assert all(word in said for word in line.text.split())
            assert all(word in said for why in line.why for word in why.split())
            assert all(word in said for c in line.cautions for word in c.split())


def test_the_list_of_orders_has_all_of_them(project: Project) -> None:
    result = programme(project, today="2027-01-15")
    drawings = table_sheets(result, block=BLOCK)
    assert [str(f) for drawing in drawings for f in faults(drawing)] == []
    spoken = " ".join(d.text for d in drawings).replace("\u00a0", " ")
    states = [w for w in words(drawings) if w in {o.state for o in result.orders}]
    assert len(states) == len(result.orders)
    for order in result.orders:
        assert order.item[1:] in spoken


def test_wrong_tables_are_refused() -> None:
    with pytest.raises(InputError, match="TitleBlock"):
        table_pages(table(1))
    with pytest.raises(LookupFailed, match="A4"):
        table_pages(table(1), block=BLOCK, paper="B7")
    with pytest.raises(InputError, match="name the columns"):
        table_pages(Sheeted(question="?", answer="!", scale="", heads=(), rows=()), block=BLOCK)
    uneven = Sheeted(
        question="?", answer="!", scale="", heads=(Head(words="a"),), rows=(Row(cells=("1", "2")),)
    )
    with pytest.raises(InputError, match="one a column"):
        table_pages(uneven, block=BLOCK)


def test_prices_carry_their_unit(project: Project) -> None:
    rows = furniture_schedule(project, audience="studio")
    sign = {"EUR": "€", "USD": "$"}[project.home.money.currency]
    drawings = table_sheets(rows, block=BLOCK, currency=project.home.money.currency)
    assert f"client price, {sign}" in " ".join(words(drawings)).replace("price, ", "price, ")
    priced = [row["client price"] for row in rows.rows if row["client price"]]
    assert priced
    text = words(drawings)
    assert all(f"{Decimal(p):,.0f}" in text for p in priced)
