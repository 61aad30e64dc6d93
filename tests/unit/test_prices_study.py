"""A price list on its page: rows named that cannot be read, questions, booking, no formula."""

from __future__ import annotations

import csv
import io
import re
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from test_glossary import labels_of, names_of, plain, unknown

from designkit import project as files
from designkit.errors import FileFormatError, InputError, LookupFailed
from designkit.figures.check import faults
from designkit.figures.drawing import Polygon, Text
from designkit.figures.found_amounts import amount_of, found_amounts
from designkit.project.documents import read_document
from designkit.project.importing import answered, confirm, propose_import
from designkit.studies.desk import Desk
from designkit.studies.prices_study import PriceList

DATA = Path(__file__).parents[2] / "data"
LIST = """Item;Qty;Unit price;Amount
Dining chair, ash;6;265,00;1590,00
Bench, oak;2;340,00;680,00
Total;;;2270,00
"""


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    shutil.copytree(DATA / "harbour-flat", tmp_path / "h")
    return Desk(tmp_path / "h")


def put(study: PriceList, **values: Any) -> dict[str, Any]:
    shown: dict[str, Any] = {}
    for key in values:
        shown = study.show({key: values[key]}, key)
    return shown


def press(study: PriceList, action: str, **message: Any) -> dict[str, Any]:
    shown = study.act(action, message)
    assert shown is not None
    return shown


def give(study: PriceList, name: str, data: bytes) -> dict[str, Any]:
    return press(study, "file", control="file", name=name, data=data)


# --- rows that cannot be read are named, the rest is there ------------------------------


def test_a_cell_that_is_no_number_is_named_with_its_row_and_column() -> None:
    text = LIST.replace("Bench, oak;2;", "Bench, oak;two;")
    found = propose_import(text)
    assert found.unread == ("line 3, column Qty: 'two' is no number",)
    assert [line.item for line in found.goods if not line.doubt] == ["Dining chair, ash"]


def test_a_quotation_mark_that_does_not_close_costs_its_own_line_only() -> None:
    text = 'Item;Amount\nchair;100,00\n"bench, 2" oak;340,00\nlamp;"12\nmirror;295,00\n'
    found = read_document(text)
    assert [row[0] for row in found.rows] == ["Item", "chair", "mirror"]
    assert len(found.unread) == 2
    assert found.unread[1].startswith("line 4, column 2: a quotation mark")
    assert propose_import(text).sum == Decimal("395.00")


def test_a_cell_with_the_list_s_own_mark_in_it_is_not_booked_cut_in_two() -> None:
    text = "Item,Qty,Amount\nchair,6,1590.00\nbench,1,1,340.00\nlamp,1,120.00\nrug,1,99.00\n"
    text += "".join(f"cup {k},1,9.00\n" for k in range(5))
    found = propose_import(text)
    doubts = {line.item: line.doubt for line in found.goods}
    assert "4 cells where the heading has 3" in doubts["bench"]
    assert doubts["chair"] == ""


def test_a_line_without_words_is_not_booked() -> None:
    found = propose_import("Item;Amount\nchair;100,00\n;340,00\n")
    assert found.unread == ("line 3, nothing says what it is",)


