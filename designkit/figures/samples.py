"""Sample against sample: two finishes edge to edge, their numbers, and what lies between.

Nothing lies on a swatch. Each carries a small piece of the other, as it would be
seen against it. Below, both stand on one scale of L* with their ±.
"""

from __future__ import annotations

from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import PAGE_WIDTH, Chart, open_sheet, sizes_for, whole_area, wrapped
from designkit.figures.drawing import Circle, Drawing
from designkit.figures.moving import moved
from designkit.figures.pages import field, rim
from designkit.figures.sheet import Area, TitleBlock
from designkit.palette.contrast import Edge, EdgeLimits
from designkit.palette.finishes import NOT_SAID, FinishValue
from designkit.palette.undertones import Undertone

__all__ = ["samples_answer", "samples_figure"]

HIGH = 44.0  # of a swatch [mm]
PIECE = 12.0  # of one finish on the other [mm]


def samples_answer(edge: Edge, *, finishes: tuple[FinishValue, FinishValue], quarrel: str) -> str:
    """What two samples say side by side, in a sentence.

    Parameters
    ----------
    edge : Edge
        Of the two, from `designkit.palette.contrast.edges`.
    finishes : tuple of FinishValue
        The two.
    quarrel : str
        From `designkit.palette.undertones.clash`.

    Returns
    -------
    str
        The edge, its ±, and the undertones.
    """
    one, two = finishes
    sure = "" if edge.sure else ", which may be called otherwise within the ±"
    tones = {
        "clash": "their undertones clash",
        "no clash": "their undertones do not clash",
        "not known": "of their undertones too little is known",
    }.get(quarrel.split(",")[0], quarrel)
    if "within" in quarrel:
        tones += ", but the ± may turn that"
    return (
        f"{one.name[:1].upper()}{one.name[1:]} against {two.name}: {edge.called}{sure}; "
        f"{edge.why}; {tones}."
    )


def samples_figure(
    one: FinishValue,
    two: FinishValue,
    *,
    edge: Edge,
    undertones: tuple[Undertone, Undertone],
    quarrel: str,
    limits: EdgeLimits | None = None,
    block: TitleBlock | None = None,
    page: bool = False,
    question: str = "How do the two look side by side?",
    answer: str = "",
    paper: str = "A4",
) -> Drawing:
    """Two finishes side by side with their numbers.

    Parameters
    ----------
    one, two : FinishValue
        From `designkit.palette.finishes.resolve`.
    edge : Edge
        Of the two, from `designkit.palette.contrast.edges`.
    undertones : tuple of Undertone
        Of the two.
    quarrel : str
        From `designkit.palette.undertones.clash`.
    limits : EdgeLimits, optional
        What is adequate.
    block : TitleBlock, optional
        What the foot says; needed for a sheet.
    page : bool
        The drawing alone, for a page.
    question, answer : str
        Heading and the sentence under it; `samples_answer` where not given.
    paper : str
        A key of `designkit.figures.sheet.PAPERS`.

    Returns
    -------
    Drawing
        Sheet or page; the swatches are filled with the computed sRGB.

    Raises
    ------
    InputError
        A sheet has no title block.
    LookupFailed
        There is no such paper.
    """
    answer = answer or samples_answer(edge, finishes=(one, two), quarrel=quarrel)
    sheet = None
    if page:
        width, area = PAGE_WIDTH, whole_area(PAGE_WIDTH, 136.0)
    else:
        sheet = open_sheet(block, question=question, answer=answer, paper=paper, scale="L* and LRV")
        width, area = sheet.width, sheet.area
    chart = Chart(sizes_for(width=width, page=page))
    adequate = (limits or EdgeLimits.of()).adequate
    low = _draw(chart, area, (one, two), edge, undertones, quarrel, adequate)
    text = " ".join(
        (
            answer,
            *(
                f"{f.name}: {'; '.join(' '.join(row) for row in _numbers(f, u))}."
                for f, u in zip((one, two), undertones, strict=True)
            ),
        )
    )
    if sheet is not None:
        return sheet.drawing(chart.items, title=question, text=text)
    high = area.top - low + 0.5
    items = tuple(chart.items)
    shift = low - 0.5
    return Drawing(
        width=PAGE_WIDTH,
        height=high,
        items=tuple(moved(items, dx=0.0, dy=-shift, k=1.0)),
        title=question,
        text=text,
    )


