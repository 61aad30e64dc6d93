"""Every rule that the code names is a row of the reference tables."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from designkit.reference import all_rows

ROOT = Path(__file__).parents[2] / "designkit"
READERS = {"value", "lookup"}  # designkit.reference and Case.value


def named() -> Iterator[tuple[str, str]]:
    """(where, id) of each rule that is read or shown by a text in the source."""
    for path in sorted(ROOT.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            found: ast.expr | None = None
            if isinstance(node, ast.Call):
                called = node.func
                name = (
                    called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")
                )
                if name in READERS and node.args:
                    found = node.args[0]
                rule = next((k.value for k in node.keywords if k.arg == "rule"), None)
                if rule is not None:
                    yield from texts(path, rule)
            if found is not None:
                yield from texts(path, found)


def texts(path: Path, node: ast.expr) -> Iterator[tuple[str, str]]:
    if isinstance(node, ast.IfExp):
        yield from texts(path, node.body)
        yield from texts(path, node.orelse)
    elif isinstance(node, ast.Constant) and isinstance(node.value, str) and "." in node.value:
        yield f"{path.relative_to(ROOT).as_posix()}:{node.lineno}", node.value


NAMED = sorted(set(named()))


def test_there_are_many() -> None:
    assert len({id for _, id in NAMED}) > 200


@pytest.mark.parametrize(("where", "id"), NAMED, ids=[w for w, _ in NAMED])
def test_the_rule_is_a_row(where: str, id: str) -> None:
    assert id in all_rows(), f"{where} names {id}, which no table has"
