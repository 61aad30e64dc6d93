"""Fill the classes of `model` from what a file says, one entry at a time.

Two steps. A walk over the type hints does what belongs to this file format:
key names, quantities as text with a unit, exact decimals, shorthands, finite
numbers. What it hands over as JSON is then validated strictly by pydantic,
which builds the objects. Both report by the same paths.
"""

from __future__ import annotations

import dataclasses
import datetime
import functools
import json
import math
import types
import typing
from collections.abc import Mapping
from decimal import Decimal
from typing import Annotated, Any, Literal, get_args, get_origin

from designkit import model, reference, units
from designkit.errors import InputError, nearest
from designkit.project.problems import Problem
from designkit.units import read, read_number

__all__ = [
    "Shape",
    "Walk",
    "fields_of",
    "fill",
    "hint_at",
    "rule_hint",
    "shape_of",
    "wish_hint",
    "words_for",
]

Key = str | int
Class = Any  # a class of `model`; `type[Any]` does not count as hashable

# Keys of a colour that may stand on the finish itself when it has one colour.
COLOUR_KEYS = ("hex", "lab", "lrv", "munsell_value", "ladder", "guess", "within")


@dataclasses.dataclass(frozen=True)
class Shape:
    """A type hint, taken apart once."""

    form: str  # quantity, decimal, number, whole, text, flag, word, list, row, table, object
    optional: bool = False
    kind: str = ""  # of a quantity
    words: tuple[str, ...] = ()  # of a word
    inner: tuple[Any, ...] = ()  # hints of the members
    cls: Class | None = None

    @property
    def member(self) -> Any:
        """Hint of each member of a list or table."""
        return self.inner[0]


_PLAIN: dict[Any, str] = {
    Decimal: "decimal",
    float: "number",
    int: "whole",
    str: "text",
    bool: "flag",
}


@functools.cache
def shape_of(hint: Any) -> Shape:
    """Take a type hint of `model` apart.

    Parameters
    ----------
    hint : type
        A hint with its extras, as `typing.get_type_hints` gives it.

    Returns
    -------
    Shape
        Its form and its members.

    Raises
    ------
    TypeError
        `model` uses a hint that this file format has no form for.

    Examples
    --------
    >>> shape_of(model.Length).kind
    'length'
    """
    origin = get_origin(hint)
    if origin is Annotated:
        marks = [mark for mark in hint.__metadata__ if isinstance(mark, units.Unit)]
        return Shape("quantity", kind=marks[0].kind) if marks else shape_of(hint.__origin__)
    if origin in (typing.Union, types.UnionType):
        real = [arg for arg in get_args(hint) if arg is not type(None)]
        if len(real) == 1:
            return dataclasses.replace(shape_of(real[0]), optional=True)
    elif origin is Literal:
        return Shape("word", words=get_args(hint))
    elif origin is tuple:
        args = get_args(hint)
        if len(args) == 2 and args[1] is Ellipsis:
            return Shape("list", inner=args[:1])
        return Shape("row", inner=args)
    elif origin is Mapping:
        return Shape("table", inner=get_args(hint)[1:])
    elif hint in _PLAIN:
        return Shape(_PLAIN[hint])
    elif dataclasses.is_dataclass(hint):
        return Shape("object", cls=hint)
    raise TypeError(f"no form in a project file for {hint!r}")


@functools.cache
def fields_of(cls: Any) -> Mapping[str, tuple[Any, bool]]:
    """Each field of a class of `model`: its hint, and whether it must be given.

    Parameters
    ----------
    cls : type
        A dataclass.

    Returns
    -------
    mapping of str to tuple
        Hint and whether it is required, in the order of the class.

    Examples
    --------
    >>> fields_of(model.Person)["role"]
    (<class 'str'>, True)
    """
    hints = typing.get_type_hints(cls, include_extras=True)
    found = {}
    for f in dataclasses.fields(cls):
        needed = f.default is dataclasses.MISSING and f.default_factory is dataclasses.MISSING
        found[f.name] = (hints[f.name], needed)
    return types.MappingProxyType(found)


