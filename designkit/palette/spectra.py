r"""Spectral reflectance of a finish: reading it, and its colour under a lamp.

A spectrum is a CSV of two columns, wavelength in nanometres and reflectance from
0 to 1. With the light S of a lamp and the 2° observer of CIE 15 [1]_

.. math:: Y = \sum_\lambda R\,S\,\bar y \Big/ \sum_\lambda S\,\bar y

at 5 nm from 380 to 780 nm; X and Z likewise. Between two readings the curve runs
smoothly and never beyond them (a monotone cubic); before the first and after the last
reading it keeps their value.

References
----------
.. [1] CIE 15:2018, Colorimetry, 4th edition, 7.1. Illuminants and observer as
   colour-science has them.
"""

from __future__ import annotations

import functools
import io
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from designkit.errors import FileFormatError, InputError, LookupFailed, nearest
from designkit.palette.glazing import glazing_of, straight_through

__all__ = [
    "LAMPS",
    "THROUGH",
    "Spectrum",
    "lamp_light",
    "lamp_name",
    "read_spectrum",
    "spectrum_of",
    "tristimulus",
]

Array = NDArray[np.float64]
GRID = np.arange(380.0, 781.0, 5.0)
_FIRST, _LAST = 400.0, 700.0  # what has to be measured [nm]
_STEP = 20.0  # largest step between readings [nm]
_MOST = 200_000  # bytes
_ASK = "two columns: wavelength in nm, reflectance from 0 to 1"

THROUGH = "D65 through "  # and a kind of window glass: daylight behind it

# What the trade calls them, by the name of the CIE's table.
LAMPS: Mapping[str, str] = MappingProxyType(
    {
        "D65": "daylight, D65",
        "D50": "late daylight, D50",
        "A": "incandescent and halogen, A",
        "FL2": "fluorescent, halophosphate, FL2",
        "FL11": "fluorescent, three bands, FL11",
        "LED-B1": "LED, blue and phosphor, 2,700 K, B1",
        "LED-B2": "LED, blue and phosphor, 3,000 K, B2",
        "LED-B3": "LED, blue and phosphor, 4,100 K, B3",
        "LED-B4": "LED, blue and phosphor, 5,100 K, B4",
        "LED-B5": "LED, blue and phosphor, 6,600 K, B5",
        "LED-BH1": "LED, blue, phosphor and red, 2,900 K, BH1",
        "LED-RGB1": "LED, red, green and blue, 2,800 K, RGB1",
        "LED-V1": "LED, violet and phosphor, 2,700 K, V1",
        "LED-V2": "LED, violet and phosphor, 4,100 K, V2",
    }
)


@dataclass(frozen=True, kw_only=True, eq=False)
class Spectrum:
    """A spectral reflectance."""

    name: str
    wavelengths: Array  # rising [nm]
    reflectance: Array  # [1]

    def at(self, wavelengths: ArrayLike) -> Array:
        """Reflectance at other wavelengths.

        Parameters
        ----------
        wavelengths : array_like
            [nm]

        Returns
        -------
        ndarray
            Between the readings, a smooth curve; outside them, the nearest one.
        """
        from scipy.interpolate import PchipInterpolator  # type: ignore[import-untyped, unused-ignore]

        inside = np.clip(
            np.asarray(wavelengths, dtype=np.float64), self.wavelengths[0], self.wavelengths[-1]
        )
        return np.asarray(PchipInterpolator(self.wavelengths, self.reflectance)(inside))


