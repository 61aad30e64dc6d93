"""Proofs of a quantity: nothing clashes, true to scale, what is drawn is what is ordered."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

import pytest

from designkit.analyses.of_takeoff import View, drawn_view, subjects
from designkit.analyses.of_takeoff_cloth import leather_view, upholstery_view
from designkit.analyses.of_takeoff_goods import rug_view, top_view
from designkit.analyses.of_takeoff_walls import mural_view, wallcovering_view
from designkit.errors import InputError
from designkit.figures.check import faults
from designkit.figures.cutting_views import proof_of, view_figure
from designkit.figures.drawing import Polygon, Text
from designkit.figures.sheet import TitleBlock
from designkit.model import Project
from designkit.project import read
from designkit.publish import sheet_set
from designkit.shipped import shipped
from designkit.takeoff.rugs import StockRug

BLOCK = TitleBlock(project="A flat", title="Take-off", number="D-604", date="2026-11-25")
PROJECTS = {name: read(shipped("data") / name).project for name in ("harbour-flat", "parlor-floor")}


def tried(project: Project) -> Iterator[tuple[str, View]]:
    """Everything as drawn, and what a person would try on it."""
    for one in subjects(project):
        yield f"{one.kind} {one.id}", drawn_view(project, one)
    seats = [one.id for one in subjects(project) if one.kind == "upholstery"]
    for id in seats:
        yield f"leather {id}", leather_view(project, piece=id)
    for repeats in ((0.32, 0.0), (0.64, 0.7)):
        for railroaded in (False, True):
            yield (
                f"sofa {repeats} {railroaded}",
                upholstery_view(
                    project,
                    piece="sofa",
                    repeats=repeats,
                    railroaded=railroaded,
                    own=True,
                    tries=100,
                    faults=((1.0, 1.1),),
                ),
            )
    room = next(iter(project.home.rooms))
    for match in ("straight", "half-drop"):
        yield (
            f"paper {match}",
            wallcovering_view(
                project, what=f"room {room}", repeat=0.64, match=match, start=2, first=0.2
            ),
        )
    yield "mural", mural_view(project, what=f"room {room}", wall=1)
    stock = [StockRug(name="a", width=1.7, length=2.4), StockRug(name="b", width=2.0, length=3.0)]
    door = next(o for o, it in project.home.openings.items() if it.kind == "door")
    for undercut in (0.002, 0.02):
        yield (
            f"rug {undercut}",
            rug_view(project, rug="rug", stock=stock, door=door, undercut=undercut),
        )
    for material in ("glass", "stone"):
        yield (
            f"top {material}",
            top_view(project, piece="dining_table", material=material, overhang=0.02, radius=0.05),
        )


CASES = [(name, what, view) for name, p in PROJECTS.items() for what, view in tried(p)]


@pytest.mark.parametrize(("name", "what", "view"), CASES, ids=[f"{n} {w}" for n, w, _ in CASES])
def test_nothing_clashes_on_page_and_sheet(name: str, what: str, view: View) -> None:
    for drawing in (
        view_figure(view, page=True),
        view_figure(view, block=BLOCK, paper="Tabloid" if name == "parlor-floor" else "A3"),
    ):
        assert faults(drawing) == []
        assert drawing.text.strip()
        assert drawing.scale
        assert drawing.scale > 0


def test_a_cutting_plan_is_true_to_scale() -> None:
    view = upholstery_view(PROJECTS["harbour-flat"], piece="sofa", tries=50)
    drawing = view_figure(view, block=BLOCK)
    k = 1000 / drawing.scale
    drawn = {
        item.about: item
        for item in drawing.items
        if isinstance(item, Polygon) and item.about and item.fill
    }
    whole = 0
    for piece in view.result.laid:
        xs = [p[0] for p in drawn[piece.id].outline]
        ys = [p[1] for p in drawn[piece.id].outline]
        assert max(ys) - min(ys) == pytest.approx(piece.width * k, abs=0.01)
        whole += max(xs) - min(xs) == pytest.approx(piece.length * k, abs=0.01)
    assert whole >= len(view.result.laid) - 4  # a few may go on in the next row


def test_every_strip_and_every_cut_is_drawn() -> None:
    view = wallcovering_view(PROJECTS["harbour-flat"], what="room hall")
    texts = [i.text for i in view_figure(view, block=BLOCK).items if isinstance(i, Text)]
    for number in range(1, view.result.strips):
        assert texts.count(str(number)) >= 1, number
    rolls = [t for t in texts if t.startswith("roll ")]
    assert len(rolls) == view.result.cutting.count
    assert "kill point" in texts


def test_walls_are_drawn_as_they_are_seen_from_inside() -> None:
    """The harbour window is left of the balcony door for who stands in the room: wall 0 runs
    from west to east, the room lies north of it."""
    view = next(v for n, w, v in CASES if n == "harbour-flat" and w == "wallcovering room living")
    first = view.result.runs[0].faces[0]
    assert [h.id for h in first.holes] == ["harbour_window", "balcony_door"]


def test_the_order_is_the_sum_that_is_drawn() -> None:
    for _, what, view in CASES:
        proof = proof_of(view)
        assert proof.order.sums, what
        assert proof.answer.endswith("."), what
        if hasattr(view, "works"):
            continue
        last = proof.order.sums[-1][0].replace("\u00a0", " ")
        said = (proof.order.big + proof.answer + " ".join(a for a, _ in proof.order.sums)).replace(
            "\u00a0", " "
        )
        assert last in said, what


def test_a_closed_gate_gives_no_days() -> None:
    project = PROJECTS["harbour-flat"]
    (ceilings,) = (s for s in subjects(project) if s.kind == "ceilings")
    drawing = view_figure(drawn_view(project, ceilings), page=True)
    texts = " ".join(i.text for i in drawing.items if isinstance(i, Text))
    assert "Gate: a sample and its written result first." in texts
    assert "no days yet" in texts
    assert " days of " not in drawing.text


def test_a_sheet_needs_its_title_block() -> None:
    with pytest.raises(InputError, match="block"):
        view_figure(CASES[0][2])


@pytest.mark.parametrize("name", PROJECTS)
def test_sheets_of_the_set_name_things_and_never_ids(name: str) -> None:
    project = PROJECTS[name]
    home = project.home
    ids = [i for i in (*home.openings, *home.pieces, *home.finishes, *home.rooms) if "_" in i]
    entries = sheet_set(
        project,
        names=["take-off", "drapery", "upholstery", "wallcovering", "paint", "rugs", "ceilings"],
        today=datetime.date(2026, 11, 25),
    )
    assert {e.name for e in entries} >= {"take-off", "drapery", "upholstery", "paint", "rugs"}
    for entry in entries:
        for drawing in entry.drawings:
            texts = [i.text for i in drawing.items if isinstance(i, Text)]
            for id in ids:
                assert not any(id in t for t in (*texts, drawing.text)), (entry.name, id)
            if name == "parlor-floor":
                assert not any(" kg" in t.replace("\u00a0", " ") for t in texts), entry.name
