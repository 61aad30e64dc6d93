"""The command that writes figures."""

from __future__ import annotations

import argparse
from pathlib import Path

from designkit.project import read
from designkit.project.dates import command_day
from designkit.publish.files import FORMATS, publish
from designkit.publish.sheet_set import NAMES

__all__ = ["figures"]


def figures(given: argparse.Namespace) -> int:
    """Write all figures of a project.

    Parameters
    ----------
    given : Namespace
        folder, out, layout, only, formats, dpi, date.

    Returns
    -------
    int
        0.

    Raises
    ------
    InputError
        The date cannot be read.
    """
    day = command_day(given.date)
    opened = read(given.folder)
    out = Path(given.out) if given.out else Path(given.folder) / "issued" / "figures"
    files = publish(
        opened.project,
        out=out,
        folder=opened.folder,
        names=given.only or NAMES,
        layout=given.layout,
        formats=given.formats or FORMATS,
        dpi=given.dpi,
        today=day,
    )
    for path in files:
        print(path)
    return 0
