"""Two finishes edge to edge under each lamp, as seen once the eye has got used to it.

Above, how far each shifts from daylight; below, whether the two part. A finish whose
spectrum is not known is hatched under every lamp but daylight: nothing can be said.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import numpy as np

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart, wrapped
from designkit.figures.drawing import Drawing, Hatch
from designkit.figures.pages import field, rim, sheet_or_page
from designkit.figures.sheet import Area, TitleBlock
from designkit.palette import colour
from designkit.palette.lamps_on_finishes import LampShift, Parting
from designkit.palette.spectra import lamp_name

__all__ = ["daylight_words", "lamps_answer", "lamps_figure"]

NAMES = 36.0  # room for the names at the left [mm]
HIGH = 26.0  # of a swatch [mm]
NOTE = (
    "Each swatch as seen once the eye has got used to the lamp (CAT16, full adaptation); numbers: "
    "ΔE00 from daylight. Hatched: not known, the spectrum of the finish or of the glass is "
    "missing. Index: special metamerism index of CIE 15, for two that match in daylight."
)


class Under(Protocol):
    """What `designkit.analyses.of_lamps.under_lamps` gives."""

    @property
    def one(self) -> str: ...
    @property
    def two(self) -> str: ...
    @property
    def lamps(self) -> tuple[str, ...]: ...
    @property
    def shifts(self) -> tuple[tuple[LampShift, ...], tuple[LampShift, ...]]: ...
    @property
    def pairs(self) -> tuple[Parting | None, ...]: ...
    @property
    def hexes(self) -> tuple[str, str]: ...


def daylight_words(shifts: Sequence[LampShift]) -> str:
    """What tinted windows do to a finish by day, in words.

    Parameters
    ----------
    shifts : sequence of LampShift
        From `designkit.analyses.of_lamps.tinted_daylight`.

    Returns
    -------
    str
        The largest shift, or that it is not known; "" without shifts.
    """
    known = [s for s in shifts if s.difference is not None]
    if not known:
        return "seen in tinted daylight: not known" if shifts else ""
    worst = max(known, key=lambda s: s.difference or 0.0)
    text = f"seen in tinted daylight: {worst.called}, ΔE00 {worst.difference:.1f}"
    return text + ("; other glass: not known" if len(known) < len(shifts) else "")


def lamps_answer(under: Under) -> str:
    """What lamps do to two finishes, in a sentence or two.

    Parameters
    ----------
    under : UnderLamps
        From `designkit.analyses.of_lamps.under_lamps`.

    Returns
    -------
    str
        The largest shift of each, and whether they part.
    """
    said = []
    for name, row in zip((under.one, under.two), under.shifts, strict=True):
        known = [s for s in row if s.difference is not None and s.lamp != "D65"]
        if not known:
            said.append(f"{name}: not known under lamps, it has no spectrum")
            continue
        worst = max(known, key=lambda s: s.difference or 0.0)
        if worst.called == "holds its colour":
            said.append(f"{name} holds its colour under all (ΔE00 {worst.difference:.1f} at most)")
        else:
            said.append(
                f"{name} {worst.called}, most under {lamp_name(worst.lamp)} "
                f"(ΔE00 {worst.difference:.1f})"
            )
    pairs = [p for p in under.pairs if p is not None and p.index is not None]
    text = "; ".join(dict.fromkeys(said))
    text = text[:1].upper() + text[1:] + "."
    if pairs and under.one != under.two:
        if not pairs[0].match:
            text += f" They are ΔE00 {pairs[0].daylight:.0f} apart in daylight already."
        else:
            worst_pair = max(pairs, key=lambda p: p.index or 0.0)
            text += (
                f" They match in daylight; {worst_pair.called} most under "
                f"{lamp_name(worst_pair.lamp)} (index {worst_pair.index:.1f})."
            )
    return text


def lamps_figure(
    under: Under,
    *,
    block: TitleBlock | None = None,
    page: bool = False,
    question: str = "Do the two hold under lamps?",
    answer: str = "",
    paper: str = "A4",
) -> Drawing:
    """Two finishes under daylight and lamps.

    Parameters
    ----------
    under : UnderLamps
        From `designkit.analyses.of_lamps.under_lamps`.
    block : TitleBlock, optional
        What the foot says; needed for a sheet.
    page : bool
        The drawing alone, for a page.
    question, answer : str
        Heading and the sentence under it; `lamps_answer` where not given.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.

    Returns
    -------
    Drawing
        Sheet or page.

    Raises
    ------
    InputError
        A sheet has no title block.
    LookupFailed
        There is no such paper.
    """
    answer = answer or lamps_answer(under)
    text = " ".join((answer, *(_said(under, n) for n in range(len(under.lamps)))))
    return sheet_or_page(
        lambda chart, area: _draw(chart, area, under),
        high=lambda s: s.pitch(s.note) * 10 + 2 * HIGH + 14.0,
        scale="ΔE00",
        block=block,
        page=page,
        question=question,
        answer=answer,
        paper=paper,
        text=text,
    )


def _said(under: Under, n: int) -> str:
    pair = under.pairs[n]
    shifts = ", ".join(
        f"{name} {s.called}" + (f" (ΔE00 {s.difference:.1f})" if s.difference is not None else "")
        for name, s in ((under.one, under.shifts[0][n]), (under.two, under.shifts[1][n]))
    )
    two = f"; {pair.called}" if pair is not None else ""
    return f"{lamp_name(under.lamps[n])}: {shifts}{two}."


def _draw(chart: Chart, area: Area, under: Under) -> None:
    s = chart.sizes
    count = len(under.lamps)
    wide = min(40.0, (area.width - NAMES) / count)
    top = area.top
    lines = [
        wrapped(lamp_name(lamp), size=s.note, width=wide - 2.0, most=4) for lamp in under.lamps
    ]
    deep = max(len(found) for found in lines)
    high = min(HIGH, (area.top - area.bottom - s.pitch(s.note) * (deep + 7) - 10.0) / 2)
    first = top - s.pitch(s.note) * deep - 2.0
    for row, name in enumerate((under.one, under.two)):
        middle = first - row * high - high / 2
        found = wrapped(name, size=s.name, width=NAMES - 3.0, bold=True, most=3)
        y = middle + s.pitch(s.name) * (len(found) - 1) / 2 - s.name / 2
        for line in found:
            chart.text(area.left, y, line, s.name, bold=True)
            y -= s.pitch(s.name)
    low = first - 2 * high
    pitch = s.pitch(s.note)
    labels = ("shift above", "shift below", "the two", "index")
    for k, label in enumerate(labels):
        chart.text(area.left, low - pitch * (k + 1) - 0.8, label, s.note, colour=ink.GREY_2)
    for n in range(count):
        x = area.left + NAMES + n * wide
        y = top - s.note
        for line in lines[n]:
            chart.text(x, y, line, s.note)
            y -= pitch
        for row in range(2):
            fill = _hex(under, row, n)
            _swatch(chart, x, first - (row + 1) * high, wide - 2.0, high, fill)
        rim(chart, x, low, wide - 2.0, first - low)
        pair = under.pairs[n]
        words = [_shift_words(under.shifts[row][n]) for row in (0, 1)]
        if pair is None:
            words += ["not known", ""]
        elif not pair.match:
            words += ["differ", ""]
        else:
            words += [pair.called, f"{pair.index:.1f}"]
        if under.lamps[n] == "D65":
            words = ["", "", "match" if pair is not None and pair.match else words[2], ""]
        for k, word in enumerate(words):
            y = low - pitch * (k + 1) - 0.8
            shown = lettering.shorten(word, size=s.note, width=wide - 1.0)
            chart.text(x, y, shown, s.note, bold=word in ("part", "part widely"))
    y = low - pitch * (len(labels) + 1) - 2.6
    for line in wrapped(NOTE, size=s.note, width=area.width, most=3):
        chart.text(area.left, y, line, s.note, colour=ink.GREY_2)
        y -= pitch


def _shift_words(of: LampShift) -> str:
    return "not known" if of.difference is None else f"{of.difference:.1f}"


def _hex(under: Under, row: int, n: int) -> str:
    """The colour as seen; "" where it is not known."""
    lab = under.shifts[row][n].lab
    if lab is not None:
        return colour.lab_to_hex(np.asarray(lab))
    return under.hexes[row] if under.lamps[n] == "D65" else ""


def _swatch(chart: Chart, x: float, y: float, wide: float, high: float, fill: str) -> None:
    if fill:
        field(chart, x, y, wide, high, fill=fill)
        return
    ring = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
    style = ink.NEXT
    chart.items.append(
        Hatch(
            outline=ring,
            angle=style.angle,
            spacing=style.spacing * 1.6,
            weight=style.weight * 0.7,
            ink=ink.GREY_3,
        )
    )
