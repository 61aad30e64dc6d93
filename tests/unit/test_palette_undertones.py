"""Undertones: names over their ±, what clashes, and what is not known."""

from __future__ import annotations

import pytest

from designkit.errors import InputError, LookupFailed
from designkit.model import Colour, Finish, Known
from designkit.palette.contrast import Meeting
from designkit.palette.finishes import FinishValue, resolve
from designkit.palette.undertones import UndertoneLimits, clash, clashes, undertone


def of(*lab: float, source: str = "measured", id: str = "f") -> FinishValue:
    colour = Colour(lab=(lab[0], lab[1], lab[2]))
    known = Known(source=source)  # type: ignore[arg-type]
    return resolve(Finish(name=id, colours=(colour,), known=known), id=id)


@pytest.mark.parametrize(
    ("a", "b", "lean"),
    [
        (6.0, 2.0, "pink"),
        (0.5, 6.0, "yellow"),
        (-6.0, 1.5, "green"),
        (-3.0, -5.0, "blue"),
        (4.0, -5.0, "violet"),
        (0.5, 0.5, "none"),
        (20.0, 20.0, "coloured"),
    ],
)
def test_the_nearest_hue_names_the_lean(a: float, b: float, lean: str) -> None:
    found = undertone(of(90, a, b))
    assert found.lean == lean
    assert found.sure


def test_a_value_alone_has_no_undertone() -> None:
    for colour in (Colour(lrv=80.0), Colour(ladder=8.0), Colour(guess="white")):
        found = undertone(resolve(Finish(name="w", colours=(colour,))))
        assert found.lean == "not known"
        assert not found.sure
        assert "only its value is known" in found.why


def test_within_the_plus_or_minus_it_says_so() -> None:
    # C* 2.2 measured (± 0.5): it may lean or not.
    assert not undertone(of(90, 0.0, 2.2)).sure
    # The same colour off a screen (± 3): any hue at all.
    screen = resolve(Finish(name="s", colours=(Colour(hex="#e6e3df"),)))
    found = undertone(screen)
    assert not found.sure
    assert found.hue_within == 180.0


def test_clashes_and_their_certainty() -> None:
    pink, green = undertone(of(90, 5, 1)), undertone(of(88, -5, 1))
    assert clash(pink, green) == "clash"
    assert clash(green, pink) == "clash"
    assert clash(pink, undertone(of(88, 5, 3))) == "no clash"
    assert clash(pink, undertone(of(40, -5, 1))) == "no clash"  # far darker
    assert clash(pink, undertone(resolve(Finish(name="w", colours=(Colour(lrv=80.0),))))) == (
        "not known"
    )
    weak = undertone(of(90, 3, 0, source="guess"))  # ± 1.5
    other = undertone(of(90, -3, 0, source="guess"))
    assert clash(weak, other) == "clash, within the ±"
    faint = undertone(of(90, -1.5, 0, source="guess"))
    assert clash(weak, faint) == "no clash, within the ±"


def test_findings_of_what_meets() -> None:
    values = {
        "pink": of(90, 5, 1, id="pink"),
        "green": of(88, -5, 1, id="green"),
        "weak": of(90, 3, 0, source="guess", id="weak"),
        "other": of(90, -3, 0, source="guess", id="other"),
    }
    met = [
        Meeting(a="wall", b="sofa", finish_a="pink", finish_b="green", length=2.0),
        Meeting(a="sofa", b="wall", finish_a="green", finish_b="pink", length=1.0),
        Meeting(a="rug", b="floor", finish_a="weak", finish_b="other"),
        Meeting(a="wall", b="wall", finish_a="pink", finish_b="pink"),
    ]
    found = clashes(met, finishes=values)
    assert [f.verdict for f in found] == ["fails", "measure first"]
    assert found[0].about == ("green", "pink")
    assert "3.0 m of edge" in found[0].why
    assert "no source" in UndertoneLimits.of().definitions
    loose = UndertoneLimits.of({"palette.undertone.hue": 175.0})
    assert clashes(met[:1], finishes=values, limits=loose) == ()
    with pytest.raises(LookupFailed, match="blue"):
        clashes([Meeting(a="a", b="b", finish_a="pink", finish_b="blue")], finishes=values)
    bad = Meeting(a="a", b="b", finish_a="pink", finish_b="green", length=float("nan"))
    with pytest.raises(InputError, match="edge of a and b"):
        clashes([bad], finishes=values)
