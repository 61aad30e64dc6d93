"""Notebooks are stored without outputs, with a python3 kernel, one folded line each."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
def test_stored_form(path: Path) -> None:
    book = json.loads(path.read_text(encoding="utf-8"))
    assert book["metadata"]["kernelspec"]["name"] == "python3"
    code = [c for c in book["cells"] if c["cell_type"] == "code"]
    assert code
    for cell in code:
        assert cell["outputs"] == []
        assert cell["execution_count"] is None
        assert cell["metadata"]["jupyter"]["source_hidden"] is True
        assert len("".join(cell["source"]).splitlines()) == 1
