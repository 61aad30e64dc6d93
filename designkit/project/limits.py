"""What one value may be by itself: signs, shares, sizes that cannot be meant."""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any

from designkit import model
from designkit.errors import InputError, nearest
from designkit.project.amounts import currencies
from designkit.project.dates import YEARS, is_day
from designkit.project.filling import Class, Key, fields_of, shape_of
from designkit.project.problems import Notes

__all__ = ["LIMITS", "check_limits", "things"]

Bounds = tuple[float | None, float | None, bool]  # from, to, whether "from" itself is allowed
_MORE: Bounds = (0, None, False)
_ZERO: Bounds = (0, None, True)
_SHARE: Bounds = (0, 1, True)
_SCALE: Bounds = (0, 10, True)
_HUNDRED: Bounds = (0, 100, True)

LIMITS: Mapping[Class, Mapping[str, Bounds]] = {
    model.Known: {"within": _ZERO},
    model.Column: {"size": _MORE},
    model.Room: {"height": _MORE},
    model.Opening: {
        "wall": _ZERO,
        "offset": _ZERO,
        "width": _MORE,
        "head": _MORE,
        "sill": _ZERO,
        "clear_width": _MORE,
        "leaves": (1, None, True),
        "thickness": _MORE,
        "transmittance": _SHARE,
        "drop_outside": _ZERO,
    },
    model.Service: {"height": _ZERO, "size": _ZERO, "clear": _MORE, "weight_limit": _MORE},
    model.Circuit: {"volts": _MORE, "amps": _MORE, "existing_watts": _ZERO},
    model.Building: {"year": (1000, 2200, True)},
    model.DeliveryStep: {
        "width": _MORE,
        "height": _MORE,
        "depth": _MORE,
        "door_width": _MORE,
        "door_height": _MORE,
        "after": _MORE,
        "well": _ZERO,
    },
    model.Person: {"age": (0, 130, True), "height": (0, 2.6, False)},
    model.Wish: {"at_least": _ZERO, "at_most": _ZERO},
    model.Brief: {
        "seats": _ZERO,
        "seats_guests": _ZERO,
        "diners": _ZERO,
        "diners_guests": _ZERO,
        "budget": _MORE,
        "priorities": _HUNDRED,
        "storage": _ZERO,
    },
    model.Colour: {
        "share": (0, 1, False),
        "lrv": _HUNDRED,
        "munsell_value": _SCALE,
        "ladder": _SCALE,
        "within": _ZERO,
    },
    model.Finish: {
        "transmittance": _SHARE,
        "rubs": _MORE,
        "pilling": (1, 5, True),
        "light_fastness": (1, 8, True),
    },
    model.Part: {"size": _MORE, "base": _ZERO, "top": _MORE},
    model.Zone: {"depth": _MORE, "width": _MORE},
    model.Seat: {"height": _MORE, "eye": _MORE},
    model.Cutout: {"at": _ZERO, "width": _MORE, "depth": _MORE},
    model.Chairs: {"front": _ZERO, "back": _ZERO, "left": _ZERO, "right": _ZERO, "around": _ZERO},
    model.Piece: {
        "size": _MORE,
        "seat_count": _ZERO,
        "seat_height": _MORE,
        "arm_height": _ZERO,
        "radius": _ZERO,
        "mass": _MORE,
        "packed": _MORE,
    },
    model.Fixture: {
        "size": _MORE,
        "lamps": (1, None, True),
        "lumens": _MORE,
        "watts": _ZERO,
        "kelvin": (1000, 20_000, True),
        "cri": (0, 100, True),
        "up_share": _SHARE,
        "beam": (0, 360, False),
        "mass": _MORE,
    },
    model.Lamp: {"base": _ZERO, "dim": _SHARE},
    model.Drape: {
        "track": _MORE,
        "track_offset": (None, None, True),
        "fullness": (1, None, True),
        "top": _MORE,
        "cloth_width": _MORE,
        "repeat": _ZERO,
    },
    model.Placement: {"base": _ZERO},
    model.ScenarioChange: {"quantity": _ZERO, "year": (1, None, True)},
    model.ScopeLine: {"quantity": _MORE},
    model.Scope: {"quantity": _MORE},
    model.Target: {"lux": _MORE, "plane": _ZERO},
    model.Money: {"tax": _SHARE, "fee": _SHARE, "contingency": _SHARE},
}

