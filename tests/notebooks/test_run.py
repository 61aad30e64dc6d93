"""Each notebook runs from top to bottom on its own."""

from __future__ import annotations

from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient

NOTEBOOKS = sorted((Path(__file__).parents[2] / "notebooks").glob("*.ipynb"))


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda p: p.stem)
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_runs(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("DESIGNKIT_PROJECT", raising=False)
    book = nbformat.read(path, as_version=4)
    client = NotebookClient(book, timeout=120, resources={"metadata": {"path": str(tmp_path)}})
    client.execute()
    code = next(c for c in book.cells if c.cell_type == "code")
    (output,) = code.outputs
    assert "application/vnd.jupyter.widget-view+json" in output.data
