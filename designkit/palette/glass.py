r"""Glass before a finish.

A print behind glass is lit and seen through the same pane, so that

.. math:: Y = \tau^2 Y_0 + \rho\,Y_{room}

with τ and ρ the pane's own share through and back, and :math:`Y_{room}` what
stands before it: black at best, a bright wall or a window at worst. What is
seen on the far side passes once: :math:`\tau`. Windows are in
`designkit.palette.glazing`.

The tint is told in words here: a pane before a finish is passed twice, and what a
hue becomes needs the spectrum of the finish as well.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from designkit.errors import InputError, LookupFailed, nearest
from designkit.palette import colour
from designkit.palette.finishes import FinishValue
from designkit.reference import value

__all__ = ["GLASSES", "BehindGlass", "Glass", "behind_glass", "glass_of"]

# T09: clear float has a green tinge, best seen at its edge and when it is
# sandblasted; low-iron glass is white.
_TINTS: Mapping[str, str] = MappingProxyType(
    {
        "clear": "a little green, more with thickness",
        "low-iron": "none that is seen",
        "bronze": "brown",
        "grey": "grey",
        "green": "green",
    }
)
GLASSES: Mapping[str, str] = MappingProxyType(
    {
        "clear-3": "clear float, 3 mm",
        "clear-6": "clear float, 6 mm",
        "clear-12": "clear float, 12 mm",
        "low-iron-3": "low-iron, 3 mm",
        "bronze-3": "bronze, 3 mm",
        "bronze-6": "bronze, 6 mm",
        "bronze-10": "bronze, 10 mm",
        "grey-3": "grey, 3 mm",
        "grey-6": "grey, 6 mm",
        "grey-12": "grey, 12 mm",
        "green-3": "green, 3 mm",
        "green-6": "green, 6 mm",
    }
)


@dataclass(frozen=True, kw_only=True)
class Glass:
    """One pane."""

    id: str
    name: str
    through: float  # visible transmittance, straight through [1]
    back: float  # visible reflectance [1]
    tint: str


@dataclass(frozen=True, kw_only=True, eq=False)
class BehindGlass:
    """A finish behind a pane, or lit through one."""

    glass: Glass
    lrv: float  # of the finish by itself
    seen: tuple[float, float]  # LRV behind the pane: before a black room, before a white one
    lightness: tuple[float, float]  # L* of these
    once: float  # LRV that daylight through the pane leaves of it
    tint: str
    why: str


def glass_of(id: str) -> Glass:
    """A pane by its id.

    Parameters
    ----------
    id : str
        A key of `GLASSES`, as "clear-6".

    Returns
    -------
    Glass
        With its share of light through and back.

    Raises
    ------
    LookupFailed
        There is no such pane.

    Examples
    --------
    >>> glass_of("clear-6").through
    0.881
    """
    if id not in GLASSES:
        raise LookupFailed(
            "glass",
            given=id,
            allowed=", ".join(GLASSES),
            mend=f"did you mean {nearest(id, GLASSES) or 'clear-6'}?",
        )
    kind, _, _ = id.rpartition("-")
    return Glass(
        id=id,
        name=GLASSES[id],
        through=value(f"palette.glass.{id}.through"),
        back=value(f"palette.glass.{id}.back"),
        tint=_TINTS[kind],
    )


def behind_glass(finish: FinishValue, *, glass: str, before: float = 85.0) -> BehindGlass:
    """How light a finish is seen behind a pane that it is lit through.

    Parameters
    ----------
    finish : FinishValue
        From `designkit.palette.finishes.resolve`.
    glass : str
        A key of `GLASSES`.
    before : float, optional
        LRV of the lightest thing that the pane may reflect, lit like the finish. [0–100]

    Returns
    -------
    BehindGlass
        LRV and L* where the pane reflects black, and where it reflects that.

    Raises
    ------
    LookupFailed
        There is no such pane.
    InputError
        The LRV is not 0 to 100.
    """
    if not 0 <= before <= 100:
        raise InputError("LRV before the glass", given=before, allowed="0 to 100")
    pane = glass_of(glass)
    low = pane.through**2 * finish.lrv
    high = min(100.0, low + pane.back * before)
    ends = colour.lrv_to_lightness([low, high])
    return BehindGlass(
        glass=pane,
        lrv=finish.lrv,
        seen=(low, high),
        lightness=(float(ends[0]), float(ends[1])),
        once=pane.through * finish.lrv,
        tint=pane.tint,
        why=(
            f"{pane.through:.3f}² × LRV {finish.lrv:.1f} = {low:.1f}, and up to {pane.back:.3f} × "
            f"{before:g} on top where it reflects a white wall; tint: {pane.tint}, how far a hue "
            "moves is not known without the spectrum of the finish"
        ),
    )
