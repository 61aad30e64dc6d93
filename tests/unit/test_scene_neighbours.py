"""What touches what, by lengths that follow from the drawing."""

from __future__ import annotations

import pytest

from designkit.model import Home, Layout, Opening, Part, Piece, Placement, Room
from designkit.scene.neighbours import neighbours

ROOM = Room(
    name="R",
    outline=((0.0, 0.0), (4.0, 0.0), (4.0, 5.0), (0.0, 5.0)),
    height=2.5,
    floor="oak",
    ceiling="chalk",
    wall="white",
    walls={"1": "grey"},
)


def block(w: float, d: float, h: float, finish: str, *, transmits: bool = False) -> Piece:
    part = Part(name="body", size=(w, d), top=h, transmits=transmits)
    return Piece(name="b", kind="ottoman", size=(w, d, h), finish=finish, parts=(part,))


def lengths(pieces: dict[str, Piece], **at: tuple[float, float]) -> dict[tuple[str, str], float]:
    home = Home(name="h", rooms={"r": ROOM}, pieces=pieces)
    layout = Layout(name="A", pieces={id: Placement(at=p) for id, p in at.items()})
    return {(m.a, m.b): m.length for m in neighbours(home, layout) if not m.a.startswith("r.")}


def test_the_shell_meets_itself() -> None:
    home = Home(name="h", rooms={"r": ROOM})
    found = {(m.a, m.b, m.finish_a): m.length for m in neighbours(home, Layout(name="A"))}
    assert found["r.walls", "r.floor", "white"] == pytest.approx(13)
    assert found["r.walls", "r.floor", "grey"] == pytest.approx(5)
    assert found["r.walls", "r.ceiling", "grey"] == pytest.approx(5)


def test_a_block_in_the_middle_meets_the_floor_only() -> None:
    found = lengths({"b": block(1, 0.5, 0.8, "black")}, b=(2, 2.5))
    assert found == {("b", "r.floor"): pytest.approx(3.0)}


def test_a_block_at_the_wall_meets_the_wall() -> None:
    found = lengths({"b": block(1, 0.5, 0.8, "black")}, b=(2, 0.25))
    assert found["b", "r.walls"] == pytest.approx(1 + 2 * 0.8, abs=1e-6)


def test_on_a_rug_it_meets_the_rug_and_not_the_floor() -> None:
    pieces = {"rug": block(2, 2, 0.01, "wool"), "b": block(1, 0.5, 0.8, "black")}
    found = lengths(pieces, rug=(2, 2.5), b=(2, 2.5))
    assert found["rug", "b"] == pytest.approx(3.0)
    assert ("b", "r.floor") not in found
    assert found["rug", "r.floor"] == pytest.approx(8.0)


def test_side_by_side_they_share_depth_and_two_heights() -> None:
    pieces = {"a": block(1, 0.5, 0.8, "black"), "b": block(1, 0.5, 0.6, "oak")}
    found = lengths(pieces, a=(1.5, 2.5), b=(2.5, 2.5))
    # The depth once and the lower height at front and back; corners reach 50 mm round.
    assert found["a", "b"] == pytest.approx(0.5 + 2 * 0.6, abs=0.11)
    apart = lengths(pieces, a=(1.4, 2.5), b=(2.5, 2.5))
    assert ("a", "b") not in apart


def test_glass_meets_nothing() -> None:
    found = lengths({"g": block(1, 0.5, 0.8, "glass", transmits=True)}, g=(2, 0.25))
    assert found == {}


def test_a_frame_meets_its_wall_along_its_rim() -> None:
    window = Opening(
        room="r", wall=0, offset=1, width=2, sill=0.9, head=2.1, kind="window", frame="black"
    )
    home = Home(name="h", rooms={"r": ROOM}, openings={"w": window})
    found = {(m.a, m.b): m.length for m in neighbours(home, Layout(name="A"))}
    assert found["w.frame", "r.walls"] == pytest.approx(2 * 2 + 2 * 1.2)
