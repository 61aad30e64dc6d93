"""What a layout says about itself: rows with numbers, verdicts and what to do.

Clearances are guidance. "Law here" is said only where the project names a
code; local codes and licensed practice decide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import get_args

from designkit.model import Finding, Home, Layout, Severity
from designkit.plan import bodies, clearances, dining, heights, stepfree, swings
from designkit.plan.case import Case, case_of

__all__ = ["findings", "findings_of"]

CHECKS: tuple[Callable[[Case], Iterator[Finding]], ...] = (
    bodies.outside,
    bodies.overlaps,
    bodies.ceilings,
    bodies.footing,
    swings.leaves,
    swings.leaves_meet,
    swings.glass,
    swings.windows_over_a_drop,
    clearances.use_zones,
    clearances.bed_sides,
    clearances.services,
    clearances.doorways,
    clearances.low_tables,
    dining.room_behind,
    dining.places,
    heights.agreeing,
    heights.sofa_seats,
    heights.tipping,
    stepfree.turning,
    stepfree.doors,
    stepfree.heights,
)
_RANK = {severity: rank for rank, severity in enumerate(get_args(Severity))}


def _order(row: Finding) -> tuple[int, tuple[str, ...], str, str]:
    return (_RANK[row.severity], row.about, row.rule, row.what)


def findings_of(case: Case) -> tuple[Finding, ...]:
    """The findings of a layout that is laid out already.

    Parameters
    ----------
    case : Case
        As `case_of` gives it.

    Returns
    -------
    tuple of Finding
        As `findings`.
    """
    return tuple(sorted((row for check in CHECKS for row in check(case)), key=_order))


def findings(
    home: Home,
    layout: str | Layout,
    *,
    rule_set: str | None = None,
    overrides: Mapping[str, float] | None = None,
) -> tuple[Finding, ...]:
    """What a layout says about itself, apart from routes and sight lines.

    Parameters
    ----------
    home : Home
        The home.
    layout : str or Layout
        A layout's id, or a layout itself.
    rule_set : str, optional
        "home" or "step-free"; None: as the home says.
    overrides : mapping of str to float, optional
        Rule values that go before those of the home.

    Returns
    -------
    tuple of Finding
        What passes and what does not, by severity, then by the ids of what
        each is about. Two calls give the same rows in the same order.

    Raises
    ------
    LookupFailed
        There is no such layout, rule set, room or piece.
    InputError
        The shell or a piece cannot be taken as written.

    Examples
    --------
    >>> from designkit.model import Piece, Placement, Room
    >>> room = Room(name="room", outline=((0, 0), (4, 0), (4, 3), (0, 3)), height=2.6)
    >>> chest = Piece(name="chest", kind="chest of drawers", size=(1.0, 0.5, 0.6))
    >>> home = Home(name="one room", rooms={"room": room}, pieces={"chest": chest})
    >>> layout = Layout(name="A", pieces={"chest": Placement(at=(2.0, 0.95))})
    >>> [(row.what, round(row.measured, 3), row.verdict) for row in findings(home, layout)]
    [('Chest: before the drawers', 0.7, 'fails')]
    """
    return findings_of(case_of(home, layout, rule_set=rule_set, overrides=overrides))