def _each(values: list[float], decimals: int) -> str:
    shown = values if len(values) < 4 else [min(values), max(values)]
    return (" / " if len(values) < 4 else " to ").join(f"{v:.{decimals}f}" for v in shown)


def _numbers(finish: FinishValue, tone: Undertone) -> list[tuple[str, str]]:
    colours = finish.colours
    lrv = [c.lrv for c in colours]
    most = max(c.lrv_within for c in colours)
    chroma = (
        _each([c.chroma for c in colours], 1) if all(c.hue_known for c in colours) else "not known"
    )
    leans = {"none": "none that is seen", "coloured": "no near-neutral"}.get(tone.lean, tone.lean)
    if tone.lean not in ("not known",):
        leans += f": {tone.why.removesuffix(' (D65, 2°)')}"
        leans += "" if tone.sure else ", within the ±"
    return [
        ("L*", f"{_each([c.lightness for c in colours], 1)} ± {finish.within:g}"),
        ("LRV", f"{_each(lrv, 1)} ± {most:.1f}"),
        ("chroma C*", chroma),
        ("undertone", leans),
        ("known", finish.known),
        ("sheen", finish.sheen or NOT_SAID),
        ("texture", finish.texture or NOT_SAID),
        ("counts as", finish.counts_as),
    ]


def _fill(
    chart: Chart, finish: FinishValue, x: float, y: float, wide: float, high: float, period: float
) -> None:
    """The flat value; stripes by share of the area where it has several colours."""
    several = len(finish.colours) > 1
    count = max(1, round(wide / period)) if several else 1
    step = wide / count
    for n in range(count):
        left = x + n * step
        for colour in finish.colours:
            part = step * colour.share
            field(chart, left, y, part, high, fill=colour.hex, about=finish.id)
            left += part


def _draw(
    chart: Chart,
    area: Area,
    finishes: tuple[FinishValue, FinishValue],
    edge: Edge,
    undertones: tuple[Undertone, Undertone],
    quarrel: str,
    adequate: float,
) -> float:
    s = chart.sizes
    gap = 8.0
    side = min(76.0, (area.width - gap - 62.0) / 2)
    top = area.top - s.name - 1.2
    low = top - 2.2 - HIGH
    ends = []
    for n, (finish, tone) in enumerate(zip(finishes, undertones, strict=True)):
        x = area.left + n * side
        words = lettering.shorten(finish.name, size=s.name, width=side - 3.0, weight="semibold")
        chart.text(x + (1.5 if n else 0.0), top, words, s.name, bold=True, about=finish.id)
        _fill(chart, finish, x, low, side, HIGH, 12.0)
        rim(chart, x, low, side, HIGH)
        y = low - 2.0 - s.note
        label = lettering.advance("undertone", size=s.note) + 2.2
        at = x + (1.5 if n else 0.0)
        for name, said in _numbers(finish, tone):
            chart.text(at, y, name, s.note, colour=ink.GREY_2)
            for line in wrapped(said, size=s.note, width=side - label - 4.0, most=3):
                chart.text(at + label, y, line, s.note)
                y -= s.pitch(s.note)
        ends.append(y)
    # A piece of each on the other, away from the edge that they share.
    for n, finish in enumerate(finishes[::-1]):
        x = area.left + (side / 2 - PIECE if n == 0 else 1.5 * side)
        y = low + HIGH / 2 - PIECE / 2
        _fill(chart, finish, x, y, PIECE, PIECE, PIECE / 2)
    end = _between(chart, area, area.left + 2 * side + gap, top, edge, quarrel, adequate)
    y = min(*ends, end) - 3.0
    return _scale(chart, area, y, finishes)


