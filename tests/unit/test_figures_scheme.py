"""Figures of the scheme: what meets what, two samples, other finishes, under lamps."""

from __future__ import annotations

from pathlib import Path

import pytest

from designkit.analyses.of_lamps import under_lamps
from designkit.analyses.of_meetings import beside, scheme_meetings, touch_rows
from designkit.analyses.of_scheme import scheme, scheme_viewpoints
from designkit.errors import InputError
from designkit.figures.check import faults
from designkit.figures.drawing import Drawing, Hatch, Text
from designkit.figures.meetings import meetings_answer, meetings_figure, pairs_of
from designkit.figures.samples import samples_answer, samples_figure
from designkit.figures.sheet import TitleBlock
from designkit.figures.swaps import SwapRow, swaps_answer, swaps_figure
from designkit.figures.under_lamps import lamps_answer, lamps_figure
from designkit.model import Home
from designkit.palette.contrast import Meeting, edges
from designkit.project import read

DATA = Path(__file__).parents[2] / "data"
BLOCK = TitleBlock(project="A flat", title="A figure", number="D-303")


@pytest.fixture(scope="module", params=("harbour-flat", "parlor-floor"))
def home(request: pytest.FixtureRequest) -> Home:
    return read(DATA / request.param).project.home


def texts(drawing: Drawing) -> list[str]:
    return [i.text for i in drawing.items if isinstance(i, Text)]


def said(drawing: Drawing) -> list[str]:
    return [str(f) for f in faults(drawing)]


def test_the_stair_of_what_meets(home: Home) -> None:
    views = list(scheme_viewpoints(home))[-2:]
    met = scheme_meetings(home, viewpoints=views)
    assert {e.meeting.how for e in met.edges} == {"touch", "in front"}
    pairs = pairs_of(met.edges)
    for drawing in (
        meetings_figure(met.edges, finishes=met.finishes, quarrel=met.quarrel, page=True),
        meetings_figure(met.edges, finishes=met.finishes, quarrel=met.quarrel, block=BLOCK),
        meetings_figure(
            met.edges, finishes=met.finishes, quarrel=met.quarrel, block=BLOCK, paper="A4"
        ),
    ):
        assert said(drawing) == []
        for (a, b), edge in pairs.items():
            assert home.finishes[a].name in drawing.text
            assert home.finishes[b].name in drawing.text
            assert f"ΔL* {edge.contrast.farthest:.0f}" in drawing.text
    few = meetings_figure(met.edges, finishes=met.finishes, page=True, most=4)
    assert "more pairs are not shown" in " ".join(texts(few))
    answer = meetings_answer(met.edges, finishes=met.finishes, quarrel=met.quarrel)
    assert answer.startswith(f"{len(pairs)} pairs of finishes meet")


def test_touching_stands_for_being_in_front(home: Home) -> None:
    met = scheme_meetings(home)
    values = met.finishes
    one, two = list(values)[:2]
    rows = [
        Meeting(a="x", b="y", finish_a=one, finish_b=two, how="in front", length=9.0),
        Meeting(a="x", b="z", finish_a=two, finish_b=one, how="touch", length=1.0),
        Meeting(a="x", b="x", finish_a=one, finish_b=one),
    ]
    (edge,) = pairs_of(edges(rows, finishes=values)).values()
    assert (edge.meeting.how, edge.meeting.length) == ("touch", 1.0)
    short = Meeting(a="x", b="y", finish_a=one, finish_b=two, how="in front", length=0.05)
    assert pairs_of(edges([short], finishes=values)) == {}
    with pytest.raises(InputError, match="none between two finishes"):
        meetings_figure(edges([rows[2]], finishes=values), finishes=values, page=True)


def test_a_clash_is_marked() -> None:
    home = read(DATA / "harbour-flat").project.home
    met = scheme_meetings(home)
    pair = next(iter(pairs_of(met.edges)))
    marked = meetings_figure(
        met.edges, finishes=met.finishes, quarrel={frozenset(pair): "clash"}, page=True
    )
    assert "≠" in texts(marked)
    assert said(marked) == []


