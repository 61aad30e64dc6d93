"""Compiled loops for the search, where numba is there; the answers are the same."""

from __future__ import annotations

import importlib.util

__all__ = ["available"]


def available() -> bool:
    """Whether numba can be imported.

    Returns
    -------
    bool
        True where the extra "fast" is installed.
    """
    return importlib.util.find_spec("numba") is not None
