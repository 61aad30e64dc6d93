"""CSV files as people and spreadsheets write them."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from project_texts import COSTS, HOME, swap, write

from designkit import project
from designkit.project import ProjectErrors

HEAD = "id,item,category,likely"
SIMPLE = 'changes = [{ line = "sofa_new", quantity = 0, text = "no sofa" }]'


def folder_with(tmp_path: Path, costs: str | bytes, home: str = HOME) -> Path:
    folder = write(tmp_path, swap(SIMPLE, "", home), costs=None, quotes=None, tasks=None)
    data = costs if isinstance(costs, bytes) else costs.encode()
    (folder / "costs.csv").write_bytes(data)
    return folder


def likely(tmp_path: Path, *cells: str, mark: str = ";") -> list[Decimal]:
    rows = [f"l{n}{mark}x{mark}y{mark}{cell}" for n, cell in enumerate(cells)]
    costs = "\n".join([HEAD.replace(",", mark), *rows])
    return [line.likely for line in project.read(folder_with(tmp_path, costs)).project.costs]


def problems(tmp_path: Path, costs: str | bytes, home: str = HOME) -> list[project.Problem]:
    with pytest.raises(ProjectErrors, match="in the project") as caught:
        project.read(folder_with(tmp_path, costs, home))
    return list(caught.value.problems)


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("1 200,50", "1200.50"),
        ("1\u00a0200,50", "1200.50"),
        ("1,200.50", "1200.50"),
        ("1.200,50", "1200.50"),
        ("1'200.50", "1200.50"),
        ("€ 1200", "1200"),
        ("€1.200,50", "1200.50"),
        ("1200 €", "1200"),
        ("1200 EUR", "1200"),
        ("EUR 1 200", "1200"),
        ("0,5", "0.5"),
    ],
)
def test_an_amount_in_any_usual_spelling(tmp_path: Path, cell: str, value: str) -> None:
    assert likely(tmp_path, cell) == [Decimal(value)]


def test_the_file_tells_its_decimal_sign(tmp_path: Path) -> None:
    assert likely(tmp_path, "1.200", "12,50") == [Decimal(1200), Decimal("12.50")]
    assert likely(tmp_path, "1,200", "12.50") == [Decimal(1200), Decimal("12.50")]


def test_a_lone_ambiguous_amount_is_asked_back_with_both_readings(tmp_path: Path) -> None:
    costs = f'{HEAD}\na,x,y,"1,200"\n'
    (problem,) = problems(tmp_path, costs)
    assert (problem.path, problem.line) == ("a.likely", 2)
    assert "1200 or 1.200" in problem.allowed
    assert "[csv] decimal" in problem.mend
    home = HOME + '[csv]\ndecimal = "."\n'
    opened = project.read(folder_with(tmp_path, costs, home))
    assert opened.project.costs[0].likely == Decimal(1200)
    home = HOME + '[csv]\ndecimal = ","\n'
    opened = project.read(folder_with(tmp_path, costs, home))
    assert opened.project.costs[0].likely == Decimal("1.2")


def test_signs_that_contradict_one_another_are_asked_back(tmp_path: Path) -> None:
    costs = f'{HEAD}\na,x,y,"12,50"\nb,x,y,"12.50"\nc,x,y,"1.200"\n'
    (problem,) = problems(tmp_path, costs)
    assert problem.path == "c.likely"


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_the_delimiter_is_told_by_the_header(tmp_path: Path, mark: str) -> None:
    assert likely(tmp_path, "12", mark=mark) == [Decimal(12)]


def test_the_project_may_say_the_delimiter(tmp_path: Path) -> None:
    home = HOME + '[csv]\ndelimiter = "/"\n'
    opened = project.read(folder_with(tmp_path, "id/item/category/likely\na/x/y/3\n", home))
    assert opened.project.costs[0].likely == 3


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_encodings_of_spreadsheets(tmp_path: Path, encoding: str, end: str) -> None:
    costs = f"{HEAD}{end}a,Fauteuil d’été,seating,€ 12{end}"
    opened = project.read(folder_with(tmp_path, costs.encode(encoding)))
    assert opened.project.costs[0].item == "Fauteuil d’été"


def test_another_encoding_is_told_with_its_line(tmp_path: Path) -> None:
    (problem, *_) = problems(tmp_path, f"{HEAD}\na,été,y,12\n".encode("latin-1"))
    assert problem.path == "costs.csv line 2"
    assert problem.mend == "save it again as CSV UTF-8"


def test_unknown_columns_are_kept(tmp_path: Path) -> None:
    costs = f"{HEAD},Colour,lead time\na,x,y,3,NaN,6\n"
    opened = project.read(folder_with(tmp_path, costs))
    line = opened.project.costs[0]
    assert line.more == {"colour": "NaN"}
    assert line.lead_time == 6
    assert [p.path for p in opened.problems] == ["colour"]


def test_text_is_never_a_number_that_is_none(tmp_path: Path) -> None:
    opened = project.read(folder_with(tmp_path, f"{HEAD},supplier,note\na,NA,null,3,nan,\n"))
    line = opened.project.costs[0]
    assert (line.item, line.category, line.supplier, line.note) == ("NA", "null", "nan", "")
    for word in ("nan", "inf", "NA", "#N/A", "-"):
        (problem,) = problems(tmp_path, f"{HEAD}\na,x,y,{word}\n")
        assert problem.path == "a.likely"


def test_quoted_cells_may_hold_lines_and_rows_keep_their_numbers(tmp_path: Path) -> None:
    costs = f'{HEAD},note\na,"two\nlines",y,3,"says ""yes"""\n\nb,x,y,zero,\n'
    (problem,) = problems(tmp_path, costs)
    assert (problem.path, problem.line) == ("b.likely", 5)
    opened = project.read(folder_with(tmp_path, costs.replace("zero", "0")))
    assert opened.project.costs[0].item == "two\nlines"
    assert opened.project.costs[0].note == 'says "yes"'
    assert [line.row for line in opened.project.costs] == [2, 5]