def spectrum_of(
    wavelengths: ArrayLike, reflectance: ArrayLike, *, name: str = "spectrum"
) -> Spectrum:
    """A spectral reflectance from numbers, checked.

    Parameters
    ----------
    wavelengths : array_like
        Rising. [nm]
    reflectance : array_like
        As many. [1]
    name : str, optional
        For messages.

    Returns
    -------
    Spectrum
        As given.

    Raises
    ------
    InputError
        Wavelengths are not in nanometres, do not rise, leave out a part of what
        can be seen or stand too far apart; a reflectance is not 0 to 1.

    Examples
    --------
    >>> flat = spectrum_of([380, 580, 780], [0.2, 0.2, 0.2])
    Traceback (most recent call last):
    ...
    designkit.errors.InputError: spectrum, wavelengths = a step of 200 nm after 380 nm; allowed: \
20 nm at most; to mend: measure at closer wavelengths
    """
    at = np.asarray(wavelengths, dtype=np.float64)
    value = np.asarray(reflectance, dtype=np.float64)
    what = f"{name}, wavelengths"
    if at.ndim != 1 or at.shape != value.shape or len(at) < 2:
        raise InputError(
            name, given=f"{at.size} wavelengths, {value.size} values", allowed="as many of each"
        )
    if not (np.isfinite(at).all() and np.isfinite(value).all()):
        raise InputError(name, given="what is no number", allowed="finite numbers")
    if at.max() < 10:
        raise InputError(
            what,
            given=f"{at.min():g} to {at.max():g}, which look like µm",
            allowed="nanometres",
            mend="multiply by 1,000",
        )
    if at.min() > 2500:
        raise InputError(
            what,
            given=f"{at.min():g} to {at.max():g}, which look like ångström or 1/cm",
            allowed="nanometres",
            mend="ångström: divide by 10",
        )
    step = np.diff(at)
    if (step <= 0).any():
        n = int(np.argmax(step <= 0))
        raise InputError(
            what,
            given=f"{at[n + 1]:g} nm after {at[n]:g} nm",
            allowed="each once, rising",
            mend="sort the lines and drop what is there twice",
        )
    if at[0] > _FIRST or at[-1] < _LAST:
        raise InputError(
            what,
            given=f"{at[0]:g} to {at[-1]:g} nm",
            allowed=f"at least {_FIRST:g} to {_LAST:g} nm",
            mend="a colour cannot be told from a part of what is seen",
        )
    seen = (at[:-1] < _LAST) & (at[1:] > _FIRST)
    if (step[seen] > _STEP).any():
        n = int(np.flatnonzero(seen)[np.argmax(step[seen] > _STEP)])
        raise InputError(
            what,
            given=f"a step of {step[n]:g} nm after {at[n]:g} nm",
            allowed=f"{_STEP:g} nm at most",
            mend="measure at closer wavelengths",
        )
    bad = (value < 0) | (value > 1)
    if bad.any():
        n = int(np.argmax(bad))
        much = float(value.max())
        mend = "divide by 100" if 2 < much <= 150 else "reflectance lies from 0 to 1"
        if 1 < much <= 2:
            mend = "over 1 is fluorescence or a fault: it depends on the lamp and is not taken"
        raise InputError(
            f"{name}, reflectance at {at[n]:g} nm", given=value[n], allowed="0 to 1", mend=mend
        )
    return Spectrum(name=name, wavelengths=at, reflectance=value)


