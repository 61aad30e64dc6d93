r"""What a lamp does to a finish: its shift from daylight, and pairs that part.

A finish with a spectrum is seen under a lamp as

.. math:: XYZ_{lamp} \xrightarrow{\text{CAT16}} XYZ_{D65} \to L^*a^*b^*

with full adaptation to the lamp: what is left after the eye has got used to the
light. The shift is ΔE00 from the same finish in daylight. A flat black, grey or
white does not shift, whatever the lamp.

Two finishes that match in daylight need not match under a lamp. The special
metamerism index of CIE 15 [1]_ is the colour difference under the lamp once what
little they differ in daylight is taken off as a factor on X, Y and Z.

From an sRGB colour, an LRV or a Munsell value none of this can be told: many
spectra have the same sRGB. The answer is then "not known", and what to measure.

References
----------
.. [1] CIE 15:2018, Colorimetry, 4th edition, 9.2.2 (multiplicative correction).
.. [2] C. Li et al., "Comprehensive color solutions: CAM16, CAT16, and CAM16-UCS",
   Color Research and Application 42(6), 2017.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from designkit.errors import InputError
from designkit.palette import colour
from designkit.palette.spectra import Spectrum, lamp_light, lamp_name, tristimulus
from designkit.reference import value

__all__ = [
    "LampShift",
    "Parting",
    "lamp_like",
    "parting",
    "seen_under",
    "shift",
    "unknown_under",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class LampShift:
    """A finish under a lamp, against the same finish in daylight."""

    finish: str
    lamp: str
    known: bool
    lab: tuple[float, float, float] | None  # as seen, for D65
    daylight: tuple[float, float, float] | None
    difference: float | None  # ΔE00
    lightness: float | None  # change of L*
    called: str
    why: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Parting:
    """Two finishes in daylight and under a lamp."""

    one: str
    two: str
    lamp: str
    known: bool
    daylight: float | None  # ΔE00
    under: float | None  # ΔE00, as seen
    index: float | None  # special metamerism index of CIE 15, ΔE*ab
    match: bool  # they match in daylight
    called: str
    why: str


def seen_under(spectrum: Spectrum, *, lamp: str) -> Array:
    """CIELAB (D65) of a finish as it is seen under a lamp, fully adapted.

    Parameters
    ----------
    spectrum : Spectrum
        Of the finish.
    lamp : str
        A key of `designkit.palette.spectra.LAMPS`.

    Returns
    -------
    ndarray
        L*, a*, b*.

    Raises
    ------
    LookupFailed
        There is no such lamp.
    """
    xyz = tristimulus(spectrum, lamp=lamp)
    if lamp != "D65":
        xyz = colour.adapt(xyz, white=_xy(lamp), to=_xy("D65"))
    return colour.xyz_to_lab(xyz, white=_xy("D65"))


def _xy(lamp: str) -> tuple[float, float]:
    """Chromaticity of the light that was summed, so that a white stays white to the last digit."""
    x, y, z = lamp_light(lamp).tolist()
    return x / (x + y + z), y / (x + y + z)


def _triple(lab: Array) -> tuple[float, float, float]:
    return float(lab[0]), float(lab[1]), float(lab[2])


def unknown_under(finish: str, *, lamp: str, glass: str = "") -> LampShift:
    """What can be said of a finish without a spectrum: nothing, and why.

    Parameters
    ----------
    finish : str
        Its name.
    lamp : str
        A key of `designkit.palette.spectra.LAMPS`.
    glass : str, optional
        The name of a window glass whose spectrum is not known.

    Returns
    -------
    LampShift
        Not known.
    """
    return LampShift(
        finish=finish,
        lamp=lamp,
        known=False,
        lab=None,
        daylight=None,
        difference=None,
        lightness=None,
        called="not known",
        why=(
            f"the spectrum of {glass} is not in the tables: look at a cutting in the room by day"
            if glass
            else "only its colour in daylight is known, and many spectra have that colour: "
            "measure its spectral reflectance, or look at a cutting under the lamp"
        ),
    )


def shift(
    spectrum: Spectrum, *, lamp: str, overrides: Mapping[str, float] | None = None
) -> LampShift:
    """How far a finish shifts from daylight to a lamp.

    Parameters
    ----------
    spectrum : Spectrum
        Of the finish.
    lamp : str
        A key of `designkit.palette.spectra.LAMPS`.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    LampShift
        ΔE00 after full adaptation, and what it is called.

    Raises
    ------
    LookupFailed
        There is no such lamp.
    """
    there, day = seen_under(spectrum, lamp=lamp), seen_under(spectrum, lamp="D65")
    apart = float(colour.difference(day, there))
    called = _shift_word(apart, overrides)
    return LampShift(
        finish=spectrum.name,
        lamp=lamp,
        known=True,
        lab=_triple(there),
        daylight=_triple(day),
        difference=apart,
        lightness=float(there[0] - day[0]),
        called=called,
        why=(
            f"daylight L* {day[0]:.1f} a* {day[1]:.1f} b* {day[2]:.1f}, {lamp_name(lamp)}: L* "
            f"{there[0]:.1f} a* {there[1]:.1f} b* {there[2]:.1f}, ΔE00 {apart:.1f} "
            "(CAT16, fully adapted)"
        ),
    )


def _shift_word(apart: float, overrides: Mapping[str, float] | None) -> str:
    if apart < value("palette.shift.seen", overrides):
        return "holds its colour"
    return "shifts" if apart < value("palette.shift.strong", overrides) else "shifts much"


def parting(
    one: Spectrum, two: Spectrum, *, lamp: str, overrides: Mapping[str, float] | None = None
) -> Parting:
    """Whether two finishes that match in daylight part under a lamp.

    Parameters
    ----------
    one, two : Spectrum
        Of the two finishes.
    lamp : str
        A key of `designkit.palette.spectra.LAMPS`.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    Parting
        With the special metamerism index of CIE 15, change of illuminant.

    Raises
    ------
    LookupFailed
        There is no such lamp.
    InputError
        A finish gives nothing back in daylight.
    """
    day_1, day_2 = tristimulus(one), tristimulus(two)
    if min(day_1.min(), day_2.min()) <= 0:
        raise InputError(
            "spectrum", given="0 over a third of what is seen", allowed="some light given back"
        )
    under_1, under_2 = tristimulus(one, lamp=lamp), tristimulus(two, lamp=lamp)
    white = _xy(lamp)
    lab_1 = colour.xyz_to_lab(under_1, white=white)
    lab_2 = colour.xyz_to_lab(under_2 * day_1 / day_2, white=white)
    index = float(np.linalg.norm(lab_1 - lab_2))
    seen = [seen_under(s, lamp=lamp) for s in (one, two)]
    day = [seen_under(s, lamp="D65") for s in (one, two)]
    apart, before = float(colour.difference(*seen)), float(colour.difference(*day))
    match = before <= value("palette.shift.match", overrides)
    if not match:
        called = "no pair: they differ in daylight"
    elif index < value("palette.shift.seen", overrides):
        called = "stay together"
    else:
        strong = value("palette.shift.strong", overrides)
        called = "part" if index < strong else "part widely"
    return Parting(
        one=one.name,
        two=two.name,
        lamp=lamp,
        known=True,
        daylight=before,
        under=apart,
        index=index,
        match=match,
        called=called,
        why=(
            f"ΔE00 {before:.1f} in daylight, {apart:.1f} under {lamp_name(lamp)}; metamerism index "
            f"{index:.1f} (ΔE*ab, CIE 15)"
        ),
    )


def lamp_like(kelvin: float, *, cri: float | None = None) -> str:
    """The CIE lamp that stands for a fixture's colour temperature and colour rendering.

    Parameters
    ----------
    kelvin : float
        Colour temperature. [K]
    cri : float, optional
        Colour rendering index Ra.

    Returns
    -------
    str
        A key of `designkit.palette.spectra.LAMPS` among the LEDs.

    Raises
    ------
    InputError
        The temperature or the index cannot be.

    Examples
    --------
    >>> lamp_like(2700), lamp_like(2700, cri=95), lamp_like(4000)
    ('LED-B1', 'LED-V1', 'LED-B3')
    """
    if not 1000 <= kelvin <= 20000:
        raise InputError("colour temperature", given=kelvin, allowed="1,000 to 20,000 K")
    if cri is not None and not 0 <= cri <= 100:
        raise InputError("colour rendering index", given=cri, allowed="0 to 100")
    aim = 80.0 if cri is None else cri

    def away(lamp: str) -> tuple[float, float]:
        warm, ra = _LEDS[lamp]
        # Mireds: equal steps look equally large.
        return abs(1e6 / warm - 1e6 / kelvin) / 20 + abs(ra - aim) / 10, warm

    return min(_LEDS, key=away)


# Colour temperature (CIE 15:2018, from memory) and Ra (CIE 13.3, worked out with
# colour-science): what they are chosen by.
_LEDS: Mapping[str, tuple[float, float]] = {
    "LED-B1": (2733, 82),
    "LED-B2": (2998, 83),
    "LED-B3": (4103, 85),
    "LED-B4": (5109, 77),
    "LED-B5": (6598, 80),
    "LED-BH1": (2851, 92),
    "LED-RGB1": (2840, 57),
    "LED-V1": (2724, 95),
    "LED-V2": (4070, 96),
}
