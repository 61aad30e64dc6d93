"""Results that are remembered by equality of what they rest on, in short lists."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from typing import Generic, TypeVar

from designkit.model import Home, Layout

__all__ = ["Kept", "places_of_finishes", "rests_on", "shape_of"]

T = TypeVar("T")


class Kept(Generic[T]):
    """The last few results, oldest forgotten first.

    Parameters
    ----------
    most : int
        How many are kept.

    Examples
    --------
    >>> kept = Kept[int](most=2)
    >>> kept.get((1,), lambda: 10), kept.get((1,), lambda: 11)
    (10, 10)
    """

    def __init__(self, most: int) -> None:
        self._most = most
        self._rows: list[tuple[tuple[object, ...], T]] = []

    def get(self, key: tuple[object, ...], make: Callable[[], T]) -> T:
        """What was made for an equal key, else what is made now.

        Parameters
        ----------
        key : tuple of object
            What the result rests on, compared part by part.
        make : callable
            Makes it.

        Returns
        -------
        object
            The result.
        """
        for n in range(len(self._rows) - 1, -1, -1):  # the latest first
            known, found = self._rows[n]
            if known == key:
                self._rows.append(self._rows.pop(n))
                return found
        made = make()
        self.put(key, made)
        return made

    def put(self, key: tuple[object, ...], made: T) -> None:
        """Keep a result in the place of what an equal key had.

        Parameters
        ----------
        key : tuple of object
            What the result rests on.
        made : object
            The result.
        """
        self._rows = [row for row in self._rows if row[0] != key]
        self._rows.append((key, made))
        del self._rows[: -self._most]


def rests_on(home: Home, layout: Layout) -> tuple[object, ...]:
    """What a view of a layout rests on.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement.

    Returns
    -------
    tuple of object
        To be compared by equality.
    """
    return (
        layout,
        home.rooms,
        home.openings,
        home.services,
        home.pieces,
        home.fixtures,
        home.finishes,
        home.rules,
    )


def shape_of(home: Home, layout: Layout) -> tuple[object, ...]:
    """What a view of a layout rests on, without the finishes of rooms and pieces.

    Parameters
    ----------
    home : Home
        The home.
    layout : Layout
        One arrangement.

    Returns
    -------
    tuple of object
        Equal where only those finishes differ: the same things stand in the
        same places.
    """
    for whose, plan, found in _SHAPES:
        if whose is home and plan is layout:
            return found
    rooms = {
        id: dataclasses.replace(room, floor="", ceiling="", wall="", walls={})
        for id, room in home.rooms.items()
    }
    pieces = {
        id: dataclasses.replace(piece, finish="", finishes={}) for id, piece in home.pieces.items()
    }
    fixtures = {id: dataclasses.replace(f, finish="") for id, f in home.fixtures.items()}
    made = (layout, rooms, home.openings, home.services, pieces, fixtures, home.rules)
    # An equal shape that is known already is given: what is the same compares at once.
    same = next((found for _, _, found in reversed(_SHAPES) if found == made), made)
    _SHAPES.append((home, layout, same))
    del _SHAPES[:-_MOST_SHAPES]
    return same


def places_of_finishes(home: Home) -> tuple[Home, dict[str, str]]:
    """A home in which each finish stands as the place that it is chosen in.

    What is worked out for that home holds for any other finishes in the same
    places: they are put in afterwards.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    Home, dict of str to str
        The home, and the finish of each place. A place that has none is left out.

    Examples
    --------
    >>> from designkit.model import Room
    >>> square = ((0.0, 0.0), (3.0, 0.0), (3.0, 3.0), (0.0, 3.0))
    >>> room = Room(name="den", outline=square, height=2.5, floor="oak")
    >>> places_of_finishes(Home(name="flat", rooms={"den": room}))[1]
    {'(rooms.den.floor)': 'oak'}
    """
    for whose, plain, found in _PLACES:
        if whose is home:
            return plain, found
    held: dict[str, str] = {}

    def place(path: str, finish: str) -> str:
        if not finish:
            return ""
        held[f"({path})"] = finish  # no id has brackets
        return f"({path})"

    def places(path: str, finishes: Mapping[str, str]) -> dict[str, str]:
        return {key: place(f"{path}.{key}", finish) for key, finish in finishes.items()}

    plain = dataclasses.replace(
        home,
        rooms={
            id: dataclasses.replace(
                room,
                floor=place(f"rooms.{id}.floor", room.floor),
                ceiling=place(f"rooms.{id}.ceiling", room.ceiling),
                wall=place(f"rooms.{id}.wall", room.wall),
                walls=places(f"rooms.{id}.walls", room.walls),
            )
            for id, room in home.rooms.items()
        },
        pieces={
            id: dataclasses.replace(
                piece,
                finish=place(f"pieces.{id}.finish", piece.finish),
                finishes=places(f"pieces.{id}.finishes", piece.finishes),
            )
            for id, piece in home.pieces.items()
        },
        fixtures={
            id: dataclasses.replace(fixture, finish=place(f"fixtures.{id}", fixture.finish))
            for id, fixture in home.fixtures.items()
        },
    )
    _PLACES.append((home, plain, held))
    del _PLACES[:-_MOST_SHAPES]
    return plain, held


_PLACES: list[tuple[Home, Home, dict[str, str]]] = []
_SHAPES: list[tuple[Home, Layout, tuple[object, ...]]] = []
_MOST_SHAPES = 8
