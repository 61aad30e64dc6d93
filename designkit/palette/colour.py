"""Colour by number: sRGB, XYZ, CIELAB, light reflectance value, Munsell value.

Everything here is closed form on numpy arrays. Only chromatic adaptation goes
through colour-science, which is imported where it is used because its import
takes longer than all the rest of a study.

CIELAB is for D65 and the 2° observer unless a white is given. The light
reflectance value (LRV) of BS 8493 is 100 Y for the 10° observer; we take it
for the 2° Y, which for near-neutral finishes is well within ± 2.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from designkit.errors import InputError, LookupFailed, nearest

__all__ = [
    "WHITES",
    "adapt",
    "chroma",
    "difference",
    "grey_hex",
    "hex_to_lab",
    "hex_to_rgb",
    "lab_to_hex",
    "lab_to_xyz",
    "lightness_to_lrv",
    "lightness_to_luminance",
    "linear_to_rgb",
    "lrv_to_lightness",
    "luminance_to_lightness",
    "luminance_to_munsell",
    "munsell_to_lightness",
    "munsell_to_luminance",
    "rgb_to_hex",
    "rgb_to_linear",
    "rgb_to_xyz",
    "white_point",
    "xyz_to_lab",
    "xyz_to_rgb",
]

Array = NDArray[np.float64]

# CIE 15:2018, 2° observer, chromaticities x, y.
WHITES: Mapping[str, tuple[float, float]] = MappingProxyType(
    {
        "A": (0.44758, 0.40745),
        "C": (0.31006, 0.31616),
        "D50": (0.34570, 0.35850),
        "D65": (0.31270, 0.32900),
        "E": (1 / 3, 1 / 3),
        "FL2": (0.3721, 0.3751),
        "FL11": (0.3805, 0.3769),
        "LED-B1": (0.4560, 0.4078),
        "LED-B2": (0.4357, 0.4012),
        "LED-B3": (0.3756, 0.3723),
        "LED-B4": (0.3422, 0.3502),
        "LED-B5": (0.3118, 0.3236),
        "LED-BH1": (0.4474, 0.4066),
        "LED-RGB1": (0.4557, 0.4211),
        "LED-V1": (0.4548, 0.4044),
        "LED-V2": (0.3781, 0.3775),
    }
)

EPSILON = 216 / 24389  # CIE 15: (6/29)³, where the cube root gives way to the line
KAPPA = 24389 / 27  # CIE 15: slope of L* near black

# ASTM D1535 quintic, Y in per cent of the perfect diffuser.
_MUNSELL = (0.00081939, -0.020484, 0.23352, -0.22533, 1.1914, 0.0)
_HEX = re.compile(r"#?([0-9a-fA-F]{6}|[0-9a-fA-F]{3})")


def _finite(what: str, value: ArrayLike) -> Array:
    array = np.asarray(value, dtype=np.float64)
    if not np.isfinite(array).all():
        raise InputError(what, given=value, allowed="finite numbers", mend="give a number")
    return array


def _within(what: str, value: ArrayLike, low: float, high: float) -> Array:
    array = _finite(what, value)
    slack = 1e-9  # a round trip may end one bit outside
    if ((array < low - slack) | (array > high + slack)).any():
        raise InputError(
            what, given=value, allowed=f"{low:g} to {high:g}", mend="check the scale it was read on"
        )
    return np.clip(array, low, high)


def white_point(white: str | tuple[float, float]) -> Array:
    """Tristimulus values of a white, with Y = 1.

    Parameters
    ----------
    white : str or tuple of float
        Name of a CIE illuminant, or its chromaticity x, y.

    Returns
    -------
    ndarray
        X, Y, Z.

    Raises
    ------
    LookupFailed
        There is no illuminant of that name.

    Examples
    --------
    >>> [round(float(v), 4) for v in white_point("D65")]
    [0.9505, 1.0, 1.0891]
    """
    if isinstance(white, str):
        if white not in WHITES:
            raise LookupFailed(
                "illuminant",
                given=white,
                allowed=", ".join(WHITES),
                mend=f"did you mean {nearest(white, WHITES) or 'D65'}?",
            )
        x, y = WHITES[white]
    else:
        x, y = (float(v) for v in _within("chromaticity", white, 1e-6, 1.0))
    return np.array([x / y, 1.0, (1 - x - y) / y])


def _rgb_matrix() -> Array:
    # From the primaries of IEC 61966-2-1, so that white is exactly D65 and a
    # neutral has a* = b* = 0; the standard's own matrix is rounded to 4 digits.
    primaries = np.array([[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]])
    columns = np.stack(
        [
            primaries[:, 0] / primaries[:, 1],
            np.ones(3),
            (1 - primaries.sum(axis=1)) / primaries[:, 1],
        ]
    )
    matrix: Array = columns * np.linalg.solve(columns, white_point("D65"))
    return matrix


_TO_XYZ = _rgb_matrix()
_TO_RGB = np.linalg.inv(_TO_XYZ)


def rgb_to_linear(rgb: ArrayLike) -> Array:
    r"""Linear light of sRGB values.

    .. math:: c = v/12.92 \;(v \le 0.04045), \quad ((v+0.055)/1.055)^{2.4}    [1]_

    Parameters
    ----------
    rgb : array_like
        sRGB values, 0 to 1, any shape.

    Returns
    -------
    ndarray
        Linear values, 0 to 1.

    Raises
    ------
    InputError
        A value is outside 0 to 1.

    References
    ----------
    .. [1] IEC 61966-2-1:1999.
    """
    v = _within("sRGB", rgb, 0.0, 1.0)
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def linear_to_rgb(linear: ArrayLike) -> Array:
    """sRGB values of linear light; what a screen cannot show is clipped.

    Parameters
    ----------
    linear : array_like
        Linear values, any shape.

    Returns
    -------
    ndarray
        sRGB values, 0 to 1.

    Raises
    ------
    InputError
        A value is not finite.
    """
    c = np.clip(_finite("linear sRGB", linear), 0.0, 1.0)
    return np.where(c <= 0.0031308, 12.92 * c, 1.055 * c ** (1 / 2.4) - 0.055)


def hex_to_rgb(text: str) -> Array:
    """Values 0 to 1 of a colour written as "#rrggbb" or "#rgb".

    Parameters
    ----------
    text : str
        The colour; the # may be missing.

    Returns
    -------
    ndarray
        Red, green, blue, 0 to 1.

    Raises
    ------
    InputError
        The text is not such a colour.

    Examples
    --------
    >>> [float(v) for v in hex_to_rgb("#ff0033")]
    [1.0, 0.0, 0.2]
    """
    match = _HEX.fullmatch(text.strip()) if isinstance(text, str) else None
    if match is None:
        raise InputError(
            "hex", given=text, allowed="#rrggbb or #rgb", mend='write it as in "#2b2b2b"'
        )
    digits = match[1]
    if len(digits) == 3:
        digits = "".join(d * 2 for d in digits)
    return np.array([int(digits[i : i + 2], 16) for i in (0, 2, 4)]) / 255.0


def rgb_to_hex(rgb: ArrayLike) -> str:
    """One sRGB colour as "#rrggbb".

    Parameters
    ----------
    rgb : array_like
        Red, green, blue, 0 to 1; clipped to that range.

    Returns
    -------
    str
        Seven characters, lower case.

    Raises
    ------
    InputError
        These are not three finite numbers.
    """
    values = _finite("sRGB", rgb)
    if values.shape != (3,):
        raise InputError("sRGB", given=values.shape, allowed="three numbers", mend="one colour")
    return "#" + "".join(f"{round(float(v) * 255):02x}" for v in np.clip(values, 0.0, 1.0))


def rgb_to_xyz(rgb: ArrayLike) -> Array:
    """Tristimulus values of sRGB colours, Y = 1 for white.

    Parameters
    ----------
    rgb : array_like
        sRGB values 0 to 1, shape (…, 3).

    Returns
    -------
    ndarray
        X, Y, Z for D65 and the 2° observer, shape (…, 3).

    Raises
    ------
    InputError
        A value is outside 0 to 1.
    """
    return rgb_to_linear(rgb) @ _TO_XYZ.T


def xyz_to_rgb(xyz: ArrayLike) -> Array:
    """sRGB values of tristimulus values; out of gamut is clipped.

    Parameters
    ----------
    xyz : array_like
        X, Y, Z for D65, Y = 1 for white, shape (…, 3).

    Returns
    -------
    ndarray
        sRGB values, 0 to 1.

    Raises
    ------
    InputError
        A value is not finite.
    """
    return linear_to_rgb(_finite("XYZ", xyz) @ _TO_RGB.T)


def luminance_to_lightness(luminance: ArrayLike) -> Array:
    r"""CIE lightness L* of a relative luminance.

    .. math:: L^* = 116 Y^{1/3} - 16 \;(Y > 216/24389), \quad (24389/27)\,Y   [1]_

    Parameters
    ----------
    luminance : array_like
        Y relative to white. [0–1, more for what is lighter than white]

    Returns
    -------
    ndarray
        L*.

    Raises
    ------
    InputError
        A value is negative or not finite.

    References
    ----------
    .. [1] CIE 15:2018, Colorimetry, 4th edition, 8.2.1.

    Examples
    --------
    >>> round(float(luminance_to_lightness(0.184187)), 2)
    50.0
    """
    y = _within("luminance", luminance, 0.0, np.inf)
    return np.where(y > EPSILON, 116 * np.cbrt(y) - 16, KAPPA * y)


def lightness_to_luminance(lightness: ArrayLike) -> Array:
    """Relative luminance Y of a CIE lightness.

    Parameters
    ----------
    lightness : array_like
        L*.

    Returns
    -------
    ndarray
        Y, 1 for white.

    Raises
    ------
    InputError
        A value is negative or not finite.

    Examples
    --------
    >>> round(float(lightness_to_luminance(50.0)), 4)
    0.1842
    """
    l_star = _within("L*", lightness, 0.0, np.inf)
    return np.where(l_star > KAPPA * EPSILON, ((l_star + 16) / 116) ** 3, l_star / KAPPA)


def lrv_to_lightness(lrv: ArrayLike) -> Array:
    """L* of a light reflectance value.

    Parameters
    ----------
    lrv : array_like
        Light reflectance value. [0–100]

    Returns
    -------
    ndarray
        L*.

    Raises
    ------
    InputError
        A value is outside 0 to 100.

    References
    ----------
    .. [1] BS 8493:2008+A1:2010 (second-hand): LRV is 100 Y.

    Examples
    --------
    >>> round(float(lrv_to_lightness(83.0)), 1)
    93.0
    """
    return luminance_to_lightness(_within("LRV", lrv, 0.0, 100.0) / 100)


def lightness_to_lrv(lightness: ArrayLike) -> Array:
    """Light reflectance value of an L*.

    Parameters
    ----------
    lightness : array_like
        L*. [0–100]

    Returns
    -------
    ndarray
        LRV. [0–100]

    Raises
    ------
    InputError
        A value is outside 0 to 100.
    """
    return 100 * lightness_to_luminance(_within("L*", lightness, 0.0, 100.0))


def munsell_to_luminance(value: ArrayLike) -> Array:
    """Luminance factor of a Munsell value, after ASTM D1535.

    Parameters
    ----------
    value : array_like
        Munsell value V. [0–10]

    Returns
    -------
    ndarray
        Y relative to the perfect diffuser. [0–1]

    Raises
    ------
    InputError
        A value is outside 0 to 10.

    References
    ----------
    .. [1] ASTM D1535-14, equation for Y of V. The older renotation (Newhall
       1943) refers to magnesium oxide and lies 2.5 % higher.

    Examples
    --------
    >>> round(100 * float(munsell_to_luminance(5)), 3)
    19.272
    """
    v = _within("Munsell value", value, 0.0, 10.0)
    return np.asarray(np.polyval(_MUNSELL, v)) / 100


def luminance_to_munsell(luminance: ArrayLike) -> Array:
    """Munsell value of a luminance factor: the inverse of ASTM D1535.

    Parameters
    ----------
    luminance : array_like
        Y relative to the perfect diffuser. [0–1]

    Returns
    -------
    ndarray
        Munsell value V. [0–10]

    Raises
    ------
    InputError
        A value is outside 0 to 1.

    Examples
    --------
    >>> round(float(luminance_to_munsell(0.19271)), 3)
    5.0
    """
    y = 100 * _within("luminance", luminance, 0.0, 1.0)
    # V rises with Y, so Newton from L*/10 (off by 1.05 at most) converges; a
    # handful of steps reach the last digit.
    v = luminance_to_lightness(y / 100) / 10
    slope = np.polyder(np.asarray(_MUNSELL))
    for _ in range(8):
        v = np.clip(v - (np.polyval(_MUNSELL, v) - y) / np.polyval(slope, v), 0.0, 10.0)
    return np.asarray(v)


def munsell_to_lightness(value: ArrayLike) -> Array:
    """L* of a Munsell value; close to ten times the value.

    Parameters
    ----------
    value : array_like
        Munsell value V. [0–10]

    Returns
    -------
    ndarray
        L*.

    Raises
    ------
    InputError
        A value is outside 0 to 10.

    Examples
    --------
    >>> round(float(munsell_to_lightness(9)), 1)
    90.2
    """
    return luminance_to_lightness(munsell_to_luminance(value))


def xyz_to_lab(xyz: ArrayLike, *, white: str | tuple[float, float] = "D65") -> Array:
    """CIELAB of tristimulus values.

    Parameters
    ----------
    xyz : array_like
        X, Y, Z with Y = 1 for white, shape (…, 3).
    white : str or tuple of float
        Illuminant by name, or its chromaticity x, y.

    Returns
    -------
    ndarray
        L*, a*, b*, shape (…, 3).

    Raises
    ------
    InputError
        A value is not finite.

    References
    ----------
    .. [1] CIE 15:2018, Colorimetry, 4th edition, 8.2.1.
    """
    ratio = _finite("XYZ", xyz) / white_point(white)
    f = np.where(ratio > EPSILON, np.cbrt(ratio), (KAPPA * ratio + 16) / 116)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.stack([116 * y - 16, 500 * (x - y), 200 * (y - z)], axis=-1)


def lab_to_xyz(lab: ArrayLike, *, white: str | tuple[float, float] = "D65") -> Array:
    """Tristimulus values of CIELAB.

    Parameters
    ----------
    lab : array_like
        L*, a*, b*, shape (…, 3).
    white : str or tuple of float
        Illuminant by name, or its chromaticity x, y.

    Returns
    -------
    ndarray
        X, Y, Z with Y = 1 for white, shape (…, 3).

    Raises
    ------
    InputError
        A value is not finite.
    """
    values = _finite("CIELAB", lab)
    y = (values[..., 0] + 16) / 116
    f = np.stack([y + values[..., 1] / 500, y, y - values[..., 2] / 200], axis=-1)
    ratio = np.where(f**3 > EPSILON, f**3, (116 * f - 16) / KAPPA)
    return ratio * white_point(white)


def hex_to_lab(text: str) -> Array:
    """CIELAB (D65, 2°) of a colour written as "#rrggbb".

    Parameters
    ----------
    text : str
        The colour.

    Returns
    -------
    ndarray
        L*, a*, b*.

    Raises
    ------
    InputError
        The text is not such a colour.

    Examples
    --------
    >>> [round(float(v), 1) + 0.0 for v in hex_to_lab("#777777")]
    [50.0, 0.0, 0.0]
    """
    return xyz_to_lab(rgb_to_xyz(hex_to_rgb(text)))


def lab_to_hex(lab: ArrayLike) -> str:
    """One CIELAB colour (D65, 2°) for a screen; out of gamut is clipped.

    Parameters
    ----------
    lab : array_like
        L*, a*, b*.

    Returns
    -------
    str
        "#rrggbb".

    Raises
    ------
    InputError
        A value is not finite.

    Examples
    --------
    >>> lab_to_hex([50.0, 0.0, 0.0])
    '#777777'
    """
    return rgb_to_hex(xyz_to_rgb(lab_to_xyz(lab)))


def grey_hex(lightness: float) -> str:
    """The neutral of a given L*, for a screen.

    Parameters
    ----------
    lightness : float
        L*. [0–100]

    Returns
    -------
    str
        "#rrggbb" with three equal parts.

    Raises
    ------
    InputError
        The value is outside 0 to 100.

    Examples
    --------
    >>> grey_hex(35.0)
    '#525252'
    """
    y = float(lightness_to_luminance(_within("L*", lightness, 0.0, 100.0)))
    return rgb_to_hex(linear_to_rgb(np.full(3, y)))


def chroma(lab: ArrayLike) -> Array:
    """CIELAB chroma C*ab.

    Parameters
    ----------
    lab : array_like
        L*, a*, b*, shape (…, 3).

    Returns
    -------
    ndarray
        C*ab, shape (…).

    Raises
    ------
    InputError
        A value is not finite.

    Examples
    --------
    >>> float(chroma([50.0, 3.0, 4.0]))
    5.0
    """
    values = _finite("CIELAB", lab)
    return np.asarray(np.hypot(values[..., 1], values[..., 2]))


def difference(lab_1: ArrayLike, lab_2: ArrayLike) -> Array:
    """Colour difference CIEDE2000, with the three weights at 1.

    Parameters
    ----------
    lab_1, lab_2 : array_like
        L*, a*, b*, shapes (…, 3) that broadcast.

    Returns
    -------
    ndarray
        ΔE00.

    Raises
    ------
    InputError
        A value is not finite.

    Notes
    -----
    Hues exactly 180° apart sit on a jump of the formula (Sharma's pair 14):
    either side of it is right.

    References
    ----------
    .. [1] G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 color-difference
       formula: implementation notes, supplementary test data, and mathematical
       observations", Color Research and Application 30 (2005), equations 2–22.

    Examples
    --------
    >>> round(float(difference([50, 2.6772, -79.7751], [50, 0, -82.7485])), 4)
    2.0425
    """
    one, two = np.broadcast_arrays(_finite("CIELAB", lab_1), _finite("CIELAB", lab_2))
    l1, a1, b1 = one[..., 0], one[..., 1], one[..., 2]
    l2, a2, b2 = two[..., 0], two[..., 1], two[..., 2]

    mean_c7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - np.sqrt(mean_c7 / (mean_c7 + 25.0**7)))
    c1, c2 = np.hypot((1 + g) * a1, b1), np.hypot((1 + g) * a2, b2)
    h1 = np.degrees(np.arctan2(b1, (1 + g) * a1)) % 360
    h2 = np.degrees(np.arctan2(b2, (1 + g) * a2)) % 360

    neutral = c1 * c2 == 0
    turn = h2 - h1
    turn = np.where(turn > 180, turn - 360, np.where(turn < -180, turn + 360, turn))
    turn = np.where(neutral, 0.0, turn)
    d_l, d_c = l2 - l1, c2 - c1
    d_h = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn / 2))

    mean_l, mean_c = (l1 + l2) / 2, (c1 + c2) / 2
    total = h1 + h2
    mean_h = np.where(
        np.abs(h1 - h2) <= 180, total / 2, np.where(total < 360, total / 2 + 180, total / 2 - 180)
    )
    mean_h = np.where(neutral, total, mean_h)
    t = (
        1
        - 0.17 * np.cos(np.radians(mean_h - 30))
        + 0.24 * np.cos(np.radians(2 * mean_h))
        + 0.32 * np.cos(np.radians(3 * mean_h + 6))
        - 0.20 * np.cos(np.radians(4 * mean_h - 63))
    )
    s_l = 1 + 0.015 * (mean_l - 50) ** 2 / np.sqrt(20 + (mean_l - 50) ** 2)
    s_c, s_h = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * t
    mean_c7 = mean_c**7
    r_t = (
        -2
        * np.sqrt(mean_c7 / (mean_c7 + 25.0**7))
        * np.sin(np.radians(60 * np.exp(-(((mean_h - 275) / 25) ** 2))))
    )
    x, y, z = d_l / s_l, d_c / s_c, d_h / s_h
    return np.asarray(np.sqrt(x * x + y * y + z * z + r_t * y * z))


def adapt(
    xyz: ArrayLike,
    *,
    white: str | tuple[float, float],
    to: str | tuple[float, float] = "D65",
    transform: str = "CAT16",
) -> Array:
    """Corresponding colours under another white, fully adapted.

    Parameters
    ----------
    xyz : array_like
        X, Y, Z with Y = 1 for white, shape (…, 3).
    white : str or tuple of float
        The white they were seen under.
    to : str or tuple of float
        The white they are wanted for.
    transform : str
        A von Kries matrix that colour-science knows, as "CAT16" or "Bradford".

    Returns
    -------
    ndarray
        X, Y, Z under the other white, shape (…, 3).

    Raises
    ------
    InputError
        A value is not finite, or the transform is not known.
    """
    values = _finite("XYZ", xyz)
    from colour.adaptation import CHROMATIC_ADAPTATION_TRANSFORMS as KNOWN
    from colour.adaptation import chromatic_adaptation_VonKries as von_kries

    if transform not in KNOWN:
        raise InputError(
            "transform", given=transform, allowed=", ".join(sorted(KNOWN)), mend="use CAT16"
        )
    call: Any = von_kries
    return np.asarray(
        call(values, white_point(white), white_point(to), transform=transform), dtype=np.float64
    )
