"""A price list as a page: paste or choose it, answer what is asked, book what is confirmed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from lab_fixtures import Lab, Study

from designkit import project as files

pytestmark = pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")

QUOTE = """Offer 1108, Supplier 7
Item;Qty;Unit price;Amount
Dining chair, ash;6;265,00;1590,00
Bench, oak;one;340,00;340,00
=HYPERLINK("x");1;120,00;120,00
Hall mirror;1;295,00;295,00
Total net;;;2345,00
VAT 20 %;;;469,00
Grand total;;;2814,00
"""


def wait(study: Study, words: str) -> None:
    study.page.wait_for_function(
        "t => document.querySelector('.dk-page').innerText.includes(t)", arg=words, timeout=10_000
    )


def choose(study: Study, control: str, choice: str) -> None:
    before = study.answered()
    study.page.click(f"[data-control='{control}'] [data-choice='{choice}']")
    study.settle(before)


def test_a_quote_is_read_asked_and_booked(
    study: Callable[..., Study], lab: Lab, tmp_path: Path
) -> None:
    folder = lab.folder / "harbour-flat"
    before = (folder / "costs.csv").read_bytes()
    opened = study("price-list")
    page = opened.page
    opened.shot("start")
    book = page.locator("[data-action='book']")
    assert book.is_disabled()
    bad = tmp_path / "scan.pdf"
    bad.write_bytes(b"%PDF-1.4\nnothing")
    page.set_input_files("[data-control='file']", bad)
    wait(opened, "no PDF that can be read")
    opened.shot("no-pdf")
    at = opened.answered()
    page.fill("[data-control='pasted']", QUOTE)
    opened.settle(at)
    wait(opened, "Which total holds?")
    assert book.is_disabled()
    assert "column Qty: 'one' is no number" in opened.text(".dk-findings")
    opened.shot("two-totals")
    choose(opened, "q_total", "2345.00")
    choose(opened, "q_doubt", "leave them out")
    at = opened.answered()
    page.fill("[data-control='supplier']", "Supplier 7")
    page.press("[data-control='supplier']", "Tab")
    opened.settle(at)
    wait(opened, "Book 3 lines")
    page.click("[data-row='5']")
    wait(opened, "left out")
    assert book.inner_text() == "Book 2 lines"
    assert book.is_enabled()
    opened.shot("ready")
    wide = page.evaluate("() => document.querySelector('.dk-page').scrollWidth")
    assert wide <= 1000
    book.click()
    wait(opened, "2 lines are booked in costs.csv")
    opened.shot("booked")
    kept = files.read(folder).project
    new = [c for c in kept.costs if c.supplier == "Supplier 7"]
    assert [c.item for c in new if "chair" in c.item] == ["Dining chair, ash"]
    assert any(c.item.startswith("'=HYPERLINK") for c in new)
    assert len(list((folder / "quotes").glob("Supplier 7*.txt"))) == 1
    (folder / "costs.csv").write_bytes(before)
    assert opened.errors == []
    assert opened.outside == []


def test_a_reload_in_the_middle_of_typing_loses_nothing(
    study: Callable[..., Study], lab: Lab
) -> None:
    opened = study("price-list")
    page = opened.page
    at = opened.answered()
    page.click("[data-control='pasted']")
    page.keyboard.insert_text(QUOTE)
    opened.settle(at)
    wait(opened, "Which total holds?")
    choose(opened, "q_total", "2345.00")
    at = opened.answered()
    page.click("[data-control='pasted']")
    page.keyboard.press("Control+End")
    page.keyboard.type("Delivery;1;45,00;45,00")  # the field is not left
    opened.settle(at)
    page.close()
    again = study("price-list")
    wait(again, "Brought back from ")
    assert again.page.input_value("[data-control='pasted']") == f"{QUOTE}Delivery;1;45,00;45,00"
    assert "Delivery" in again.text(".dk-tables")
    chosen = again.page.locator("[data-control='q_total'] [data-choice='2345.00']")
    assert chosen.get_attribute("aria-checked") == "true"
    again.shot("brought-back")
    # an empty field is no draft
    at = again.answered()
    again.page.fill("[data-control='pasted']", "")
    again.settle(at)
    again.page.wait_for_timeout(400)
    assert not list(lab.folder.glob("harbour-flat/.designkit/drafts/*"))
    assert opened.errors == again.errors == []
