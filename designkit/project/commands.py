"""What the commands new, check, schema and rules do."""

from __future__ import annotations

import argparse
import shutil
import sys
import textwrap
from collections.abc import Sequence
from pathlib import Path

from designkit.errors import FileFormatError, LookupFailed
from designkit.model import Home

__all__ = ["check", "new", "rules", "schema"]


def new(given: argparse.Namespace) -> int:
    """Make a project folder and say what to do next.

    Parameters
    ----------
    given : Namespace
        folder, demo.

    Returns
    -------
    int
        0.
    """
    from designkit.project.starting import new as make
    from designkit.shipped import demos

    place = make(given.folder, demo=given.demo)
    print(f"Made {place}.")
    if not given.demo and demos():
        print(f"It holds one room to measure over. Demos to start from: {', '.join(demos())}.")
    print(f"Next: open {place / 'project.toml'}, then designkit check {given.folder}")
    return 0


def check(given: argparse.Namespace) -> int:
    """Say all that is wrong in a project, or what it holds.

    Parameters
    ----------
    given : Namespace
        folder.

    Returns
    -------
    int
        0 where all is right, 1 where something has to be mended.
    """
    from designkit.costs.lines import problems
    from designkit.costs.quotes import quote_problems
    from designkit.project.problems import ProjectErrors
    from designkit.project.reading import read

    try:
        opened = read(given.folder)
    except ProjectErrors as errors:
        print(errors)
        return 1
    home = opened.project.home
    money = problems(opened.project.costs, money=home.money)
    money += quote_problems(opened.project.quotes, home=home)
    lamps = _photometric_problems(home, opened.folder)
    for where, found in (("costs and quotes", money), ("photometric files", lamps)):
        if found:
            print(f"{len(found)} problem{'s' if len(found) != 1 else ''} in {where}:")
            for problem in found:
                print(problem)
    if money or lamps:
        return 1
    print(f"{home.name}: nothing to mend.")
    for sentence in (opened.upgraded, opened.read_only):
        if sentence:
            print(sentence)
    counts = [
        (len(home.rooms), "room", "rooms"),
        (len(home.openings), "opening", "openings"),
        (len(home.services), "service", "services"),
        (len(home.pieces), "piece", "pieces"),
        (len(home.fixtures), "fixture", "fixtures"),
        (len(home.finishes), "finish", "finishes"),
        (len(home.layouts), "layout", "layouts"),
        (len(home.scenarios), "scenario", "scenarios"),
        (len(opened.project.costs), "cost line", "cost lines"),
        (len(opened.project.quotes), "quote line", "quote lines"),
        (len(opened.project.tasks), "task", "tasks"),
    ]
    parts = [f"{count} {one if count == 1 else many}" for count, one, many in counts if count]
    if parts:
        print(", ".join(parts) + ".")
    if opened.problems:
        print("To look at:")
        for remark in opened.problems:
            print(f"  {remark}")
    return 0


def _photometric_problems(home: Home, folder: Path) -> list[FileFormatError]:
    """What is wrong with the files that the fixtures name; one that is missing is named before."""
    names = dict.fromkeys(f.photometry for f in home.fixtures.values() if f.photometry)
    if not names:
        return []
    from designkit.lighting.photometry import read_photometry

    found = []
    for name in names:
        try:
            read_photometry(folder / "photometry" / Path(name).name)
        except FileFormatError as error:
            found.append(error)
    return found


def schema(given: argparse.Namespace) -> int:
    """List the keys of the project files.

    Parameters
    ----------
    given : Namespace
        key.

    Returns
    -------
    int
        0.
    """
    from designkit.project.describing import schema as describe

    rows = describe(given.key)
    file = ""
    for row in rows:
        if row.file != file:
            print(f"{row.file}" if not file else f"\n{row.file}")
            file = row.file
        print(f"  {row.key}")
        print(f"      {row.meaning}")
        print(f"      allowed: {row.allowed}; without it: {row.default}")
    return 0


def rules(given: argparse.Namespace) -> int:
    """List reference values with their sources.

    Parameters
    ----------
    given : Namespace
        words.

    Returns
    -------
    int
        0.

    Raises
    ------
    LookupFailed
        No row holds these words.
    """
    from designkit import reference

    words = [word.lower() for word in given.words]
    rows = [
        (row.id, row.name, f"{row.value} {row.unit}".strip(), row.kind, row.source)
        for row in reference.all_rows().values()
        if all(
            word in f"{row.id} {row.name} {row.kind} {row.source} {row.note}".lower()
            for word in words
        )
    ]
    if not rows:
        raise LookupFailed(
            "rules",
            given=" ".join(given.words) or "none",
            allowed=f"words of {len(reference.all_rows())} rows",
            mend="use fewer words, as in `designkit rules route`",
        )
    _print_table(("id", "name", "value", "kind", "source"), rows)
    return 0


def _print_table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Columns under one another; the last two share what width is left."""
    width = shutil.get_terminal_size((120, 40)).columns if sys.stdout.isatty() else 160
    limit = max(20, width // 3)
    widths = [min(limit, max(len(row[n]) for row in [head, *rows])) for n in range(len(head) - 1)]
    last = max(20, width - sum(widths) - 2 * len(widths))
    for row in [head, *rows]:
        cells = [textwrap.wrap(cell, w) or [""] for cell, w in zip(row, [*widths, last])]
        for line in range(max(map(len, cells))):
            parts = [cell[line] if line < len(cell) else "" for cell in cells]
            print("  ".join(p.ljust(w) for p, w in zip(parts, [*widths, last])).rstrip())
