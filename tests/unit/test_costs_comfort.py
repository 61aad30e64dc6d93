"""Comfort of a seat: who is counted, each thing that can be wrong, what is not known."""

from __future__ import annotations

import pytest

from designkit.costs.comfort import comfort, sitters_of
from designkit.errors import InputError
from designkit.model import Person

ADULT = Person(role="adult", age=44)
OLD = Person(role="adult", age=68, height=1.60)
CHILD = Person(role="child", age=6)
CAT = Person(role="cat")


def test_children_and_animals_are_not_counted() -> None:
    found = sitters_of([ADULT, OLD, CHILD, CAT, Person(role="guest", age=12)])
    assert [s.name for s in found] == ["adult, 44", "adult, 68"]
    assert (found[0].height, found[0].assumed) == (1.70, True)
    assert (found[1].height, found[1].assumed, found[1].old) == (1.60, False, True)
    nobody = comfort([CHILD, CAT], seat_height=0.43)
    assert nobody.words == ("nobody in the brief to sit on it",)
    assert not nobody.good


def test_each_thing_that_is_wrong_is_said_for_whom() -> None:
    # 1.60 m: knee and shoe 414 mm, 434 with what it gives; 1.70 m: 438 and 458.
    high = comfort([ADULT, OLD], seat_height=0.45, seat_depth=0.40, back=0.60)
    assert high.words == ("16 mm too high for the adult, 68: the feet hang",)
    # The one of 68 wants no less than 384; the other 338.
    low = comfort([ADULT, OLD], seat_height=0.37, seat_depth=0.40, back=0.60)
    assert low.words == ("14 mm too low for the adult, 68: hard to rise from",)
    # A table's chair may be 60 lower: 378.
    chair = comfort([ADULT], seat_height=0.37, seat_depth=0.40, back=0.60, easy=False)
    assert chair.words == ("8 mm too low for the adult, 44: hard to rise from",)
    deep = comfort([ADULT, OLD], seat_height=0.42, seat_depth=0.60, back=0.30)
    assert len(deep.words) == 3  # two depths, one back for all
    assert "back below the shoulder of all" in deep.words


def test_what_is_not_given_is_listed() -> None:
    some = comfort([ADULT], seat_height=0.43)
    assert some.missing == ("seat depth", "height of the back")
    assert some.good
    assert some.words == ("nothing against it as far as is known",)
    none = comfort([ADULT], seat_height=None)
    assert none.words == ()
    assert "1700 mm tall, assumed" in some.why[0]


def test_inches_stay_inches() -> None:
    said = comfort([ADULT], seat_height=0.43, seat_depth=0.60, units="in").words[0]
    assert " mm" not in said


@pytest.mark.parametrize("given", [{"seat_height": 0.0}, {"seat_height": 0.4, "back": -1.0},
                                   {"seat_height": float("nan")},
                                   {"seat_height": 0.4, "seat_depth": 5.0}])  # fmt: skip
def test_a_wrong_length_is_named(given: dict[str, float]) -> None:
    with pytest.raises(InputError, match=r"seat|back"):
        comfort([ADULT], **given)  # type: ignore[arg-type]
