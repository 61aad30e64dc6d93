r"""Average daylight factor: a sizing hint, never a proof.

The formula knows only the glass, the sky that it sees and how bright the room
is. In a comparison with inter-reflection it came out a third low on a grid of
points, so that its findings carry a wide ±.
"""

from __future__ import annotations

import math

from designkit.errors import InputError
from designkit.lighting.shell import Shell
from designkit.model import Finding, Home, Verdict
from designkit.palette.glazing import sky_through
from designkit.reference import value

__all__ = ["CAVEAT", "average_daylight_factor", "daylight_findings"]

CAVEAT = (
    "The average daylight factor is a hint for sizing glass. It says nothing of where the light "
    "falls, of sun or of glare, and the British Standard behind its limits is superseded."
)


def average_daylight_factor(
    glass: float,
    *,
    transmittance: float,
    sky_angle: float,
    surfaces: float,
    reflectance: float,
    maintenance: float = 1.0,
) -> float:
    r"""Average daylight factor of a room.

    .. math:: DF = \frac{W\,T\,\theta\,M}{A\,(1 - R^2)}\,\%          [1]_

    Parameters
    ----------
    glass : float
        Area of the glass. [m²]
    transmittance : float
        Of the glass, visible, diffuse. [1]
    sky_angle : float
        Vertical angle of the sky that is seen from the middle of the glass. [°]
    surfaces : float
        Area of all surfaces of the room, windows among them. [m²]
    reflectance : float
        Mean reflectance of those surfaces. [1]
    maintenance : float, optional
        Light left by dirt on the glass. [1]

    Returns
    -------
    float
        Share of the light outdoors under an overcast sky: 0.02 is 2 %. [1]

    Raises
    ------
    InputError
        A value is out of its range.

    References
    ----------
    .. [1] BRE; BS 8206-2:2008 (second-hand), superseded by BS EN 17037.

    Examples
    --------
    >>> round(average_daylight_factor(
    ...     3.0, transmittance=0.68, sky_angle=65, surfaces=86, reflectance=0.5), 5)
    0.02056
    """
    checks = (
        ("glass", glass, 0.0, math.inf, "m²"),
        ("transmittance", transmittance, 0.0, 1.0, ""),
        ("sky angle", sky_angle, 0.0, 90.0, "°"),
        ("maintenance", maintenance, 0.0, 1.0, ""),
    )
    for what, number, low, high, unit in checks:
        if not (math.isfinite(number) and low <= number <= high):
            top = "or more" if high == math.inf else f"to {high:g}"
            raise InputError(what, given=f"{number:g} {unit}".strip(), allowed=f"{low:g} {top}")
    if not (math.isfinite(surfaces) and surfaces > glass):
        raise InputError(
            "surfaces", given=f"{surfaces:g} m²", allowed=f"more than the glass, {glass:g} m²"
        )
    if not 0 <= reflectance < 1:
        raise InputError("reflectance", given=reflectance, allowed="0 or more, less than 1")
    percent = glass * transmittance * sky_angle * maintenance / (surfaces * (1 - reflectance**2))
    return percent / 100


def daylight_findings(
    home: Home, *, shells: dict[str, Shell], sky_angle: float | None = None
) -> tuple[Finding, ...]:
    """Average daylight factor of each room with windows.

    Parameters
    ----------
    home : Home
        Its windows and balcony doors.
    shells : dict of str to Shell
        Its rooms.
    sky_angle : float, optional
        Vertical angle of sky seen from the windows. [°]

    Returns
    -------
    tuple of Finding
        One a room; of the severity "note" and with a wide ±.

    Raises
    ------
    InputError
        A window cannot be.
    """
    angle = value("light.daylight.sky_angle", home.rules) if sky_angle is None else sky_angle
    part = value("light.daylight.glass", home.rules)
    dirt = value("light.daylight.maintenance", home.rules)
    found = []
    for id, shell in shells.items():
        windows = [
            (oid, o)
            for oid, o in home.openings.items()
            if o.room == id and o.kind in ("window", "balcony")
        ]
        rule = f"light.daylight.{_use(shell.room.use)}"
        if not windows or rule.endswith("."):
            continue
        light = [o.width * (o.head - o.sill) * part for _, o in windows]
        glass = sum(light)
        through = sum(a * sky_through(o, overrides=home.rules) for a, (_, o) in zip(light, windows))
        through /= glass
        height, r = shell.room.height, shell.reflectances
        wall = shell.perimeter * height
        surfaces = 2 * shell.area + wall
        mean = (shell.area * (r.ceiling + r.floor) + wall * r.wall) / surfaces
        factor = average_daylight_factor(
            glass,
            transmittance=through,
            sky_angle=angle,
            surfaces=surfaces,
            reflectance=mean,
            maintenance=dirt,
        )
        wanted = value(rule, home.rules)
        within = value("light.daylight.within", home.rules) * factor
        verdict: Verdict = (
            "measure first"
            if abs(factor - wanted) < within
            else "passes"
            if factor >= wanted
            else "fails"
        )
        found.append(
            Finding(
                what=f"Daylight, {shell.room.name}",
                measured=factor,
                required=wanted,
                within=within,
                unit="1",
                verdict=verdict,
                severity="note",
                rule=rule,
                why=f"W T θ M / (A (1 − R²)) = {glass:.2f} m² × {through:.2f} × {angle:.0f}° × "
                f"{dirt:g} / ({surfaces:.1f} m² × (1 − {mean:.2f}²)) = {100 * factor:.1f} %; "
                f"{100 * wanted:.1f} % was asked for by a standard that is superseded",
                mend="" if verdict == "passes" else "Lighter walls, less drapery over the glass.",
                about=(id, *(oid for oid, _ in windows)),
            )
        )
    return tuple(found)


def _use(use: str) -> str:
    return {
        "living": "living",
        "dining": "living",
        "working": "living",
        "study": "living",
        "sleeping": "sleeping",
        "bedroom": "sleeping",
        "kitchen": "kitchen",
    }.get(use, "")
