r"""The value of a finish from a photograph beside white paper or an 18 % card, or by a ladder.

Both are clicked in one photograph: the swatch, and the paper or card that lies
beside it in the same light. Per channel, in linear light,

.. math:: Y = Y_{card} \sum_c w_c\, p_c / r_c

with p the mean of the swatch, r that of the card and w the weights of sRGB: the
card takes out exposure and the colour of the light. What is left stands as a ±:
how even swatch and card are, how well the card's own value is known, and how
much the light falls off between them. A camera's own tone curve is not taken
out; the ± has a share for it.

The ladder is a row of greys by Munsell value, to be printed and laid beside the
cutting; a printer's grey must be checked with the card before it is believed.
"""

from __future__ import annotations

import io
import math
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from designkit.errors import FileFormatError, InputError
from designkit.model import Colour
from designkit.palette import colour
from designkit.reference import value

__all__ = ["LadderStep", "Photo", "SwatchReading", "ladder", "read_photo", "read_swatch"]

Array = NDArray[np.float64]
Card = Literal["white paper", "grey card"]
MOST_BYTES = 40_000_000
MOST_PIXELS = 80_000_000  # a larger one is refused before it is unpacked
_SIDE = 3000  # a larger photograph is reduced; a click is some pixels wide anyway
_ASK = "save it as an 8-bit RGB JPEG or PNG"


@dataclass(frozen=True, kw_only=True, eq=False)
class Photo:
    """A photograph, upright, as sRGB."""

    name: str
    rgb: Array  # rows × columns × 3, 0–1
    scale: float  # its pixels over those of the file
    size: tuple[int, int]  # columns, rows of the file, upright


@dataclass(frozen=True, kw_only=True)
class LadderStep:
    """One step of the ladder of greys."""

    munsell_value: float
    lrv: float
    lightness: float
    hex: str


@dataclass(frozen=True, kw_only=True, eq=False)
class SwatchReading:
    """The value of a swatch, with its ±."""

    lrv: float
    lightness: float
    munsell_value: float
    within: float  # ± L*
    lrv_within: float
    card: Card
    parts: tuple[tuple[str, float], ...]  # what the ± is made of, each ± L*
    warnings: tuple[str, ...]
    why: str

    def as_colour(self, share: float = 1.0) -> Colour:
        """The reading as a colour of a finish.

        Parameters
        ----------
        share : float, optional
            Of the finish's area. [1]

        Returns
        -------
        Colour
            An LRV with its ±.
        """
        return Colour(share=share, lrv=round(self.lrv, 1), within=round(self.within, 1))


def ladder(step: float = 0.5) -> tuple[LadderStep, ...]:
    """The ladder of greys, darkest first.

    Parameters
    ----------
    step : float, optional
        Munsell value between steps. [1]

    Returns
    -------
    tuple of LadderStep
        From 1 to 9.5.

    Raises
    ------
    InputError
        The step is not over 0, to 2.

    Examples
    --------
    >>> [round(s.lrv, 1) for s in ladder(2.0)]
    [1.2, 6.4, 19.3, 42.0, 76.7]
    """
    if not (math.isfinite(step) and 0.1 <= step <= 2):
        raise InputError("step of the ladder", given=step, allowed="0.1 to 2")
    found = []
    for n in range(math.floor((9.5 - 1.0) / step + 1e-9) + 1):
        at = 1.0 + n * step
        y = float(colour.munsell_to_luminance(at))
        l_star = float(colour.luminance_to_lightness(y))
        found.append(
            LadderStep(munsell_value=at, lrv=100 * y, lightness=l_star, hex=colour.grey_hex(l_star))
        )
    return tuple(found)


# --- reading the file -------------------------------------------------------------


