"""The sheets of the scheme in the published set."""

from __future__ import annotations

import datetime
from dataclasses import replace
from pathlib import Path

import pytest

from designkit.analyses.of_meetings import pair_to_lay, scheme_meetings
from designkit.analyses.of_scheme import scheme
from designkit.balance import Change, Swap
from designkit.figures.check import faults
from designkit.figures.item_words import swap_words
from designkit.model import Project
from designkit.project import read
from designkit.publish import sheet_set

DATA = Path(__file__).parents[2] / "data"
DAY = datetime.date(2026, 11, 25)
NAMES = ("other-finishes", "what-meets-what", "two-samples", "under-lamps")


@pytest.fixture(scope="module", params=("harbour-flat", "parlor-floor"))
def project(request: pytest.FixtureRequest) -> Project:
    return read(DATA / request.param).project


def test_the_scheme_is_in_the_set(project: Project) -> None:
    entries = {e.name: e for e in sheet_set(project, names=NAMES, today=DAY)}
    # No finish of the demos has a spectrum, so nothing is said of lamps.
    assert list(entries) == list(NAMES[:3])
    for entry in entries.values():
        (drawing,) = entry.drawings
        assert [str(f) for f in faults(drawing)] == []
    # The shares that stand on the sheet are those of the share of black by day.
    black = scheme(project.home).balance.shares["black"]
    assert f"Now black is {100 * black:.1f} % by area" in entries["other-finishes"].drawings[0].text
    assert "these are laid first: " in entries["two-samples"].drawings[0].text


def test_a_spectrum_brings_the_sheet_of_lamps(project: Project, tmp_path: Path) -> None:
    (tmp_path / "samples").mkdir()
    rows = [f"{nm},0.05" for nm in range(380, 781, 20)]
    (tmp_path / "samples" / "black.csv").write_text("\n".join(rows))
    home = project.home
    one = scheme_meetings(home).edges[0].meeting.finish_b
    finishes = {**home.finishes, one: replace(home.finishes[one], spectrum="samples/black.csv")}
    told = replace(project, home=replace(home, finishes=finishes))
    (entry,) = sheet_set(told, names=["under-lamps"], folder=tmp_path, today=DAY)
    (drawing,) = entry.drawings
    assert [str(f) for f in faults(drawing)] == []
    # A flat black holds its colour under every lamp.
    assert "holds its colour under all (ΔE00 0.0 at most)" in drawing.text


def test_what_is_laid_side_by_side_first(project: Project) -> None:
    met = scheme_meetings(project.home)
    pair = pair_to_lay(met)
    assert pair is not None
    assert pair.one != pair.two
    pairs = {frozenset((e.meeting.finish_a, e.meeting.finish_b)) for e in met.edges}
    assert frozenset((pair.one, pair.two)) in pairs
    # A clash goes before all else, however short its edge.
    last = next(e.meeting for e in met.edges[::-1] if e.meeting.finish_a != e.meeting.finish_b)
    odd = frozenset((last.finish_a, last.finish_b))
    first = pair_to_lay(replace(met, quarrel={odd: "clash"}))
    assert first is not None
    assert frozenset((first.one, first.two)) == odd
    assert first.why == "their undertones clash"
    assert pair_to_lay(replace(met, edges=())) is None


def test_a_wall_is_counted_from_one_in_words(project: Project) -> None:
    home = project.home
    room, one = next(iter(home.rooms)), next(iter(home.finishes))
    change = Change(item=f"{room}.walls", part="wall 2", old=one, new=one)
    said = swap_words(home, Swap(changes=(change,), share=0.1, weight=1.0, inside=True, why=""))
    assert ", wall 3, in " in said
