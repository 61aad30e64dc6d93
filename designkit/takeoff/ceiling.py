"""Work on a textured ceiling: its gate first, then a range of crew days."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.model import Building
from designkit.reference import value
from designkit.reference.buildings import counts_as_old
from designkit.takeoff.lines import System, area_text, positive

__all__ = ["CeilingWork", "ceiling_work"]


@dataclass(frozen=True, kw_only=True, eq=False)
class CeilingWork:
    """Scraping and smoothing a textured ceiling."""

    area: float  # [m²]
    workers: int
    allowed: bool  # False: nothing may be scheduled or priced yet
    days: tuple[float, float] | None  # of the crew, low and high; None behind a closed gate
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...]


def ceiling_work(
    area: float,
    *,
    building: Building,
    workers: int = 2,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> CeilingWork:
    """Crew days to scrape and smooth a textured ceiling, behind its gate.

    Parameters
    ----------
    area : float
        Ceiling. [m²]
    building : Building
        Year and sampling; an unknown year counts as old.
    workers : int, optional
        In the crew.
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    CeilingWork
        Days only where the gate is open: sample taken and written result there.

    Raises
    ------
    InputError
        No ceiling or no crew.

    Examples
    --------
    >>> ceiling_work(38.6, building=Building()).days is None
    True
    """
    positive("ceiling", area, unit="m²")
    if workers != int(workers) or workers < 1:
        raise InputError("workers", given=workers, allowed="1 or more", mend="name the crew")
    cautions = (
        "A sample by a competent person, a laboratory's written result, and licensed removal "
        "where asbestos or lead is found; local rules decide.",
        "Wet, floor and openings covered, before anyone moves in; drying is not counted.",
    )
    if counts_as_old(building, overrides=overrides) and building.sampled != "yes":
        year = "unknown" if building.year is None else building.year
        return CeilingWork(
            area=area,
            workers=workers,
            allowed=False,
            days=None,
            why=(
                f"{area_text(area, system)}, building year {year}, sampled: {building.sampled}: "
                "nothing is scraped, sanded or drilled, scheduled or priced before a sample and "
                "its written result",
            ),
            rules=("schedule.old_before",),
            cautions=cautions,
        )
    quick = value("takeoff.ceiling.rate.high", overrides)
    slow = value("takeoff.ceiling.rate.low", overrides)
    days = (area / (workers * quick), area / (workers * slow))
    return CeilingWork(
        area=area,
        workers=workers,
        allowed=True,
        days=days,
        why=(
            f"{area_text(area, system)} / ({workers} workers × {area_text(quick, system)} to "
            f"{area_text(slow, system)} a day) = {days[0]:.1f} to {days[1]:.1f} days, "
            "drying between coats not counted",
        ),
        rules=("takeoff.ceiling.rate.low", "takeoff.ceiling.rate.high", "schedule.old_before"),
        cautions=cautions,
    )