def read_photo(source: Path | bytes, *, name: str = "") -> Photo:
    """Read a photograph, turned upright.

    Parameters
    ----------
    source : Path or bytes
        The file.
    name : str, optional
        Its name, for messages.

    Returns
    -------
    Photo
        8-bit grey or RGB as sRGB; a transparent picture is laid on white.

    Raises
    ------
    FileFormatError
        It is missing, too large, cut short, no picture, of 16 bits, or for print
        (CMYK); the message says what to save instead.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    what = name or (source.name if isinstance(source, Path) else "photograph")
    data = _bytes(source, what)
    try:
        with warnings.catch_warnings():
            # Our own limit is told by name below.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            image = Image.open(io.BytesIO(data))
            columns, rows = image.size
            if columns * rows > MOST_PIXELS:
                raise FileFormatError(
                    what,
                    given=f"{columns} × {rows} pixels",
                    allowed=f"at most {MOST_PIXELS // 1_000_000} million pixels",
                    mend="reduce it, or cut out the swatch and the card",
                )
            _check_mode(image.mode, what)
            if max(columns, rows) > _SIDE:
                image.draft("RGB", (_SIDE, _SIDE))
            upright = ImageOps.exif_transpose(image)
            if upright.has_transparency_data:
                layer = upright.convert("RGBA")
                upright = Image.new("RGBA", layer.size, (255, 255, 255, 255))
                upright.alpha_composite(layer)
            flat = upright.convert("RGB")
    except FileFormatError:
        raise  # a ValueError too, and said already
    except Image.DecompressionBombError:
        raise FileFormatError(
            what,
            given="far too many pixels",
            allowed=f"at most {MOST_PIXELS // 1_000_000} million pixels",
            mend="reduce it first",
        ) from None
    except UnidentifiedImageError:
        raise FileFormatError(
            what, given="not a picture that can be read", allowed="JPEG or PNG", mend=_ASK
        ) from None
    except (OSError, SyntaxError, ValueError, EOFError) as error:
        raise FileFormatError(
            what,
            given=f"a damaged picture ({error})",
            allowed="a whole file",
            mend="copy it from the camera again",
        ) from None
    turned = (columns < rows) != (flat.width < flat.height)
    size = (rows, columns) if turned else (columns, rows)
    if max(flat.size) > _SIDE:
        flat.thumbnail((_SIDE, _SIDE))
    return Photo(
        name=what,
        rgb=np.asarray(flat, dtype=np.float64) / 255,
        scale=flat.width / size[0],
        size=size,
    )


def _bytes(source: Path | bytes, what: str) -> bytes:
    try:
        count = len(source) if isinstance(source, bytes) else source.stat().st_size
        if count > MOST_BYTES:
            raise FileFormatError(
                what,
                given=f"{count / 1e6:.0f} MB",
                allowed=f"at most {MOST_BYTES // 1_000_000} MB",
                mend="reduce it first",
            )
        return source if isinstance(source, bytes) else source.read_bytes()
    except OSError as error:
        raise FileFormatError(
            what,
            given=error.strerror or "cannot be opened",
            allowed="a picture",
            mend="put it into the project's samples folder",
        ) from None


def _check_mode(mode: str, what: str) -> None:
    if mode.startswith(("I", "F")):
        raise FileFormatError(
            what, given="16 bits or more a channel", allowed="8 bits a channel", mend=_ASK
        )
    if mode in ("CMYK", "YCCK"):
        raise FileFormatError(
            what, given="CMYK, a picture for print", allowed="RGB or grey", mend=_ASK
        )
    if mode not in ("1", "L", "LA", "La", "P", "PA", "RGB", "RGBA", "RGBa", "YCbCr"):
        raise FileFormatError(what, given=f"colour mode {mode}", allowed="RGB or grey", mend=_ASK)


# --- reading a swatch -------------------------------------------------------------


def _spot(photo: Photo, at: tuple[float, float], radius: float, what: str) -> Array:
    """Pixels about a click, (n, 3) sRGB."""
    rows, columns = photo.rgb.shape[:2]
    x, y = at[0] * photo.scale, at[1] * photo.scale
    if not (math.isfinite(x) and math.isfinite(y) and 0 <= x < columns and 0 <= y < rows):
        raise InputError(
            f"click on the {what}",
            given=f"({at[0]:g}, {at[1]:g})",
            allowed=f"inside {photo.size[0]} × {photo.size[1]} pixels",
        )
    reach = max(1.0, radius * photo.scale)
    x0, x1 = max(0, math.floor(x - reach)), min(columns, math.ceil(x + reach) + 1)
    y0, y1 = max(0, math.floor(y - reach)), min(rows, math.ceil(y + reach) + 1)
    return photo.rgb[y0:y1, x0:x1].reshape(-1, 3)


def read_swatch(
    photo: Photo,
    *,
    swatch: tuple[float, float],
    card: tuple[float, float],
    kind: Card = "white paper",
    radius: float = 12.0,
    card_lrv: float | None = None,
) -> SwatchReading:
    """The value of a swatch beside a card in one photograph.

    Parameters
    ----------
    photo : Photo
        From `read_photo`.
    swatch, card : tuple of float
        Where each is clicked: column and row in the file, upright. [pixel]
    kind : str, optional
        "white paper" or "grey card" (18 %).
    radius : float, optional
        How far about a click is taken. [pixel]
    card_lrv : float, optional
        LRV of the card where it is known better. [0–100]

    Returns
    -------
    SwatchReading
        With its ± and what it is made of.

    Raises
    ------
    InputError
        A click is outside, the card is burnt out or too dark, or the two are one
        spot.
    """
    if kind not in ("white paper", "grey card"):
        raise InputError("card", given=kind, allowed="white paper, grey card")
    if not (math.isfinite(radius) and radius > 0):
        raise InputError("radius", given=radius, allowed="over 0 pixels")
    if math.dist(swatch, card) < 2 * radius:
        raise InputError(
            "clicks",
            given=f"{math.dist(swatch, card):.0f} pixels apart",
            allowed=f"{2 * radius:.0f} or more",
            mend="click the swatch and the card, each in its middle",
        )
    key = "light.swatch.paper" if kind == "white paper" else "light.swatch.card"
    known = value(key) if card_lrv is None else card_lrv
    if not 1 <= known <= 100:
        raise InputError("LRV of the card", given=known, allowed="1 to 100")
    patch, beside = _spot(photo, swatch, radius, "swatch"), _spot(photo, card, radius, "card")
    burnt = float((beside >= 0.992).any(axis=1).mean())
    if burnt > 0.05:
        raise InputError(
            "card",
            given=f"burnt out in {100 * burnt:.0f} % of its spot",
            allowed="no channel at its top",
            mend="expose less: the paper should look light grey",
        )
    light, base = colour.rgb_to_linear(patch), colour.rgb_to_linear(beside)
    mean, white = light.mean(axis=0), base.mean(axis=0)
    if white.min() < 0.01:
        raise InputError("card", given="too dark to tell", allowed="a lit card", mend="expose more")
    weights = colour.rgb_to_xyz(np.eye(3))[:, 1]
    factor = float(weights @ (mean / white))
    lrv = known * factor
    notes = []
    if lrv > 100:
        notes.append(f"reads {lrv:.0f}, over 100: it is lit better than the card, or it shines")
        lrv = 100.0
    dark = float((patch <= 0.02).all(axis=1).mean())
    if dark > 0.05:
        notes.append("part of the swatch is at the bottom of the scale: expose more")
    tinge = float((mean / white).max() / max(float((mean / white).min()), 1e-6))
    uneven = _uneven(light, weights)
    card_uneven = _uneven(base, weights)
    # One step of 255 at the swatch, half of it either way.
    step = float(colour.rgb_to_linear(np.clip(patch.mean() + 0.5 / 255, 0, 1)))
    step -= float(colour.rgb_to_linear(np.clip(patch.mean(), 0, 1)))
    shares = (
        ("how even the swatch is", uneven),
        ("how even the card is", card_uneven),
        ("the card's own value", value(f"{key}.within") / known),
        ("light falling off between the two", value("light.swatch.falloff")),
        ("the camera's tone curve", value("light.swatch.curve") * abs(math.log(max(factor, 1e-4)))),
        ("steps of the file", step / max(float(weights @ mean), 1e-6)),
    )
    l_star = float(colour.lrv_to_lightness(lrv))
    parts = tuple((words, _apart(lrv, share)) for words, share in shares)
    whole = math.sqrt(sum(share**2 for _, share in shares))
    within = _apart(lrv, whole)
    said = (
        f"{known:g} (LRV of the {kind}) × {factor:.3f} = {lrv:.1f}, L* {l_star:.1f} ± {within:.1f}"
    )
    if tinge > 1.6:
        notes.append("strongly coloured: its value is surer than its hue")
    return SwatchReading(
        lrv=lrv,
        lightness=l_star,
        munsell_value=float(colour.luminance_to_munsell(lrv / 100)),
        within=within,
        lrv_within=lrv * whole,
        card=kind,
        parts=parts,
        warnings=tuple(notes),
        why=said,
    )


def _uneven(light: Array, weights: Array) -> float:
    """Half of the spread from light to dark across a spot, as a share of its mean.

    The mean of many pixels is surer than this; a fold or a gradient is not.
    """
    y = light @ weights
    low, high = np.quantile(y, (0.1, 0.9))
    return float((high - low) / 2 / max(float(y.mean()), 1e-6))


def _apart(lrv: float, share: float) -> float:
    """A share of an LRV as ± L*: the larger side."""
    l_star = float(colour.lrv_to_lightness(lrv))
    ends = colour.lrv_to_lightness(np.clip([lrv * (1 - share), lrv * (1 + share)], 0, 100))
    return float(np.abs(ends - l_star).max())
