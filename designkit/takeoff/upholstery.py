"""Upholstery: from a piece to its cut list, and from that to metres of cloth.

Across and along are those of the cloth laid up the roll: the nap strokes
smooth along it, towards the front or lower edge of every panel. A railroaded
cloth is laid with its selvedges top and bottom: across and along change
places, and no panel needs a seam that is only wide.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.model import Piece
from designkit.reference import value
from designkit.takeoff.lines import INCH, System, length_text, positive, run_text, whole
from designkit.takeoff.packing import Laid, Packing, Rectangle, pack
from designkit.units import NBSP

__all__ = [
    "CutPanel",
    "LaidPanel",
    "Upholstery",
    "box_cushion_length",
    "cut_list",
    "repeat_surcharge",
    "upholstery",
    "usual_range",
]

_MM = 1000


@dataclass(frozen=True, kw_only=True)
class CutPanel:
    """One line of a cut list, seams included. [m]"""

    letter: str
    name: str
    across: float
    along: float
    count: int = 1
    on_repeat: bool = False  # the motif is centred and begins on a repeat
    behind: str = ""  # letter of the panel that it continues, cut directly behind it


@dataclass(frozen=True, kw_only=True)
class LaidPanel:
    """A panel where it lies on the roll. [m]"""

    id: str  # letter and number: "a2"
    panel: CutPanel
    x: float  # from the left selvedge
    y: float  # along the roll
    width: float
    length: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Upholstery:
    """Cloth to order for one piece."""

    panels: tuple[CutPanel, ...]
    laid: tuple[LaidPanel, ...]
    cloth_width: float  # [m]
    railroaded: bool
    cut: float  # as laid [m]
    repeats: float  # in whole repeats [m]
    faults: float  # with what is kept for a fault [m]
    order: float  # rounded to the step [m]
    off_cut: float  # share of the cut length that is off-cut
    plan: Packing
    why: tuple[str, ...]
    rules: tuple[str, ...]
    cautions: tuple[str, ...]


def repeat_surcharge(
    repeats: float,
    *,
    cloth_width: float = 54 * INCH,
    overrides: Mapping[str, float] | None = None,
) -> float:
    """Share that upholsterers' charts add for a repeat (values D08).

    Parameters
    ----------
    repeats : float
        Vertical and horizontal repeat added together. [m]
    cloth_width : float, optional
        54 in, or 50 to 52 in with its own column. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    float
        Share of the plain yardage, a sanity band and no cutting plan.

    Raises
    ------
    InputError
        The repeats lie beyond the chart, or the cloth is narrower than it.

    Examples
    --------
    >>> repeat_surcharge(27 * 0.0254)
    0.2
    """
    inches = positive("repeats", repeats, zero=True) / INCH
    width = positive("cloth width", cloth_width) / INCH
    if width < 50 - 0.5:
        raise InputError(
            "cloth width",
            given=f"{width:.1f} in",
            allowed="50 in (1.27 m) or more",
            mend="lay the pieces out instead of using the chart",
        )
    narrow = width < 53
    column = "narrow" if narrow else "wide"
    if inches < 3 - 1e-9:
        return value(f"takeoff.upholstery.surcharge.{column}.plain", overrides)
    # The printed bands are whole inches: 14.5 in belongs to the next one.
    for upper in (14, 19, 27, 36, 45, 54):
        if inches <= upper + 1e-9:
            return value(f"takeoff.upholstery.surcharge.{column}.{upper}", overrides)
    raise InputError(
        "repeats",
        given=f"{inches:.1f} in",
        allowed="up to 54 in (1.37 m)",
        mend="lay the pieces out instead of using the chart",
    )


def box_cushion_length(
    width: float,
    depth: float,
    height: float,
    *,
    ties: float = 0.0,
    repeats: float = 0.0,
    half: float | None = None,
    overrides: Mapping[str, float] | None = None,
) -> float:
    """Cloth for one box cushion by the chart method (values D11).

    Parameters
    ----------
    width, depth, height : float
        Of the finished cushion. [m]
    ties : float, optional
        Cloth for ties. [m]
    repeats : float, optional
        Vertical and horizontal repeat added together. [m]
    half : float, optional
        Deeper than this, two lengths are taken; by default
        `takeoff.upholstery.half`. [m]
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    float
        Length of a 54 in cloth. [m]

    Raises
    ------
    InputError
        A size is not above zero.

    Examples
    --------
    >>> i = 0.0254
    >>> round(box_cushion_length(22 * i, 22 * i, 4 * i, ties=2 * i, repeats=14 * i) / i, 1)
    70.4
    """
    for name, size in (("width", width), ("depth", depth), ("height", height)):
        positive(f"cushion {name}", size)
    length = width + 2 * height + positive("ties", ties, zero=True)
    limit = value("takeoff.upholstery.half", overrides) if half is None else half
    lengths = 2 if depth + height > limit + 1e-9 else 1
    extra = repeat_surcharge(repeats, overrides=overrides) if repeats else 0.0
    return length * lengths * (1 + extra)


def usual_range(
    kind: str, *, overrides: Mapping[str, float] | None = None
) -> tuple[float, float] | None:
    """What upholsterers usually ask for a kind of piece, plain 54 in cloth (D12).

    Parameters
    ----------
    kind : str
        "sofa", "loveseat", "armchair", "ottoman" or "dining seat".
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of float or None
        Least and most [m]; None for a kind that the chart does not name.

    Examples
    --------
    >>> low, high = usual_range("sofa")
    >>> round(low / 0.9144), round(high / 0.9144)
    (10, 18)
    """
    if kind not in ("sofa", "loveseat", "armchair", "ottoman", "dining seat"):
        return None
    base = f"takeoff.upholstery.usual.{kind.replace(' ', '_')}"
    return value(f"{base}.low", overrides), value(f"{base}.high", overrides)


def cut_list(
    piece: Piece,
    *,
    seats: int | None = None,
    overrides: Mapping[str, float] | None = None,
) -> tuple[CutPanel, ...]:
    """Panels of a plain upholstered piece, worked out from its outer sizes.

    Parameters
    ----------
    piece : Piece
        A sofa, loveseat, armchair, ottoman, bench or chair. Seat and arm
        heights are taken from the piece, else from
        `takeoff.upholstery.seat_height` and `…arm_height`.
    seats : int, optional
        Seat cushions; by default the piece's seat count, one for each 0.6 m
        where it has none.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of CutPanel
        Box cushions, loose seat, tight back and arms, no skirt. The upholsterer
        measures the real frame: this is for a first order.

    Raises
    ------
    InputError
        The kind is not known here, or the sizes leave nothing for a seat.

    Examples
    --------
    >>> sofa = Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.8))
    >>> [p.count for p in cut_list(sofa) if p.name == "seat cushion, top"]
    [3]
    """

    def rule(id: str) -> float:
        return value(f"takeoff.upholstery.{id}", overrides)

    width, depth, height = (
        positive(f"{piece.name}, {n}", s) for n, s in zip(("width", "depth", "height"), piece.size)
    )
    seam = 2 * rule("seam")
    kind = piece.kind.lower()
    if kind in ("chair", "dining chair"):
        turn = 2 * rule("turn_under")
        return (
            CutPanel(
                letter="a",
                name="slip seat",
                across=width + turn,
                along=min(depth, width) + turn,
                on_repeat=True,
            ),
        )
    if kind in ("ottoman", "pouf", "bench"):
        border = height - rule("leg")
        if border <= 0:
            raise InputError(
                f"{piece.name}, height",
                given=f"{height:g} m",
                allowed=f"more than a leg, {rule('leg'):g} m",
                mend="measure it",
            )
        return (
            CutPanel(
                letter="a", name="top", across=width + seam, along=depth + seam, on_repeat=True
            ),
            CutPanel(
                letter="b",
                name="border, front and back",
                across=width + seam,
                along=border + seam,
                count=2,
            ),
            CutPanel(
                letter="c", name="border, ends", across=depth + seam, along=border + seam, count=2
            ),
        )
    if kind not in ("sofa", "loveseat", "armchair", "lounge chair"):
        raise InputError(
            f"kind of {piece.name}",
            given=piece.kind,
            allowed="sofa, loveseat, armchair, lounge chair, ottoman, pouf, bench, chair",
            mend="write its cut list by hand as CutPanel",
        )
    arm, back, leg = rule("arm"), rule("back"), rule("leg")
    pull = 2 * rule("pull")  # both edges of a panel that is drawn over the frame
    cushion, tuck = rule("cushion"), rule("tuck")
    seat_height = piece.seat_height or rule("seat_height")
    arm_height = piece.arm_height or rule("arm_height")
    inner = width - 2 * arm
    seat = depth - back
    base = seat_height - cushion - leg
    if min(inner, seat, base, height - seat_height, arm_height - seat_height) <= 0:
        raise InputError(
            f"size of {piece.name}",
            given=f"{width:g} × {depth:g} × {height:g} m, seat {seat_height:g}, arm {arm_height:g}",
            allowed=f"room for arms of {arm:g}, a back of {back:g} and a seat between",
            mend="measure the frame and write its cut list by hand",
        )
    count = seats or piece.seat_count or max(1, round(inner / rule("seat_width")))
    if count < 1:
        raise InputError("seats", given=count, allowed="1 or more", mend="count the cushions")
    each = inner / count
    full = width / count
    welt = count * 2 * (2 * each + 2 * seat) + 2 * (arm_height + arm) * 2
    side = (welt * rule("welt_strip")) ** 0.5
    return (
        CutPanel(
            letter="a",
            name="seat cushion, top",
            across=each + seam,
            along=seat + seam,
            count=count,
            on_repeat=True,
        ),
        CutPanel(
            letter="b",
            name="seat cushion, front",
            across=each + seam,
            along=cushion + seam,
            count=count,
            behind="a",
        ),
        CutPanel(
            letter="c",
            name="inside back",
            across=each + pull,
            along=height - seat_height + back / 2 + tuck + pull,
            count=count,
            on_repeat=True,
        ),
        CutPanel(
            letter="d",
            name="outside back",
            across=full + pull,
            along=height - leg + pull,
            count=count,
        ),
        CutPanel(
            letter="e",
            name="seat cushion, underside",
            across=each + seam,
            along=seat + seam,
            count=count,
        ),
        CutPanel(
            letter="f",
            name="front border",
            across=each + pull,
            along=base + pull,
            count=count,
            on_repeat=True,
        ),
        CutPanel(
            letter="g",
            name="inside arm",
            across=seat + tuck + pull,
            along=arm_height - seat_height + arm + tuck + pull,
            count=2,
            on_repeat=True,
        ),
        CutPanel(
            letter="h",
            name="outside arm",
            across=depth + pull,
            along=arm_height - leg + pull,
            count=2,
        ),
        CutPanel(
            letter="i", name="arm front", across=arm + pull, along=arm_height - leg + pull, count=2
        ),
        CutPanel(
            letter="k",
            name="cushion sides and back",
            across=cushion + seam,
            along=seat + each / 2 + seam,
            count=2 * count,
        ),
        CutPanel(letter="w", name="welt, cut at 45°", across=side, along=side),
    )


def _centred(width: int, cloth: int, across: int) -> bool:
    """Whether a panel has a place on the cloth with the motif in its middle."""
    lead = (across - width) // 2
    first = lead + max(0, -(-(0 - lead) // across)) * across
    return first + width <= cloth


def _rectangles(
    panels: Sequence[CutPanel], *, railroaded: bool, cloth: int, across: int
) -> tuple[list[Rectangle], dict[str, list[tuple[str, CutPanel, int]]]]:
    """Rectangles to pack, and the panels that each one holds with their offsets."""
    by_letter: dict[str, CutPanel] = {}
    for panel in panels:
        if not panel.letter or panel.letter in by_letter:
            raise InputError(
                "letter of a panel", given=panel.letter, allowed="each once", mend="use another"
            )
        if panel.count != int(panel.count) or panel.count < 1:
            raise InputError(
                f"count of {panel.letter}", given=panel.count, allowed="1 or more", mend="count it"
            )
        positive(f"{panel.name}, across", panel.across)
        positive(f"{panel.name}, along", panel.along)
        by_letter[panel.letter] = panel
    for panel in panels:
        if not panel.behind:
            continue
        first = by_letter.get(panel.behind)
        if first is None or first.behind or first.count != panel.count:
            raise InputError(
                f"{panel.letter} continues",
                given=panel.behind,
                allowed="the letter of a panel with as many pieces that continues no other",
                mend="leave it free, or name the panel that it runs on from",
            )

    def mm(x: float) -> int:
        return whole(x * _MM)

    rectangles: list[Rectangle] = []
    held: dict[str, list[tuple[str, CutPanel, int]]] = {}
    for panel in panels:
        if panel.behind:
            continue
        after = [p for p in panels if p.behind == panel.letter]
        group = [panel, *after]
        for number in range(1, panel.count + 1):
            tag = str(number) if panel.count > 1 else ""
            id = panel.letter + tag
            wide = max(mm(p.across) for p in group)
            long = sum(mm(p.along) for p in group)
            offset = 0
            held[id] = []
            for p in group:
                held[id].append((p.letter + tag, p, offset))
                offset += mm(p.along)
            if railroaded:
                wide, long = long, wide
            rectangles.append(
                Rectangle(
                    id=id,
                    width=wide,
                    length=long,
                    on_repeat=panel.on_repeat,
                    centred=panel.on_repeat and bool(across) and _centred(wide, cloth, across),
                )
            )
    return rectangles, held


def upholstery(
    panels: Sequence[CutPanel],
    *,
    cloth_width: float,
    repeat_along: float = 0.0,
    repeat_across: float = 0.0,
    railroaded: bool = False,
    faults: Sequence[tuple[float, float]] = (),
    spare_repeats: int | None = None,
    step: float | None = None,
    kind: str = "",
    tries: int = 4000,
    seed: int = 1,
    system: System = "metric",
    overrides: Mapping[str, float] | None = None,
) -> Upholstery:
    """Cutting plan on the roll and the cloth to order.

    Parameters
    ----------
    panels : sequence of CutPanel
        The cut list.
    cloth_width : float
        Usable width between the selvedges. [m]
    repeat_along, repeat_across : float, optional
        Pattern repeat of the cloth; 0: none. [m]
    railroaded : bool, optional
        True: the cloth is laid with its selvedges top and bottom.
    faults : sequence of (float, float), optional
        Stretches of the roll that no piece may touch. [m]
    spare_repeats : int, optional
        Repeats kept for a fault; by default
        `takeoff.upholstery.spare_repeats`, none for a plain cloth.
    step : float, optional
        Cloth is sold in steps of this; by default as drapery. [m]
    kind : str, optional
        Kind of the piece, for the usual range beside the order (D12).
    tries, seed : int, optional
        Of the search, see `designkit.takeoff.packing.pack`.
    system : {"metric", "US"}, optional
        For the words of the reasons.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Upholstery
        The plan, and the order as a sum of four lines.

    Raises
    ------
    InputError
        No panel, a panel wider than the cloth, or a number outside what is
        allowed.

    Examples
    --------
    >>> seat = CutPanel(letter="a", name="slip seat", across=0.6, along=0.6, count=6)
    >>> upholstery([seat], cloth_width=1.37).order
    1.8
    """
    if not panels:
        raise InputError("cut list", given=0, allowed="one panel or more", mend="write it")
    positive("cloth width", cloth_width, mend="take the usable width from the cloth's label")
    for name, repeat in (("along", repeat_along), ("across", repeat_across)):
        positive(f"repeat {name}", repeat, zero=True)
    sold = step
    if sold is None:
        sold = value(
            "takeoff.drapery.step.US" if system == "US" else "takeoff.drapery.step", overrides
        )
    positive("step", sold)
    kept = 0.0
    if repeat_along:
        kept = (
            value("takeoff.upholstery.spare_repeats", overrides)
            if spare_repeats is None
            else spare_repeats
        )
        positive("spare repeats", kept, unit="", zero=True)
    cloth, across = int(cloth_width * _MM + 1e-6), whole(repeat_across * _MM)
    rectangles, held = _rectangles(panels, railroaded=railroaded, cloth=cloth, across=across)
    plan = pack(
        rectangles,
        width=cloth,
        repeat_along=whole(repeat_along * _MM),
        repeat_across=across,
        faults=[(int(a * _MM), whole(b * _MM)) for a, b in faults],
        tries=tries,
        seed=seed,
    )
    cut = plan.length / _MM
    repeats = whole(cut / repeat_along) * repeat_along if repeat_along else cut
    with_fault = repeats + kept * repeat_along
    order = whole(with_fault / sold) * sold
    area = sum(p.across * p.along * p.count for p in panels)
    off_cut = 1 - area / (cut * cloth_width)

    why = [
        f"{run_text(cut, system)} cut, as laid: {len(held)} pieces on "
        f"{length_text(cloth_width, system)} cloth"
        + (", railroaded" if railroaded else ", nap along the roll")
    ]
    if repeat_along:
        why.append(
            f"{run_text(repeats, system)} in {whole(cut / repeat_along)} whole repeats of "
            f"{length_text(repeat_along, system)}"
        )
        why.append(f"{run_text(with_fault, system)} with {kept:g} repeat kept for a fault")
    why.append(f"{run_text(order, system)} rounded up to {run_text(sold, system)}")
    why.append(
        f"{off_cut * 100:.0f}{NBSP}% of the cut length is off-cut; "
        + (
            "no plan is shorter"
            if plan.proven
            else f"no plan is shorter than {run_text(plan.bound / _MM, system)}"
        )
    )
    loose = [r.id for r in rectangles if across and r.on_repeat and not r.centred]
    if loose:
        why.append(
            f"{', '.join(loose)}: too wide for a motif in the middle of this cloth, matched "
            "along the roll only"
        )
    usual = usual_range(kind, overrides=overrides)
    if usual is not None:
        low, high = usual
        if repeat_along or repeat_across:
            extra = repeat_surcharge(
                repeat_along + repeat_across, cloth_width=cloth_width, overrides=overrides
            )
            low, high = low * (1 + extra), high * (1 + extra)
        where = "below" if order < low else ("above" if order > high else "inside")
        why.append(
            f"charts for {kind}, with the margin of the trade: {run_text(low, system)} to "
            f"{run_text(high, system)}; the order lies {where}"
            + ("" if where == "inside" else ": ask the upholsterer before ordering")
        )
    laid = []
    for one in plan.laid:
        laid += _spread(one, held[one.rectangle.id], railroaded)
    return Upholstery(
        panels=tuple(panels),
        laid=tuple(laid),
        cloth_width=cloth_width,
        railroaded=railroaded,
        cut=cut,
        repeats=repeats,
        faults=with_fault,
        order=order,
        off_cut=off_cut,
        plan=plan,
        why=tuple(why),
        rules=(
            "takeoff.upholstery.seam",
            "takeoff.upholstery.tuck",
            "takeoff.upholstery.spare_repeats",
        ),
        cautions=(
            "The upholsterer measures the stripped frame before the cloth is ordered.",
            "One dye lot; ask for a cutting and for the fire label that the place requires.",
        ),
    )


def _spread(
    one: Laid, held: Sequence[tuple[str, CutPanel, int]], railroaded: bool
) -> list[LaidPanel]:
    """The panels of a packed rectangle where each of them lies."""
    found = []
    for id, panel, offset in held:
        width, length = panel.across, panel.along
        x, y = one.x / _MM, one.y / _MM
        if railroaded:
            width, length = length, width
            x += offset / _MM
        else:
            y += offset / _MM
        found.append(LaidPanel(id=id, panel=panel, x=x, y=y, width=width, length=length))
    return found
