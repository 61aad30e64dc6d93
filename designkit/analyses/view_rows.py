"""What the seats of a layout see: the openings with a view, and the screens."""

from __future__ import annotations

import math
from dataclasses import dataclass

from designkit.analyses.route_rows import in_the_way, place_name
from designkit.model import Finding, Home, Wish
from designkit.plan.case import Case
from designkit.plan.measure import judge
from designkit.plan.onplan import hang, opening_of, view_from
from designkit.plan.seating import ScreenView, screen_view
from designkit.plan.sight import Occluder, View
from designkit.plan.space import Space

__all__ = ["SEATED", "ScreenRow", "ViewRow", "screens_of", "view_finding", "views_of", "wish_view"]

SEATED = ("sofa", "daybed", "armchair")  # kinds that make the talking group


@dataclass(frozen=True, kw_only=True, eq=False)
class ViewRow:
    """What a seat sees of an opening."""

    piece: str
    opening: str
    view: View


@dataclass(frozen=True, kw_only=True, eq=False)
class ScreenRow:
    """How a seat sees a screen."""

    piece: str
    screen: str
    view: ScreenView
    finding: Finding


def _drawn_cloth(case: Case, space: Space) -> list[Occluder]:
    """Drapery as the layout draws it, as what may hide a view."""
    found = []
    for id, drape in case.layout.drapes.items():
        if not any(at.id == drape.opening for at in space.openings):
            continue
        for curtain in hang(space, drape, overrides=case.rules).states[drape.state]:
            found.append(
                Occluder(id=id, footprint=curtain.footprint, base=curtain.base, top=curtain.top)
            )
    return found


def views_of(case: Case, *, quick: bool) -> list[ViewRow]:
    """What the sofas and armchairs see of each opening that has a view.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.
    quick : bool
        Only views that the brief asks for.

    Returns
    -------
    list of ViewRow
        From the middle seat of each piece.
    """
    home = case.home
    wishes = [w for w in home.brief.wishes.values() if w.kind == "view"]
    rows = []
    for space in case.spaces.values():
        cloth = _drawn_cloth(case, space)
        openings = [at for at in space.openings if at.opening.view and at.opening.kind == "window"]
        for piece, thing in case.placed.items():
            if case.space_of[piece] is not space or not thing.seats:
                continue
            wished = [w.end for w in wishes if w.start in (piece, thing.item)]
            if thing.piece.kind not in SEATED and not wished:
                continue
            ids = [] if quick else [at.id for at in openings]
            ids += [id for id in wished if id not in ids and id in home.openings]
            for id in ids:
                opening_of(space, id)
                middle = len(thing.seats) // 2
                rows.append(
                    ViewRow(
                        piece=piece,
                        opening=id,
                        view=view_from(
                            space,
                            case.placed,
                            piece=piece,
                            opening=id,
                            seat=middle,
                            more=cloth,
                            overrides=case.rules,
                        ),
                    )
                )
    return rows


def screens_of(case: Case) -> list[ScreenRow]:
    """What the seats of the talking group see of each screen that they face.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.

    Returns
    -------
    list of ScreenRow
        With the finding of each.
    """
    rows = []
    for id, thing in case.placed.items():
        if thing.piece.kind != "screen":
            continue
        space = case.space_of[id]
        windows = [
            (at.id, (at.left, at.right)) for at in space.openings if at.opening.kind == "window"
        ]
        for piece, seat_of in case.placed.items():
            if seat_of.piece.kind not in SEATED or case.space_of[piece] is not space:
                continue
            sitter = seat_of.seats[len(seat_of.seats) // 2] if seat_of.seats else None
            if sitter is None:
                continue
            way = math.radians(thing.rotation - 90.0)
            before = (sitter.at[0] - thing.at[0]) * math.cos(way) + (
                sitter.at[1] - thing.at[1]
            ) * math.sin(way)
            if before <= 0.1:
                continue  # it looks at the screen's back
            view = screen_view(
                sitter.at,
                centre=thing.at,
                normal=thing.rotation - 90.0,
                width=thing.piece.size[0],
                height=thing.piece.size[2],
                facing=sitter.facing,
                windows=windows,
                overrides=case.rules,
            )
            if view.turn is not None and view.turn > 90:
                continue  # nobody watches over the shoulder
            rows.append(
                ScreenRow(
                    piece=piece,
                    screen=id,
                    view=view,
                    finding=_screen_finding(case, piece, id, view),
                )
            )
    return rows


def _screen_finding(case: Case, piece: str, screen: str, view: ScreenView) -> Finding:
    """The angle that the picture fills, and what the screen mirrors."""
    least = case.value("plan.screen.subtense")
    mend = ""
    if view.angle < least:
        far = case.say(view.far_distance)
        mend = f"Sit within {far} of it, or take a larger screen, if films matter."
    bright = [id for id, share in view.glare.items() if share > 0.05]
    if bright:
        names = ", ".join(case.home.openings[id].name or id for id in bright)
        mend = f"{mend} It mirrors the {names} by day: turn it, or draw the drapery.".strip()
    return Finding(
        what=f"{case.title(screen)} seen from the {case.name(piece).removeprefix('the ')}",
        measured=view.angle,
        required=least,
        unit="°",
        verdict=judge(view.angle, required=least),
        severity="note",
        rule=view.rule,
        why=view.why,
        mend=mend,
        about=(piece, screen),
    )


def wish_view(home: Home, rows: tuple[ViewRow, ...], wish: Wish) -> list[ViewRow]:
    """The rows that a wish for a view is about.

    Parameters
    ----------
    home : Home
        The home.
    rows : tuple of ViewRow
        From `views_of`.
    wish : Wish
        Of kind "view".

    Returns
    -------
    list of ViewRow
        Those of its piece and its opening.
    """
    return [
        row
        for row in rows
        if row.opening == wish.end
        and (row.piece == wish.start or row.piece.rsplit("_", 1)[0] == wish.start)
    ]


def view_finding(case: Case, row: ViewRow) -> Finding | None:
    """A view that the brief asks for, as a finding.

    Parameters
    ----------
    case : Case
        A layout with its pieces placed.
    row : ViewRow
        What a seat sees.

    Returns
    -------
    Finding or None
        None where the brief does not ask for it.
    """
    for wish in case.home.brief.wishes.values():
        if wish.kind != "view" or wish.at_least is None:
            continue
        if not wish_view(case.home, (row,), wish):
            continue
        share = row.view.share
        hides = [id for id, part in row.view.hidden_by.items() if part > 0.01]
        names = " and ".join(in_the_way(case, id) for id in hides[:2])
        return Finding(
            what=f"{case.title(row.piece)} sees the {place_name(case, row.opening)}",
            measured=share,
            required=wish.at_least,
            unit="1",
            verdict=judge(share, required=wish.at_least),
            severity="inconvenient",
            rule=row.view.rule,
            why=row.view.why,
            mend="" if share >= wish.at_least else f"Turn the seat, or move {names or 'it'}.",
            about=(row.piece, *(id for id in hides if case.thing(id))),
        )
    return None
