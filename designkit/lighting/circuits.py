"""What the wiring carries: load on a circuit, mass on a box, one outlet in a room.

Everything here is a question to the electrician, never a design of wiring.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.lighting.lamps import LitLamp
from designkit.model import Circuit, Finding, Home, Service, Severity, Verdict
from designkit.reference import value

__all__ = [
    "CAUTIONS",
    "CircuitRow",
    "box_findings",
    "circuit_findings",
    "circuit_rows",
    "continuous_limit",
]

CAUTIONS = (
    "Wiring, boxes and dimmers: a licensed electrician checks and does the work; "
    "the local code decides.",
    "A ceiling box carries no more than the mass marked on it. Heavier luminaires need their own "
    "support, fixed to the structure; the fixing depends on slab, joist or steel stud.",
    "Loads are lamp watts as given; what else runs on a circuit is counted only where it is "
    "written down.",
)


@dataclass(frozen=True, kw_only=True, eq=False)
class CircuitRow:
    """The load on one circuit."""

    id: str
    name: str
    watts: float  # of the layout's lamps [W]
    existing: float  # of what else is on it
    limit: float  # that may stay on for hours
    lamps: tuple[str, ...]
    dimmer: bool
    verdict: Verdict


def continuous_limit(circuit: Circuit, *, overrides: Mapping[str, float] | None = None) -> float:
    r"""Load that may stay on for hours.

    .. math:: P = U I / 1.25                                    [1]_

    Parameters
    ----------
    circuit : Circuit
        Volts and amperes of its breaker.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    float
        Power: 80 % of what the breaker carries. [W]

    Raises
    ------
    InputError
        Volts or amperes are not above 0.

    References
    ----------
    .. [1] NFPA 70 (National Electrical Code), 210.20(A). Other codes have
       other rules; the local one decides.

    Examples
    --------
    >>> continuous_limit(Circuit(name="light", volts=120, amps=15))
    1440.0
    """
    for what, number, unit in (("volts", circuit.volts, "V"), ("amps", circuit.amps, "A")):
        if not (math.isfinite(number) and number > 0):
            raise InputError(
                f"{what} of circuit {circuit.name}",
                given=f"{number:g} {unit}",
                allowed=f"more than 0 {unit}",
                mend="read it off the breaker",
            )
    return circuit.volts * circuit.amps / value("light.circuit.continuous", overrides)


def circuit_rows(home: Home, *, lamps: Mapping[str, LitLamp]) -> tuple[CircuitRow, ...]:
    """The load on each circuit with all lamps at full power.

    Parameters
    ----------
    home : Home
        Its circuits.
    lamps : mapping of str to LitLamp
        The lamps of a layout.

    Returns
    -------
    tuple of CircuitRow
        In the order of the home.

    Raises
    ------
    InputError
        A circuit's values cannot be.
    """
    rows = []
    for id, circuit in home.circuits.items():
        limit = continuous_limit(circuit, overrides=home.rules)
        if not (math.isfinite(circuit.existing_watts) and circuit.existing_watts >= 0):
            raise InputError(
                f"existing watts of circuit {circuit.name}",
                given=circuit.existing_watts,
                allowed="0 W or more",
            )
        on = [lamp for lamp in lamps.values() if lamp.circuit == id]
        watts = sum(lamp.watts for lamp in on)
        blank = any(lamp.watts == 0 for lamp in on)
        over = watts + circuit.existing_watts > limit
        rows.append(
            CircuitRow(
                id=id,
                name=circuit.name,
                watts=watts,
                existing=circuit.existing_watts,
                limit=limit,
                lamps=tuple(lamp.id for lamp in on),
                dimmer=circuit.dimmer,
                verdict="fails" if over else "measure first" if blank else "passes",
            )
        )
    return tuple(rows)


def _severity(home: Home, code: str) -> Severity:
    """Law only where the project names that very code."""
    return "law here" if code.casefold() in home.code.casefold().split() else "safety"


def circuit_findings(home: Home, *, rows: tuple[CircuitRow, ...]) -> tuple[Finding, ...]:
    """Whether each circuit carries its load.

    Parameters
    ----------
    home : Home
        Names the code that is law, where there is one.
    rows : tuple of CircuitRow
        The loads.

    Returns
    -------
    tuple of Finding
        One a circuit that has lamps or a load.
    """
    found = []
    for row in rows:
        total = row.watts + row.existing
        if not row.lamps and not row.existing:
            continue
        circuit = home.circuits[row.id]
        mend = {
            "passes": "",
            "fails": "Take lamps of fewer watts or another circuit; ask the electrician.",
            "measure first": "Write down the watts of every lamp on it.",
        }[row.verdict]
        found.append(
            Finding(
                what=f"Load on circuit {row.name}",
                measured=total,
                required=row.limit,
                unit="W",
                verdict=row.verdict,
                severity=_severity(home, "NEC"),
                rule="light.circuit.continuous",
                why=f"{row.watts:.0f} W of lamps + {row.existing:.0f} W already there = "
                f"{total:.0f} W; at most {circuit.volts:g} V × {circuit.amps:g} A ÷ "
                f"{value('light.circuit.continuous', home.rules):g} = {row.limit:.0f} W for hours",
                mend=mend,
                about=row.lamps,
            )
        )
    return tuple(found)


def box_findings(home: Home, *, lamps: Mapping[str, LitLamp]) -> tuple[Finding, ...]:
    """Whether each box carries what hangs on it.

    Parameters
    ----------
    home : Home
        Its outlets.
    lamps : mapping of str to LitLamp
        The lamps of a layout.

    Returns
    -------
    tuple of Finding
        One a ceiling or wall outlet with lamps.
    """
    found = []
    for id, service in home.services.items():
        if service.kind not in ("ceiling outlet", "wall outlet"):
            continue
        on = [lamp for lamp in lamps.values() if lamp.lamp.service == id and not lamp.plugged]
        if on:
            found.append(_box(home, id, service, on))
    return tuple(found)


def _box(home: Home, id: str, service: Service, on: list[LitLamp]) -> Finding:
    ceiling = service.kind == "ceiling outlet"
    rule = "light.box.ceiling" if ceiling else "light.box.wall"
    usual = value(rule, home.rules)
    marked = service.weight_limit
    names = " and ".join(lamp.fixture.name for lamp in on)
    masses = [lamp.fixture.mass for lamp in on if lamp.fixture.mass is not None]
    verdict: Verdict
    total: float | None
    if len(masses) < len(on):
        total, verdict = None, "measure first"
        why = f"the mass of {names} is not given; "
        mend = "Weigh it, or take the mass from the maker's sheet."
    else:
        total = sum(masses)
        why = f"{names}: {total:.1f} kg; "
        mend = ""
        if total > (usual if marked is None else marked):
            verdict = "fails"
            mend = (
                "Its own support fixed to the structure, or a box listed for the mass; "
                "a licensed electrician decides."
            )
        elif marked is None:
            verdict, mend = "measure first", "Read the mass marked on the box before ordering."
        else:
            verdict = "passes"
    why += (
        f"the box is marked for {marked:.1f} kg"
        if marked is not None
        else f"the marking on the box is not known; an ordinary one carries {usual:.1f} kg"
    )
    return Finding(
        what=f"Mass on {service.name or service.kind}",
        measured=total,
        required=usual if marked is None else marked,
        unit="kg",
        verdict=verdict,
        severity=_severity(home, "NEC"),
        rule=rule,
        why=why,
        mend=mend,
        about=(id, *(lamp.id for lamp in on)),
        at=service.at,
    )