# A rule of these units is a quantity in the file; of others, a plain number.
_RULE_HINTS: Mapping[str, Any] = {
    "m": model.Length,
    "m²": model.Area,
    "kg": model.Mass,
    "°": Annotated[float, units.Unit("angle")],
}


def rule_hint(id: str) -> Any:
    """What the project's own value of a rule is.

    Parameters
    ----------
    id : str
        For example "plan.route.main".

    Returns
    -------
    type
        A quantity where the rule has such a unit, else a number.

    Raises
    ------
    LookupFailed
        There is no such rule.
    """
    return _RULE_HINTS.get(reference.lookup(id).unit, float)


def wish_hint(kind: object) -> Any:
    """What a wish of this kind is measured in: widths are lengths, shares are not.

    Parameters
    ----------
    kind : str
        `Wish.kind`.

    Returns
    -------
    type
        A length or a number, or None.
    """
    return model.Length | None if kind in ("route", "turning") else float | None


def hint_at(hint: Any, keys: tuple[Key, ...]) -> Any:
    """The type hint of what lies at `keys` inside something of type `hint`.

    Parameters
    ----------
    hint : type
        Where to start.
    keys : tuple
        Names and positions.

    Returns
    -------
    type or None
        None where the keys lead nowhere.

    Examples
    --------
    >>> hint_at(model.Room, ("outline", 0, 1)) is model.Length
    True
    """
    for key in keys:
        shape = shape_of(hint)
        if shape.form == "object" and shape.cls is not None:
            known = fields_of(shape.cls)
            if key not in known:
                return None
            hint = known[str(key)][0]
        elif shape.form in ("list", "table"):
            hint = shape.member
        elif shape.form == "row" and str(key).isdigit() and int(key) < len(shape.inner):
            hint = shape.inner[int(key)]
        else:
            return None
    return hint


_QUANTITY_WORDS = {
    "length": 'a length, as "2.6 m" or "8\' 6 1/2\\""',
    "area": 'an area, as "12.5 m²"',
    "volume": 'a volume, as "2.5 L"',
    "mass": 'a mass, as "12 kg" or "25 lb"',
    "angle": "an angle in degrees",
}
_FORM_WORDS = {
    "decimal": "a number, exact to its last digit",
    "number": "a number",
    "whole": "a whole number",
    "text": "text in quotes",
    "flag": "true or false",
}


def words_for(hint: Any) -> str:
    """Say in plain words what a value of this type may be.

    Parameters
    ----------
    hint : type
        A hint of `model`.

    Returns
    -------
    str
        For the "allowed" of a message and for the description of the file.

    Examples
    --------
    >>> words_for(tuple[model.Length, model.Length])
    'a list of 2: each a length, as "2.6 m" or "8\\' 6 1/2\\\\""'
    """
    shape = shape_of(hint)
    if shape.form == "quantity":
        return _QUANTITY_WORDS[shape.kind]
    if shape.form == "word":
        return ", ".join(map(str, shape.words))
    if shape.form == "list":
        return f"a list, each {words_for(shape.member)}"
    if shape.form == "row":
        return f"a list of {len(shape.inner)}: each {words_for(shape.inner[0])}"
    if shape.form == "table":
        return f"a table of names, each {words_for(shape.member)}"
    if shape.form == "object":
        if shape.cls is model.Known:
            return "measured, plan, seller, guess, or a table with source and within"
        required = [name for name, (_, needed) in fields_of(shape.cls or object).items() if needed]
        return "a table" + (f" with {', '.join(required)}" if required else "")
    return _FORM_WORDS[shape.form]


def short(value: object) -> str:
    """A value as a message shows it."""
    text = repr(str(value)) if isinstance(value, (str, datetime.date)) else str(value)
    if isinstance(value, bool):
        text = text.lower()
    return text if len(text) <= 60 else text[:57] + "…"


