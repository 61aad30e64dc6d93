"""From a view of the take-off to its proof: one way for pages and for sheets."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from designkit.analyses.of_takeoff import View
from designkit.analyses.of_takeoff_built import BoxView, CanvasView
from designkit.analyses.of_takeoff_cloth import DraperyView, LeatherView, UpholsteryView
from designkit.analyses.of_takeoff_goods import RugView, TopView
from designkit.analyses.of_takeoff_walls import (
    MuralView,
    PaintView,
    Surface,
    WallcoveringView,
)
from designkit.figures import ink
from designkit.figures import type as lettering
from designkit.figures.chart import Chart
from designkit.figures.cutting import cutting_proof
from designkit.figures.cutting_areas import Plate, ceiling_proof, paint_proof
from designkit.figures.cutting_boxes import boxes_proof
from designkit.figures.cutting_canvas import canvas_proof
from designkit.figures.cutting_drapery import Hung, drapery_proof
from designkit.figures.cutting_goods import Under, rug_proof
from designkit.figures.cutting_parts import (
    Order,
    Proof,
    compose,
    hatched,
    rectangle,
    scale_for,
    short,
)
from designkit.figures.cutting_sketch import sketch
from designkit.figures.cutting_tops import top_proof
from designkit.figures.cutting_walls import mural_proof, wallcovering_proof
from designkit.figures.drawing import Drawing, Polygon
from designkit.figures.sheet import Area, TitleBlock
from designkit.model import Home
from designkit.takeoff.assemble import opening_name
from designkit.takeoff.lines import System, area_text, run_text
from designkit.takeoff.upholstery import CutPanel
from designkit.units import NBSP

__all__ = ["proof_of", "view_figure"]


def _plate(surface: Surface) -> Plate:
    return Plate(
        room=surface.room,
        name=surface.name,
        net=surface.net,
        face=surface.face,
        outline=surface.outline,
    )


def _namer(home: Home) -> Callable[[str], str]:
    def named(id: str) -> str:
        return opening_name(home, id)

    return named


def proof_of(view: View, *, page: bool = False) -> Proof:
    """The proof of a view.

    Parameters
    ----------
    view : View
        From `designkit.analyses.of_takeoff`.
    page : bool, optional
        For a study page.

    Returns
    -------
    Proof
        For `designkit.figures.cutting_parts.compose`.
    """
    if isinstance(view, DraperyView):
        hung = Hung(
            drape=view.drape,
            opening=view.opening,
            ceiling=view.ceiling,
            hanging=view.hanging,
            mirrored=view.mirrored,
        )
        proof = drapery_proof(
            view.result,
            hung,
            name=view.name,
            cloth=view.cloth,
            repeat=view.repeat,
            system=view.system,
            page=page,
        )
        return _noted(proof, view.notes)
    if isinstance(view, UpholsteryView):
        return _upholstery(view, page=page)
    if isinstance(view, LeatherView):
        return _leather(view, page=page)
    if isinstance(view, WallcoveringView):
        return wallcovering_proof(
            view.result,
            name=view.name,
            roll=view.roll,
            system=view.system,
            named=_namer(view.home),
            page=page,
        )
    if isinstance(view, MuralView):
        return mural_proof(
            view.result,
            view.faces,
            name=view.name,
            system=view.system,
            named=_namer(view.home),
            page=page,
        )
    if isinstance(view, PaintView):
        return paint_proof(
            view.result,
            [_plate(s) for s in view.surfaces],
            name=view.name,
            primer=view.primer,
            cautions=view.cautions,
            system=view.system,
            named=_namer(view.home),
            page=page,
        )
    if isinstance(view, RugView):
        under = None
        if view.door is not None:
            door, undercut, rug, pad, clears, left = view.door
            under = Under(door=door, undercut=undercut, rug=rug, pad=pad, clears=clears, left=left)
        return rug_proof(
            view.size,
            at=view.at,
            rotation=view.rotation,
            outline=view.room.outline,
            group=view.group,
            name=view.name,
            needs=view.needs,
            sewn=view.sewn,
            under=under,
            system=view.system,
            page=page,
        )
    if isinstance(view, TopView):
        return top_proof(view.result, name=view.name, slab=view.slab, system=view.system, page=page)
    if isinstance(view, CanvasView):
        return canvas_proof(view.result, name=view.name, system=view.system, page=page)
    if isinstance(view, BoxView):
        return boxes_proof(
            view.result,
            name=view.name,
            outline=view.room.outline,
            placed=view.placed,
            outlets=view.outlets,
            system=view.system,
            page=page,
        )
    return ceiling_proof(
        [(_plate(surface), work) for surface, work in view.works],
        year=view.year,
        sampled=view.sampled,
        system=view.system,
        page=page,
    )


def _noted(proof: Proof, notes: tuple[str, ...]) -> Proof:
    """What the label of the cloth says, under what has to be watched."""
    order = replace(proof.order, cautions=(*proof.order.cautions, *notes))
    return replace(proof, order=order)


def _upholstery(view: UpholsteryView, *, page: bool) -> Proof:
    proof = cutting_proof(
        view.result,
        name=view.name,
        cloth=view.cloth,
        piece=view.piece,
        seats=view.seats,
        repeats=view.repeats,
        system=view.system,
        page=page,
    )
    own = view.own
    if own is None:
        return _noted(proof, view.notes)
    # The maker cuts it: what is sent is the maker's figure and what the cloth adds.
    order = Order(
        big=run_text(own.order, view.system),
        also=run_text(own.order, "metric" if view.system == "US" else "US"),
        sums=(
            (run_text(own.stated, view.system), "plain, on 54 in cloth: ask the maker"),
            (f"{own.surcharge * 100:.0f}{NBSP}%", "added for repeat and width"),
            (run_text(view.result.order, view.system), "by the plan at the left"),
            (run_text(own.order, view.system), "to send, with a cutting for approval"),
        ),
        cautions=own.terms,
        head="Own cloth to send",
    )
    return Proof(
        question=f"How much own cloth is sent for the {view.name}?",
        answer=f"{order.big} of the client's own cloth, after the maker has agreed to it.",
        text=f"{proof.text} {' '.join(w + '.' for w in own.why)} {' '.join(own.terms)}",
        order=order,
        draw=proof.draw,
        beside=proof.beside,
        system=view.system,
    )


_HIDE = (  # half of a hide's outline, of a length and half width of one
    (0.0, 0.16), (0.06, 0.34), (0.14, 0.30), (0.24, 0.40), (0.34, 0.33), (0.60, 0.36),
    (0.72, 0.46), (0.86, 0.42), (0.93, 0.26), (1.0, 0.10),
)  # fmt: skip


def _hide_outline(area: float) -> tuple[tuple[float, float], ...]:
    """A hide of an area, neck to the left. [m]"""
    upper = list(_HIDE)
    ring = [*upper, *((x, -y) for x, y in reversed(upper))]
    unit = 0.0
    for (x0, y0), (x1, y1) in zip(ring, [*ring[1:], ring[0]], strict=True):
        unit += (x0 * y1 - x1 * y0) / 2
    k = math.sqrt(area / abs(unit))
    smooth = [(x * k, y * k) for x, y in ring]
    for _ in range(2):  # corners cut off
        smooth = [
            (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))
            for a, b in zip(smooth, [*smooth[1:], smooth[0]], strict=True)
            for t in (0.25, 0.75)
        ]
    return tuple(smooth)


def _leather(view: LeatherView, *, page: bool) -> Proof:
    result, system = view.result, view.system
    other: System = "metric" if system == "US" else "US"
    ring = _hide_outline(result.hide)
    long = max(x for x, _ in ring)
    broad = 2 * max(y for _, y in ring)
    pieces: list[tuple[str, CutPanel]] = [
        (f"{p.letter}{n + 1}" if p.count > 1 else p.letter, p)
        for p in sorted(result.panels, key=lambda p: -p.along)
        for n in range(p.count)
    ]

    def rows(width: float) -> list[list[tuple[str, CutPanel]]]:
        found: list[list[tuple[str, CutPanel]]] = [[]]
        at = 0.0
        for id, panel in pieces:
            if found[-1] and at + panel.across > width:
                found.append([])
                at = 0.0
            found[-1].append((id, panel))
            at += panel.across + 0.06
        return found

    def height(scale: int, width: float) -> float:
        k = 1000 / scale
        across = max(1, int((width + 3.0) / (long * k + 3.0)))
        hides = -(-result.hides // across) * (broad * k + 3.0)
        if long * k > width:
            return 1e9
        return hides + sum(max(p.along for _, p in r) * k + 2.0 for r in rows(width / k)) + 34.0

    def draw(chart: Chart, area: Area, most: float) -> tuple[float, int | None]:
        sizes = chart.sizes
        width = area.width - 1.0
        scale = scale_for(page, system, lambda s: height(s, width) <= most, least=20)
        k = 1000 / scale
        y = area.top - sizes.name
        word = "hide" if result.hides == 1 else "hides"
        chart.text(area.left, y, f"{result.hides} {word}", sizes.name, bold=True)
        y -= 2.0
        across = max(1, int((width + 3.0) / (long * k + 3.0)))
        for n in range(result.hides):
            row, column = divmod(n, across)
            x = area.left + column * (long * k + 3.0)
            middle = y - row * (broad * k + 3.0) - broad * k / 2
            outline = tuple((x + px * k, middle + py * k) for px, py in ring)
            hatched(chart, outline, weight=0.3, spacing=2.2)
            inner = result.usable**0.5
            cx = x + long * k / 2
            core = tuple(
                (cx + (px * k - long * k / 2) * inner, middle + py * k * inner) for px, py in ring
            )
            chart.items.append(Polygon(outline=core, fill=ink.PAPER, weight=0.15))
            label = f"{result.usable * 100:.0f}{NBSP}% can be cut"
            if lettering.advance(label, size=sizes.small) > long * k * inner - 4.0:
                label = str(n + 1)
            chart.text(cx, middle - sizes.small / 2, label, sizes.small, anchor="middle")
        y -= -(-result.hides // across) * (broad * k + 3.0)
        y -= sizes.name + 2.0
        chart.text(
            area.left,
            y,
            f"{len(pieces)} panels, to the same scale",
            sizes.name,
            bold=True,
        )
        y -= 2.0
        for row_ in rows(width / k):
            tall = max(p.along for _, p in row_) * k
            x = area.left
            for id, panel in row_:
                box = rectangle(x, y - panel.along * k, x + panel.across * k, y)
                large = panel.letter in result.too_large
                chart.items.append(
                    Polygon(
                        outline=box,
                        fill=ink.PAPER,
                        weight=0.5 if large else 0.25,
                        dash=ink.DASH_ZONE if large else (),
                    )
                )
                if lettering.advance(id, size=sizes.small) < panel.across * k - 0.6:
                    chart.text(
                        x + panel.across * k / 2,
                        y - panel.along * k / 2 - sizes.small / 2,
                        id,
                        sizes.small,
                        bold=True,
                        anchor="middle",
                    )
                x += (panel.across + 0.06) * k
            y -= tall + 2.0
        words = "Areas are compared; where each panel lies is for the upholsterer, hide in hand."
        if result.too_large:
            words += " Dashed: too large for one hide, a seam."
        for line in lettering.wrap(words, size=sizes.note, width=width):
            y -= sizes.pitch(sizes.note)
            chart.text(area.left, y, line, sizes.note, colour=ink.GREY_1)
        return y - 1.0, scale

    def beside(chart: Chart, x: float, y: float, width: float) -> float:
        y = sketch(chart, view.piece, result.panels, x, y, width, seats=view.seats)
        sizes = chart.sizes
        for panel in result.panels:
            y -= sizes.pitch(sizes.note)
            words = (
                f"{panel.name}, {short(panel.across, system)} × {short(panel.along, system)}"
                f"{NBSP}{'in' if system == 'US' else 'cm'}, {panel.count}"
            )
            chart.text(x, y, panel.letter, sizes.note, bold=True)
            chart.text(
                x + 5.0,
                y,
                lettering.shorten(words, size=sizes.note, width=width - 5.0),
                sizes.note,
            )
        return y - 1.0

    word = "hide" if result.hides == 1 else "hides"
    answer = (
        f"{result.hides} {word} of about {area_text(result.hide, system)}, "
        f"{area_text(result.order, system)} in all."
    )
    if result.too_large:
        answer = answer[:-1] + f"; {', '.join(result.too_large)} need a seam."
    sums = [
        (area_text(result.net, system), "of panels, seams included"),
        (area_text(result.need, system), f"of hide, {result.usable * 100:.0f}{NBSP}% can be cut"),
        (
            f"{(1 - result.net / result.order) * 100:.0f}{NBSP}%",
            "of what is bought is edge, marks and rest",
        ),
        (area_text(result.order, system), f"in {result.hides} {word}"),
    ]
    return Proof(
        question=f"How many hides for the {view.name}?",
        answer=answer,
        text=f"{answer} {' '.join(w + '.' for w in result.why)}",
        order=Order(
            big=f"{result.hides} {word}",
            also=f"{area_text(result.order, other)}; a hide has {area_text(result.hide, other)}",
            sums=tuple(sums),
            cautions=result.cautions,
        ),
        draw=draw,
        beside=beside,
        system=system,
    )


def view_figure(
    view: View, *, block: TitleBlock | None = None, paper: str = "A3", page: bool = False
) -> Drawing:
    """The drawing that proves a quantity.

    Parameters
    ----------
    view : View
        From `designkit.analyses.of_takeoff`.
    block : TitleBlock, optional
        What the foot of the sheet says; needed unless `page`.
    paper : str, optional
        A key of `sheet.PAPERS`.
    page : bool, optional
        The drawing alone, for a study page.

    Returns
    -------
    Drawing
        The sheet, or the drawing alone.

    Raises
    ------
    InputError
        There is no title block for a sheet.
    LookupFailed
        There is no such paper.
    """
    return compose(proof_of(view, page=page), block=block, paper=paper, page=page)
