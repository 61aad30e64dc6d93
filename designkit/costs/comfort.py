"""Comfort of a seat for the people of the brief: height, depth and back against their bodies.

The lengths of a body follow from its height by fixed shares [1]_, which hold
for most people within 20 mm or so. Words, not a score: a seat is sat on before
it is bought.

References
----------
.. [1] Gordon et al., "1988 Anthropometric Survey of U.S. Army Personnel: Summary
   Statistics", 1989 (means of men and women, from memory): underside of the knee
   0.243, buttock to the back of the knee 0.290 and seat to shoulder 0.340 of a
   person's height.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from designkit.errors import InputError
from designkit.model import Person
from designkit.reference import value
from designkit.units import IMPERIAL, in_sentence

__all__ = ["Comfort", "Sitter", "comfort", "length_words", "sitters_of"]

_ANIMALS = ("cat", "dog", "pet", "bird")
RULES = (
    "costs.comfort.knee",
    "costs.comfort.thigh",
    "costs.comfort.shoulder",
    "costs.comfort.shoe",
    "costs.comfort.gives",
    "costs.comfort.behind_knee",
    "costs.comfort.lower.easy",
    "costs.comfort.lower.upright",
    "costs.comfort.lower.old",
    "costs.comfort.old_from",
    "costs.comfort.adult",
)


@dataclass(frozen=True, kw_only=True)
class Sitter:
    """Somebody who will sit there. [m]"""

    name: str  # role and age
    height: float
    assumed: bool  # the brief gives no height
    old: bool  # rises with less ease


@dataclass(frozen=True, kw_only=True, eq=False)
class Comfort:
    """What a seat is like for each who will sit there."""

    words: tuple[str, ...]  # what is not right, or that all is
    missing: tuple[str, ...]  # what is not known of the seat
    good: bool  # nothing is against it, as far as is known
    why: tuple[str, ...]
    rules: tuple[str, ...]


def sitters_of(
    people: Sequence[Person], *, overrides: Mapping[str, float] | None = None
) -> tuple[Sitter, ...]:
    """The grown people of a brief, with the height that is counted.

    Parameters
    ----------
    people : sequence of Person
        Of the brief.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of Sitter
        Children and animals are left out: they outgrow a seat, or lie on it.
    """
    adult = value("costs.comfort.adult", overrides)
    old = value("costs.comfort.old_from", overrides)
    found = []
    for person in people:
        if person.role.lower() in (*_ANIMALS, "child"):
            continue
        if person.age is not None and person.age < 18:
            continue
        name = f"{person.role}, {person.age}" if person.age is not None else person.role
        found.append(
            Sitter(
                name=name,
                height=adult if person.height is None else person.height,
                assumed=person.height is None,
                old=person.age is not None and person.age >= old,
            )
        )
    return tuple(found)


def length_words(metres: float, *, units: str = "m") -> str:
    """A length of a piece: whole millimetres, or feet and inches.

    Parameters
    ----------
    metres : float
        The length. [m]
    units : str, optional
        The project's unit of length.

    Returns
    -------
    str
        As "430 mm".
    """
    if units in IMPERIAL:
        return in_sentence(metres, units=units)
    return f"{round(metres * 1000)} mm"


def _known(what: str, given: float | None) -> None:
    if given is not None and not 0 < given < 3:
        raise InputError(what, given=given, allowed="0 to 3 m", mend="measure it")


def comfort(
    people: Sequence[Person],
    *,
    seat_height: float | None,
    seat_depth: float | None = None,
    back: float | None = None,
    easy: bool = True,
    units: str = "m",
    overrides: Mapping[str, float] | None = None,
) -> Comfort:
    r"""A seat against the bodies of the people who will sit there.

    .. math:: h \le 0.243\,H + s, \qquad d \le 0.290\,H - g, \qquad b \ge 0.340\,H

    with the seat's height h and depth d, the back b above the seat, the shoe s
    and the gap g behind the knee. A seat may be a little higher, as it gives.

    Parameters
    ----------
    people : sequence of Person
        Of the brief; without a height an adult is as tall as
        `costs.comfort.adult`.
    seat_height, seat_depth : float or None
        Of the seat, with somebody on it. [m]
    back : float or None, optional
        Top of the back above the seat. [m]
    easy : bool, optional
        True: a sofa or easy chair, which may be lower than a chair at a table.
    units : str, optional
        The project's unit of length, for the words.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    Comfort
        In words, with what is not known.

    Raises
    ------
    InputError
        A length is not between 0 and 3 m.

    Examples
    --------
    >>> tall = Person(role="adult", age=40, height=1.80)
    >>> comfort([tall], seat_height=0.45, seat_depth=0.46, back=0.62).words
    ('sits well for all',)
    >>> comfort([tall], seat_height=0.60, seat_depth=0.46, back=0.62).words
    ('118 mm too high for the adult, 40: the feet hang',)
    """
    for what, given in (
        ("seat height", seat_height),
        ("seat depth", seat_depth),
        ("back above the seat", back),
    ):
        _known(what, given)
    sitters = sitters_of(people, overrides=overrides)
    shoe = value("costs.comfort.shoe", overrides)
    gap = value("costs.comfort.behind_knee", overrides)
    usual = value(f"costs.comfort.lower.{'easy' if easy else 'upright'}", overrides)
    stiff = value("costs.comfort.lower.old", overrides)

    def say(metres: float) -> str:
        return length_words(metres, units=units)

    said: dict[str, list[str]] = {}
    why = []
    for one in sitters:
        knee = value("costs.comfort.knee", overrides) * one.height + shoe
        highest = knee + value("costs.comfort.gives", overrides)
        thigh = value("costs.comfort.thigh", overrides) * one.height - gap
        shoulder = value("costs.comfort.shoulder", overrides) * one.height
        assumed = ", assumed" if one.assumed else ""
        why.append(
            f"{one.name}, {say(one.height)} tall{assumed}: seat up to {say(knee)} high and "
            f"{say(thigh)} deep, shoulder {say(shoulder)} above it"
        )
        if seat_height is not None:
            over = seat_height - highest
            lower = min(usual, stiff) if one.old else usual
            if over > 1e-4:
                said.setdefault(f"{say(over)} too high for|: the feet hang", []).append(one.name)
            elif knee - seat_height > lower + 1e-4:
                short = f"{say(knee - seat_height - lower)} too low for|: hard to rise from"
                said.setdefault(short, []).append(one.name)
        if seat_depth is not None and seat_depth > thigh + 1e-4:
            deep = f"{say(seat_depth - thigh)} too deep for|: a cushion behind the back"
            said.setdefault(deep, []).append(one.name)
        if back is not None and back < shoulder - 1e-4:
            said.setdefault("back below the shoulder of|", []).append(one.name)
    missing = [
        name
        for name, given in (
            ("seat height", seat_height),
            ("seat depth", seat_depth),
            ("height of the back", back),
        )
        if given is None
    ]
    words = tuple(
        f"{before} {_who(names, len(sitters))}{after}"
        for (before, _, after), names in ((key.partition("|"), n) for key, n in said.items())
    )
    if not sitters:
        words = ("nobody in the brief to sit on it",)
    elif not words and len(missing) < 3:
        words = ("sits well for all" if not missing else "nothing against it as far as is known",)
    return Comfort(
        words=words,
        missing=tuple(missing),
        good=bool(sitters) and not said,
        why=tuple(why),
        rules=RULES,
    )


def _who(names: Sequence[str], count: int) -> str:
    if len(names) == count and count > 1:
        return "all"
    return " and ".join(f"the {name}" for name in names)
