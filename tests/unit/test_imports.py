"""Imports point down the layers; inside layer 2 only leftwards."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2] / "designkit"

LAYER = {
    "units": 0,
    "errors": 0,
    "shipped": 0,
    "days": 0,
    "whole": 0,
    "model": 1,
    "reference": 1,
    "palette": 2,
    "plan": 2,
    "scene": 2,
    "lighting": 2,
    "balance": 2,
    "takeoff": 2,
    "costs": 2,
    "picturewall": 2,
    "schedule": 2,
    "project": 3,
    "analyses": 3,
    "documents": 3,
    "figures": 4,
    "publish": 4,
    "studies": 5,
    "cli": 5,
}
# What a module of layer 2 may import beside layers 0 and 1.
LEFT_OF = {
    "palette": set(),
    "plan": set(),
    "scene": {"palette", "plan"},
    "lighting": {"palette", "plan", "scene"},
    "balance": {"palette", "plan", "scene", "lighting"},
    "takeoff": {"palette", "plan"},
    "costs": set(),
    "picturewall": {"plan"},
    "schedule": set(),
}
SHOWING = {"matplotlib", "ipywidgets", "anywidget", "IPython", "traitlets", "jupyterlab"}


def imports(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found.add(node.module)
            if node.module == "designkit":
                found |= {f"designkit.{a.name}" for a in node.names}
    return found


def files() -> list[tuple[str, Path]]:
    return [
        (path.relative_to(ROOT).parts[0].removesuffix(".py"), path)
        for path in sorted(ROOT.rglob("*.py"))
        if path != ROOT / "__init__.py" and path.name != "__main__.py"
    ]


@pytest.mark.parametrize(("module", "path"), files(), ids=lambda v: getattr(v, "name", v))
def test_imports_point_down(module: str, path: Path) -> None:
    assert module in LAYER, f"{module} has no layer"
    for name in imports(path):
        head = name.split(".")
        if head[0] == "designkit" and len(head) > 1 and head[1] != module:
            other = head[1]
            assert LAYER[other] <= LAYER[module], f"{path.name} imports {name}, upwards"
            if LAYER[module] == 2 and LAYER[other] == 2:
                assert other in LEFT_OF[module], f"{path.name} imports {name}, sideways"
            if {module, other} == {"project", "analyses"}:
                assert module == "analyses", "project is files only"
        if LAYER[module] <= 3:
            assert head[0] not in SHOWING, f"{path.name} imports {name}"
        if head[0] == "pydantic":
            assert module == "project", f"{path.name} imports pydantic"
        if head[0] == "matplotlib":
            assert module == "figures", f"{path.name} imports matplotlib"


def test_no_star_imports() -> None:
    for _, path in files():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert all(a.name != "*" for a in node.names), path


def test_importing_designkit_brings_nothing_heavy() -> None:
    code = (
        "import designkit, sys;"
        "print([m for m in ('numpy', 'shapely', 'pandas', 'matplotlib', 'colour', 'pydantic')"
        " if m in sys.modules])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


def test_modules_stay_readable() -> None:
    long = {p.name: n for _, p in files() if (n := len(p.read_text().splitlines())) > 800}
    assert long == {}
