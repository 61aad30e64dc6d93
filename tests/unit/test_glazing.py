"""The glass of windows: dims and tints daylight, and is refused by name."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest

from designkit.analyses.of_lamps import tinted_daylight, tinted_windows, under_lamps
from designkit.analyses.of_scheme import lit_schemes
from designkit.errors import FileFormatError, InputError, LookupFailed
from designkit.figures.massing import lit_view
from designkit.figures.under_lamps import daylight_words
from designkit.lighting.daylight import daylight_findings
from designkit.lighting.full import by_day, exchange
from designkit.lighting.shell import shells
from designkit.model import Home, Opening
from designkit.palette.glazing import (
    adaptation_degree,
    adapted_in_part,
    back_of,
    glazing_of,
    glazings,
    sky_through,
)
from designkit.palette.spectra import lamp_name, spectrum_of, tristimulus
from designkit.project import read

DATA = Path(__file__).parents[2] / "data"


def window(**changes: object) -> Opening:
    plain = Opening(room="r", wall=0, offset=1.0, width=1.0, head=2.0, kind="window")
    return dataclasses.replace(plain, **changes)  # type: ignore[arg-type]


def glazed(home: Home, glass: str) -> Home:
    """All windows and balcony doors with one kind of glass."""
    openings = {
        id: dataclasses.replace(o, glass=glass, transmittance=None)
        if o.kind in ("window", "balcony")
        else o
        for id, o in home.openings.items()
    }
    return dataclasses.replace(home, openings=openings)


@pytest.fixture(scope="module")
def home() -> Home:
    return read(DATA / "harbour-flat").project.home


def test_each_kind_of_glass_can_be() -> None:
    for id, name in glazings().items():
        glass = glazing_of(id)
        assert glass.name == name
        assert 0 < glass.sky < glass.through < 1
        assert glass.through + glass.back < 1
    # A second pane takes light away and gives more back.
    for id in ("clear-6", "bronze-6", "green-3"):
        one, two = glazing_of(id), glazing_of(f"double-{id}")
        assert two.through < one.through
        assert two.back > one.back


def test_what_is_written_on_a_window_goes_before_its_glass() -> None:
    assert sky_through(window()) == 0.8
    assert sky_through(window(), overrides={"palette.glass.not-said": 0.6}) == 0.6
    assert sky_through(window(glass="grey-6")) == glazing_of("grey-6").sky
    assert sky_through(window(glass="grey-6", transmittance=0.3)) == 0.3
    assert back_of(window(glass="double-clear-6")) > back_of(window())


def test_glass_that_is_not_there_is_named() -> None:
    with pytest.raises(LookupFailed, match="did you mean double-bronze-6"):
        glazing_of("double-bronze-7")
    with pytest.raises(LookupFailed, match="glass"):
        lamp_name("D65 through ice")
    with pytest.raises(InputError, match=r"transmittance = 1\.2"):
        sky_through(window(transmittance=1.2))
    with pytest.raises(InputError, match="degree of adaptation"):
        adapted_in_part((1, 1, 1), white=(1, 1, 1), degree=2)
    with pytest.raises(InputError, match="all cones"):
        adapted_in_part((1, 1, 1), white=(0, 0, 0), degree=1)
    with pytest.raises(InputError, match="luminance"):
        adaptation_degree(float("nan"))
    flat = spectrum_of(np.arange(400, 701, 10), np.full(31, 0.5))
    with pytest.raises(LookupFailed, match="spectrum of the glass"):
        tristimulus(flat, lamp="D65 through blue-6")


def test_a_project_with_unknown_glass_says_what_there_is(tmp_path: Path) -> None:
    text = (DATA / "harbour-flat" / "project.toml").read_text()
    for name in ("costs.csv", "quotes.csv", "tasks.csv"):
        (tmp_path / name).write_bytes((DATA / "harbour-flat" / name).read_bytes())
    said = 'leaf = "tilt-turn"\nleaves = 4\n'
    assert said in text
    (tmp_path / "project.toml").write_text(text.replace(said, said + 'glass = "double-bronz-6"\n'))
    with pytest.raises(FileFormatError, match=r"harbour_window\.glass.*double-bronze-6"):
        read(tmp_path)
    (tmp_path / "project.toml").write_text(text.replace(said, said + 'glass = "double-bronze-6"\n'))
    found = read(tmp_path).project.home.openings["harbour_window"]
    assert (found.glass, found.transmittance) == ("double-bronze-6", 0.78)


def test_daylight_is_dimmed_as_the_glass_says(home: Home) -> None:
    """In the quick page and in the full light, with patches that are kept from before."""
    plan = next(iter(home.layouts.values()))
    lux, factor = {}, {}
    for glass in ("double-clear-6", "double-grey-6"):
        other = glazed(home, glass)
        state = by_day(exchange(other, plan, rays=256))
        lux[glass] = state.lux
        assert dict(state.tinted).keys() == ({glass} if "grey" in glass else set())
        findings = daylight_findings(other, shells=shells(other, plan))
        factor[glass] = next(f for f in findings if "iving" in f.what)
    ratio = glazing_of("double-grey-6").sky / glazing_of("double-clear-6").sky
    kept = lux["double-grey-6"].sum() / lux["double-clear-6"].sum()
    # Glass that lets less through also gives back a little less of what the room sends.
    assert kept == pytest.approx(ratio, rel=0.02)
    dim, clear = factor["double-grey-6"], factor["double-clear-6"]
    assert dim.measured == pytest.approx(clear.measured * ratio, rel=0.01)


def test_the_lit_view_by_day_shows_the_tint(home: Home) -> None:
    pictures = {}
    for glass in ("", "double-low-e-6", "double-bronze-6"):
        (way,) = lit_schemes(glazed(home, glass), viewpoints=["sofa"], when=("day",), rays=400)
        pictures[glass] = way.lit.picture(columns=48, rows=30)
    plain, coat, bronze = pictures.values()
    assert plain.colour is None
    assert coat.colour is not None
    assert bronze.colour is not None
    assert plain.lightness[plain.outdoors].max() == 100
    panes = np.array([t.kind == "glass" for t in bronze.targets])[bronze.index]
    assert np.unique(bronze.lightness[panes].round(6)).size == 1
    assert bronze.lightness[panes].max() < coat.lightness[panes].max() < 100
    # Bronze takes blue away; a coat whose spectrum is not known leaves the light neutral.
    inside = ~bronze.outdoors
    blue = {name: pictures[name].colour[..., 2] for name in ("double-low-e-6", "double-bronze-6")}
    neutral = float(blue["double-low-e-6"].max())
    assert blue["double-low-e-6"] == pytest.approx(neutral)
    assert (blue["double-bronze-6"][inside] < neutral - 0.01).all()
    assert "double, bronze outside, 6 mm" in lit_view(bronze).text


def test_finishes_of_the_room_are_told(home: Home, tmp_path: Path) -> None:
    assert tinted_daylight(home) == {}
    assert tinted_windows(home) == {}
    (tmp_path / "samples").mkdir()
    rows = [f"{nm},{0.1 + 0.6 * (nm - 380) / 400:.3f}" for nm in range(380, 781, 20)]
    (tmp_path / "samples" / "timber.csv").write_text("\n".join(rows))
    finishes = dict(home.finishes)
    finishes["floor_oak"] = dataclasses.replace(
        finishes["floor_oak"], spectrum="samples/timber.csv"
    )
    told = dataclasses.replace(glazed(home, "double-green-6"), finishes=finishes)
    found = tinted_daylight(told, folder=tmp_path)
    (shift,) = found["floor_oak"]
    assert shift.known
    assert shift.difference is not None
    assert shift.difference > 0
    assert "in tinted daylight: " in daylight_words(found["floor_oak"])
    assert daylight_words(found["wall_white"]) == "seen in tinted daylight: not known"
    # A finish of a room without such a window is not told of it.
    living = told.openings["harbour_window"].room
    elsewhere = {told.rooms[r].floor for r in told.rooms if r != living} - {
        told.rooms[living].floor
    }
    assert elsewhere.isdisjoint(found) or not elsewhere
    under = under_lamps(told, one="floor_oak", two="wall_white", folder=tmp_path)
    assert under.like["D65 through double-green-6"].startswith("balcony door")
    blue = dataclasses.replace(glazed(home, "blue-6"), finishes=finishes)
    (unknown,) = tinted_daylight(blue, folder=tmp_path)["floor_oak"]
    assert "spectrum of blue, 6 mm is not in the tables" in unknown.why
