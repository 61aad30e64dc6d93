"""Murals: a picture for one wall, in panels, in one printing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.reference import value
from designkit.takeoff.lines import System, area_text, length_text, positive, whole
from designkit.takeoff.surfaces import WallFace

__all__ = ["Mural", "mural"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Mural:
    """Panels of one mural, counted from the left. [m]"""

    width: float  # printed, with what is trimmed away
    height: float
    panels: tuple[tuple[float, float], ...]  # left and right of each on the print
    panel_width: float
    bleed: float
    net: float  # [m²] of wall that shows it, openings out
    order: float  # [m²] printed
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...]


def mural(
    faces: Sequence[WallFace],
    *,
    panel_width: float | None = None,
    bleed: float | None = None,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> Mural:
    """A mural over one wall, or over walls that follow each other.

    Parameters
    ----------
    faces : sequence of WallFace
        From left to right.
    panel_width : float, optional
        Of one panel; by default `takeoff.mural.panel`. [m]
    bleed : float, optional
        Printed beyond the wall on every side, and trimmed on site; by default
        `takeoff.mural.bleed`. [m]
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Mural
        The size to print and its panels. Openings are not deducted: they are
        cut out of the picture on the wall.

    Raises
    ------
    InputError
        No wall, walls of different heights, or a size that is not above zero.

    Examples
    --------
    >>> wall = WallFace(room="r", wall=0, length=3.6, height=2.5, finish="m", holes=())
    >>> len(mural([wall], panel_width=1.0, bleed=0.05).panels)
    4
    """
    if not faces:
        raise InputError("walls", given=0, allowed="one or more", mend="name the wall")
    heights = sorted({face.height for face in faces})
    if heights[-1] - heights[0] > 1e-6:
        raise InputError(
            "height of the walls",
            given=", ".join(f"{h:g} m" for h in heights),
            allowed="one height",
            mend="print a mural for each height",
        )
    edge = value("takeoff.mural.bleed", overrides) if bleed is None else bleed
    positive("bleed", edge, zero=True)
    each = positive(
        "width of a panel",
        value("takeoff.mural.panel", overrides) if panel_width is None else panel_width,
    )
    long = sum(face.length for face in faces)
    width = positive("width of the wall", long) + 2 * edge
    height = positive("height of the wall", heights[0]) + 2 * edge
    count = whole(width / each)
    panels = tuple((i * each, min((i + 1) * each, width)) for i in range(count))
    net = sum(face.net for face in faces)

    def say(x: float) -> str:
        return length_text(x, system)

    last = panels[-1][1] - panels[-1][0]
    return Mural(
        width=width,
        height=height,
        panels=panels,
        panel_width=each,
        bleed=edge,
        net=net,
        order=width * height,
        why=(
            f"wall {say(long)} × {say(heights[0])}, {say(edge)} more on every side: print "
            f"{say(width)} × {say(height)} = {area_text(width * height, system)}",
            f"{say(width)} / {say(each)} a panel = {width / each:.2f}: {count} panels, the last "
            f"{say(last)}",
            f"{area_text(net, system)} of it stays on the wall",
        ),
        rules=("takeoff.mural.bleed", "takeoff.mural.panel"),
        cautions=(
            "Measure width and height in three places each after the walls are made good; the "
            "largest is printed.",
            "One printing: a panel ordered later will not match. Panels are numbered from the "
            "left; what is cut out at openings should be seen on the proof.",
        ),
    )
