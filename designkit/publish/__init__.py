"""Figures to files: the set of sheets of a project, as PNG, SVG and PDF."""

from __future__ import annotations

from designkit.publish.files import export, publish
from designkit.publish.sheet_set import NAMES, Entry, sheet_set

__all__ = ["NAMES", "Entry", "export", "publish", "sheet_set"]