# A size beyond these is a slip of the unit: nobody furnishes a room of 3 810 m.
_SLIPS: Mapping[Class, Mapping[str, tuple[float, float]]] = {
    model.Room: {"height": (1.5, 20.0)},
    model.Opening: {"width": (0.2, 20.0), "head": (0.3, 20.0)},
    model.Piece: {"size": (0.0005, 20.0)},
    model.DeliveryStep: {"width": (0.2, 20.0), "height": (0.3, 20.0)},
    model.Fixture: {"size": (0.0005, 20.0)},
    model.Drape: {"track": (0.2, 50.0), "cloth_width": (0.3, 6.0), "repeat": (0.0, 6.0)},
    model.Placement: {"at": (0.0, 500.0)},
    model.Lamp: {"at": (0.0, 500.0)},
    model.Service: {"at": (0.0, 500.0), "height": (0.0, 20.0)},
}
_LISTED = 8  # files that are named where one is missing
_SMALLEST_PIECE = 0.05  # [m] 0.9 read as millimetres is no piece
_LEAVES = frozenset((str, int, float, bool, Decimal, type(None)))


@functools.cache
def _names(cls: Class) -> tuple[str, ...]:
    """Fields of a class that may hold other objects."""
    plain = ("quantity", "decimal", "number", "whole", "text", "flag", "word")
    return tuple(n for n, (h, _) in fields_of(cls).items() if shape_of(h).form not in plain)


def things(
    value: Any, path: tuple[Key, ...] = (), *, known: Any = None
) -> Iterator[tuple[tuple[Key, ...], Any]]:
    """Every object of `model` inside another, with the path to it.

    Parameters
    ----------
    value : object
        A dataclass, mapping or tuple.
    path : tuple, optional
        Where it stands.
    known : object, optional
        An earlier state of it: what is the same object there is left out.

    Yields
    ------
    tuple of tuple and object
        Path and object, holder before held.
    """
    kind: Class = type(value)
    if kind in _LEAVES:
        return
    had: Callable[[Any], Any] = _nothing
    alike = type(known) is kind
    if kind is dict:
        inner: Any = value.items()
        if alike:
            had = known.get
    elif kind is tuple:
        inner = enumerate(value)
        if alike:
            had = dict(enumerate(known)).get
    else:
        yield path, value
        inner = ((name, getattr(value, name)) for name in _names(kind))
        if alike:
            had = functools.partial(getattr, known)
    for key, one in inner:
        if type(one) not in _LEAVES:
            before = had(key)
            if before is not one:
                yield from things(one, (*path, key), known=before)


def _nothing(_: Any) -> None:
    return None


def check_limits(
    home: model.Home, folder: Path, notes: Notes, *, known: model.Home | None = None
) -> None:
    """Check every value of a home by itself.

    Parameters
    ----------
    home : Home
        As far as it could be read.
    folder : Path
        The project folder, for the files that the home names.
    notes : Notes
        Gets the problems.
    known : Home, optional
        An earlier state without problems: what it holds is not checked again.
    """
    for keys, thing in things(home, known=known):
        cls: Class = type(thing)
        path = ".".join(map(str, keys))
        for name, bounds in LIMITS.get(cls, {}).items():
            value = getattr(thing, name)
            if value is not None:
                _within(f"{path}.{name}" if path else name, value, bounds, notes)
        for name, (least, most) in _SLIPS.get(cls, {}).items():
            _slip(f"{path}.{name}", getattr(thing, name), least, most, home.units, notes)
        special = _SPECIAL.get(cls)
        if special is not None:
            special(path, thing, folder, notes)
    if home.brief.date:
        _day("brief.date", home.brief.date, notes)


def _day(path: str, text: str, notes: Notes) -> None:
    if not is_day(text):
        allowed = f"a date as 2026-09-01, of the years {YEARS[0]} to {YEARS[1]}"
        notes.bad(path, repr(text), allowed, "write year-month-day")


