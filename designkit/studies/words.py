"""What all studies say in the same way: brief, findings, sources, fields."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from designkit.analyses.of_asked import asked
from designkit.analyses.of_brief import BriefLine
from designkit.analyses.of_layout import LayoutResult
from designkit.figures.furniture_sheet import finding_sentence
from designkit.model import Finding, Home, Project
from designkit.reference import all_rows
from designkit.units import IMPERIAL, read

__all__ = [
    "brief_items",
    "finding_rows",
    "layout_brief",
    "length_control",
    "length_of",
    "letters_of",
    "source_of",
]

_OF_A_LAYOUT = ("seats", "diners", "storage", "keeps", "route", "view", "screen", "turning")


def brief_items(lines: Iterable[BriefLine]) -> list[dict[str, str]]:
    """The brief as the page shows it: a square, a state, a text with its number.

    Parameters
    ----------
    lines : iterable of BriefLine
        Of a result.

    Returns
    -------
    list of dict of str to str
        State and text of each.
    """
    return [
        {
            "state": line.state,
            "text": f"{line.text} ({line.measured})" if line.measured else line.text,
        }
        for line in lines
    ]


def layout_brief(project: Project, layout: LayoutResult) -> list[dict[str, str]]:
    """What the brief asks of a layout, as the page shows it at its head.

    Parameters
    ----------
    project : Project
        With the home that the layout furnishes.
    layout : LayoutResult
        The layout.

    Returns
    -------
    list of dict of str to str
        As `brief_items`: seats, places at the table, shelf, what is kept, ways and views.
    """
    lines = asked(project, layout=layout)
    return brief_items(line for line in lines if line.kind in _OF_A_LAYOUT)


def source_of(rule: str) -> str:
    """Where a rule comes from, in a few words.

    Parameters
    ----------
    rule : str
        Id of the rule.

    Returns
    -------
    str
        The id in words where there is no such rule.
    """
    row = all_rows().get(rule)
    if row is None:
        return rule.replace("_", " ")
    where = f"rule {row.locator}, " if row.locator[:1].isalpha() and len(row.locator) < 5 else ""
    kind = "common practice" if row.kind == "common practice" else row.source
    return f"{where}{kind}"


def finding_rows(
    findings: Sequence[Finding], *, home: Home, numbered: Sequence[Finding] = ()
) -> list[dict[str, Any]]:
    """Findings as rows: number on the drawing, state, sentence, source.

    Parameters
    ----------
    findings : sequence of Finding
        In the order that they are shown.
    home : Home
        For its units.
    numbered : sequence of Finding, optional
        Those that have a number on the drawing, in order.

    Returns
    -------
    list of dict of str to Any
        One for each finding.
    """
    numbers = {id(f): str(n) for n, f in enumerate(numbered, start=1)}
    return [
        {
            "n": numbers.get(id(f), ""),
            "state": f.verdict,
            "text": finding_sentence(f, units=home.units),
            "source": source_of(f.rule),
        }
        for f in findings
    ]


def length_control(
    id: str, label: str, *, home: Home, low: float, high: float, more: bool = False
) -> dict[str, Any]:
    """A measuring scale for a length: 10 mm or ½ in a step.

    Parameters
    ----------
    id : str
        Of the control.
    label : str
        What the person reads.
    home : Home
        For its units.
    low, high : float
        Its ends. [m]
    more : bool, optional
        Whether it stands in the folded part.

    Returns
    -------
    dict of str to Any
        For the page.
    """
    if home.units in IMPERIAL:
        step = 0.0127
        unit: dict[str, Any] = {"unit": "ft-in"}
    else:
        step = 0.01
        unit = {"unit": "mm", "factor": 1000}
    steps = max(1, round((high - low) / step))
    return {
        "kind": "scale",
        "id": id,
        "label": label,
        "min": low,
        "max": low + steps * step,
        "step": step,
        "more": more,
        **unit,
    }


def length_of(text: str, *, home: Home, what: str) -> float:
    """A typed length in metres; a wrong one says how to write it.

    Parameters
    ----------
    text : str
        As typed.
    home : Home
        For its units.
    what : str
        What is measured, for the sentence.

    Returns
    -------
    float
        [m]
    """
    return read(text, units=home.units, what=what)


def letters_of(ids: Sequence[str]) -> dict[str, str]:
    """A letter an option, in the order of the file.

    Parameters
    ----------
    ids : sequence of str
        Of the options.

    Returns
    -------
    dict of str to str
        From A; numbers after Z.

    Examples
    --------
    >>> letters_of(["wide", "narrow"])
    {'wide': 'A', 'narrow': 'B'}
    """
    return {id: chr(ord("A") + i) if i < 26 else str(i + 1) for i, id in enumerate(ids)}
