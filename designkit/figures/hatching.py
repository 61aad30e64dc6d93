"""The strokes of a hatch, clipped to its area.

Both renderers take the strokes from here, so that a hatch is the same set of
lines in every file.
"""

from __future__ import annotations

import functools
import math

from designkit.figures.drawing import XY, Hatch

__all__ = ["strokes"]

Stroke = tuple[float, float, float, float]


def strokes(hatch: Hatch) -> tuple[Stroke, ...]:
    """The lines of a hatch.

    Lines lie on a grid through the paper's corner, so that two areas with the
    same hatch join without a step.

    Parameters
    ----------
    hatch : Hatch
        Area, angle and spacing.

    Returns
    -------
    tuple of (x0, y0, x1, y1)
        In order across the hatch. [mm]

    Examples
    --------
    >>> strokes(Hatch(outline=((0, 0), (2, 0), (2, 2), (0, 2)), angle=0, spacing=1, weight=0.1))
    ((0.0, 0.5, 2.0, 0.5), (0.0, 1.5, 2.0, 1.5))
    """
    return _strokes(hatch.outline, hatch.holes, hatch.angle, hatch.spacing)


@functools.lru_cache(maxsize=512)
def _strokes(
    outline: tuple[XY, ...], holes: tuple[tuple[XY, ...], ...], angle: float, spacing: float
) -> tuple[Stroke, ...]:
    if spacing <= 0:
        return ()
    turn = math.radians(angle)
    cos, sin = math.cos(turn), math.sin(turn)
    crossings: dict[int, list[float]] = {}
    for ring in (outline, *holes):
        # u runs along the strokes, v across them, counted in spacings.
        uv = [(x * cos + y * sin, (y * cos - x * sin) / spacing - 0.5) for x, y in ring]
        for (u0, v0), (u1, v1) in zip(uv, [*uv[1:], uv[0]]):
            if v0 == v1:
                continue
            low, high = (v0, v1) if v0 < v1 else (v1, v0)
            slope = (u1 - u0) / (v1 - v0)
            for k in range(math.ceil(low), math.ceil(high)):
                crossings.setdefault(k, []).append(u0 + (k - v0) * slope)
    found: list[Stroke] = []
    for k in sorted(crossings):
        v = (k + 0.5) * spacing
        ends = sorted(crossings[k])
        for u0, u1 in zip(ends[::2], ends[1::2]):
            if u1 - u0 > 1e-6:
                found.append(
                    (
                        u0 * cos - v * sin,
                        u0 * sin + v * cos,
                        u1 * cos - v * sin,
                        u1 * sin + v * cos,
                    )
                )
    return tuple(found)
