"""What is taken for granted of a building of a given year."""

from __future__ import annotations

from collections.abc import Mapping

from designkit.model import Building
from designkit.reference import value

__all__ = ["counts_as_old"]


def counts_as_old(
    building: Building,
    *,
    overrides: Mapping[str, float] | None = None,
    rule: str = "schedule.old_before",
) -> bool:
    """Whether old paint and ceilings have to be reckoned with.

    Parameters
    ----------
    building : Building
        From the project.
    overrides : mapping of str to float, optional
        The project's own values.
    rule : str, optional
        Id of the year before which a building is old.

    Returns
    -------
    bool
        True for an unknown year, or one before the rule's.

    Examples
    --------
    >>> counts_as_old(Building()), counts_as_old(Building(year=2019))
    (True, False)
    """
    return building.year is None or building.year < value(rule, overrides)
