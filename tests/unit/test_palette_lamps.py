"""Spectra are read or refused by name; what is not known says so."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from designkit.errors import FileFormatError, InputError, LookupFailed
from designkit.model import Colour, Finish
from designkit.palette.finishes import resolve
from designkit.palette.glass import behind_glass, glass_of
from designkit.palette.lamps_on_finishes import lamp_like, parting, shift, unknown_under
from designkit.palette.spectra import read_spectrum, spectrum_of, tristimulus

GRID = np.arange(400, 701, 10)


def rows(values: object = 0.2, *, grid: object = GRID, mark: str = ",", head: str = "") -> bytes:
    points = np.asarray(grid, dtype=float)
    heights = np.broadcast_to(np.asarray(values, dtype=float), points.shape)
    lines = [f"{a:g}{mark}{b:g}" for a, b in zip(points, heights, strict=True)]
    return "\n".join([*([head] if head else []), *lines]).encode()


@pytest.mark.parametrize("mark", [",", ";", "\t", " "])
@pytest.mark.parametrize("head", ["", "wavelength nm, reflectance", "# a comment"])
def test_a_plain_file_is_read(mark: str, head: str) -> None:
    found = read_spectrum(b"\xef\xbb\xbf" + rows(mark=mark, head=head), name="s.csv")
    assert found.wavelengths[[0, -1]].tolist() == [400, 700]
    assert tristimulus(found)[1] == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (rows(grid=GRID / 1000), "look like µm"),
        (rows(grid=GRID * 10), "look like ångström"),
        (rows(grid=np.arange(450, 701, 10)), "450 to 700 nm.*at least 400 to 700 nm"),
        (rows(grid=np.arange(400, 701, 50)), "a step of 50 nm after 400 nm"),
        (rows(grid=GRID[::-1]), "690 nm after 700 nm.*rising"),
        (rows(grid=[*GRID, 700]), "700 nm after 700 nm"),
        (rows(values=20.0), "reflectance at 400 nm = 20.*divide by 100"),
        (rows(values=1.2), "fluorescence"),
        (rows(values=-0.1), "reflectance at 400 nm = -0.1"),
        (rows(values=float("nan")), "what is no number"),
    ],
)
def test_wrong_wavelengths_and_values_are_named(data: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read_spectrum(data, name="s.csv")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"400;0,2\n410;0,3\n", "decimals with a point"),
        (b"400,0.2,9\n410,0.2,9\n", "s.csv line 1"),
        (b"", "0 lines of numbers"),
        (b"\xff\xfe\x00", "no UTF-8 text"),
        (b"400,0.2\nlater,words\n", "s.csv line 2"),
        (b"1" * 300_000, "300 kB"),
    ],
)
def test_a_file_that_is_no_spectrum_is_named(data: bytes, words: str) -> None:
    with pytest.raises(FileFormatError, match=words):
        read_spectrum(data, name="s.csv")


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(FileFormatError, match=r"no\.csv"):
        read_spectrum(tmp_path / "no.csv")


def test_without_a_spectrum_nothing_is_known() -> None:
    found = unknown_under("white paint", lamp="A")
    assert not found.known
    assert found.lab is None
    assert found.difference is None
    assert "many spectra have that colour" in found.why


def test_names_of_lamps_and_panes() -> None:
    flat = spectrum_of(GRID, np.full(len(GRID), 0.5))
    with pytest.raises(LookupFailed, match="LED-B9"):
        shift(flat, lamp="LED-B9")
    with pytest.raises(LookupFailed, match="clear-7"):
        glass_of("clear-7")
    with pytest.raises(InputError, match="colour temperature = 0"):
        lamp_like(0)
    with pytest.raises(InputError, match="colour rendering"):
        lamp_like(3000, cri=120)
    with pytest.raises(InputError, match="before the glass"):
        behind_glass(
            resolve(Finish(name="w", colours=(Colour(lrv=80.0),))), glass="clear-6", before=-1
        )


def test_two_that_differ_in_daylight_are_no_pair() -> None:
    one = spectrum_of(GRID, np.full(len(GRID), 0.5), name="one")
    two = spectrum_of(GRID, np.full(len(GRID), 0.2), name="two")
    found = parting(one, two, lamp="A")
    assert not found.match
    assert found.called == "no pair: they differ in daylight"
    black = spectrum_of(GRID, np.zeros(len(GRID)), name="black")
    with pytest.raises(InputError, match="some light given back"):
        parting(one, black, lamp="A")


def test_a_warm_slope_looks_yellower_under_incandescent_light() -> None:
    """More red in the lamp makes a finish that rises to the red lighter."""
    slope = spectrum_of(GRID, np.linspace(0.1, 0.7, len(GRID)), name="timber")
    found = shift(slope, lamp="A")
    assert found.lightness is not None
    assert found.lightness > 0
    assert found.called in ("shifts", "shifts much")