def test_two_samples(home: Home) -> None:
    ids = list(home.finishes)
    for one, two in ((ids[0], ids[-1]), (ids[1], ids[1]), (ids[2], ids[3])):
        found = beside(home, one=one, two=two)
        for block in (None, BLOCK):
            drawing = samples_figure(
                found.one,
                found.two,
                edge=found.edge,
                undertones=found.undertones,
                quarrel=found.quarrel,
                block=block,
                page=block is None,
            )
            assert said(drawing) == []
            assert found.one.name in drawing.text
    words = samples_answer(found.edge, finishes=(found.one, found.two), quarrel="clash")
    assert "their undertones clash" in words


def test_other_finishes() -> None:
    rows = [
        SwapRow(words="sofa in white wool", changes=1, after=(0.1, 0.2, 0.0), move=-0.1),
        SwapRow(
            words="sofa in white wool and a table with a very long name of its own in pale oak",
            changes=2,
            after=(0.05, 0.1, 0.9),
            move=-0.2,
        ),
    ]
    now = (0.2, 0.3, 0.4)
    for paper in ("A4", "A3"):
        drawing = swaps_figure(
            now, rows, bands=((0.05, 0.15), None, None), block=BLOCK, paper=paper
        )
        assert said(drawing) == []
    page = swaps_figure(now, rows, page=True)
    assert said(page) == []
    assert {"10.0\u00a0%", "90.0\u00a0%"} <= set(texts(page))
    assert "one change moves it most: sofa in white wool" in swaps_answer(now, rows)
    with pytest.raises(InputError, match="swaps"):
        swaps_figure(now, [], page=True)


def test_under_lamps(home: Home) -> None:
    id = next(iter(home.finishes))
    under = under_lamps(home, one=id, two="chart: red")
    page = lamps_figure(under, page=True)
    assert said(page) == []
    assert said(lamps_figure(under, block=BLOCK)) == []
    # Without a spectrum one swatch is hatched under every lamp but daylight.
    hatched = [i for i in page.items if isinstance(i, Hatch)]
    assert len(hatched) == len(under.lamps) - 1
    assert "not known under lamps" in lamps_answer(under)
    assert all(s.lab is None for s in under.shifts[0])
    both = under_lamps(home, one="chart: brown", two="chart: brown")
    assert not [i for i in lamps_figure(both, page=True).items if isinstance(i, Hatch)]
    assert all(p is not None and p.index == pytest.approx(0, abs=1e-9) for p in both.pairs)


def test_sheens_and_textures_make_the_whole(home: Home) -> None:
    views = list(scheme_viewpoints(home))[-2:]
    ways = [scheme(home, pairs=False)]
    ways += [scheme(home, viewpoint=v, pairs=False, night=True) for v in views]
    rows = touch_rows(w.balance for w in ways)
    for of in ("sheen", "texture", "material"):
        mine = [r for r in rows if r.of == of]
        for n in range(len(ways)):
            whole = sum(r.shares[n] for r in mine)
            assert whole + ways[n].balance.outside == pytest.approx(1.0)
    assert any(r.word == "not said" for r in rows)
    sheens = {r.word: r.shares[0] for r in rows if r.of == "sheen"}
    # What nobody said is no sheen: it stands beside matt, not in it.
    silent = {id for id, f in home.finishes.items() if f.sheen is None}
    matt = {id for id, f in home.finishes.items() if f.sheen == "matt"}
    for word, ids in (("not said", silent), ("matt", matt)):
        weights = [w for w in ways[0].weights if w.finish]
        counted = sum(w.weight for w in weights if w.finish in ids)
        assert sheens.get(word, 0.0) == pytest.approx(counted / ways[0].balance.total)
