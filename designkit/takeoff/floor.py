"""Floor covering: net area, waste by laying pattern, whole packs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from designkit.errors import InputError
from designkit.reference import value
from designkit.takeoff.lines import System, area_text, positive, share_of, whole

__all__ = ["Floor", "Laying", "floor"]

Laying = Literal["straight", "diagonal", "herringbone", "sheet"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Floor:
    """Floor covering for one area."""

    net: float  # [m²] of the room less columns and less what is not laid
    waste: float  # [1]
    need: float  # [m²] with waste
    packs: int | None  # None: sold by area
    order: float  # [m²]
    why: tuple[str, ...]
    rules: tuple[str, ...]


def floor(
    area: float,
    *,
    laying: Laying = "straight",
    waste: float | None = None,
    pack: float | None = None,
    less: float = 0.0,
    spare_packs: int = 0,
    step: float | None = None,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> Floor:
    """Floor covering to order.

    Parameters
    ----------
    area : float
        Floor of the room, net of columns (`takeoff.surfaces.floor_area`). [m²]
    laying : {"straight", "diagonal", "herringbone", "sheet"}, optional
        Laying pattern, which sets the waste.
    waste : float, optional
        Share added; by default `takeoff.floor.waste.<laying>`. [1]
    pack : float, optional
        Area in one pack; None: sold by area. [m²]
    less : float, optional
        Floor that is not laid, as under fitted units. [m²]
    spare_packs : int, optional
        Packs kept for later repairs.
    step : float, optional
        Without packs the order is rounded up to this; by default
        0.5 m² (`takeoff.floor.step`) or 5 ft². [m²]
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    Floor
        Net, with waste, and as ordered.

    Raises
    ------
    InputError
        Unknown laying pattern, an area or a pack that is not above zero, or
        more floor left out than there is.

    Examples
    --------
    >>> floor(18.0, pack=2.22).packs
    9
    """
    if laying not in get_args(Laying):
        raise InputError(
            "laying", given=laying, allowed=", ".join(get_args(Laying)), mend="use one of these"
        )
    positive("floor area", area, unit="m²")
    positive("floor not laid", less, unit="m²", zero=True)
    net = area - less
    if net <= 0:
        raise InputError(
            "floor not laid",
            given=f"{less:g} m²",
            allowed=f"less than the floor, {area:.2f} m²",
            mend="check the area under fitted units",
        )
    if spare_packs < 0:
        raise InputError("spare packs", given=spare_packs, allowed="0 or more", mend="leave it out")
    waste_id = f"takeoff.floor.waste.{laying}"
    extra = share_of("floor waste", value(waste_id, overrides) if waste is None else waste)
    need = net * (1.0 + extra)
    why = []
    if less:
        why.append(f"{area_text(area, system)} − {area_text(less, system)} not laid")
    why.append(
        f"{area_text(net, system)} net of columns; floor under loose furniture counts, "
        "doorways are not counted"
    )
    why.append(f"+ {extra:.0%} waste, {laying} laying = {area_text(need, system)}")
    packs: int | None = None
    if pack is not None:
        packs = whole(need / positive("pack", pack, unit="m²")) + spare_packs
        order = packs * pack
        kept = f", {spare_packs} of them kept for repairs" if spare_packs else ""
        why.append(f"{packs} packs of {area_text(pack, system)} = {area_text(order, system)}{kept}")
    else:
        step_id = "takeoff.floor.step.US" if system == "US" else "takeoff.floor.step"
        size = value(step_id, overrides) if step is None else step
        order = whole(need / positive("step", size, unit="m²")) * size
        why.append(f"rounded up to {area_text(order, system)}")
    return Floor(
        net=net,
        waste=extra,
        need=need,
        packs=packs,
        order=order,
        why=tuple(why),
        rules=(waste_id,),
    )
