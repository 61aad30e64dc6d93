"""Public docstrings name what the code takes, gives and raises."""

from __future__ import annotations

import ast
import inspect
import re
import textwrap
from collections.abc import Iterator
from pathlib import Path

import pytest
from numpydoc.docscrape import NumpyDocString

ROOT = Path(__file__).parents[2] / "designkit"
# Widgets: their arguments are the framework's.
FRAMEWORK = {"page.py", "board.py"}
# Modules that serve one other module: their functions are nobody else's.
INNER = {
    "analyses/commands.py",
    "costs/drivers.py",
    "costs/tables.py",
    "figures/chart.py",
    "figures/furniture_sheet.py",
    "figures/moves.py",
    "figures/plan.py",
    "figures/planmarks.py",
    "figures/walls.py",
    "plan/layouts/kernels.py",
    "plan/layouts/loops.py",
    "project/filling.py",
    "project/import_columns.py",
    "publish/commands.py",
    "studies/words.py",
}

Function = ast.FunctionDef


def public_functions() -> Iterator[tuple[Path, Function]]:
    """Functions that a module lists in `__all__`, by reading and not by importing."""
    for path in sorted(ROOT.rglob("*.py")):
        if path.name in FRAMEWORK:
            continue
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names: set[str] = set()
        for node in tree.body:
            if (
                isinstance(node, ast.Assign)
                and isinstance(node.value, ast.List | ast.Tuple)
                and any(isinstance(t, ast.Name) and t.id == "__all__" for t in node.targets)
            ):
                names = {e.value for e in node.value.elts if isinstance(e, ast.Constant)}
        for node in tree.body:
            if isinstance(node, ast.FunctionDef) and node.name in names:
                yield path, node


FUNCTIONS = [
    (path, function)
    for path, function in public_functions()
    if path.relative_to(ROOT).as_posix() not in INNER
]
IDS = [f"{p.relative_to(ROOT).as_posix()}:{f.name}" for p, f in FUNCTIONS]


def parsed(function: Function) -> NumpyDocString:
    text = ast.get_docstring(function)
    assert text, "no docstring"
    return NumpyDocString(inspect.cleandoc(text))


@pytest.mark.parametrize(("path", "function"), FUNCTIONS, ids=IDS)
@pytest.mark.filterwarnings("ignore")
def test_docstring(path: Path, function: Function) -> None:
    doc = parsed(function)
    summary = " ".join(doc["Summary"]).strip()
    assert summary.endswith((".", ":")), "the summary is a sentence"
    arguments = [
        a.arg
        for a in (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)
        if a.arg not in ("self", "cls")
    ]
    if function.args.vararg:
        arguments.append("*" + function.args.vararg.arg)
    named = [n.strip() for p in doc["Parameters"] for n in p.name.split(",")]
    short = not named and len(arguments) <= 2
    if not short:
        assert sorted(named) == sorted(arguments), "parameters by their names"
    returns = function.returns
    nothing = returns is None or (isinstance(returns, ast.Constant) and returns.value is None)
    if not nothing and not short:
        assert doc["Returns"] or doc["Yields"], "what it gives"
    raised = {
        node.exc.func.id
        for node in ast.walk(function)
        if isinstance(node, ast.Raise)
        and isinstance(node.exc, ast.Call)
        and isinstance(node.exc.func, ast.Name)
        and not node.exc.func.id.startswith("_")
    } - {"AssertionError", "NotImplementedError"}
    if not short:
        told = {p.type or p.name for p in doc["Raises"]}
        assert raised <= told, "what it raises"


def test_units_stand_in_the_docstrings() -> None:
    """A float that is a length, an area or light says its unit in square brackets."""
    physical = re.compile(
        r"^(width|height|depth|length|area|distance|sill|head|lumens|lux|watts|drop|track)$"
    )
    missing = []
    for path, function in FUNCTIONS:
        doc = parsed(function)
        notes = {
            a.arg: ast.unparse(a.annotation)
            for a in (*function.args.args, *function.args.kwonlyargs)
            if a.annotation is not None
        }
        for entry in doc["Parameters"]:
            for name in (n.strip() for n in entry.name.split(",")):
                if physical.match(name) and notes.get(name, "").startswith("float"):
                    text = textwrap.dedent(" ".join(entry.desc))
                    if not re.search(r"\[[^\]]+\]", text):
                        missing.append(f"{path.name}:{function.name}:{name}")
    assert missing == []
