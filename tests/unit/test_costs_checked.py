"""What `check` says of costs, which columns of costs.csv are read, what costs exports."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pytest

import designkit.costs
from designkit.cli import main
from designkit.project import new, read
from designkit.reference import table
from designkit.reference.buildings import counts_as_old

ROOT = Path(designkit.costs.__file__).parents[1]


def test_check_says_what_is_wrong_with_costs(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "p"
    new(folder, demo="harbour-flat")
    assert main(["check", str(folder)]) == 0
    capsys.readouterr()
    toml = folder / "project.toml"
    text = toml.read_text(encoding="utf-8")
    assert "trades = 0.12" in text
    toml.write_text(text.replace("trades = 0.12", "trade = 0.12", 1), encoding="utf-8")
    assert main(["check", str(folder)]) == 1
    said = capsys.readouterr().out
    assert "1 problem in costs and quotes" in said
    assert "money.contingency.trade" in said
    assert "write trades" in said


def test_columns_of_orders_are_not_called_unread(tmp_path: Path) -> None:
    folder = tmp_path / "p"
    new(folder, demo="harbour-flat")
    costs = folder / "costs.csv"
    lines = costs.read_text(encoding="utf-8").splitlines()
    lines[0] += ",deposit,shelf_mark"
    lines[1:] = [line + ",," for line in lines[1:]]
    costs.write_text("\n".join(lines) + "\n", encoding="utf-8")
    remarks = [r.path for r in read(folder).problems]
    assert "shelf_mark" in remarks
    assert not {"state", "deposit", "agreed_on"} & set(remarks)


def test_every_further_column_that_is_read_stands_in_the_table() -> None:
    listed = {row["column"] for row in table("line-columns")}
    read_ = set()
    for part in ("documents", "costs"):
        for path in (ROOT / part).glob("*.py"):
            text = path.read_text(encoding="utf-8")
            read_ |= set(re.findall(r'(?:line|c)\.more\.get\("(\w+)"', text))
            read_ |= set(re.findall(r'"(\w+_(?:on|by))",?$', text, re.M))
    assert len(read_) > 15
    assert read_ <= listed


def test_costs_exports_all_its_parts() -> None:
    for part in ("steering", "cash", "fees", "condition", "candidates"):
        module = importlib.import_module(f"designkit.costs.{part}")
        assert set(module.__all__) <= set(designkit.costs.__all__), part


def test_old_is_defined_once() -> None:
    found = [
        path.name for path in ROOT.rglob("*.py") if "def counts_as_old(" in path.read_text("utf-8")
    ]
    assert found == ["buildings.py"]
    assert callable(counts_as_old)