def read_spectrum(source: Path | bytes, *, name: str = "") -> Spectrum:
    """Read a spectral reflectance from a CSV file.

    Parameters
    ----------
    source : Path or bytes
        The file: two columns, wavelength in nm and reflectance; a head line, and lines
        that begin with "#", are left out; comma, semicolon, tab or blanks between.
    name : str, optional
        Its name, for messages.

    Returns
    -------
    Spectrum
        Checked.

    Raises
    ------
    FileFormatError
        It is missing, too large, no text, or a line is not two numbers.
    InputError
        Wavelengths or reflectances cannot be; see `spectrum_of`.
    """
    what = name or (source.name if isinstance(source, Path) else "spectrum")
    try:
        data = source if isinstance(source, bytes) else source.read_bytes()
    except OSError as error:
        raise FileFormatError(
            what,
            given=error.strerror or "cannot be opened",
            allowed="a CSV file",
            mend="put it into the project's samples folder",
        ) from None
    if len(data) > _MOST:
        raise FileFormatError(
            what, given=f"{len(data) / 1000:.0f} kB", allowed=f"{_MOST // 1000} kB at most"
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FileFormatError(what, given="no UTF-8 text", allowed=_ASK) from None
    rows: list[tuple[float, float]] = []
    for number, line in enumerate(io.StringIO(text), start=1):
        bare = line.strip()
        if not bare or bare.startswith("#"):
            continue
        cells = _cells(bare)
        try:
            one, two = (float(cell) for cell in cells)
        except ValueError:
            if not rows and not any(c.isdigit() for c in cells[0][:1]):
                continue  # the head
            said = bare if len(bare) <= 40 else f"{bare[:37]}…"
            comma = ";" in bare and "," in bare
            raise FileFormatError(
                f"{what} line {number}",
                given=said,
                allowed=_ASK,
                mend="write decimals with a point" if comma else "two numbers a line",
            ) from None
        rows.append((one, two))
    if len(rows) < 2:
        raise FileFormatError(what, given=f"{len(rows)} lines of numbers", allowed=_ASK)
    numbers = np.array(rows)
    return spectrum_of(numbers[:, 0], numbers[:, 1], name=what)


def _cells(line: str) -> list[str]:
    for mark in (";", "\t", ","):
        if mark in line:
            return [cell.strip() for cell in line.split(mark) if cell.strip()]
    return line.split()


# --- lamps ------------------------------------------------------------------------


def _colour() -> Any:
    # Over a second to import: only here.
    import colour

    return colour


@functools.cache
def _observer() -> Array:
    table = _colour().MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
    found = np.stack([np.interp(GRID, table.wavelengths, table.values[:, n]) for n in range(3)])
    return np.asarray(found, dtype=np.float64)


def lamp_name(lamp: str) -> str:
    """What the trade calls a lamp, or daylight behind a kind of window glass.

    Parameters
    ----------
    lamp : str
        A key of `LAMPS`, or `THROUGH` and a key of `designkit.palette.glazing.glazings`.

    Returns
    -------
    str
        Its name.

    Raises
    ------
    LookupFailed
        There is no such lamp or glass.

    Examples
    --------
    >>> lamp_name("A")
    'incandescent and halogen, A'
    >>> lamp_name("D65 through bronze-6")
    'daylight, D65, through bronze, 6 mm'
    """
    if lamp.startswith(THROUGH):
        return f"{LAMPS['D65']}, through {glazing_of(lamp.removeprefix(THROUGH)).name}"
    _known(lamp)
    return LAMPS[lamp]


def _known(lamp: str) -> None:
    if lamp.startswith(THROUGH):
        glazing_of(lamp.removeprefix(THROUGH))
    elif lamp not in LAMPS:
        raise LookupFailed(
            "lamp",
            given=lamp,
            allowed=", ".join(LAMPS),
            mend=f"did you mean {nearest(lamp, LAMPS) or 'D65'}?",
        )


@functools.cache
def _weights(lamp: str) -> Array:
    light = _colour().SDS_ILLUMINANTS["D65" if lamp.startswith(THROUGH) else lamp]
    power = np.interp(GRID, light.wavelengths, light.values)
    if lamp.startswith(THROUGH):
        glass = lamp.removeprefix(THROUGH)
        through = straight_through(glass, wavelengths=GRID)
        if through is None:
            raise LookupFailed(
                "spectrum of the glass",
                given=glazing_of(glass).name,
                allowed="glass whose spectrum is in the tables",
                mend="look at a cutting in the room by day",
            )
        power = power * through
    each = _observer() * power
    weights = np.asarray(each / each[1].sum(), dtype=np.float64)
    weights.flags.writeable = False
    return weights


def lamp_light(lamp: str) -> Array:
    """Tristimulus values of a lamp's own light, Y = 1.

    Parameters
    ----------
    lamp : str
        A key of `LAMPS`, or `THROUGH` and a kind of glass.

    Returns
    -------
    ndarray
        X, Y, Z.

    Raises
    ------
    LookupFailed
        There is no such lamp, or the spectrum of the glass is not known.
    """
    _known(lamp)
    return np.asarray(_weights(lamp).sum(axis=1))


def tristimulus(spectrum: Spectrum, *, lamp: str = "D65") -> Array:
    """Tristimulus values of a finish under a lamp.

    Parameters
    ----------
    spectrum : Spectrum
        From `read_spectrum` or `spectrum_of`.
    lamp : str, optional
        A key of `LAMPS`, or `THROUGH` and a kind of glass.

    Returns
    -------
    ndarray
        X, Y, Z; Y = 1 for the perfect diffuser.

    Raises
    ------
    LookupFailed
        There is no such lamp, or the spectrum of the glass is not known.
    """
    _known(lamp)
    return np.asarray(_weights(lamp) @ spectrum.at(GRID))
