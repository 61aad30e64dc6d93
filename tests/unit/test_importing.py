"""Price lists and quotes: found, shown, asked, and booked only when confirmed."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from designkit import project, shipped
from designkit.errors import FileFormatError, InputError, LookupFailed
from designkit.project.documents import keep_document, read_document
from designkit.project.importing import confirm, propose_import

LIST = """Description;Qty;Unit price;Amount
Dining chair, ash;6;€ 265,00;€ 1.590,00
Dining table;1;€ 1.890,00;€ 1.890,00
Total;;;€ 3.480,00
"""


def fields(found: object) -> dict[int, str]:
    return {guess.index: guess.field for guess in found.mapping}  # type: ignore[attr-defined]


def test_a_csv_by_its_headings() -> None:
    found = propose_import(LIST, currency="EUR")
    assert fields(found) == {0: "item", 1: "quantity", 2: "unit_price", 3: "amount"}
    assert all(guess.confidence > 0.9 for guess in found.mapping)
    assert found.decimal == ","
    assert found.currency == "EUR"
    assert [line.item for line in found.goods] == ["Dining chair, ash", "Dining table"]
    assert found.sum == found.total == Decimal("3480.00")
    assert found.questions == ()


def test_columns_without_headings_by_how_the_numbers_hang_together() -> None:
    text = (
        "sofa in cloth B    1    2840.00    2840.00\n"
        "rug 3000 x 2200    2    1180.00    2360.00\n"
        "dining chair    6    265.00    1590.00\n"
    )
    found = propose_import(text)
    assert fields(found) == {0: "item", 1: "quantity", 2: "unit_price", 3: "amount"}
    assert [line.amount for line in found.goods] == [2840, 2360, 1590]
    assert "times" in found.mapping[1].why


def test_lines_of_words_with_an_amount_behind() -> None:
    found = propose_import("Oak bench ......... 340.00 EUR\nHall mirror 295.00 EUR", currency="EUR")
    assert [(line.item, line.amount) for line in found.goods] == [
        ("Oak bench", Decimal("340.00")),
        ("Hall mirror", Decimal("295.00")),
    ]


def test_a_quote_with_two_totals_is_asked() -> None:
    text = (
        "Scraping;1190,00\nSkim coat;1476,00\nTotal net;2666,00\nVAT 20 %;533,20\n"
        "Grand total;3199,20"
    )
    found = propose_import(text)
    assert [line.role for line in found.lines] == ["line", "line", "total", "tax", "total"]
    assert found.total is None
    question = next(q for q in found.questions if q.id == "total")
    assert question.answers == ("2666.00", "3199.20")
    assert "2 totals" in question.text
    with pytest.raises(InputError, match="Which total holds"):
        confirm(found, category="trades")
    with pytest.raises(InputError, match="question total = 1000"):
        confirm(found, category="trades", answers={"total": "1000"})
    edits = confirm(found, category="trades", answers={"total": "2666.00"})
    assert [edit.new["likely"] for edit in edits] == ["1190.00", "1476.00"]  # type: ignore[index]


def test_a_total_that_is_not_the_sum_is_asked() -> None:
    found = propose_import("item;amount\nchair;100,00\ntable;200,00\ntotal;350,00")
    assert [q.id for q in found.questions] == ["sum"]
    assert "add up to 300.00, the total says 350.00" in found.questions[0].text


def test_mixed_currencies_are_named_and_need_a_rate() -> None:
    text = "item;amount\nchair;1590,00 EUR\nlamp;240,00 USD"
    found = propose_import(text, currency="EUR")
    question = next(q for q in found.questions if q.id == "currencies")
    assert "EUR in 1 rows, USD in 1 rows" in question.text
    answers = {"currencies": "keep each"}
    with pytest.raises(InputError, match="rate of USD"):
        confirm(found, category="furniture", answers=answers, currency="EUR")
    edits = confirm(
        found, category="furniture", answers=answers, currency="EUR",
        rates={"USD": (Decimal("0.92"), "2026-11-02")},
    )  # fmt: skip
    assert "currency" not in edits[0].new  # type: ignore[operator]
    lamp = edits[1].new
    assert isinstance(lamp, dict)
    assert (lamp["currency"], lamp["rate"], lamp["rate_date"]) == ("USD", "0.92", "2026-11-02")


def test_a_sign_of_many_currencies_is_asked_unless_the_project_has_it() -> None:
    text = "Oak table $1,890.00\nBench $340.00"
    assert [q.id for q in propose_import(text, currency="EUR").questions] == ["currency"]
    ours = propose_import(text, currency="USD")
    assert ours.questions == ()
    assert ours.currency == "USD"


def test_a_number_with_two_readings_is_asked() -> None:
    found = propose_import("item\tprice\nsofa\t1,200\nrug\t2,350")
    assert found.questions[0].id == "decimal"
    assert "1200, or 1.200" in found.questions[0].text
    with pytest.raises(InputError, match="two readings"):
        confirm(found, category="furniture")
    edits = confirm(found, category="furniture", answers={"decimal": "."})
    assert [edit.new["likely"] for edit in edits] == ["1200", "2350"]  # type: ignore[index]
    # one clear number tells the others
    assert propose_import("item\tprice\nsofa\t1,200\nrug\t2,350.50").questions == ()


def test_each_or_in_all_is_asked() -> None:
    found = propose_import("dining chair    6    1590.00\nbench    2    680.00")
    assert [q.id for q in found.questions] == ["each"]
    whole = confirm(found, category="furniture", answers={"each": "of the line"})
    assert [edit.new["likely"] for edit in whole] == ["265.00", "340.00"]  # type: ignore[index]
    each = confirm(found, category="furniture", answers={"each": "of one"})
    assert [edit.new["likely"] for edit in each] == ["1590.00", "680.00"]  # type: ignore[index]


def test_lines_that_do_not_hang_together_are_left_out_when_said() -> None:
    text = "item;qty;unit price;amount\nchair;6;265,00;1590,00\ntable;2;100,00;300,00"
    found = propose_import(text)
    assert "2 × 100.00 is 200.00, not 300.00" in found.lines[1].doubt
    with pytest.raises(InputError, match="Leave them out"):
        confirm(found, category="furniture")
    edits = confirm(found, category="furniture", answers={"doubt": "leave them out"})
    assert [edit.path for edit in edits] == ["costs.chair"]


def test_columns_said_by_hand() -> None:
    found = propose_import("a;b;c\nchair;40;12\nbench;90;20")
    assert any(q.id == "each" for q in found.questions)
    edits = confirm(found, {0: "item", 1: "unit_price", 2: "lead_time"}, category="furniture")
    assert edits[0].new["likely"] == "40"  # type: ignore[index]
    assert edits[0].new["lead_time"] == "12"  # type: ignore[index]
    with pytest.raises(LookupFailed, match="write 'unit_price'"):
        confirm(found, {1: "unit_pric"}, category="furniture")
    with pytest.raises(InputError, match="column = 9"):
        confirm(found, {9: "item"}, category="furniture")


def test_only_what_is_chosen_is_booked() -> None:
    found = propose_import(LIST, currency="EUR")
    with pytest.raises(InputError, match="a heading of the costs"):
        confirm(found)
    chosen = [found.goods[1].number]
    edits = confirm(found, category="furniture", numbers=chosen, supplier="Supplier 4")
    assert [edit.path for edit in edits] == ["costs.dining_table"]
    with pytest.raises(LookupFailed, match="line to book = 99"):
        confirm(found, category="furniture", numbers=[99])
    with pytest.raises(InputError, match="choose a line with a price"):
        confirm(found, category="furniture", numbers=[])


def test_booked_lines_make_a_project(tmp_path: Path) -> None:
    folder = tmp_path / "flat"
    shutil.copytree(shipped.shipped("data/harbour-flat"), folder)
    opened = project.read(folder)
    source = tmp_path / "offer.csv"
    source.write_text(LIST, encoding="utf-8")
    found = propose_import(source, currency="EUR")
    kept = keep_document(folder, source)
    assert kept == "quotes/offer.csv"
    edits = confirm(
        found, category="furniture", supplier="Supplier 4", room="living", document=kept,
        costs=opened.project.costs, currency="EUR",
    )  # fmt: skip
    saved = project.save(opened, edits)
    line = next(one for one in saved.project.costs if one.id == "dining_chair_ash")
    assert (line.quantity, line.likely, line.status) == (6, Decimal("265.00"), "quoted")
    assert line.note == "from quotes/offer.csv, line 2"
    quote = confirm(
        propose_import("Scraping;1190,00\nSkim coat;1476,00"),
        scope="ceiling", contractor="Contractor D", quotes=opened.project.quotes,
    )  # fmt: skip
    after = project.apply(opened, quote)
    assert [q.amount for q in after.quotes if q.contractor == "Contractor D"] == [1190, 1476]
    with pytest.raises(InputError, match="which written scope, and by whom"):
        confirm(found, scope="ceiling")


# --- documents ------------------------------------------------------------------------


def test_a_workbook(tmp_path: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl", reason="the extra xlsx is not installed")
    book = openpyxl.Workbook()
    book.active.title = "Cover"
    book.active.append(["Offer of November"])
    sheet = book.create_sheet("Prices")
    for row in [
        ["Article no.", "Description", "Qty", "Unit price", "Total"],
        ["A-1", "Low table Ø 900", 1, 640.5, 640.5],
        ["A-2", "Side table", 2, 185, 370],
        [None, "Total", None, None, 1010.5],
    ]:
        sheet.append(row)
    path = tmp_path / "list.xlsx"
    book.save(path)
    found = propose_import(path)
    assert found.form == "xlsx"
    assert fields(found) == {
        0: "reference", 1: "item", 2: "quantity", 3: "unit_price", 4: "amount"
    }  # fmt: skip
    assert found.goods[0].place == "sheet Prices row 2"
    assert found.total == Decimal("1010.5")
    assert found.questions == ()
    (tmp_path / "cut.xlsx").write_bytes(path.read_bytes()[:900])
    with pytest.raises(FileFormatError, match="no workbook that can be read"):
        propose_import(tmp_path / "cut.xlsx")


def pdf(lines: list[str], *, pages: int = 1) -> bytes:
    """A small PDF with lines of text, written by hand from ISO 32000."""
    text = "BT /F1 10 Tf 14 TL 40 780 Td " + " ".join(f"({line}) Tj T*" for line in lines) + " ET"
    kids = " ".join(f"{4 + k} 0 R" for k in range(pages))
    parts = [
        "<< /Type /Catalog /Pages 2 0 R >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {pages} >>",
        "<< /Type /Font /Subtype /Type1 /BaseFont /Courier >>",
    ]
    parts += [
        "<< /Type /Page /Parent 2 0 R /MediaBox [0 0 595 842] "
        f"/Resources << /Font << /F1 3 0 R >> >> /Contents {4 + pages} 0 R >>"
    ] * pages
    parts.append(f"<< /Length {len(text)} >>\nstream\n{text}\nendstream")
    out = b"%PDF-1.4\n"
    places = []
    for number, part in enumerate(parts, start=1):
        places.append(len(out))
        out += f"{number} 0 obj\n{part}\nendobj\n".encode()
    start = len(out)
    out += f"xref\n0 {len(parts) + 1}\n0000000000 65535 f \n".encode()
    out += "".join(f"{place:010d} 00000 n \n" for place in places).encode()
    out += f"trailer << /Size {len(parts) + 1} /Root 1 0 R >>\nstartxref\n{start}\n%%EOF".encode()
    return out


def test_the_text_of_a_pdf(tmp_path: Path) -> None:
    pytest.importorskip("pypdfium2", reason="the extra plans is not installed")
    path = tmp_path / "quote.pdf"
    path.write_bytes(pdf(["Wet scraping   1190.00", "Skim coat   1476.00", "Total   2666.00"]))
    found = propose_import(path)
    assert [(line.item, line.amount) for line in found.goods] == [
        ("Wet scraping", Decimal("1190.00")),
        ("Skim coat", Decimal("1476.00")),
    ]
    assert found.goods[0].place == "page 1 line 1"
    assert found.total == Decimal("2666.00")
    (tmp_path / "scan.pdf").write_bytes(pdf([]))
    with pytest.raises(FileFormatError, match="pages without text: a scan"):
        propose_import(tmp_path / "scan.pdf")
    (tmp_path / "empty.pdf").write_bytes(pdf([], pages=0))
    with pytest.raises(FileFormatError, match=r"no page|no PDF that can be read"):
        propose_import(tmp_path / "empty.pdf")
    (tmp_path / "cut.pdf").write_bytes(b"%PDF-1.4\nnothing")
    with pytest.raises(FileFormatError, match="no PDF that can be read"):
        propose_import(tmp_path / "cut.pdf")


def test_documents_that_cannot_be_read(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match="no line"):
        read_document("")
    with pytest.raises(FileFormatError, match="no such file"):
        read_document("offer.pdf")
    picture = tmp_path / "list.heic"
    picture.write_bytes(b"x")
    with pytest.raises(FileFormatError, match="paste its lines"):
        read_document(picture)
    large = tmp_path / "large.csv"
    with large.open("wb") as file:
        file.truncate(21_000_000)
    with pytest.raises(FileFormatError, match="at most 20 MB"):
        read_document(large)
    assert read_document(b"item;amount\nr\xc3\xb6d;1".decode()).rows[1] == ("röd", "1")
    wide = tmp_path / "wide.csv"
    wide.write_bytes("item\tamount\nlamp\t12".encode("utf-16"))
    assert read_document(wide).rows[1] == ("lamp", "12")


def test_a_document_is_kept_once_and_never_over_another(tmp_path: Path) -> None:
    source = tmp_path / "offer.csv"
    source.write_text("item;amount\na;1")
    folder = tmp_path / "project"
    folder.mkdir()
    assert keep_document(folder, source) == "quotes/offer.csv"
    assert keep_document(folder, source) == "quotes/offer.csv"
    source.write_text("item;amount\na;2")
    assert keep_document(folder, source) == "quotes/offer 2.csv"
    assert keep_document(folder, "item;amount\na;3", name="../../evil") == "quotes/_evil.txt"
    assert not (tmp_path / "evil.txt").exists()