def _between(
    chart: Chart, area: Area, x: float, top: float, edge: Edge, quarrel: str, adequate: float
) -> float:
    s = chart.sizes
    width = area.right - x
    chart.text(x, top, "Between the two", s.name, bold=True)
    found = edge.contrast
    y = top - 3.0 - s.total
    chart.text(x, y, f"ΔL* {found.farthest:.0f}", s.total, bold=True)
    long = lettering.advance(f"ΔL* {found.farthest:.0f}", size=s.total, weight="semibold")
    chart.text(x + long + 1.6, y, f"± {found.within:.1f}", s.name)
    y -= s.pitch(s.name) + 1.0
    rows = [edge.called + ("" if edge.sure else ", within the ±")]
    if round(found.nearest) != round(found.farthest):
        rows.append(f"nearest colours ΔL* {found.nearest:.0f}")
    rows.append(f"LRV {found.lrv:.0f} apart" + (", adequate" if edge.adequate else ""))
    delta = found.difference
    rows.append("ΔE00 not known: a hue is missing" if delta is None else f"ΔE00 {delta:.1f}")
    rows.append(f"undertones: {quarrel}")
    rows.append(
        f"Adequate: LRV {adequate:g} apart or more, for what people must find (BS 8300-2 Annex B)."
    )
    for n, words in enumerate(rows):
        last = n == len(rows) - 1
        size, colour = (s.note, ink.GREY_2) if last else (s.name, ink.INK)
        y = chart.lines(x, y, width, words, size, colour=colour, most=4) - 0.6
    return y


def _scale(chart: Chart, area: Area, y: float, finishes: tuple[FinishValue, FinishValue]) -> float:
    """Both on one scale of L*, each in a row with its ±."""
    s = chart.sizes
    chart.text(area.left, y - s.name, "On one scale of L*, with the ±", s.name, bold=True)
    y -= s.name + 0.6
    name = max(lettering.advance(_short(f.name, s.note), size=s.note) for f in finishes) + 3.0
    x0, x1 = area.left + name, area.right - 8.0
    k = (x1 - x0) / 100
    limits = finishes[0].limits
    low = y - 2 * (s.note + 3.2) - 1.8
    for finish in finishes:
        y -= s.note + 3.2
        chart.text(area.left, y, _short(finish.name, s.note), s.note)
        middle = y + s.note / 2
        for c in finish.colours:
            chart.line(x0 + k * c.low, middle, x0 + k * c.high, middle, 0.6, colour=ink.GREY_3)
            chart.items.append(
                Circle(centre=(x0 + k * c.lightness, middle), radius=0.9, fill=ink.INK)
            )
    step = (x1 - x0) / 20
    for n in range(20):
        left = x0 + n * step
        field(chart, left, low - 4.0, step, 4.0, fill=ink.grey_of((n + 0.5) * 5))
    rim(chart, x0, low - 4.0, x1 - x0, 4.0)
    y = low - 4.0 - 1.6 - s.note
    for at, words in (
        (limits.black_lightness, f"black to {limits.black_lightness:g}"),
        (limits.dark, f"dark under {limits.dark:g}"),
        (limits.light, f"light over {limits.light:g}"),
    ):
        chart.line(x0 + k * at, low - 4.0, x0 + k * at, low - 5.2, 0.25)
        right = at == limits.black_lightness
        chart.text(
            x0 + k * at + (-0.6 if right else 0.6),
            y,
            words,
            s.note,
            colour=ink.GREY_1,
            anchor="end" if right else "start",
        )
    return y - 1.5


def _short(name: str, size: float) -> str:
    return lettering.shorten(name, size=size, width=44.0)
