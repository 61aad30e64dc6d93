"""Sheets and files of the documents: leak test on what is printed, days, numbers, folders."""

from __future__ import annotations

import csv
import dataclasses
import datetime
import io
import re
from pathlib import Path

import pytest
from test_glossary import names_of, plain, unknown

from designkit.cli import parser
from designkit.documents.sets import PAPERS, papers_for
from designkit.errors import InputError, LookupFailed
from designkit.figures.check import faults
from designkit.figures.drawing import Drawing, Text
from designkit.model import Project
from designkit.project import new, read
from designkit.publish.document_files import (
    documents,
    paper_sheets,
    write_documents,
)
from designkit.shipped import shipped

DAY = datetime.date(2026, 11, 25)
SECRET = "STUDIO-ONLY-WORDS"


def lived(name: str) -> Project:
    """A demo some weeks later: lines agreed, ordered, made, snagged, with studio notes."""
    p = read(shipped("data") / name).project
    costs = []
    for i, line in enumerate(p.costs):
        more = dict(line.more)
        if i % 4 == 0:
            more |= {"state": "agreed", "agreed_by": "the client", "agreed_on": "2026-12-01"}
        elif i % 4 == 1:
            more |= {"state": "ordered", "ordered_on": "2026-12-02"}
        elif i % 4 == 2:
            more |= {
                "state": "snagged",
                "snag": f"asks {line.supplier}",
                "snagged_on": "2027-05-15",
            }
        costs.append(dataclasses.replace(line, more=more, note=f"{SECRET} {i}"))
    return dataclasses.replace(p, costs=tuple(costs))


PROJECTS = {name: lived(name) for name in ("harbour-flat", "parlor-floor")}


def printed(p: Project, audience: str) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    papers = papers_for(p, audience=audience)
    for paper, sheets in paper_sheets(p, papers, today=DAY):
        for sheet in sheets:
            assert faults(sheet) == [], (paper.name, audience)
            texts = [i.text.replace("\u00a0", " ") for i in sheet.items if isinstance(i, Text)]
            found.setdefault(paper.name, []).extend([*texts, sheet.text.replace("\u00a0", " ")])
    return found


@pytest.mark.parametrize("name", PROJECTS)
def test_nothing_of_the_studio_is_on_a_clients_sheet(name: str) -> None:
    p = PROJECTS[name]
    suppliers = {c.supplier for c in p.costs if c.supplier}
    trade = {f"{c.trade_price:,.0f}" for c in p.costs if c.trade_price}
    client = {f"{c.client_price:,.0f}" for c in p.costs if c.client_price}
    for paper, texts in printed(p, "client").items():
        said = "\n".join(texts)
        assert SECRET not in said, paper
        for supplier in suppliers:
            assert not re.search(rf"\b{re.escape(supplier)}\b", said), (paper, supplier)
        for price in trade - client:
            assert not re.search(rf"(?<![\d,.]){re.escape(price)}(?![\d,.]) ?[€$]", said), paper
        assert "trade price" not in said
        assert "margin" not in said


@pytest.mark.parametrize("name", PROJECTS)
def test_an_order_names_its_own_supplier_and_no_other(name: str) -> None:
    p = PROJECTS[name]
    suppliers = {c.supplier for c in p.costs if c.supplier}
    orders = {n: t for n, t in printed(p, "trade").items() if n.startswith("purchase-order-")}
    assert orders
    for paper, texts in orders.items():
        said = "\n".join(texts)
        own = [s for s in suppliers if paper.endswith(re.sub(r"[^a-z0-9]+", "-", s.casefold()))]
        assert own, paper
        for supplier in suppliers - set(own):
            assert not re.search(rf"\b{re.escape(supplier)}\b(?! \d)", said), (paper, supplier)
        assert SECRET not in said
        assert "client price" not in said


@pytest.mark.parametrize("name", PROJECTS)
@pytest.mark.parametrize("audience", ["client", "trade", "studio"])
def test_sheets_have_names_days_in_words_and_words_of_the_glossary(
    name: str, audience: str
) -> None:
    p = PROJECTS[name]
    data = {plain(t) for t in names_of(p)}
    ids = {c.id for c in p.costs if "_" in c.id} | {r for r in p.home.finishes if "_" in r}
    for paper, texts in printed(p, audience).items():
        for text in texts:
            assert not re.search(r"\b20\d\d-\d\d-\d\d\b", text.replace("A, 2026-11-25", "")), text
            if paper != "costs":
                assert not ids & set(re.split(r"[\s,;:]+", text)), (paper, text)
    papers = papers_for(p, audience=audience)
    heads = []
    for paper in papers:
        heads += [paper.title, *(c.replace("_", " ") for t in paper.tables for c in t.columns)]
    heads = [h for h in heads if not h.startswith(("Purchase order ", "Scope of work, "))]
    assert unknown(iter(heads), data) == []