@dataclasses.dataclass
class Walk:
    """One walk over one entry; collects problems by path."""

    units: str
    file: str = "project.toml"
    tolerant: bool = False  # a newer file: unknown keys are left out, not refused
    problems: list[Problem] = dataclasses.field(default_factory=list)
    unread: list[str] = dataclasses.field(default_factory=list)
    _bad: set[tuple[Key, ...]] = dataclasses.field(default_factory=set)

    def problem(self, keys: tuple[Key, ...], given: object, allowed: str, mend: str) -> None:
        """Note a problem at `keys`.

        Parameters
        ----------
        keys : tuple of Key
            Path to the entry.
        given : object
            What stands there; None where nothing does.
        allowed : str
            What may stand there.
        mend : str
            How to mend it.
        """
        self._bad.add(keys)
        text = "" if given is None else given if isinstance(given, _Said) else short(given)
        self.problems.append(
            Problem(
                path=".".join(map(str, keys)),
                given=str(text),
                allowed=allowed,
                mend=mend,
                file=self.file,
            )
        )

    def seen(self, keys: tuple[Key, ...]) -> bool:
        """Whether something at or above `keys` has a problem already.

        Parameters
        ----------
        keys : tuple of Key
            Path to the entry.

        Returns
        -------
        bool
            Whether to keep quiet about it.
        """
        return any(keys[: n + 1] in self._bad for n in range(len(keys)))

    def plain(self, raw: object, hint: Any, keys: tuple[Key, ...]) -> object:
        """What JSON holds for `raw`: quantities in SI, decimals as text.

        Parameters
        ----------
        raw : object
            As the TOML file gives it.
        hint : Any
            The annotation of the field.
        keys : tuple of Key
            Path to the entry, for what is said of it.

        Returns
        -------
        object
            None where there is nothing, or where it has a problem.
        """
        shape = shape_of(hint)
        form = shape.form
        if isinstance(raw, (datetime.date, datetime.time)):
            raw = raw.isoformat()
        if raw is None:
            return None
        if form == "quantity":
            try:
                return read(raw, kind=shape.kind, units=self.units, what=str(keys[-1]))
            except InputError as error:
                self.problem(keys, raw, error.allowed, error.mend)
                return None
        if isinstance(raw, float) and not math.isfinite(raw):
            self.problem(keys, raw, "a finite number", "write the number, or leave the key out")
            return None
        if form == "decimal":
            return self._decimal(raw, keys)
        if form == "object" and shape.cls is not None:
            return self._object(raw, shape.cls, keys)
        if form == "table":
            if not isinstance(raw, Mapping):
                self.problem(keys, raw, words_for(hint), "write it as a table")
                return None
            return {
                str(key): self.plain(value, shape.member, (*keys, str(key)))
                for key, value in raw.items()
            }
        if form in ("list", "row"):
            if not isinstance(raw, (list, tuple)):
                self.problem(keys, raw, words_for(hint), "write it in square brackets")
                return None
            inner = shape.inner if form == "row" else shape.inner * len(raw)
            if len(inner) != len(raw):
                self.problem(keys, raw, words_for(hint), f"write {len(inner)} values")
                return None
            return [
                self.plain(value, one, (*keys, n))
                for n, (value, one) in enumerate(zip(raw, inner, strict=True))
            ]
        return raw

    def _decimal(self, raw: object, keys: tuple[Key, ...]) -> str | None:
        """A decimal as exact text; a float of a file by its shortest spelling."""
        if isinstance(raw, (int, float, Decimal)) and not isinstance(raw, bool):
            return str(Decimal(repr(raw))) if isinstance(raw, float) else str(raw)
        if isinstance(raw, str):
            try:
                return str(read_number(raw, what=str(keys[-1])))
            except InputError as error:
                self.problem(keys, raw, error.allowed, error.mend)
                return None
        self.problem(keys, raw, _FORM_WORDS["decimal"], "write a number")
        return None

    def _object(self, raw: object, cls: Class, keys: tuple[Key, ...]) -> object:
        if cls is model.Known and isinstance(raw, str):
            raw = {"source": raw}
        if not isinstance(raw, Mapping):
            self.problem(keys, raw, words_for(cls), "write it as a table")
            return None
        known = fields_of(cls)
        if cls is model.Finish:
            raw = self._one_colour(raw, keys)
        plain: dict[str, object] = {}
        for key, value in raw.items():
            if key not in known:
                if self.tolerant:
                    self.unread.append(".".join(map(str, (*keys, key))))
                    continue
                usual = (*known, *COLOUR_KEYS) if cls is model.Finish else tuple(known)
                near = nearest(str(key), usual)
                if near and near not in raw:  # misspelt, so not missing as well
                    self._bad.add((*keys, "colours" if near not in known else near))
                self.problem(
                    (*keys, str(key)),
                    _Said("an unknown key"),
                    ", ".join(usual),
                    f"write {near}" if near else "take it out",
                )
                continue
            plain[key] = self._special(cls, key, value, raw, (*keys, key))
        return plain

    def _one_colour(self, raw: Mapping[str, Any], keys: tuple[Key, ...]) -> Mapping[str, Any]:
        """A finish with its single colour written on it, with `colours` instead."""
        own = {key: raw[key] for key in COLOUR_KEYS if key in raw}
        if not own:
            return raw
        rest = {key: value for key, value in raw.items() if key not in own}
        if "colours" in raw:
            self.problem(
                (*keys, next(iter(own))),
                next(iter(own.values())),
                "the colour on the finish, or a list of colours, not both",
                "move it into colours",
            )
            return rest
        return {**rest, "colours": [own]}

    def _special(
        self, cls: Class, key: str, value: object, raw: Mapping[str, Any], keys: tuple[Key, ...]
    ) -> object:
        """A field by its hint; but widths in a wish are lengths, shares are not."""
        hint = fields_of(cls)[key][0]
        if cls is model.Wish and key in ("at_least", "at_most"):
            hint = wish_hint(raw.get("kind"))
        return self.plain(value, hint, keys)