def test_formulas_without_a_value_and_errors_in_a_workbook_are_named(tmp_path: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl", reason="the extra xlsx is not installed")
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Prices"
    for row in [
        ["Item", "Qty", "Unit price", "Amount"],
        ["chair", 6, 265, 1590],
        ["bench", 2, 340, "=B3*C3"],  # written by a program that keeps no values
        ["lamp", 1, "#N/A", None],
    ]:
        sheet.append(row)
    book.save(tmp_path / "a.xlsx")
    found = propose_import(tmp_path / "a.xlsx")
    assert "sheet Prices row 3, column D: a formula without its last value" in found.unread
    assert "sheet Prices row 4, column C: the error #N/A" in found.unread
    bench = next(line for line in found.goods if line.item == "bench")
    assert amount_of(bench) == 680  # its price and quantity are there


# --- questions follow one another ---------------------------------------------------------


def test_two_totals_do_not_hide_a_line_that_cannot_be_read() -> None:
    text = LIST.replace("Total;;;2270,00", "Total net;;;1930,00\nGrand total;;;2316,00").replace(
        "680,00", "340,00"
    )
    found = propose_import(text)
    assert [q.id for q in found.questions] == ["total", "doubt"]
    after = answered(found, {"total": "1930.00"})
    assert [q.id for q in after.questions] == ["doubt"]
    assert after.total == Decimal("1930.00")
    other = answered(found, {"total": "2316.00"})
    assert [q.id for q in other.questions] == ["sum", "doubt"]  # it is not what the lines make
    with pytest.raises(InputError, match="do not hang together"):
        confirm(found, category="x", answers={"total": "1930.00"})
    edits = confirm(found, category="x", answers={"total": "1930.00", "doubt": "leave them out"})
    assert [edit.path for edit in edits] == ["costs.dining_chair_ash"]


def test_each_or_in_all_stays_asked_when_the_decimal_sign_is_answered() -> None:
    found = propose_import("dining chair    6    1,590\nbench    2    1,680")
    assert {q.id for q in found.questions} == {"decimal", "each"}
    assert [q.id for q in answered(found, {"decimal": "."}).questions] == ["each"]
    with pytest.raises(InputError, match="the price of one"):
        confirm(found, category="x", answers={"decimal": "."})


# --- tax -----------------------------------------------------------------------------------


def test_prices_with_tax_are_booked_as_the_project_counts() -> None:
    found = propose_import("item;amount\nrug;1200,00")
    (edit,) = confirm(
        found, category="rugs", retax="take tax off", tax=Decimal("0.20"), currency="EUR"
    )
    assert edit.new["likely"] == "1000.00"  # type: ignore[index]
    assert "1200.00 there with tax" in edit.new["note"]  # type: ignore[index]
    (edit,) = confirm(
        found, category="rugs", retax="put tax on", tax=Decimal("0.20"), currency="EUR"
    )
    assert edit.new["likely"] == "1440.00"  # type: ignore[index]


# --- no formula ------------------------------------------------------------------------------

FORMULAS = ['=HYPERLINK("x")', "+1+1", "@SUM(A1)", "\u00a0=1+1", "＝1+1", "-2+3 lamp"]


@pytest.mark.reference("OWASP CSV injection", of="project")
@pytest.mark.parametrize("text", FORMULAS)
def test_no_word_of_a_document_becomes_a_formula(desk: Desk, text: str) -> None:
    """CSV injection as described by OWASP, "CSV Injection": cells that begin with = + - @."""
    study = PriceList(desk)
    quoted = text.replace('"', '""')
    put(
        study,
        pasted=f'Item;Note;Unit;Amount\n"{quoted}";"{quoted}";"{quoted}";120,00\nlamp;;;80,00\n',
        supplier="Supplier 4",
    )
    press(study, "book")
    with (desk.folder / "costs.csv").open(encoding="utf-8", newline="") as file:
        cells = [c for row in csv.reader(file) for c in row]
    bad = [c for c in cells if c.lstrip(" \u00a0")[:1] in "=+@＝" and c]
    bad += [c for c in cells if c.startswith("-") and not c[1:].replace(".", "").isdigit()]
    assert bad == []
    kept = files.read(desk.folder).project
    assert any(c.item.startswith("'") for c in kept.costs)


# --- the page --------------------------------------------------------------------------------


def test_nothing_is_booked_unconfirmed(desk: Desk) -> None:
    study = PriceList(desk)
    before = (desk.folder / "costs.csv").read_bytes()
    shown = put(study, pasted=LIST)
    assert (desk.folder / "costs.csv").read_bytes() == before
    assert not desk.edits
    assert not list((desk.folder / "quotes").glob("*"))
    assert "Nothing is booked" in shown["said"]["answer"]
    assert "2,270" in shown["said"]["answer"]
    assert not shown["said"]["actions"][0]["off"]
    (cap,) = shown["said"]["brief"]
    assert cap["state"] == "met"
    assert cap["text"].startswith("under 43,000")


def test_booked_lines_and_the_document_are_kept_and_can_be_taken_back(desk: Desk) -> None:
    study = PriceList(desk)
    before = files.read(desk.folder).project
    give(study, "../../offer 1108.csv", LIST.encode())
    put(study, supplier="Supplier 4", room="living", category="chairs")
    shown = press(study, "book")
    kept = files.read(desk.folder).project
    new = [c for c in kept.costs if c.id not in {b.id for b in before.costs}]
    assert [(c.item, c.quantity, c.likely, c.supplier, c.room) for c in new] == [
        ("Dining chair, ash", 6, Decimal("265.00"), "Supplier 4", "living"),
        ("Bench, oak", 2, Decimal("340.00"), "Supplier 4", "living"),
    ]
    assert all(c.note.startswith("from quotes/offer 1108.csv, line") for c in new)
    assert (desk.folder / "quotes" / "offer 1108.csv").read_bytes() == LIST.encode()
    assert [a["text"] for a in shown["said"]["actions"]] == ["Book 0 lines", "Take it back"]
    press(study, "back")
    assert files.read(desk.folder).project.costs == before.costs


def test_lines_are_left_out_one_by_one(desk: Desk) -> None:
    study = PriceList(desk)
    put(study, pasted=LIST)
    shown = press(study, "pick", table="lines", row="2")
    assert [row[-1] for row in shown["said"]["tables"][0]["rows"]] == ["to book", "left out"]
    assert shown["said"]["actions"][0]["text"] == "Book 1 line"
    shown = press(study, "pick", table="lines", row="2")
    assert shown["said"]["actions"][0]["text"] == "Book 2 lines"


def test_a_column_is_said_by_hand(desk: Desk) -> None:
    study = PriceList(desk)
    shown = put(study, pasted="a;b;c\nchair;40;12\nbench;90;20\n")
    assert shown["values"]["col_0"] == "item"
    shown = put(study, col_1="unit_price", col_2="lead_time")
    assert shown["said"]["findings"]["rows"] == []
    press(study, "book")
    kept = {c.item: c for c in files.read(desk.folder).project.costs}
    assert (kept["chair"].likely, kept["chair"].lead_time) == (40, 12)
    shown = put(study, pasted="a;b;c\nchair;40;12\nbench;90;20\n")
    shown = put(study, col_1="amount", col_2="amount")  # a field stands once
    assert (shown["values"]["col_1"], shown["values"]["col_2"]) == ("", "amount")


def test_a_quote_goes_to_its_scope(desk: Desk) -> None:
    study = PriceList(desk)
    put(study, pasted="Scraping;1190,00\nSkim coat;1476,00\nTotal;2666,00\n", to="quote")
    with pytest.raises(InputError, match="which written scope, and by whom"):
        press(study, "book")
    assert not (desk.folder / "quotes" / "pasted.txt").exists()
    put(study, contractor="Contractor D")
    press(study, "book")
    kept = files.read(desk.folder).project
    found = [q for q in kept.quotes if q.contractor == "Contractor D"]
    assert [q.amount for q in found] == [1190, 1476]
    assert (desk.folder / "quotes" / "pasted.txt").is_file()


def test_another_currency_needs_its_rate_and_day(desk: Desk) -> None:
    study = PriceList(desk)
    shown = put(study, pasted="item;amount\nlamp;240,00 USD\n")
    hints = [c.get("hint") for c in shown["controls"]]
    assert "EUR for one USD" in hints
    with pytest.raises(InputError, match="rate of USD"):
        press(study, "book")
    put(study, rate="0.92")
    with pytest.raises(InputError, match="day of the rate"):
        press(study, "book")
    put(study, rate_day="2026-11-02")
    press(study, "book")
    (line,) = [c for c in files.read(desk.folder).project.costs if c.item == "lamp"]
    assert (line.currency, line.rate, line.rate_date) == ("USD", Decimal("0.92"), "2026-11-02")


def test_a_document_that_cannot_be_read_leaves_the_last_one(desk: Desk) -> None:
    study = PriceList(desk)
    put(study, pasted=LIST)
    for name, data, said in (
        ("x.pdf", b"%PDF-1.4\nnothing", "no PDF that can be read"),
        ("x.xlsx", b"PK\x03\x04 and no more", "no workbook"),
        ("x.docx", b"PK", "paste its lines"),
        ("x.csv", b"", "no line"),
    ):
        with pytest.raises(FileFormatError, match=said):
            give(study, name, data)
        assert study.found is not None
        assert len(study.found.goods) == 2


def test_pasted_text_is_never_a_file_of_the_machine(desk: Desk) -> None:
    study = PriceList(desk)
    path = desk.folder / "costs.csv"
    put(study, pasted=str(path))
    assert study.found is not None
    assert study.found.rows == ((str(path),),)
    with pytest.raises(LookupFailed):
        confirm(study.found, numbers=[0], category="x", answers={"mapping": ""}, mapping={0: "ite"})


def test_amounts_are_drawn_to_one_scale() -> None:
    found = propose_import(LIST)
    drawing = found_amounts(found)
    assert faults(drawing) == []
    bars = [i for i in drawing.items if isinstance(i, Polygon)]
    widths = [max(x for x, _ in b.outline) - min(x for x, _ in b.outline) for b in bars]
    # lines, their sum, the total: an outline is drawn inside its bar
    assert len(bars) == 4
    assert widths[0] / widths[1] == pytest.approx(1590 / 680)
    assert widths[2] / widths[0] == pytest.approx(2270 / 1590)
    words = [i.text for i in drawing.items if isinstance(i, Text)]
    assert "to book, 2 lines" in words
    many = propose_import("item;amount\n" + "".join(f"thing {k};{k + 1},00\n" for k in range(60)))
    assert "46 smaller lines" in [i.text for i in found_amounts(many).items if isinstance(i, Text)]


def test_a_large_list_is_read_and_shown_in_part(desk: Desk) -> None:
    study = PriceList(desk)
    out = io.StringIO()
    out.write("item;amount\n")
    for k in range(1500):
        out.write(f"thing {k};{k + 1},00\n")
    shown = give(study, "long.csv", out.getvalue().encode())
    (table,) = shown["said"]["tables"]
    assert len(table["rows"]) == 200
    assert "and 1300 more lines" in table["note"]
    assert shown["said"]["actions"][0]["text"] == "Book 1500 lines"


def test_every_visible_word_has_a_meaning(desk: Desk) -> None:
    study = PriceList(desk)
    data = {plain(text) for text in names_of(desk.project)}
    states = [study.show({}, None)]
    texts = [
        LIST.replace("Total;;;2270,00", "Total net;;;1930,00\nGrand total;;;2316,00"),
        "item;amount\nlamp;240,00 USD\n",
        "dining chair    6    1,590\nbench    2    1,680",
        "item;amount\nlamp;240,00 $\n",
    ]
    for text in texts:
        data |= {plain(cell) for row in read_document(text).rows for cell in row}
        states += [put(study, pasted=text), put(study, to="quote"), put(study, to="costs")]
        for shown in states:
            labels = (re.sub(r"^Column \d+: |^[A-Z]{3}$", "", label) for label in labels_of(shown))
            assert unknown(labels, data) == []