def test_cost_lines_are_read_on_paper(tmp_path: Path) -> None:
    p = read(shipped("data") / "harbour-flat").project
    papers = papers_for(p, audience="studio", names=["costs", "steps"])
    found = {paper.name: sheets for paper, sheets in paper_sheets(p, papers, today=DAY)}
    assert len(found["costs"]) <= 4
    texts = {i.text for sheet in found["costs"] for i in sheet.items if isinstance(i, Text)}
    assert "Living and dining room" in texts  # no id
    assert not {"agreed on", "dye lot"} & texts  # they stand on the sheet of steps
    assert any("scratched" in t for t in _all(found["steps"]))


def _all(sheets: tuple[Drawing, ...]) -> list[str]:
    return [i.text for sheet in sheets for i in sheet.items if isinstance(i, Text)]


def test_each_audience_gets_its_papers_and_no_other() -> None:
    p = PROJECTS["harbour-flat"]
    for audience in ("client", "trade", "studio"):
        names = {paper.name for paper in papers_for(p, audience=audience)}
        for kind, readers in PAPERS.items():
            there = any(n.startswith(kind) for n in names)
            assert there == (audience in readers), (audience, kind)
    with pytest.raises(LookupFailed, match="paper"):
        papers_for(p, audience="client", names=["purchase-order"])
    with pytest.raises(InputError, match="audience"):
        papers_for(p, audience="everyone")  # type: ignore[arg-type]


def test_files_are_written_for_one_reader(tmp_path: Path) -> None:
    p = PROJECTS["harbour-flat"]
    files = write_documents(p, audience="trade", out=tmp_path, today=DAY, names=["purchase-order"])
    folders = {f.parent.name for f in files}
    assert "supplier-1" in folders
    assert {f.suffix for f in files} == {".csv", ".xlsx", ".pdf"}
    for folder in folders:
        assert {f.stem for f in files if f.parent.name == folder} == {f"purchase-order-{folder}"}
    with pytest.raises(InputError, match="format"):
        write_documents(p, audience="client", out=tmp_path, formats=["doc"])


def test_client_files_leak_nothing_and_read_back(tmp_path: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    p = PROJECTS["parlor-floor"]
    suppliers = {c.supplier for c in p.costs if c.supplier}
    files = write_documents(p, audience="client", out=tmp_path, today=DAY, formats=["csv", "xlsx"])
    assert len(files) >= 8
    for path in files:
        if path.suffix == ".csv":
            text = path.read_bytes().decode("utf-8-sig")
            rows = list(csv.reader(io.StringIO(text)))
            assert len({len(r) for r in rows}) == 1, path
        else:
            book = openpyxl.load_workbook(path)
            text = "\n".join(
                str(c.value) for s in book for r in s.iter_rows() for c in r if c.value is not None
            )
        assert SECRET not in text, path
        for supplier in suppliers:
            assert not re.search(rf"\b{re.escape(supplier)}\b", text), (path, supplier)


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    new(tmp_path / "p", demo="harbour-flat")
    words = parser()
    given = words.parse_args(
        [
            "documents",
            str(tmp_path / "p"),
            "--for",
            "client",
            "--only",
            "approval-sheet",
            "--format",
            "csv",
        ]
    )
    assert documents(given) == 0
    (line,) = capsys.readouterr().out.split()
    assert line.endswith("approval-sheet.csv")
    assert Path(line).is_file()
    costs = tmp_path / "p" / "costs.csv"
    costs.write_text(costs.read_text("utf-8").replace(",agreed,", ",quoted,"), "utf-8")
    given = words.parse_args(
        [
            "documents",
            str(tmp_path / "p"),
            "--for",
            "trade",
            "--only",
            "purchase-order",
            "--format",
            "csv",
        ]
    )
    assert documents(given) == 0
    assert "no paper for the trade yet" in capsys.readouterr().out  # nothing is agreed
    given = words.parse_args(
        ["documents", str(tmp_path / "p"), "--for", "client", "--date", "soon"]
    )
    with pytest.raises(InputError, match="--date"):
        documents(given)


def test_a_us_home_reads_inches() -> None:
    for audience in ("client", "trade", "studio"):
        for paper, texts in printed(PROJECTS["parlor-floor"], audience).items():
            said = "\n".join(texts)
            assert not re.search(r"\d (mm|kg|m²)\b", said), (audience, paper)
    assert "84 × 37 × 32 in" in "\n".join(
        printed(PROJECTS["parlor-floor"], "client")["approval-sheet"]
    )