@pytest.mark.parametrize(
    ("costs", "path", "words"),
    [
        ("id,item,likely\na,x,3\n", "category", "no such column"),
        ("id,item,category,price\na,x,y,3\n", "likely", "no such column"),
        ("", "id", "no such column"),
        (f"{HEAD},item\na,x,y,3,z\n", "item", "twice in the header"),
        (f"{HEAD}\na,x,y,3,4\n", "row", "5 cells"),
        (f'{HEAD}\na,"x,y,3\n', "row", "unexpected end of data"),
        (f"{HEAD}\na,x,y,3\na,x,y,4\n", "a.id", "a"),
        (f"{HEAD}\na,x,y,\n", "a.likely", "nothing"),
        (f"{HEAD},low,high\na,x,y,3,4,5\n", "a.low", "4"),
        (f"{HEAD},low,high\na,x,y,3,2,1\n", "a.high", "1"),
        (f"{HEAD},quantity\na,x,y,3,0\n", "a.quantity", "0"),
        (f"{HEAD},tax\na,x,y,3,21\n", "a.tax", "21"),
        (f"{HEAD},status\na,x,y,3,sure\n", "a.status", "sure"),
        (f"{HEAD},kind\na,x,y,3,gift\n", "a.kind", "gift"),
        (f"{HEAD},alternative_of\na,x,y,3,a\n", "a.alternative_of", "a"),
        (f"{HEAD}\na,x,y,$ 3\n", "a.likely", "$ 3"),
        (f"{HEAD},currency\na,x,y,3,XXY\n", "a.currency", "XXY"),
        (f"{HEAD},currency\na,x,y,3,USD\n", "a.rate", "nothing"),
        (f"{HEAD},currency,rate,rate_date\na,x,y,3,USD,0.9,May\n", "a.rate_date", "May"),
    ],
)
def test_what_is_wrong_in_a_table(tmp_path: Path, costs: str, path: str, words: str) -> None:
    found = {p.path: p for p in problems(tmp_path, costs)}
    assert words in found[path].given
    assert found[path].file == "costs.csv"
    assert found[path].line
    assert found[path].allowed
    assert found[path].mend


def test_tax_is_a_rate_or_a_share(tmp_path: Path) -> None:
    opened = project.read(folder_with(tmp_path, f"{HEAD},tax\na,x,y,3,21%\nb,x,y,3,0.21\n"))
    assert [line.tax for line in opened.project.costs] == [Decimal("0.21"), Decimal("0.21")]


def test_money_that_comes_back_stands_on_four_kinds(tmp_path: Path) -> None:
    rows = "\n".join(f"{kind},x,y,-3,{kind}" for kind in ("discount", "credit", "return", "sale"))
    opened = project.read(folder_with(tmp_path, f"{HEAD},kind\n{rows}\n"))
    assert [line.likely for line in opened.project.costs] == [-3] * 4
    (problem,) = problems(tmp_path, f"{HEAD},kind\na,x,y,-3,purchase\n")
    assert problem.path == "a.likely"
    assert "discount, credit, return, sale" in problem.mend
    (problem,) = problems(tmp_path, f"{HEAD},kind\na,x,y,3,discount\n")
    assert "-3" in problem.mend
    opened = project.read(folder_with(tmp_path, f"{HEAD},kind\na,x,y,(3.50),credit\n"))
    assert opened.project.costs[0].likely == Decimal("-3.50")


def test_another_currency_has_a_dated_rate(tmp_path: Path) -> None:
    costs = f"{HEAD},currency,rate,rate_date\na,x,y,$ 3,usd,0.92,2026-03-01\n"
    line = project.read(folder_with(tmp_path, costs)).project.costs[0]
    assert (line.currency, line.rate, line.rate_date) == ("USD", Decimal("0.92"), "2026-03-01")


def test_quotes_and_tasks_are_checked(tmp_path: Path) -> None:
    quotes = (
        "scope,contractor,line,amount,included,valid_until\n"
        "painting,Contractor A,walls,-1,yes,2026-03-01\n"
        "painting,Contractor A,walls,1,maybe,soon\n"
        "painting,Contractor B,walls,1,yes,\n"
        "painting,Contractor B,walls,2,yes,\n"
        "painting,Contractor B,rebate for both rooms,-50,yes,\n"
    )
    tasks = "id,task,low,likely,high,after\na,A,3,2,1,\nb,B,,-1,,\nc,C,,1,,c\n"
    with pytest.raises(ProjectErrors, match="in the project") as caught:
        project.read(write(tmp_path, costs=COSTS, quotes=quotes, tasks=tasks))
    found = {(p.file, p.line, p.path) for p in caught.value.problems}
    assert found == {
        ("quotes.csv", 2, "amount"),
        ("quotes.csv", 3, "included"),
        ("quotes.csv", 5, "line"),
        ("tasks.csv", 2, "a.low"),
        ("tasks.csv", 2, "a.high"),
        ("tasks.csv", 3, "b.likely"),
        ("tasks.csv", 4, "c.after"),
    }


def test_a_near_miss_of_a_scope_line_is_a_remark(tmp_path: Path) -> None:
    quotes = "scope,contractor,line,amount\npainting,Contractor A,wall,1\n"
    opened = project.read(write(tmp_path, quotes=quotes))
    assert [(p.file, p.given) for p in opened.problems] == [("quotes.csv", "'wall'")]
