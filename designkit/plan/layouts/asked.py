"""What a call for proposals asks: which pieces are placed, which stay, which are left out."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence

import shapely

from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import Home, Placement
from designkit.plan.layouts.things import Relation, role_of
from designkit.plan.pieces import kind_of
from designkit.plan.place import place
from designkit.plan.space import space_at, spaces

__all__ = ["MOST_PIECES", "Job"]

MOST_PIECES = 14


class Job:
    """The pieces of a call: which are placed, which stay, which are left out and why.

    Parameters
    ----------
    home : Home
        The home.
    pieces, space, locked : optional
        As `designkit.plan.layouts.propose`.
    """

    def __init__(
        self,
        home: Home,
        pieces: Sequence[str] | Mapping[str, str],
        space: str,
        locked: Sequence[str] | Mapping[str, Placement],
        relations: Sequence[Relation],
        optional: Sequence[str],
    ) -> None:
        self.home = home
        self.said: list[str] = []
        self.left_out: dict[str, str] = {}
        self.current = home.layouts.get(home.layout)
        if self.current is None and home.layouts:
            self.current = next(iter(home.layouts.values()))
        self.locked = self._locked(locked)
        named = self._named(pieces)
        self._elsewhere(space, named)
        self.pieces: dict[str, str] = {}
        self.rugs: dict[str, str] = {}
        self.on: dict[str, str] = {}
        chairs = {
            home.pieces[item].chairs.piece  # type: ignore[union-attr]
            for item in named.values()
            if home.pieces[item].chairs is not None
        }
        for id, item in named.items():
            if id in self.locked:
                continue
            self._sort(id, item, chairs)
        if not self.pieces:
            raise InputError(
                "pieces",
                given=", ".join(named) or "none",
                allowed="one piece or more that stands on the floor",
                mend="name a sofa, a bed, a table …",
            )
        if len(self.pieces) > MOST_PIECES:
            raise InputError(
                "pieces",
                given=len(self.pieces),
                allowed=f"at most {MOST_PIECES} that are placed at once",
                mend="lock what has its place already, or lay out room by room",
            )
        self.fixed = {
            id: place(id, home.pieces[p.item or id], p, overrides=home.rules)
            for id, p in self.locked.items()
        }

    def _item(self, id: str, what: str) -> str:
        home = self.home
        if id in home.pieces:
            return id
        if self.current is not None and id in self.current.pieces:
            item = self.current.pieces[id].item or id
            if item in home.pieces:
                return item
        known = [*home.pieces, *(self.current.pieces if self.current else ())]
        near = nearest(id, known)
        raise LookupFailed(
            what,
            given=id,
            allowed=", ".join(dict.fromkeys(known)) or "none",
            mend=f"write {near!r}" if near else "use one of these",
        )

    def _named(self, pieces: Sequence[str] | Mapping[str, str]) -> dict[str, str]:
        if isinstance(pieces, str):
            raise InputError("pieces", given=pieces, allowed="a list of ids", mend=f"[{pieces!r}]")
        if isinstance(pieces, Mapping):
            return {id: self._item(item, f"piece of {id}") for id, item in pieces.items()}
        out: dict[str, str] = {}
        wanted = list(pieces)
        for name in wanted:
            item = self._item(name, "piece")
            if wanted.count(name) > 1:
                number = 1
                while f"{name}_{number}" in out or f"{name}_{number}" in self.locked:
                    number += 1
                out[f"{name}_{number}"] = item
            else:
                out[name] = item
        return out

    def _locked(self, locked: Sequence[str] | Mapping[str, Placement]) -> dict[str, Placement]:
        if isinstance(locked, Mapping):
            for id, placement in locked.items():
                self._item(placement.item or id, f"piece of {id}")
            return {
                id: dataclasses.replace(p, item=self._item(p.item or id, id))
                for id, p in locked.items()
            }
        out: dict[str, Placement] = {}
        for id in locked:
            if self.current is None or id not in self.current.pieces:
                known = list(self.current.pieces) if self.current else []
                near = nearest(id, known)
                raise LookupFailed(
                    "locked piece",
                    given=id,
                    allowed=", ".join(known) or "none stands in a layout",
                    mend=f"write {near!r}" if near else "give its placement",
                )
            p = self.current.pieces[id]
            out[id] = dataclasses.replace(p, item=p.item or id)
        return out

    def _elsewhere(self, space: str, named: Mapping[str, str]) -> None:
        """Pieces of the current layout in other rooms of the same space stay."""
        if self.current is None or space not in self.home.rooms:
            return
        every = spaces(self.home, overrides=self.home.rules)
        whole = space_at(every, (0.0, 0.0), room=space)
        for id, p in self.current.pieces.items():
            if id in named or id in self.locked or (p.item or id) not in self.home.pieces:
                continue
            room = p.room or next(
                (r for r, o in whole.outlines.items() if o.contains(_point(p.at))), ""
            )
            if room and room != space and room in whole.rooms and not p.on:
                self.locked[id] = dataclasses.replace(p, item=p.item or id)

    def _sort(self, id: str, item: str, chairs: set[str]) -> None:
        piece = self.home.pieces[item]
        kind = kind_of(piece)
        if kind.form == "rug":
            self.rugs[id] = item
        elif piece.mount == "on" or kind.mount == "on":
            self.on[id] = item
        elif kind.mount != "floor" or piece.mount in ("wall", "ceiling"):
            self.left_out[id] = "it hangs; only what stands on the floor is laid out"
        elif role_of(piece) is None:
            self.left_out[id] = f"a {piece.kind} is not laid out by the search"
        elif item in chairs and kind.form in ("chair", "stool"):
            self.left_out[id] = "it stands at its table"
        else:
            self.pieces[id] = item


def _point(at: tuple[float, float]) -> shapely.Point:
    return shapely.Point(at)
