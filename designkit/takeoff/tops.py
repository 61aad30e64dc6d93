"""Glass and stone tops: size with overhang, cut-outs, mass, polished edge, slabs.

A top is ordered from a template, never from the drawing: what is worked out
here is for a price, for the way up, and for who has to carry it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, get_args

from designkit.errors import InputError
from designkit.model import Cutout, Piece
from designkit.reference import value
from designkit.takeoff.lines import (
    FOOT,
    System,
    area_text,
    length_text,
    mass_text,
    positive,
    whole,
)
from designkit.units import convert

__all__ = ["Material", "Top", "material_of", "top", "top_of"]

Material = Literal["glass", "stone"]
Shape = Literal["rectangle", "circle"]
_TOPS: Mapping[str, Material] = {"glass top": "glass", "stone top": "stone"}


def _area(hole: Cutout) -> float:
    """What a hole takes away. [m²]"""
    if hole.depth is None:
        return math.pi * hole.width**2 / 4
    return hole.width * hole.depth


def _edge(hole: Cutout) -> float:
    """The edge of a hole. [m]"""
    if hole.depth is None:
        return math.pi * hole.width
    return 2 * (hole.width + hole.depth)


@dataclass(frozen=True, kw_only=True, eq=False)
class Top:
    """One or more tops of one size."""

    material: Material
    shape: Shape
    width: float  # finished [m]
    depth: float  # [m]
    thickness: float  # [m]
    overhang: float  # [m]
    radius: float  # of the corners [m]
    count: int
    cutouts: tuple[Cutout, ...]  # of each top
    most_overhang: float  # that it may have without being carried [m]
    net: float  # [m²] of all tops
    blank: float  # [m²] of the rectangles that they are cut from
    edge: float  # [m] polished, of all tops
    mass: float  # [kg] of one
    carriers: int  # people for one
    across: int  # tops that lie side by side on a slab; 0: a top is larger than a slab
    slabs: int  # stone: slabs to buy; glass: 0, it is cut by the works
    order: float  # [m²] bought: slabs, or blanks
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...]


def _per_slab(width: float, depth: float, slab: tuple[float, float]) -> int:
    """Tops from one slab, all laid the same way, the better of the two."""
    return max(
        math.floor(slab[0] / a + 1e-9) * math.floor(slab[1] / b + 1e-9)
        for a, b in ((width, depth), (depth, width))
    )


def _density(density: float, system: System) -> str:
    if system == "US":
        return f"{convert(density, kind='mass', to='lb') * FOOT**3:.0f} lb/ft³"
    return f"{density:.0f} kg/m³"


def _least_web(material: str, thick: float, overrides: Mapping[str, float] | None) -> float:
    """What must stay between a cut-out and an edge. [m]"""
    given = value(f"takeoff.top.cutout.{material}", overrides)
    return given * thick if material == "glass" else given


def _most_overhang(
    material: str, thick: float, depth: float, overrides: Mapping[str, float] | None
) -> tuple[float, str]:
    """How far a top may reach beyond what carries it, and the rule. [m]"""
    if material == "glass":
        rule = "takeoff.top.overhang.glass"
        return value(rule, overrides), rule
    rule = "takeoff.top.overhang.stone" + ("_thick" if thick >= 0.03 - 1e-9 else "")
    share = value("takeoff.top.overhang.share", overrides)
    return min(value(rule, overrides), share * depth), rule


def _check_cutouts(
    cutouts: Sequence[Cutout],
    *,
    size: tuple[float, float],
    shape: str,
    least: float,
    system: System,
) -> None:
    boxes: list[tuple[float, float, float, float]] = []
    for number, one in enumerate(cutouts, start=1):
        across = positive(f"cut-out {number}", one.width)
        deep = across if one.depth is None else positive(f"cut-out {number}", one.depth)
        x, y = (positive(f"place of cut-out {number}", p, zero=True) for p in one.at)
        left, front = x - across / 2, y - deep / 2
        web = min(left, front, size[0] - x - across / 2, size[1] - y - deep / 2)
        if shape == "circle":
            middle = size[0] / 2
            far = max(
                math.hypot(x + i * across / 2 - middle, y + j * deep / 2 - middle)
                for i in (-1, 1)
                for j in (-1, 1)
            )
            if one.depth is None:
                far = math.hypot(x - middle, y - middle) + across / 2
            web = middle - far
        if web < least - 1e-9:
            raise InputError(
                f"cut-out {number}",
                given=f"{length_text(web, system)} to the edge of the top",
                allowed=f"at least {length_text(least, system)}",
                mend="move it inwards, or cut it open to the edge with who makes it",
            )
        for other, (x0, y0, x1, y1) in enumerate(boxes, start=1):
            gap = max(left - x1, x0 - left - across, front - y1, y0 - front - deep)
            if gap < least - 1e-9:
                raise InputError(
                    f"cut-outs {other} and {number}",
                    given=f"{length_text(gap, system)} between them",
                    allowed=f"at least {length_text(least, system)}",
                    mend="move them apart",
                )
        boxes.append((left, front, left + across, front + deep))


def top(
    size: tuple[float, float],
    *,
    material: Material,
    shape: Shape = "rectangle",
    thickness: float | None = None,
    overhang: float = 0.0,
    radius: float = 0.0,
    cutouts: Sequence[Cutout] = (),
    count: int = 1,
    slab: tuple[float, float] | None = None,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> Top:
    """A glass or stone top for a piece.

    Parameters
    ----------
    size : tuple of float
        Width and depth of what it lies on. [m]
    material : {"glass", "stone"}
        Of the top.
    shape : {"rectangle", "circle"}, optional
        A round one takes the width as its diameter.
    thickness : float, optional
        By default `takeoff.top.thickness.<material>`. [m]
    overhang : float, optional
        Beyond the piece on each side; negative where it lies inside. [m]
    radius : float, optional
        Of the corners of a rectangle. [m]
    cutouts : sequence of Cutout, optional
        Holes in each top, from its left front corner.
    count : int, optional
        Tops of this size.
    slab : tuple of float, optional
        Length and width of a stone slab; by default `takeoff.top.slab.length`
        and `takeoff.top.slab.width`. [m]
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values (`Home.rules`).

    Returns
    -------
    Top
        Net area, blanks or slabs, mass, and how many people carry one.

    Raises
    ------
    InputError
        A word or number is outside what is allowed, a cut-out lies too near
        an edge, or a stone top is larger than a slab.

    Examples
    --------
    >>> glass = top((1.2, 0.6), material="glass", thickness=0.010)
    >>> round(glass.mass, 3)
    18.0
    """
    for what, given, allowed in (
        ("material", material, get_args(Material)),
        ("shape", shape, get_args(Shape)),
    ):
        if given not in allowed:
            raise InputError(what, given=given, allowed=", ".join(allowed), mend="use one of these")
    if count != int(count) or count < 1:
        raise InputError("tops", given=count, allowed="1 or more", mend="count them")
    thick_id = f"takeoff.top.thickness.{material}"
    thick = positive("thickness", value(thick_id, overrides) if thickness is None else thickness)
    if not math.isfinite(overhang):
        raise InputError("overhang", given=overhang, allowed="a length", mend="measure it")
    width = positive("width of the top", size[0] + 2 * overhang)
    depth = width if shape == "circle" else positive("depth of the top", size[1] + 2 * overhang)
    round_ = positive("radius", radius, zero=True)
    if round_ > min(width, depth) / 2 + 1e-9:
        raise InputError(
            "radius",
            given=length_text(round_, system),
            allowed="at most half the shorter side, " + length_text(min(width, depth) / 2, system),
            mend="take a smaller one, or a round top",
        )
    if shape == "circle":
        one = math.pi * width**2 / 4
        edge = math.pi * width
    else:
        one = width * depth - (4 - math.pi) * round_**2
        edge = 2 * (width + depth) - (8 - 2 * math.pi) * round_
    _check_cutouts(
        cutouts,
        size=(width, depth),
        shape=shape,
        least=_least_web(material, thick, overrides),
        system=system,
    )
    one -= sum(_area(c) for c in cutouts)
    edge += sum(_edge(c) for c in cutouts)
    most_over, over_rule = _most_overhang(material, thick, depth, overrides)
    density = value(f"takeoff.top.density.{material}", overrides)
    mass = one * thick * density
    lift = value("takeoff.top.lift", overrides)
    carriers = whole(mass / lift)
    blank = width * depth

    def say(x: float) -> str:
        return length_text(x, system)

    shown = f"Ø {say(width)}" if shape == "circle" else f"{say(width)} × {say(depth)}"
    over = "level with what carries it"
    if overhang:
        over = f"{say(abs(overhang))} {'beyond' if overhang > 0 else 'inside'} what carries it, "
        over += "all round"
    why = [
        f"{shown}, {over}; "
        f"{area_text(one, system)} each"
        + (f", {count} of them" if count > 1 else "")
        + (f", corners of {say(round_)}" if round_ and shape != "circle" else "")
        + (f", {len(cutouts)} cut out of it" if cutouts else ""),
        f"{area_text(one, system)} × {say(thick)} × {_density(density, system)} = "
        f"{mass_text(mass, system)}; {mass_text(lift, system)} a person: "
        f"{carriers} {'person carries' if carriers == 1 else 'people carry'} it",
    ]
    slabs, across, order = 0, 0, blank * count
    rules = [thick_id, f"takeoff.top.density.{material}", "takeoff.top.lift", over_rule]
    if cutouts:
        rules.append(f"takeoff.top.cutout.{material}")
    if material == "stone":
        long, wide = slab or (
            value("takeoff.top.slab.length", overrides),
            value("takeoff.top.slab.width", overrides),
        )
        lost = value("takeoff.top.slab.edge", overrides)
        usable = (
            positive("slab length", long) - 2 * lost,
            positive("slab width", wide) - 2 * lost,
        )
        if min(usable) <= 0:
            raise InputError(
                "slab",
                given=f"{long:g} × {wide:g} m",
                allowed=f"more than its edges, {2 * lost:g} m",
                mend="take its sizes from the stone yard",
            )
        across = _per_slab(width, depth, usable)
        if across == 0:
            raise InputError(
                "size of the top",
                given=f"{width:.3f} × {depth:.3f} m",
                allowed=f"what a slab gives, {usable[0]:g} × {usable[1]:g} m",
                mend="take a larger slab, or join two and have the joint drawn",
            )
        slabs = whole(count / across)
        order = slabs * long * wide
        why.append(
            f"a slab of {say(long)} × {say(wide)} gives {across}, {say(lost)} lost at its edges: "
            f"{slabs} {'slab' if slabs == 1 else 'slabs'}"
        )
        rules += ["takeoff.top.slab.length", "takeoff.top.slab.width", "takeoff.top.slab.edge"]
    else:
        why.append(f"cut from {area_text(blank, system)} each; sold by the rectangle round it")
    why.append(f"{say(edge)} of polished edge each" + (", cut-outs with it" if cutouts else ""))
    why.append(f"at most {say(most_over)} beyond what carries it; here {say(max(0.0, overhang))}")
    cautions = []
    if overhang > most_over + 1e-9:
        cautions.append(
            f"It reaches {say(overhang)} beyond what carries it, more than {say(most_over)}: "
            "brackets under it, or a thicker top, sized by who makes it."
        )
    if slabs and one * count < order / 2:
        cautions.append("More than half of the slab is left over: ask the yard for a remnant.")
    cautions += [
        f"{mass_text(mass, system)}: check the way up and what carries it; it is moved on edge, "
        "never flat, by people who do this.",
        "Cut from a template of the finished piece, not from this drawing.",
    ]
    if material == "glass":
        cautions.append(
            "Safety glass where the place's rules ask for it, marked by its maker; a top that "
            "carries is sized by the glazier."
        )
    else:
        cautions.append(
            "Choose the slab itself, with its veins and the joint drawn; what stands under it "
            "has to be made for the load."
        )
    return Top(
        material=material,
        shape=shape,
        width=width,
        depth=depth,
        thickness=thick,
        overhang=overhang,
        radius=round_,
        count=int(count),
        cutouts=tuple(cutouts),
        most_overhang=most_over,
        net=one * count,
        blank=blank * count,
        edge=edge * count,
        mass=mass,
        carriers=carriers,
        across=across,
        slabs=slabs,
        order=order,
        why=tuple(why),
        rules=tuple(rules),
        cautions=tuple(cautions),
    )


def material_of(piece: Piece) -> Material | None:
    """What a piece that is a top itself is made of.

    Parameters
    ----------
    piece : Piece
        Any piece.

    Returns
    -------
    {"glass", "stone"} or None
        None of a piece that is no top.
    """
    return _TOPS.get(piece.kind.lower())


def top_of(
    piece: Piece,
    *,
    count: int = 1,
    slab: tuple[float, float] | None = None,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> Top:
    """The top that a piece of kind "glass top" or "stone top" is.

    Parameters
    ----------
    piece : Piece
        As large and as thick as it says, with its overhang, corners and cut-outs.
    count : int, optional
        Tops of this size.
    slab : tuple of float, optional
        As for `top`. [m]
    system : {"metric", "US"}, optional
        For the words.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Top
        Its finished size is the piece's; what carries it is smaller by the overhang.

    Raises
    ------
    InputError
        The piece is no top, or a number of it is outside what is allowed.
    """
    material = material_of(piece)
    if material is None:
        raise InputError(
            "piece", given=piece.kind, allowed=" or ".join(_TOPS), mend="change its kind"
        )
    over = piece.overhang
    carrier = (piece.size[0] - 2 * over, piece.size[1] - 2 * over)
    if min(carrier) <= 0:
        raise InputError(
            "overhang",
            given=length_text(over, system),
            allowed=f"less than half the shorter side, {length_text(min(piece.size[:2]), system)}",
            mend="say how far it reaches beyond what carries it",
        )
    return top(
        carrier,
        material=material,
        shape=piece.shape,
        thickness=piece.size[2],
        overhang=over,
        radius=piece.radius,
        cutouts=piece.cutouts,
        count=count,
        slab=slab,
        system=system,
        overrides=overrides,
    )
