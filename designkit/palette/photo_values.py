r"""How much of a photograph is dark, mid and light, and what that rests on.

Pixels are averaged in linear light to some 60,000; each has

.. math:: L^* = L^*\bigl(Y_w \sum_c w_c\, p_c / r_c\bigr)

with p its linear sRGB, r that of the white which was clicked, and :math:`Y_w` the
value of that white. Without a click r is the screen's white, and the shares are
those of the picture as it was exposed.

A photograph is no measurement. The camera has chosen an exposure and bent the tones;
a white in shade stands for less light than one by the window; what is burnt out or
blocked up has no value left. So every share stands with how it moves: exposure a
third and two thirds of a stop, the white's own value, the clicked spot, the limits.
Clusters of colours are not looked for: they lose the small accents.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from designkit.errors import InputError
from designkit.palette import colour
from designkit.palette.finishes import Limits, classify
from designkit.palette.swatches import Photo
from designkit.reference import value

__all__ = ["LIMITS_OF_A_PHOTO", "PhotoMove", "PhotoValues", "photo_values"]

Array = NDArray[np.float64]
CLASSES = ("black", "dark", "mid", "light")
PIXELS = 60_000
BINS = 20
LIMITS_OF_A_PHOTO = (
    "A photograph is no measurement: the camera chose an exposure and bent the tones, a white in "
    "shade stands for less light than one by the window, and what is burnt out or blocked up has "
    "no value left. It shows how values lie to each other, not what a finish is."
)
_BURNT, _BLOCKED = 0.992, 0.008  # sRGB at the ends of the scale
_SPOT = 4  # pixels about a click, of the small picture


@dataclass(frozen=True, kw_only=True)
class PhotoMove:
    """The shares with one thing moved."""

    what: str
    shares: Mapping[str, float]  # class -> share [1]


@dataclass(frozen=True, kw_only=True, eq=False)
class PhotoValues:
    """Bars of value of a photograph."""

    shares: Mapping[str, float]  # black, dark (black included), mid, light [1]
    low: Mapping[str, float]  # the least and the most over all that was moved
    high: Mapping[str, float]
    histogram: tuple[float, ...]  # shares in steps of 5 L*, dark first
    moves: tuple[PhotoMove, ...]
    burnt: float  # share without a value left, too bright [1]
    blocked: float  # likewise too dark
    lightness: Array  # rows × columns, of the small picture [L*]
    rgb: Array  # rows × columns × 3, the small picture as it is [0–1]
    scale: float  # its pixels over those of the file
    white: tuple[float, float] | None  # click, in pixels of the file, upright
    white_lrv: float
    exposure: float  # stops that were added
    limits: Limits
    answer: str
    called: str
    sure: bool  # the answer holds over all that was moved
    warnings: tuple[str, ...]

    @property
    def definitions(self) -> str:
        """What the words mean."""
        return f"{self.limits.definitions.split(' Warm')[0]} {LIMITS_OF_A_PHOTO}"


@functools.lru_cache(maxsize=1)
def _small(photo: Photo) -> tuple[Array, float]:
    """Linear light of a small picture: whole blocks averaged."""
    rows, columns = photo.rgb.shape[:2]
    step = max(1, math.ceil(math.sqrt(rows * columns / PIXELS)))
    high, wide = rows // step * step, columns // step * step
    if high == 0 or wide == 0:  # a strip thinner than a block
        return colour.rgb_to_linear(photo.rgb), 1.0
    # 8-bit values: a table of 256 is quicker than a power for each.
    table = colour.rgb_to_linear(np.arange(256) / 255)
    whole = np.round(photo.rgb[:high, :wide] * 255).astype(np.uint8)
    linear = table[whole].reshape(high // step, step, wide // step, step, 3).mean(axis=(1, 3))
    return np.asarray(linear, dtype=np.float64), 1 / step


def _check(stops: float, lrv: float) -> None:
    if not (math.isfinite(stops) and abs(stops) <= 4):
        raise InputError("exposure", given=stops, allowed="−4 to 4 stops")
    if not 5 <= lrv <= 100:
        raise InputError("LRV of the white", given=lrv, allowed="5 to 100")


def _at(photo: Photo, white: tuple[float, float]) -> None:
    x, y = white
    inside = 0 <= x < photo.size[0] and 0 <= y < photo.size[1]
    if not (math.isfinite(x) and math.isfinite(y) and inside):
        raise InputError(
            "click on the white",
            given=f"({x:g}, {y:g})",
            allowed=f"inside {photo.size[0]} × {photo.size[1]} pixels",
        )


def _spot(linear: Array, column: float, row: float) -> Array:
    y, x = int(row), int(column)
    spot = linear[max(0, y - _SPOT) : y + _SPOT + 1, max(0, x - _SPOT) : x + _SPOT + 1]
    return np.asarray(spot.reshape(-1, 3))


def photo_values(
    photo: Photo,
    *,
    white: tuple[float, float] | None = None,
    white_lrv: float | None = None,
    exposure: float = 0.0,
    limits: Limits | None = None,
) -> PhotoValues:
    """How much of a photograph is dark, mid and light.

    Parameters
    ----------
    photo : Photo
        From `designkit.palette.swatches.read_photo`.
    white : tuple of float, optional
        Where something white is clicked: column and row in the file, upright. [pixel]
    white_lrv : float, optional
        LRV of that white; of plain paper where not given. [0–100]
    exposure : float, optional
        Stops that are added to the picture. [stop]
    limits : Limits, optional
        What counts as black, dark and light.

    Returns
    -------
    PhotoValues
        With how each share moves.

    Raises
    ------
    InputError
        The click is outside, on something black or burnt out, or a number cannot be.
    """
    at = limits or Limits()
    lrv = value("light.swatch.paper") if white_lrv is None else white_lrv
    _check(exposure, lrv)
    linear, scale = _small(photo)
    scale *= photo.scale
    weights = colour.rgb_to_xyz(np.eye(3))[:, 1]
    rows, columns = linear.shape[:2]
    srgb = colour.linear_to_rgb(linear)
    burnt = float((srgb >= _BURNT).any(axis=2).mean())
    blocked = float((srgb <= _BLOCKED).all(axis=2).mean())
    notes: list[str] = []
    reference, spread = np.ones(3), 0.0
    if white is not None:
        _at(photo, white)
        spot = _spot(linear, white[0] * scale, white[1] * scale)
        reference = spot.mean(axis=0) / (lrv / 100)
        top = float((colour.linear_to_rgb(spot) >= _BURNT).any(axis=1).mean())
        if top > 0.2:
            raise InputError(
                "click on the white",
                given=f"burnt out in {100 * top:.0f} % of its spot",
                allowed="a white that is not burnt out",
                mend="click white paper in ordinary light, or take the picture darker",
            )
        if float(weights @ spot.mean(axis=0)) < 0.02:
            raise InputError(
                "click on the white",
                given="something black",
                allowed="something white that is lit",
                mend="click the paper, or leave the click away",
            )
        y = spot @ weights
        low, high = np.quantile(y, (0.1, 0.9))
        spread = float((high - low) / 2 / max(float(y.mean()), 1e-6))
    else:
        notes.append("no white was clicked: the shares are those of the picture as it was exposed")
    if burnt > 0.02:
        notes.append(f"{100 * burnt:.0f} % is burnt out: windows and lamps, mostly")
    if blocked > 0.02:
        notes.append(f"{100 * blocked:.0f} % is blocked up: shadow or black, it cannot be told")

    xyz = colour.rgb_to_xyz(np.eye(3)).T  # columns: X, Y, Z of linear primaries
    even = linear / reference
    flat = even.reshape(-1, 3)
    tone = np.maximum(flat @ weights, 0.0)
    chroma = colour.chroma(colour.xyz_to_lab(np.minimum(flat, 4.0) @ xyz.T))

    def shares(factor: float, limit: Limits = at) -> dict[str, float]:
        l_star = np.minimum(colour.luminance_to_lightness(tone * factor), 100.0)
        marks = classify(l_star, chroma, limits=limit)
        return {name: float(marks[name].mean()) for name in CLASSES}

    gain = 2.0**exposure
    own = shares(gain)
    moves = [
        PhotoMove(
            what=f"exposure {sign}{word} of a stop", shares=shares(gain * 2.0 ** (side * step))
        )
        for step, word in ((1 / 3, "⅓"), (2 / 3, "⅔"))
        for side, sign in ((-1, "−"), (1, "+"))
    ]
    if white is not None:
        part = value("light.swatch.paper.within") / value("light.swatch.paper")
        for words, share in (("the white's own value", part), ("the clicked spot", spread)):
            for side, sign in ((-1, "less"), (1, "more")):
                if share > 1e-4:
                    moved = shares(gain * max(1 + side * share, 0.05))
                    moves.append(PhotoMove(what=f"{words}, {sign}", shares=moved))
    for step in (-5.0, 5.0):
        limit = Limits(
            black_lightness=min(at.black_lightness + step, at.dark + step - 0.5),
            black_chroma=at.black_chroma,
            dark=at.dark + step,
            light=min(100.0, at.light + step),
        )
        moves.append(
            PhotoMove(what=f"limits {step:+.0f} L*".replace("-", "−"), shares=shares(gain, limit))
        )
    # Two thirds of a stop says how far it goes; a camera is seldom out by that much.
    sides = [m for m in moves if "⅔" not in m.what]
    low_of = {k: min([own[k], *(m.shares[k] for m in sides)]) for k in CLASSES}
    high_of = {k: max([own[k], *(m.shares[k] for m in sides)]) for k in CLASSES}
    called = _called(own)
    others = {_called(m.shares) for m in sides}
    sure = others <= {called}
    l_star = np.minimum(colour.luminance_to_lightness(tone * gain), 100.0)
    counts, _ = np.histogram(np.minimum(l_star, 99.999), bins=BINS, range=(0.0, 100.0))
    return PhotoValues(
        shares=own,
        low=low_of,
        high=high_of,
        histogram=tuple((counts / counts.sum()).tolist()),
        moves=tuple(moves),
        burnt=burnt,
        blocked=blocked,
        lightness=l_star.reshape(rows, columns),
        rgb=srgb,
        scale=scale,
        white=white,
        white_lrv=lrv,
        exposure=exposure,
        limits=at,
        answer=_answer(own, low_of, high_of, called, sure, others),
        called=called,
        sure=sure,
        warnings=tuple(notes),
    )


def _called(shares: Mapping[str, float]) -> str:
    most = max(("dark", "mid", "light"), key=lambda k: shares[k])
    return f"mostly {most}" if shares[most] >= 0.5 else f"more {most} than anything else"


def _answer(
    own: Mapping[str, float],
    low: Mapping[str, float],
    high: Mapping[str, float],
    called: str,
    sure: bool,
    others: set[str],
) -> str:
    parts = ", ".join(
        f"{100 * own[k]:.0f} % {k} ({100 * low[k]:.0f} to {100 * high[k]:.0f})"
        for k in ("dark", "mid", "light")
    )
    text = f"The photograph is {called}: {parts}."
    if not sure:
        other = " or ".join(sorted(others - {called}))
        text += f" Within its ± it may be {other}."
    return text