def _within(path: str, value: Any, bounds: Bounds, notes: Notes) -> None:
    if type(value) is dict:
        for key, one in value.items():
            _within(f"{path}.{key}", one, bounds, notes)
        return
    if type(value) is tuple:
        for number, one in enumerate(value):
            _within(f"{path}.{number}", one, bounds, notes)
        return
    least, most, itself = bounds
    low = least is not None and (value < least or (value == least and not itself))
    high = most is not None and value > most
    if low or high:
        start = f"{least:g}" if least is not None else ""
        if most is not None:
            allowed = f"{start} to {most:g}" if itself else f"more than {start}, at most {most:g}"
        else:
            allowed = f"{start} or more" if itself else f"more than {start}"
        notes.bad(path, value, allowed, "change it to that")


def _slip(path: str, value: Any, least: float, most: float, declared: str, notes: Notes) -> None:
    values = value if isinstance(value, tuple) else () if value is None else (value,)
    for number, one in enumerate(values):
        if 0 < abs(one) < least or abs(one) > most:
            at = f"{path}.{number}" if isinstance(value, tuple) else path
            notes.bad(
                at,
                f"{one:g} m",
                f"{least:g} m to {most:g} m" if least else f"at most {most:g} m",
                f"look at its unit: a bare number counts in {declared} here; "
                'write it with its unit, as "2600 mm"',
            )


def _colour(path: str, colour: model.Colour, _folder: Path, notes: Notes) -> None:
    ways = ("hex", "lab", "munsell_value", "ladder", "guess")
    given = [name for name in ways if getattr(colour, name) is not None]
    if len(given) > 1 or (not given and colour.lrv is None):
        notes.bad(
            path,
            " and ".join(given) or "no colour",
            "one of hex, lab, lrv, munsell_value, ladder, guess (lrv may stand beside one)",
            "keep the one that was measured best" if given else "add one of them",
        )
    if colour.hex is not None and not re.fullmatch(r"#[0-9A-Fa-f]{6}", colour.hex):
        notes.bad(f"{path}.hex", repr(colour.hex), '"#" and six digits', 'write it as "#8a8d8f"')
    if colour.lab is not None and not 0 <= colour.lab[0] <= 100:
        notes.bad(f"{path}.lab.0", colour.lab[0], "L* from 0 to 100", "write L*, a*, b* in order")


def _finish(path: str, finish: model.Finish, folder: Path, notes: Notes) -> None:
    if not finish.colours:
        notes.bad(f"{path}.colours", "an empty list", "one colour or more", "add one")
    total = sum(colour.share for colour in finish.colours)
    if len(finish.colours) > 1 and abs(total - 1) > 0.005:
        notes.bad(
            f"{path}.colours",
            f"shares that add to {total:g}",
            "shares that add to 1",
            "give each colour its share of the area",
        )
    if (finish.rubs is None) != (finish.rub_test is None):
        notes.bad(
            f"{path}.rubs",
            "without its test" if finish.rub_test is None else "nothing, beside a test",
            "rubs and rub_test together: Martindale and Wyzenbeek do not convert",
            "take both from the label of the cloth",
        )
    _file(f"{path}.spectrum", finish.spectrum, folder, "samples", notes)


def _file(path: str, name: str, folder: Path, under: str, notes: Notes) -> None:
    from designkit.project.reading import inside

    if not name:
        return
    try:
        there = inside(folder, name, under=under).is_file()
    except InputError as error:
        notes.bad(path, error.given, error.allowed, error.mend)
        return
    if not there:
        notes.bad(
            path,
            repr(name),
            f"a file in the project folder (a bare name is looked for in {under}/)",
            "copy the file there, or take the key out",
        )


def _fixture(path: str, fixture: model.Fixture, folder: Path, notes: Notes) -> None:
    _file(f"{path}.photometry", fixture.photometry, folder, "photometry", notes)


