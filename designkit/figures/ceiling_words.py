"""What a ceiling plan says in words: findings, light found, luminaires, boxes and circuits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from designkit.figures import blocks, ink, marks
from designkit.figures import type as lettering
from designkit.figures.ceiling_parts import Group
from designkit.figures.drawing import Primitive, Text
from designkit.figures.moving import moved
from designkit.figures.sheet import Area
from designkit.lighting.quick import LightResult, LightRow
from designkit.model import Finding
from designkit.units import in_sentence, on_sheet

__all__ = ["finding_words", "light_answer", "light_findings", "wanted_words", "words_column"]

GAP = 1.5
BETWEEN = 3.6  # blocks of the column [mm]
CAUTION = (
    "Wiring, boxes, dimmers and fixings: a licensed electrician checks and does the work; the "
    "local code decides. A box carries no more than the mass marked on it. Sprinkler heads and "
    "detectors stay clear and uncovered. Check dimensions on site."
)
_SEVERITY = {"law here": 0, "safety": 1, "tight": 2, "inconvenient": 3, "note": 4}


def wanted_words(row: LightRow) -> str:
    """How much light a place wants, as figures.

    Parameters
    ----------
    row : LightRow
        The place.

    Returns
    -------
    str
        "300", "100–150", or "–" where there is no target.
    """
    wanted = row.wanted
    if wanted.low is None:
        return "–"
    if wanted.high is None:
        return f"{wanted.low:.0f}"
    return f"{wanted.low:.0f}–{wanted.high:.0f}"


def _source(row: LightRow) -> tuple[str, str]:
    """Who wants it, short, and what is said besides."""
    text = row.wanted.source
    if row.wanted.low is None:
        return "", ""
    first, _, more = text.partition("; ")
    return first.split(":")[0].removesuffix(", no source"), more


def light_findings(light: LightResult) -> tuple[Finding, ...]:
    """The findings of a light that a plan shows: what does not pass, gravest first.

    Of several places of one piece (the seats of a sofa) the one that is
    shortest of light stands for all; the table has every one.

    Parameters
    ----------
    light : LightResult
        From `designkit.lighting.quick.light`.

    Returns
    -------
    tuple of Finding
        In the order of their numbers.
    """
    best: dict[object, Finding] = {}
    rest: list[Finding] = []
    of_rows = {id(row.finding) for row in light.rows}
    for finding in light.findings:
        if finding.verdict == "passes":
            continue
        if id(finding) not in of_rows:
            rest.append(finding)
            continue
        known = best.get(finding.about)
        if known is None or _met(finding) < _met(known):
            best[finding.about] = finding
    found = [*best.values(), *rest]
    return tuple(
        sorted(found, key=lambda f: (_SEVERITY[f.severity], f.verdict != "fails", f.at is None))
    )


def _met(finding: Finding) -> float:
    return (finding.measured or 0.0) / (finding.required or 1.0)


def light_answer(light: LightResult) -> str:
    """The light of a layout in one sentence.

    Parameters
    ----------
    light : LightResult
        From `designkit.lighting.quick.light`.

    Returns
    -------
    str
        How many places are short, and which is shortest.
    """
    rows = [row for row in light.rows if row.verdict is not None]
    if not rows:
        return "No place has a target for its light."
    short = [row for row in rows if row.verdict == "fails"]
    near = [row for row in rows if row.verdict == "measure first"]
    if not short and not near and len(rows) == 1:
        return "The one place with a target has the light that it wants."
    if not short and not near:
        return f"All {len(rows)} places with a target have the light that they want."
    parts = []
    if short:
        parts.append(f"{len(short)} of {len(rows)} places are short of light")
    if near:
        parts.append(f"{len(near)} {'is' if len(near) == 1 else 'are'} too near to tell")
    worst = min(short or near, key=lambda r: r.full / (r.wanted.low or 1.0))
    return (
        f"{', '.join(parts)}; the shortest is {worst.name}: {worst.full:.0f} of "
        f"{worst.wanted.low:.0f}\u00a0lx."
    )


def words_column(
    light: LightResult,
    *,
    x: float,
    area: Area,
    width: float,
    groups: Sequence[Group],
    findings: Sequence[Finding],
    units: str,
) -> tuple[list[Primitive], tuple[Finding, ...]]:
    """The column of words, and the findings that it has room for.

    Parameters
    ----------
    light : LightResult
        What was found.
    x : float
        Left edge of the column. [mm]
    area : Area
        Gives its top and its bottom.
    width : float
        [mm]
    groups : sequence of Group
        The luminaires with their letters.
    findings : sequence of Finding
        In the order of their numbers.
    units : str
        The project's unit of length.

    Returns
    -------
    (list of Primitive, tuple of Finding)
        The primitives, and the findings that are in it: those have numbers.
    """
    full = width >= 120
    rows = list(light.rows)
    boxes = _box_rows(light, units)
    notes = list(
        dict.fromkeys(f"{wanted_words(row)}: {more}" for row in rows if (more := _source(row)[1]))
    )
    caution, _ = blocks.sentence(x, 0, width, CAUTION, size=ink.NAME)
    caution_high = len(caution) * ink.NAME * 1.65 + 1.0
    lamp_high = 9.1 + 5.4 * (len(groups) + 1) + BETWEEN
    box_high = (9.1 + 5.4 * len(boxes) + 0.6) if boxes else 0.0
    note_high = 4.0 if notes else 0.0
    rest = area.height - caution_high - lamp_high - note_high - 9.1 - 5.4 - 2 * BETWEEN
    if not full or rest - box_high < 70:
        boxes, box_high = [], 0.0
    rest -= box_high
    room_rows = max(1, int((rest - (24.0 if findings else 0.0)) // 5.4))
    cut = rows[:room_rows]
    rest -= 5.4 * len(cut)
    items: list[Primitive] = []
    y = area.top
    listed: tuple[Finding, ...] = ()
    if findings:
        made, y, listed = _findings_block(x, y, width, findings, room=rest, units=units)
        items += made
    numbers = {
        id_: n
        for n, f in enumerate(listed, start=1)
        for id_ in [row.id for row in rows if row.finding is f]
    }
    more = f"mean, lx; ±\u00a0{_within(light):.0f}\u00a0%"
    if len(cut) < len(rows):
        more += f"; {len(rows) - len(cut)} more places not shown"
    made, y = blocks.heading(x, y, width, "Light found", note=more)
    items += made
    made, y = _light_table(x, y, width, cut, numbers, full=full)
    items += made
    if notes:
        words = lettering.shorten("; ".join(notes), size=ink.CAPTION, width=width)
        items.append(Text(at=(x, y + 1.2), text=words, size=ink.CAPTION, ink=ink.GREY_2))
        y -= 4.0
    y -= BETWEEN
    made, y = blocks.heading(
        x, y, width, "Luminaires", note="each; lm after the shade; height of the underside"
    )
    items += made
    made, y = _lamp_table(x, y, width, groups, units)
    items += made
    y -= BETWEEN
    if boxes:
        made, y = blocks.heading(
            x, y, width, "Boxes and circuits", note="carried and at most, for hours"
        )
        items += made
        wide = width - 24.0 - 24.0 - 21.0 - 3 * 3.0
        columns = [
            blocks.Column(width=wide),
            blocks.Column(width=24.0, align="end"),
            blocks.Column(width=24.0, align="end"),
            blocks.Column(width=21.0, weight="semibold"),
        ]
        made, y = blocks.table(x, y, columns, boxes, gap=3.0)
        items += made
        y -= 0.6
    made, _ = blocks.sentence(x, y + 1.0, width, CAUTION, size=ink.NAME)
    return items + made, listed


def _within(light: LightResult) -> float:
    row = next((r for r in light.rows if r.full > 0), None)
    return 100 * row.within / row.full if row else 0.0


def _findings_block(
    x: float,
    y: float,
    width: float,
    findings: Sequence[Finding],
    *,
    room: float,
    units: str,
) -> tuple[list[Primitive], float, tuple[Finding, ...]]:
    made: list[list[Primitive]] = []
    highs: list[float] = []
    inset = 9.0
    for number, finding in enumerate(findings, start=1):
        about = f"finding {number}"
        items: list[Primitive] = list(marks.keyed((x + 2.6, 1.2), number, about=about))
        items.append(
            Text(at=(x + inset, 0), text=finding.verdict, size=ink.READING, weight="semibold")
        )
        indent = lettering.advance(finding.verdict, size=ink.READING, weight="semibold") + 2.6
        found = _measured(finding, units)
        inside = width - inset - indent
        tail = f": {found}" if found else ""
        long = lettering.advance(tail, size=ink.READING)
        name = lettering.shorten(finding.what, size=ink.READING, width=max(inside - long, 10.0))
        items.append(
            Text(
                at=(x + inset + indent, 0),
                text=lettering.shorten(name + tail, size=ink.READING, width=inside),
                size=ink.READING,
                about=about,
            )
        )
        lines, below = blocks.sentence(
            x + inset,
            -ink.READING * 1.65,
            width - inset,
            _rest(finding),
            most=3,
            about=about,
        )
        if not _rest(finding):
            lines, below = [], -ink.READING * 1.65
        made.append(items + list(lines))
        highs.append(-below + 1.7)
    out: list[Primitive] = []
    left = room - 9.1
    count = 0
    for high in highs:
        if left < high:
            break
        left -= high
        count += 1
    note = "measured ±, and what is wanted"
    if count < len(findings):
        note = f"{len(findings) - count} more, lesser, not numbered here"
    out, y = blocks.heading(x, y, width, "Finding" if len(findings) == 1 else "Findings", note=note)
    for index in range(count):
        out += moved(made[index], dy=y)
        y -= highs[index]
    return out, y - BETWEEN + 1.0, tuple(findings[:count])


def _light_table(
    x: float,
    y: float,
    width: float,
    rows: Sequence[LightRow],
    numbers: Mapping[str, int],
    *,
    full: bool,
) -> tuple[list[Primitive], float]:
    cells = []
    for row in rows:
        number = str(numbers[row.id]) if row.id in numbers else ""
        verdict = row.verdict or "no target"
        one = [number, row.name, f"{row.full:.0f}", f"{row.dimmed:.0f}", wanted_words(row)]
        cells.append(one + ([_source(row)[0]] if full else []) + [verdict])
    heads = ["", "place", "full", "dimmed", "wanted", "by", "verdict"]
    if not full:
        heads.pop(5)
    bold = ("full", "verdict")
    widths = [
        max(
            lettering.advance(h, size=ink.CAPTION),
            *(
                lettering.advance(
                    line[i], size=ink.READING, weight="semibold" if h in bold else "regular"
                )
                for line in cells
            ),
        )
        + 0.8
        for i, h in enumerate(heads)
    ]
    widths[0] = 3.6
    gap = 3.0
    widths[1] = max(20.0, width - sum(widths) + widths[1] - gap * (len(heads) - 1))
    if full:  # who wants it gives way before the place does
        over = sum(widths) + gap * (len(heads) - 1) - width
        widths[5] = max(4.0, widths[5] - max(0.0, over))
    columns = [
        blocks.Column(
            width=w,
            head=h,
            align="end" if h in ("full", "dimmed", "wanted") else "start",
            weight="semibold" if h in ("full", "verdict") else "regular",
            colour=ink.ACCENT if not h else ink.INK,
        )
        for w, h in zip(widths, heads, strict=True)
    ]
    return blocks.table(x, y, columns, cells, gap=gap, about=[row.id for row in rows])


def _lamp_table(
    x: float, y: float, width: float, groups: Sequence[Group], units: str
) -> tuple[list[Primitive], float]:
    cells = []
    for g in groups:
        row = g.row
        cells.append(
            [
                g.letter,
                row.name,
                str(len(g.ids)),
                "?" if row.lumens is None else f"{row.lumens:.0f}",
                f"{row.watts:g}",
                "–" if row.kelvin is None else f"{row.kelvin:.0f}",
                on_sheet(row.base, units=units) if g.symbol != "portable" else "portable",
            ]
        )
    widths = [5.0, 0.0, 6.0, 11.0, 10.0, 11.0, 17.0]
    widths[1] = width - sum(widths) - GAP * 6
    heads = ["", "kind", "no.", "lm", "W", "K", "height"]
    columns = [
        blocks.Column(
            width=w,
            head=h,
            align="start" if i < 2 else "end",
            weight="semibold" if i == 0 else "regular",
        )
        for i, (w, h) in enumerate(zip(widths, heads, strict=True))
    ]
    return blocks.table(x, y, columns, cells, gap=GAP, about=[g.ids[0] for g in groups])


def _box_rows(light: LightResult, units: str) -> list[list[str]]:
    rows = []
    for f in light.findings:
        if f.unit != "kg":
            continue
        amounts = [
            "?" if v is None else in_sentence(v, kind="mass", units=units)
            for v in (f.measured, f.required)
        ]
        rows.append([f.what.removeprefix("Mass on the ").removeprefix("Mass on "), *amounts])
        rows[-1].append(f.verdict)
    for c in light.circuits:
        watts = f"{c.watts + c.existing:.0f}\u00a0W"
        rows.append([f"circuit, {c.name}", watts, f"{c.limit:.0f}\u00a0W", c.verdict])
    return rows


def _amount(number: float, unit: str, units: str) -> str:
    if unit == "m":
        return in_sentence(number, units=units)
    if unit == "kg":
        return in_sentence(number, kind="mass", units=units)
    if unit == "share":
        return f"{100 * number:.1f}\u00a0%"
    places = 0 if abs(number) >= 10 or number == round(number) else 1
    text = f"{number:.{places}f}"
    return text if unit in ("", "1") else f"{text}\u00a0{unit}"


def _measured(finding: Finding, units: str) -> str:
    """What was found and what is wanted, from the values that made the verdict."""
    if finding.measured is None:
        return ""
    unit = "share" if finding.rule.startswith("light.daylight") else finding.unit
    text = _amount(finding.measured, unit, units)
    if finding.within:
        plus = _amount(finding.within, unit, units)
        if unit in ("lx", "lm", "K"):
            text = f"{finding.measured:.0f}\u00a0±\u00a0{finding.within:.0f}\u00a0{unit}"
        else:
            text += f"\u00a0±\u00a0{plus}"
    if finding.required is not None:
        text += f", {_amount(finding.required, unit, units)} wanted"
    return text


def finding_words(finding: Finding, *, units: str) -> str:
    """A finding in words, from the values that its verdict was made of.

    Parameters
    ----------
    finding : Finding
        From the light.
    units : str
        The project's unit of length.

    Returns
    -------
    str
        What, how much, how much is wanted, what to do.
    """
    found = _measured(finding, units)
    first = f"{finding.what}: {found}." if found else f"{finding.what}."
    return f"{first} {_rest(finding)}".strip()


def _rest(finding: Finding) -> str:
    """What to do; why, where there is nothing to do yet."""
    if finding.mend:
        return finding.mend
    why = finding.why.split("; ")[0].rstrip(".")
    return f"{why[:1].upper()}{why[1:]}." if why else ""
