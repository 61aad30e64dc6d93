"""Which lines of a TOML text hold which keys.

The standard reader gives values without lines. Messages need the line of a
key, and adding or taking out an entry needs the lines of a table, so this
index reads the outline of a text that is already known to be valid.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass

__all__ = ["Span", "index", "line_of", "split_lines"]

Key = str | int


@dataclass(frozen=True, kw_only=True)
class Span:
    """A header or a key with its value: first line and line after the last, from 0."""

    path: tuple[Key, ...]
    header: bool
    start: int
    end: int
    table: tuple[Key, ...]  # path of the table that holds it (of a header: itself)


_KEY = re.compile(r"""\s*("(?:[^"\\]|\\.)*"|'[^']*'|[A-Za-z0-9_-]+)\s*(\.)?""")


def _keys(text: str, place: int) -> tuple[tuple[str, ...], int]:
    """The dotted key at `place`, and the place behind it."""
    found: list[str] = []
    while True:
        match = _KEY.match(text, place)
        if match is None:
            return tuple(found), place
        word = match[1]
        if word[0] == '"':
            word = str(tomllib.loads(f"x = {word}")["x"])
        elif word[0] == "'":
            word = word[1:-1]
        found.append(word)
        place = match.end()
        if not match[2]:
            return tuple(found), place


_STEP = re.compile(
    r'''"""(?:[^\\]|\\.)*?"{3,5}|\'\'\'.*?\'{3,5}|"(?:[^"\\\n]|\\.)*"|'[^'\n]*'|\#[^\n]*|[\[\]{}]|\n''',
    re.DOTALL,
)


def _value_end(text: str, place: int) -> int:
    """Place of the newline (or end) that closes the value that begins at `place`."""
    depth = 0
    for match in _STEP.finditer(text, place):
        step = match[0]
        if step in ("[", "{"):
            depth += 1
        elif step in ("]", "}"):
            depth -= 1
        elif step == "\n" and depth <= 0:
            return match.start()
    return len(text)


def index(text: str) -> list[Span]:
    """List the headers and keys of a valid TOML text in their order.

    Parameters
    ----------
    text : str
        The file.

    Returns
    -------
    list of Span
        One for each header and each key at the start of a line.

    Examples
    --------
    >>> [span.path for span in index("[a.b]\\nc = 1")]
    [('a', 'b'), ('a', 'b', 'c')]
    """
    spans: list[Span] = []
    counts: dict[tuple[Key, ...], int] = {}
    table: tuple[Key, ...] = ()
    place, line = 0, 0
    while place < len(text):
        stop = text.find("\n", place)
        stop = len(text) if stop < 0 else stop
        head = text[place:stop].lstrip()
        if not head.strip() or head.startswith("#"):
            place, line = stop + 1, line + 1
            continue
        if head.startswith("["):
            many = head.startswith("[[")
            names, _ = _keys(text, text.index("[", place) + (2 if many else 1))
            table = ()
            for depth, name in enumerate(names):
                table = (*table, name)
                last = depth == len(names) - 1
                if many and last:
                    counts[table] = counts.get(table, -1) + 1
                if table in counts:
                    table = (*table, counts[table])
            spans.append(Span(path=table, header=True, start=line, end=line + 1, table=table))
        else:
            names, behind = _keys(text, place)
            stop = _value_end(text, text.index("=", behind) + 1)
            end = line + text.count("\n", place, stop) + 1
            spans.append(
                Span(path=(*table, *names), header=False, start=line, end=end, table=table)
            )
            line = end - 1
        place, line = stop + 1, line + 1
    return spans


def line_of(spans: Sequence[Span], path: tuple[Key, ...]) -> int | None:
    """Line number, from 1, of a path or of the nearest thing that holds it.

    Parameters
    ----------
    spans : sequence of Span
        From `index`.
    path : tuple
        Keys and positions.

    Returns
    -------
    int or None
        None where nothing of it is in the file.

    Examples
    --------
    >>> line_of(index("[a.b]\\nc = 1"), ("a", "b", "c", 0))
    2
    """
    for length in range(len(path), 0, -1):
        short = path[:length]
        best = next((span for span in spans if span.path == short), None)
        if best is None:  # a table that only its sub-tables name
            best = next((span for span in spans if span.path[:length] == short), None)
        if best is not None:
            return best.start + 1
    return None


def split_lines(text: str) -> list[str]:
    """Lines of a TOML text with their ends.

    Only a line feed ends a line in TOML: what else Unicode counts as an end (the
    next-line character, a line separator, a form feed) may stand in a string.

    Parameters
    ----------
    text : str
        The file.

    Returns
    -------
    list of str
        Joined they are the text.

    Examples
    --------
    >>> split_lines('a = "one\\u2028line"\\nb = 2')
    ['a = "one\\u2028line"\\n', 'b = 2']
    """
    *whole, last = text.split("\n")
    return [line + "\n" for line in whole] + ([last] if last else [])