def _opening(path: str, opening: model.Opening, _folder: Path, notes: Notes) -> None:
    if opening.sill >= opening.head:
        notes.bad(
            f"{path}.sill",
            f"{opening.sill:g} m",
            f"less than its head, {opening.head:g} m",
            "sill and head are both heights above the floor",
        )
    if opening.clear_width is not None and opening.clear_width > opening.width:
        notes.bad(
            f"{path}.clear_width",
            f"{opening.clear_width:g} m",
            f"at most its width, {opening.width:g} m",
            "the clear width is the width less frames and leaf",
        )
    if opening.kind == "door" and opening.swing in ("in", "out") and opening.hinge is None:
        notes.bad(
            f"{path}.hinge",
            "nothing",
            "left or right, seen from inside the room",
            "add the side of the hinges",
        )


def _part(path: str, part: model.Part, _folder: Path, notes: Notes) -> None:
    if part.top <= part.base:
        notes.bad(
            f"{path}.top", f"{part.top:g} m", f"more than its base, {part.base:g} m", "swap them"
        )
    if part.shape == "ring" and part.size[1] >= part.size[0]:
        notes.bad(
            f"{path}.size",
            f"{part.size[0]:g}, {part.size[1]:g} m",
            "outer, then a smaller inner diameter",
            "swap them",
        )


def _wish(path: str, wish: model.Wish, _folder: Path, notes: Notes) -> None:
    least, most = wish.at_least, wish.at_most
    if least is not None and most is not None and least > most:
        notes.bad(f"{path}.at_least", f"{least:g}", f"at most at_most, {most:g}", "swap them")


def _money(path: str, money: model.Money, _folder: Path, notes: Notes) -> None:
    if money.currency not in currencies():
        near = nearest(money.currency, currencies())
        notes.bad(
            f"{path}.currency",
            repr(money.currency),
            "a code of ISO 4217, as EUR",
            f"write {near}" if near else "use the code of three letters",
        )


def _picture(path: str, name: str, folder: Path, notes: Notes) -> None:
    """A photograph in the project folder; a lost picture does not shut the project."""
    from designkit.project.reading import inside

    try:
        there = inside(folder, name, under="site")
    except InputError as error:
        notes.bad(path, error.given, error.allowed, error.mend)
        return
    if not there.is_file():
        site = folder / "site"
        held = sorted(p.name for p in site.iterdir() if p.is_file()) if site.is_dir() else []
        more = " …" if len(held) > _LISTED else ""
        holds = f"; site/ holds {', '.join(held[:_LISTED])}{more}" if held else ""
        notes.remark(path, repr(name), f"a file in the project folder{holds}")


def _photo(path: str, photo: model.Photo, folder: Path, notes: Notes) -> None:
    if photo.file:
        _picture(f"{path}.file", photo.file, folder, notes)
    else:
        notes.bad(f"{path}.file", "nothing", "a file in the project folder", "name it")


def _piece(path: str, piece: model.Piece, folder: Path, notes: Notes) -> None:
    if 0 < max(piece.size) < _SMALLEST_PIECE:
        notes.bad(
            f"{path}.size",
            ", ".join(f"{one:g} m" for one in piece.size),
            f"a piece with a side of {_SMALLEST_PIECE:g} m or more",
            'look at the unit of bare numbers; write the unit, as "0.9 m"',
        )
    if piece.photo:
        _picture(f"{path}.photo", piece.photo, folder, notes)
    if piece.held_until:
        _day(f"{path}.held_until", piece.held_until, notes)


_NEEDED = {"lift": ("depth", "door_width"), "corner": ("after",), "stair turn": ("after",)}


def _delivery_step(path: str, step: model.DeliveryStep, _folder: Path, notes: Notes) -> None:
    for name in _NEEDED.get(step.kind, ()):
        if getattr(step, name) is None:
            notes.bad(
                f"{path}.{name}", "nothing", f"a length; a {step.kind} needs it", "measure it"
            )


_SPECIAL: Mapping[Class, Any] = {
    model.Colour: _colour,
    model.Finish: _finish,
    model.Fixture: _fixture,
    model.Opening: _opening,
    model.Part: _part,
    model.Wish: _wish,
    model.Money: _money,
    model.Piece: _piece,
    model.Photo: _photo,
    model.DeliveryStep: _delivery_step,
}
