"""Leather by hide yield, and the customer's own material.

Leather comes in hides, not from a roll: what is needed is an area, and a part
of each hide is edge, belly and marks. The customer's own material (COM) is
cloth that is sent to a maker: the maker says how much plain 54 in cloth the
piece takes, and the cloth that is sent decides what is added.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.reference import value
from designkit.takeoff.lines import (
    INCH,
    System,
    area_text,
    length_text,
    positive,
    run_text,
    share_of,
    whole,
)
from designkit.takeoff.upholstery import CutPanel, repeat_surcharge

__all__ = ["Leather", "OwnMaterial", "leather", "own_material"]


@dataclass(frozen=True, kw_only=True, eq=False)
class Leather:
    """Hides for one cut list."""

    panels: tuple[CutPanel, ...]
    net: float  # [m²] of the panels
    usable: float  # share of a hide that is cut
    need: float  # [m²] of hides
    hide: float  # [m²] of one
    hides: int
    order: float  # [m²] bought
    too_large: tuple[str, ...]  # letters of panels that no hide gives in one piece
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class OwnMaterial:
    """Cloth of the customer's own, to be sent to a maker. [m]"""

    stated: float  # the maker's figure for plain 54 in cloth
    surcharge: float  # for the repeat and the width, a share
    need: float
    approval: float  # cutting kept for approval
    order: float
    why: tuple[str, ...]
    rules: tuple[str, ...]
    terms: tuple[str, ...]


def leather(
    panels: Sequence[CutPanel],
    *,
    count: int = 1,
    usable: float | None = None,
    hide: float | None = None,
    largest: tuple[float, float] | None = None,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> Leather:
    """Hides for the panels of one or more pieces.

    Parameters
    ----------
    panels : sequence of CutPanel
        The cut list, seams included.
    count : int, optional
        Pieces that are covered.
    usable : float, optional
        Share of a hide that ends up in panels; by default
        `takeoff.leather.usable`.
    hide : float, optional
        Area of one hide as sold; by default `takeoff.leather.hide`. [m²]
    largest : tuple of float, optional
        Largest clean panel that a hide gives; by default
        `takeoff.leather.panel.width` and `…length`. [m]
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Leather
        Whole hides, and the panels that need a seam.

    Raises
    ------
    InputError
        No panel, or a number is outside what is allowed.

    Examples
    --------
    >>> seat = CutPanel(letter="a", name="seat", across=0.6, along=0.6, count=6)
    >>> leather([seat]).hides
    1
    """
    if not panels:
        raise InputError("cut list", given=0, allowed="one panel or more", mend="write it")
    if count != int(count) or count < 1:
        raise InputError("pieces", given=count, allowed="1 or more", mend="count them")
    part = value("takeoff.leather.usable", overrides) if usable is None else usable
    share_of("usable share of a hide", part, below=1.0 + 1e-12)
    positive("usable share of a hide", part, unit="")
    one = positive(
        "hide",
        value("takeoff.leather.hide", overrides) if hide is None else hide,
        unit="m²",
        mend="the tannery marks the area on each hide",
    )
    most = largest or (
        value("takeoff.leather.panel.width", overrides),
        value("takeoff.leather.panel.length", overrides),
    )
    net = count * sum(
        positive(f"{p.name}, across", p.across) * positive(f"{p.name}, along", p.along) * p.count
        for p in panels
    )
    need = net / part
    hides = whole(need / one)
    sides = sorted(most)
    # A hide has no nap to keep: a panel may be turned.
    over = tuple(
        p.letter
        for p in panels
        if min(p.across, p.along) > sides[0] + 1e-9 or max(p.across, p.along) > sides[1] + 1e-9
    )
    why = [
        f"{area_text(net, system)} of panels, seams included",
        f"/ {part:.0%} of a hide that can be cut = {area_text(need, system)}",
        f"{hides} {'hide' if hides == 1 else 'hides'} of {area_text(one, system)} = "
        f"{area_text(hides * one, system)}",
    ]
    if over:
        why.append(
            f"{', '.join(over)}: larger than {length_text(sides[0], system)} × "
            f"{length_text(sides[1], system)}, the clean part of a hide: a seam, or a larger hide"
        )
    return Leather(
        panels=tuple(panels),
        net=net,
        usable=part,
        need=need,
        hide=one,
        hides=hides,
        order=hides * one,
        too_large=over,
        why=tuple(why),
        rules=(
            "takeoff.leather.usable",
            "takeoff.leather.hide",
            "takeoff.leather.panel.width",
            "takeoff.leather.panel.length",
        ),
        cautions=(
            "All hides from one lot; the upholsterer marks scars and bites before the first cut "
            "and places them where they are not seen.",
            "Ask for the fire label that the place requires.",
        ),
    )


def own_material(
    stated: float,
    *,
    cloth_width: float = 54 * INCH,
    repeats: float = 0.0,
    approval: float | None = None,
    step: float | None = None,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> OwnMaterial:
    """How much of the customer's own cloth is sent to a maker.

    Parameters
    ----------
    stated : float
        What the maker asks for of a plain 54 in cloth. [m]
    cloth_width : float, optional
        Of the cloth that is sent. [m]
    repeats : float, optional
        Vertical and horizontal repeat added together. [m]
    approval : float, optional
        Cutting kept for approval; by default `takeoff.own.approval`. [m]
    step : float, optional
        Cloth is sold in steps of this; by default as drapery. [m]
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    OwnMaterial
        The order, and the terms to agree before the cloth is sent.

    Raises
    ------
    InputError
        A number is outside what is allowed, or the charts do not reach.

    Examples
    --------
    >>> yard = 0.9144
    >>> round(own_material(8 * yard, repeats=27 * 0.0254, system="US").need / yard, 2)
    9.6
    """
    asked = positive("cloth that the maker asks for", stated)
    extra = repeat_surcharge(repeats, cloth_width=cloth_width, overrides=overrides)
    kept = value("takeoff.own.approval", overrides) if approval is None else approval
    positive("cutting for approval", kept, zero=True)
    sold = step
    if sold is None:
        sold = value(
            "takeoff.drapery.step.US" if system == "US" else "takeoff.drapery.step", overrides
        )
    positive("step", sold)
    need = asked * (1 + extra)
    order = whole((need + kept) / sold) * sold
    return OwnMaterial(
        stated=asked,
        surcharge=extra,
        need=need,
        approval=kept,
        order=order,
        why=(
            f"{run_text(asked, system)} of plain 54 in cloth, as the maker asks",
            f"+ {extra:.0%} for repeats of {length_text(repeats, system)} on "
            f"{length_text(cloth_width, system)} cloth = {run_text(need, system)}",
            f"+ {length_text(kept, system)} kept for approval; order {run_text(order, system)}",
        ),
        rules=("takeoff.own.approval", "takeoff.upholstery.surcharge.wide.27"),
        terms=(
            "The maker confirms the length in writing for this cloth: its width, its repeat, and "
            "whether it is railroaded.",
            "Cloth is looked over for faults and dye lot before it is sent; once it is cut, "
            "nobody takes it back.",
            "It is sent rolled, not folded, marked with client, order number, piece and which "
            "side is the face and which way is up.",
            "The maker answers for the making, not for the cloth: wear, stretch and fire rules "
            "are the sender's to check.",
            "The weeks of making begin when the cloth and the signed cutting have arrived.",
            "What is left over comes back, and goes into the handover book.",
        ),
    )