class _Said(str):
    """Words about what was given, shown without quotes."""


@functools.cache
def _adapter(cls: Any) -> Any:
    from pydantic import TypeAdapter

    return TypeAdapter(cls)


def fill(raw: object, cls: Class, keys: tuple[Key, ...], walk: Walk) -> Any | None:
    """Build an object of `cls`, or note everything that is wrong with it.

    Parameters
    ----------
    raw : object
        What the file says.
    cls : type
        A class of `model`.
    keys : tuple
        Where the entry stands in the file.
    walk : Walk
        Collects the problems.

    Returns
    -------
    object or None
        None where something is wrong.

    Examples
    --------
    >>> fill({"role": "adult", "height": "1.7 m"}, model.Person, ("people", 0), Walk("m"))
    Person(role='adult', age=None, height=1.7)
    """
    from pydantic import ValidationError

    before = len(walk.problems)
    plain = walk.plain(raw, cls, keys)
    if not isinstance(plain, dict):
        return None
    text = json.dumps(plain, ensure_ascii=False, default=str)
    try:
        built = _adapter(cls).validate_json(text, strict=True)
    except ValidationError as error:
        for one in error.errors(include_url=False):
            _tell(one, raw, cls, keys, walk)
        return None
    return built if len(walk.problems) == before else None


def _tell(error: Any, raw: object, cls: Class, keys: tuple[Key, ...], walk: Walk) -> None:
    """Put one error of pydantic into our words."""
    inside: tuple[Key, ...] = error["loc"]
    place = (*keys, *inside)
    if walk.seen(place):
        return
    hint = hint_at(cls, inside)
    allowed = words_for(hint) if hint is not None else str(error["msg"])
    given = error["input"]
    if error["type"] == "missing":
        walk.problem(place, _Said("nothing"), allowed, f"add {inside[-1]}")
        return
    if error["type"] == "literal_error":
        near = nearest(str(given), [str(word) for word in shape_of(hint).words])
        walk.problem(place, given, allowed, f'write "{near}"' if near else "use one of these")
        return
    walk.problem(place, given, allowed, "change it to that")
