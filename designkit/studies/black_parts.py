"""Tables and edits of the study "share of black"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from designkit.analyses.of_lamps import UnderLamps
from designkit.analyses.of_meetings import Beside, Meetings, Touch
from designkit.analyses.of_scheme import Scheme
from designkit.analyses.swaps import ThreeShares, ThreeWaySwap
from designkit.balance import Change
from designkit.figures.item_words import item_words, swap_words
from designkit.figures.meetings import pairs_of
from designkit.model import Edit, Home
from designkit.palette.finishes import CLASSES, NOT_SAID
from designkit.palette.glass import GLASSES
from designkit.palette.spectra import lamp_name
from designkit.studies.words import source_of
from designkit.units import NBSP

__all__ = [
    "FINE",
    "FITS",
    "FRONT",
    "RAYS",
    "SHEETS",
    "SHOWN",
    "band_row",
    "beside_table",
    "edits_of",
    "gap_table",
    "glass_tables",
    "lamp_controls",
    "lamp_table",
    "lamp_working",
    "meeting_table",
    "share_table",
    "swap_table",
    "touch_table",
    "undertone_table",
    "words_control",
]

Table = dict[str, Any]
SHOWN = [
    ("shares", "shares"),
    ("swaps", "other finishes"),
    ("meetings", "what meets what"),
    ("samples", "two samples"),
    ("lamps", "under lamps"),
]
SHEETS = {
    "swaps": ("other-finishes", "Other finishes", "D-303"),
    "meetings": ("what-meets-what", "What meets what", "D-304"),
    "samples": ("two-samples", "Sample against sample", "D-305"),
    "lamps": ("under-lamps", "Under lamps", "D-306"),
}
FINE = 10_000  # rays a field for views by finish, at rest: within 0.2 point
RAYS = (
    "While a control moves 2,000 rays a field of view, within 0.5 point; at rest 10,000, within "
    "0.2 point, and as lit 4,000, within 0.3 point."
)
FITS = (
    "Cloth for cloth, board for board, metal for metal; paint, paper, plaster or timber on walls; "
    "what the client keeps stays as it is."
)
FRONT = "Pixels of the views where the distance jumps by over 0.1 m; edges under 0.1 m left out."


def words_control(id: str, label: str, choices: Sequence[tuple[str, str]]) -> Table:
    """A row of words of which one is chosen.

    Parameters
    ----------
    id : str
        Of the control.
    label : str
        What the person reads.
    choices : sequence of (str, str)
        Id and word of each.

    Returns
    -------
    dict
        For the page.
    """
    return {"kind": "words", "id": id, "label": label, "choices": [list(c) for c in choices]}


def share_table(ways: Sequence[Any], heads: Sequence[str]) -> Table:
    """Shares of all classes in each way of looking.

    Parameters
    ----------
    ways : sequence of Scheme or LitScheme
        In the order of the columns.
    heads : sequence of str
        Of the columns.

    Returns
    -------
    dict
        For the page.
    """
    return {
        "title": "Shares",
        "note": "definitions under “How is this worked out?”",
        "head": ["", *heads],
        "align": ["", *("r" for _ in heads)],
        "rows": [
            [name, *(f"{s.balance.shares[name] * 100:.1f}{NBSP}%" for s in ways)]
            for name in CLASSES
        ],
    }


def band_row(home: Home, scheme: Scheme, *, what: str) -> Table:
    """Where a share lies in its band; below it nothing is wrong.

    Parameters
    ----------
    home : Home
        Gives the names.
    scheme : Scheme
        Its finding and balance.
    what : str
        What is judged.

    Returns
    -------
    dict
        For the page's findings.
    """
    share, (low, high) = scheme.balance.shares["black"], scheme.band
    state = "above" if share > high else "below" if share < low else "inside"
    mend = ""
    if scheme.finding.verdict == "measure first":
        state = "measure first"
        ids = [id for id, of, _ in scheme.balance.undecided if of == "black"][:2]
        names = [home.finishes[id].name for id in ids if id in home.finishes]
        names += [item_words(home, c.item) for c in scheme.balance.unknown[:2]]
        mend = f" Measure {' and '.join(names)} first." if names else ""
    elif state == "above":
        largest = scheme.balance.contributions["black"][0].item
        mend = f" Most of it is {item_words(home, largest)}."
    within = f"{100 * scheme.balance.low['black']:.1f} to {100 * scheme.balance.high['black']:.1f}"
    return {
        "n": "",
        "state": state,
        "text": f"{what}: {100 * share:.1f}{NBSP}%, {within}{NBSP}% within the ± of the finishes; "
        f"the band is {100 * low:g} to {100 * high:g}{NBSP}%.{mend}",
        "source": source_of(scheme.finding.rule),
    }


def gap_table(home: Home, schemes: Sequence[Scheme]) -> Table | None:
    """What would bring a share that is above its band back into it.

    Parameters
    ----------
    home : Home
        Gives things their names.
    schemes : sequence of Scheme
        By area, by view.

    Returns
    -------
    dict or None
        None where nothing is above: below the band nothing is wrong, and nobody
        is told to paint a wall black.
    """
    rows = [
        [
            swap_words(home, swap),
            s.viewpoint.name if s.viewpoint else "by area",
            f"{swap.share * 100:.1f}{NBSP}%",
            "meets the band" if swap.inside else "comes nearer",
        ]
        for s in schemes
        if s.balance.shares["black"] > s.band[1]
        for swap in s.gap.swaps[:4]
    ]
    if not rows:
        return None
    return {
        "title": "What would close the gap",
        "note": "least change first",
        "head": ["another finish", "", "share of black", ""],
        "align": ["", "", "r", ""],
        "rows": rows,
    }


def touch_table(rows: Sequence[Touch], heads: Sequence[str]) -> Table:
    """Sheens, textures and materials by area and by view.

    Parameters
    ----------
    rows : sequence of Touch
        From `designkit.analyses.of_meetings.touch_rows`.
    heads : sequence of str
        Of its columns.

    Returns
    -------
    dict
        For the page.
    """
    return {
        "title": "Sheen, texture and material",
        "note": "as the finishes say; a glossy thing shows what it reflects",
        "head": ["", "of", *heads],
        "align": ["", "", *("r" for _ in heads)],
        "rows": [[r.word, r.of, *(f"{v * 100:.1f}{NBSP}%" for v in r.shares)] for r in rows],
    }


def meeting_table(home: Home, met: Meetings, *, count: int = 40) -> Table:
    """Pairs of finishes that meet, the strongest edge first.

    Parameters
    ----------
    home : Home
        Gives finishes their names.
    met : Meetings
        From `designkit.analyses.of_meetings.scheme_meetings`.
    count : int, optional
        At most so many rows.

    Returns
    -------
    dict
        For the page.
    """
    rows = []
    for (a, b), e in list(pairs_of(met.edges).items())[:count]:
        found = e.contrast
        apart = [found.farthest]
        if round(found.nearest) != round(found.farthest):
            apart.append(found.nearest)
        delta = found.difference
        rows.append(
            [
                home.finishes[a].name,
                home.finishes[b].name,
                "touch" if e.meeting.how == "touch" else "in front",
                " / ".join(f"{v:.0f}" for v in apart),
                f"{found.lrv:.0f}",
                "not known" if delta is None else f"{delta:.0f}",
                e.called if e.sure else f"{e.called}, within the ±",
                met.quarrel.get(frozenset((a, b)), ""),
            ]
        )
    return {
        "title": "Finishes that meet",
        "note": "strongest edge first; the nearest colours after the stroke",
        "head": ["", "and", "how", "ΔL*", "ΔLRV", "ΔE00", "edge", "undertones"],
        "align": ["", "", "", "r", "r", "r", "", ""],
        "rows": rows,
    }


def undertone_table(home: Home, met: Meetings) -> Table:
    """Which way each finish leans.

    Parameters
    ----------
    home : Home
        Gives finishes their names.
    met : Meetings
        From `designkit.analyses.of_meetings.scheme_meetings`.

    Returns
    -------
    dict
        For the page.
    """
    order = sorted(met.undertones.values(), key=lambda u: (-round(u.lightness, 6), u.finish))
    words = {"none": "no way that is seen", "coloured": "no near-neutral"}
    return {
        "title": "Undertones",
        "note": "D65, 2°; light to dark",
        "head": ["", "leans", "C*", "hue", ""],
        "align": ["", "", "r", "r", ""],
        "rows": [
            [
                home.finishes[u.finish].name,
                words.get(u.lean, u.lean),
                "" if u.lean == "not known" else f"{u.chroma:.1f} ± {u.within:g}",
                ""
                if u.lean == "not known" or u.hue_within >= 180
                else f"{u.hue:.0f}° ± {u.hue_within:.0f}°",
                "" if u.sure else ("measure it" if u.lean == "not known" else "within the ±"),
            ]
            for u in order
        ],
    }


def beside_table(two: Beside) -> Table:
    """Two finishes and what lies between them.

    Parameters
    ----------
    two : Beside
        From `designkit.analyses.of_meetings.beside`.

    Returns
    -------
    dict
        For the page.
    """
    a, b = two.one, two.two
    u, v = two.undertones

    def chroma(of: Any) -> str:
        known = all(c.hue_known for c in of.colours)
        return " / ".join(f"{c.chroma:.1f}" for c in of.colours) if known else "not known"

    delta = two.contrast.difference
    rows = [
        ["L*", f"{a.lightness:.1f} ± {a.within:g}", f"{b.lightness:.1f} ± {b.within:g}"],
        ["LRV", f"{a.lrv:.1f}", f"{b.lrv:.1f}"],
        ["C*", chroma(a), chroma(b)],
        ["leans", u.lean, v.lean],
        ["known", a.known, b.known],
        ["sheen", a.sheen or NOT_SAID, b.sheen or NOT_SAID],
        ["texture", a.texture or NOT_SAID, b.texture or NOT_SAID],
        ["counts as", a.counts_as, b.counts_as],
    ]
    apart = [
        f"{two.contrast.farthest:.0f} ± {two.contrast.within:.1f}",
        f"{two.contrast.lrv:.0f}",
        "",
        two.quarrel,
        f"ΔE00 {delta:.1f}" if delta is not None else "ΔE00 not known",
        "",
        "",
        two.edge.called if two.edge.sure else f"{two.edge.called}, within the ±",
    ]
    return {
        "title": "Sample against sample",
        "note": "",
        "head": ["", a.name, b.name, "between"],
        "align": ["", "", "", ""],
        "rows": [[*row, between] for row, between in zip(rows, apart, strict=True)],
    }


def swap_table(
    home: Home, layout: str, *, now: ThreeShares, found: Sequence[ThreeWaySwap], of: str
) -> Table:
    """Swaps three ways, each with a button that does it.

    Parameters
    ----------
    home : Home
        Gives things their names.
    layout : str
        Id of the layout.
    now : ThreeShares
        The share as it is.
    found : sequence of ThreeWaySwap
        From `designkit.analyses.swaps.swaps_three_ways`.
    of : str
        Where one looks from, and when.

    Returns
    -------
    dict
        For the page; `pick` holds None where a swap cannot be written.
    """

    def cells(area: float, view: float, lit: float) -> list[str]:
        return [f"{v * 100:.1f}{NBSP}%" for v in (area, view, lit)]

    picks: list[str | None] = [None]
    rows = [["as it is", *cells(now.area, now.view, now.lit), ""]]
    for n, s in enumerate(found):
        can = all(edits_of(home, layout, c) for c in s.changes)
        picks.append(str(n) if can else None)
        rows.append(
            [
                swap_words(home, s),
                *cells(s.after.area, s.after.view, s.after.lit),
                f"{s.moved.mean * 100:+.1f}".replace("-", "−"),
            ]
        )
    return {
        "id": "swaps",
        "title": "Other finishes, three ways",
        "note": f"{of}; press one to use it",
        "head": ["another finish", "by area", "by view", "by lit view", "mean move, points"],
        "align": ["", "r", "r", "r", "r"],
        "rows": rows,
        "pick": picks,
    }


def lamp_controls() -> list[Table]:
    """The pane of glass, and a file with a spectrum.

    Returns
    -------
    list of dict
        For the page.
    """
    return [
        {
            "kind": "choose",
            "id": "glass",
            "label": "Behind the glass",
            "choices": [[k, name] for k, name in GLASSES.items()],
        },
        {
            "kind": "file",
            "id": "spectrum",
            "label": "Spectrum of the first finish",
            "accept": ".csv,.txt",
            "hint": "CSV: wavelength in nm, reflectance 0 to 1",
            "most": 0.2,
        },
    ]


def lamp_table(under: UnderLamps) -> Table:
    """Shift of each finish, and whether the two part, under each lamp.

    Parameters
    ----------
    under : UnderLamps
        From `designkit.analyses.of_lamps.under_lamps`.

    Returns
    -------
    dict
        For the page.
    """

    def number(value: float | None) -> str:
        return "not known" if value is None else f"{value:.1f}"

    rows = []
    for lamp, a, b, pair in zip(under.lamps, *under.shifts, under.pairs, strict=True):
        rows.append(
            [
                lamp_name(lamp),
                number(a.difference),
                number(b.difference),
                number(pair.under if pair else None),
                "" if pair and not pair.match else number(pair.index if pair else None),
                pair.called if pair else "not known",
                under.like.get(lamp, ""),
            ]
        )
    return {
        "title": "Under lamps",
        "note": "ΔE00 from daylight, once the eye has got used to the lamp",
        "head": ["lamp", under.one, under.two, "ΔE00 between", "index", "the two", "stands for"],
        "align": ["", "r", "r", "r", "r", "", ""],
        "rows": rows,
    }


def glass_tables(under: UnderLamps) -> list[Table]:
    """How light each finish is behind the pane; nothing for a chart patch.

    Parameters
    ----------
    under : UnderLamps
        From `designkit.analyses.of_lamps.under_lamps`.

    Returns
    -------
    list of dict
        For the page.
    """
    rows = [
        [
            name,
            f"{pane.lrv:.0f}",
            f"{pane.seen[0]:.0f} to {pane.seen[1]:.0f}",
            f"{pane.once:.0f}",
            pane.tint,
        ]
        for name, pane in zip((under.one, under.two), under.glass, strict=True)
        if pane is not None
    ]
    if not rows:
        return []
    pane = next(p for p in under.glass if p is not None)
    return [
        {
            "title": "Behind glass",
            "note": f"{pane.glass.name}; a range where the pane reflects black to white",
            "head": ["", "LRV", "behind it", "lit through it", "tint"],
            "align": ["", "r", "r", "r", ""],
            "rows": rows,
        }
    ]


def lamp_working(under: UnderLamps) -> list[list[Any]]:
    """How the lamps and the pane are worked out.

    Parameters
    ----------
    under : UnderLamps
        From `designkit.analyses.of_lamps.under_lamps`.

    Returns
    -------
    list of list
        What, how, and the source.
    """
    every = (*under.shifts[0], *under.shifts[1])
    rows: list[list[Any]] = [[s.finish, s.why, "CIE 15, CAT16"] for s in every if s.lamp != "D65"]
    rows += [[f"{p.one}, {p.two}", p.why, "CIE 15, 9.2.2"] for p in under.pairs if p is not None]
    rows += [[p.glass.name, p.why, "B24, T09"] for p in under.glass if p is not None]
    return list({tuple(row): row for row in rows}.values())


def edits_of(home: Home, layout: str, change: Change) -> list[Edit]:
    """A change of finish as edits of the project.

    Parameters
    ----------
    home : Home
        As it is.
    layout : str
        Id of the layout that drapery hangs in.
    change : Change
        From a swap.

    Returns
    -------
    list of Edit
        Empty where the finish does not stand where an edit can reach it.
    """
    old, new = change.old, change.new
    item = change.item
    if item in home.pieces:
        piece, path = home.pieces[item], f"pieces.{item}"
        if any(part.finish == old for part in piece.parts or ()):
            return []
        found = [
            Edit(path=f"{path}.finishes.{part}", old=old, new=new)
            for part, id in piece.finishes.items()
            if id == old and change.part in ("", part)
        ]
        if piece.finish == old and not change.part:
            found.append(Edit(path=f"{path}.finish", old=old, new=new))
        elif piece.finish == old and change.part not in piece.finishes:
            found.append(Edit(path=f"{path}.finishes.{change.part}", old=None, new=new))
        return found
    if change.part:
        return []
    if item in home.fixtures and home.fixtures[item].finish == old:
        return [Edit(path=f"fixtures.{item}.finish", old=old, new=new)]
    drapes = home.layouts[layout].drapes
    if item in drapes and drapes[item].finish == old:
        return [Edit(path=f"layouts.{layout}.drapes.{item}.finish", old=old, new=new)]
    owner, _, part = item.rpartition(".")
    if owner in home.rooms and part in ("floor", "ceiling", "walls"):
        room = home.rooms[owner]
        found = []
        if part == "walls":
            found = [
                Edit(path=f"rooms.{owner}.walls.{wall}", old=old, new=new)
                for wall, id in room.walls.items()
                if id == old
            ]
            part = "wall"
        if getattr(room, part) == old:
            found.append(Edit(path=f"rooms.{owner}.{part}", old=old, new=new))
        return found
    return []
