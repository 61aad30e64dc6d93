"""On the spot: where it stands, heights, the way up, the price, and keeping it."""

from __future__ import annotations

import shutil
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from PIL import Image
from shapely.geometry import Polygon, box

from designkit import project, shipped
from designkit.analyses.of_fits import fits, keep_edits
from designkit.cli import main
from designkit.errors import InputError, LookupFailed
from designkit.model import (
    CostLine,
    DeliveryStep,
    Home,
    Known,
    Layout,
    Money,
    Opening,
    Piece,
    Placement,
    Project,
    Room,
)
from designkit.plan.case import case_of
from designkit.plan.space import spaces
from designkit.plan.standing import free_poses, stands_at_wall

SURE = Known(source="measured", within=0.0)


@pytest.fixture(scope="module")
def harbour() -> Project:
    return project.read(shipped.shipped("data/harbour-flat")).project


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    target = tmp_path / "flat"
    shutil.copytree(shipped.shipped("data/harbour-flat"), target)
    return target


def one_room(**changes: object) -> Home:
    room = Room(name="room", outline=((0, 0), (5, 0), (5, 4), (0, 4)), height=2.6, known=SURE)
    door = Opening(
        room="r", wall=1, offset=0.5, width=0.9, head=2.1, kind="door", to="stair",
        hinge="left", swing="in",
    )  # fmt: skip
    values: dict[str, object] = {
        "name": "one room",
        "rooms": {"r": room},
        "openings": {"door": door},
        "layouts": {"a": Layout(name="A")},
        "layout": "a",
        "delivery": (DeliveryStep(kind="door", name="door", width=0.9, height=2.1, known=SURE),),
    }
    return Home(**{**values, **changes})  # type: ignore[arg-type]


# --- free places --------------------------------------------------------------------


def test_free_places_lie_in_the_room_and_on_nothing(harbour: Project) -> None:
    home = harbour.home
    case = case_of(home, home.layouts["a"])
    chest = Piece(name="chest", kind="chest of drawers", size=(1.0, 0.45, 0.85))
    poses = free_poses(case, chest, most=50)
    assert len(poses) >= 3
    floor = next(iter(spaces(home).values())).polygon
    for pose in poses:
        w, d = chest.size[:2]
        if round(pose.rotation) % 180 == 90:
            w, d = d, w
        x, y = pose.at
        foot = box(x - w / 2, y - d / 2, x + w / 2, y + d / 2)
        assert floor.buffer(0.003).covers(foot)
        for solid in case.solids:
            if solid.top > 0.03 and solid.base < chest.size[2] and not solid.hangs:
                assert foot.buffer(-0.003).intersection(solid.shape).area < 1e-9, solid.owner


def test_a_piece_has_its_back_to_the_wall() -> None:
    home = one_room()
    case = case_of(home, home.layouts["a"])
    shelf = Piece(name="bookcase", kind="bookcase", size=(0.8, 0.3, 2.0))
    by_wall = {pose.wall: pose for pose in free_poses(case, shelf, most=60)}
    gap = 0.02 + 0.15
    # front towards the room: at the south wall it looks north, so it is turned by 180°
    assert by_wall[0].at[1] == pytest.approx(gap)
    assert by_wall[0].rotation == pytest.approx(180)
    assert by_wall[2].at[1] == pytest.approx(4 - gap)
    assert by_wall[2].rotation == pytest.approx(0)
    assert by_wall[3].at[0] == pytest.approx(gap)
    assert by_wall[3].rotation == pytest.approx(90)
    swing = Polygon([(5, 0.5), (4.1, 0.5), (4.1, 1.4), (5, 1.4)])
    for pose in free_poses(case, shelf, most=60):
        assert not swing.buffer(-0.2).contains(Polygon(box(*pose.at, *pose.at).bounds and [
            (pose.at[0] - 0.01, pose.at[1]), (pose.at[0], pose.at[1] + 0.01), pose.at
        ]))  # fmt: skip
    assert not stands_at_wall(Piece(name="table", kind="dining table", size=(1.8, 0.9, 0.75)))


def test_nothing_larger_than_the_room_finds_a_place() -> None:
    home = one_room()
    found = fits(home, size="W 700 × D 95 × H 80 cm", kind="sofa")
    assert found.stands == ()
    assert found.answer == "no"
    assert "It stands nowhere" in found.sentences[1]


# --- the answer -----------------------------------------------------------------------


def test_yes_when_everything_is_known() -> None:
    found = fits(one_room(), size="200 × 90 × 78 cm", kind="sofa", seat_height=0.43)
    assert found.answer == "yes"
    assert found.measure == ()
    assert found.stands[0].verdict == "passes"
    assert found.stands[0].spoils == ()
    assert found.delivery is not None
    assert found.delivery.verdict == "passes"


def test_what_to_measure_is_said() -> None:
    found = fits(one_room(delivery=()), size="200 × 90 × 78 cm", kind="sofa")
    assert found.answer == "measure first"
    assert found.measure == (
        "the height of its seat",
        "the way from the street: doors, lift, corners, stairs",
    )
    assert found.delivery is None


def test_it_stands_in_for_the_piece_of_its_kind(harbour: Project) -> None:
    found = fits(harbour, size="220 × 90 × 80 cm", kind="sofa", seat_height=0.43)
    assert found.replaces == "sofa"
    first = next(stand for stand in found.stands if stand.where == "in place of the sofa")
    old = harbour.home.layouts["a"].pieces["sofa"]
    # its back stays where the old one's was
    assert first.at[0] == pytest.approx(old.at[0])
    assert first.at[1] + 0.45 == pytest.approx(old.at[1] + 0.95 / 2)
    assert first.layout.pieces["sofa"].item == "candidate"
    assert {row.rule for row in first.heights} == {"plan.height.low_table"}
    # low table at 380 mm, seat at 430 mm: 50 mm under it is the limit
    assert first.heights[0].measured == pytest.approx(-0.05)


def test_chairs_at_a_table_are_taken_together(harbour: Project) -> None:
    found = fits(harbour, size="46 × 52 × 80 cm", kind="chair", seat_height=0.40, price=180)
    assert found.replaces == "dining_chair"
    row = found.stands[0].heights[0]
    assert row.verdict == "fails"
    assert row.measured == pytest.approx(0.34)  # 740 mm of table less 400 mm of seat
    assert "seat" in row.mend
    assert found.money is not None
    assert found.money.line == "chair_buy"
    # six at 180 and 265 before tax of 20 %
    assert found.money.left == Decimal(6 * (265 - 180)) * Decimal("1.2")


def test_a_piece_that_does_not_come_up_is_a_no(harbour: Project) -> None:
    found = fits(harbour, size="W 260 × D 100 × H 90 cm", kind="sofa", seat_height=0.43)
    assert found.answer == "no"
    assert "it does not come up" in found.sentence


def test_the_price_against_its_line(harbour: Project) -> None:
    # planned: 3680 before tax of 20 %, and 240 of delivery that stays
    under = fits(harbour, size="220 × 90 × 80 cm", kind="sofa", price="3200", seat_height=0.43)
    assert under.money is not None
    assert (under.money.planned, under.money.price) == (Decimal("4416.00"), Decimal("3840.00"))
    assert under.money.left == Decimal("576.00")
    assert under.money.all_in.total == Decimal("3840.00") + Decimal("288.00")
    over = fits(harbour, size="220 × 90 × 80 cm", kind="sofa", price=3900, seat_height=0.43)
    assert over.money is not None
    assert over.money.left < 0
    assert over.answer == "no"
    assert "264\xa0€ over its line" in over.sentence


def test_a_line_that_is_named_and_one_that_is_not_there(harbour: Project) -> None:
    found = fits(harbour, size="100 × 45 × 85 cm", kind="chest of drawers", price=500)
    assert found.money is None
    assert "No cost line is planned" in found.sentences[-1]
    named = fits(
        harbour, size="100 × 45 × 85 cm", kind="chest of drawers", price=500, line="bench_buy"
    )
    assert named.money is not None
    assert named.money.planned == Decimal("408.00")
    with pytest.raises(LookupFailed, match="write 'sofa_buy'"):
        fits(harbour, size="220 × 90 × 80 cm", kind="sofa", price=1, line="sofa_by")
    with pytest.raises(InputError, match="price"):
        fits(harbour, size="220 × 90 × 80 cm", kind="sofa", price="dear")
    with pytest.raises(InputError, match="price"):
        fits(harbour, size="220 × 90 × 80 cm", kind="sofa", price=-1)


def test_a_price_that_includes_tax_is_not_taxed_again() -> None:
    home = one_room(
        money=Money(tax=Decimal("0.2"), prices_include_tax=True),
        pieces={"old": Piece(name="old sofa", kind="sofa", size=(2.0, 0.9, 0.8))},
        layouts={"a": Layout(name="A", pieces={"old": Placement(at=(2.5, 3.5))})},
    )
    line = CostLine(id="buy", piece="old", item="sofa", category="furniture", likely=Decimal(1000))
    found = fits(Project(home=home, costs=(line,)), size="200 × 90 × 80 cm", kind="sofa", price=900)
    assert found.money is not None
    assert (found.money.price, found.money.left) == (Decimal("900.00"), Decimal("100.00"))


def test_a_tall_piece_is_told_to_be_held_back(harbour: Project) -> None:
    found = fits(harbour, size="100 × 45 × 85 cm", kind="chest of drawers")
    assert any("held back from tipping" in sentence for sentence in found.sentences)


def test_the_layout_is_left_as_it_was(harbour: Project) -> None:
    before = dict(harbour.home.layouts["a"].pieces)
    fits(harbour, size="220 × 90 × 80 cm", kind="sofa")
    assert harbour.home.layouts["a"].pieces == before
    assert "candidate" not in harbour.home.pieces


# --- keeping ----------------------------------------------------------------------------


def test_a_candidate_changes_no_total(folder: Path) -> None:
    opened = project.read(folder)
    found = fits(opened.project, size="220 × 90 × 80 cm", kind="sofa", price=3200)
    edits = keep_edits(
        opened.project, found, name="Grey sofa, fair", held_until="2026-12-01",
        seller="Supplier 2", price=3200,
    )  # fmt: skip
    assert [edit.path for edit in edits] == ["pieces.grey_sofa_fair", "costs.grey_sofa_fair_buy"]
    saved = project.save(opened, edits)
    home = saved.project.home
    piece = home.pieces["grey_sofa_fair"]
    assert piece.size == (2.2, 0.9, 0.8)
    assert (piece.held_until, piece.seller) == ("2026-12-01", "Supplier 2")
    line = next(one for one in saved.project.costs if one.id == "grey_sofa_fair_buy")
    assert line.alternative_of == "sofa_buy"
    from designkit.costs.budgeting import budget

    before, after = budget(opened.project, draws=500), budget(saved.project, draws=500)
    assert before.columns[0].now == after.columns[0].now


@pytest.mark.parametrize(
    ("name", "day", "message"),
    [("!!", "", "call it by kind and size"), ("sofa 2", "tomorrow", "write year-month-day")],
)
def test_a_candidate_needs_a_name_and_a_day(
    harbour: Project, name: str, day: str, message: str
) -> None:
    found = fits(harbour, size="220 × 90 × 80 cm", kind="sofa")
    with pytest.raises(InputError, match=message):
        keep_edits(harbour, found, name=name, held_until=day)


def test_the_command(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    photo = tmp_path / "fair.jpg"
    Image.new("RGB", (80, 60), (90, 110, 100)).save(photo)
    words = ["fits", "220 × 90 × 80 cm", "--as", "sofa", "--project", str(folder)]
    assert main([*words, "--price", "3200"]) == 0
    told = capsys.readouterr().out
    assert told.startswith("Measure first: the height of its seat.")
    assert "576\xa0€ left on the line sofa_buy" in told
    assert main([*words, "--price", "3900"]) == 1
    keep = ["--keep", "fair sofa", "--held-until", "2026-12-01", "--photo", str(photo)]
    assert main([*words, *keep]) == 0
    piece = project.read(folder).project.home.pieces["fair_sofa"]
    assert piece.photo == "site/fair.jpg"
    with Image.open(folder / piece.photo) as kept:
        assert kept.size == (80, 60)
    photo.write_bytes(b"no picture")
    assert main([*words, *keep]) == 2
    assert "no picture that can be read" in capsys.readouterr().err
    capsys.readouterr()
    assert main([*words, "--photo", str(photo)]) == 2
    assert "add --keep NAME" in capsys.readouterr().err
    assert main(["fits", "220 cm × 37 in × 80 cm", "--as", "sofa", "--project", str(folder)]) == 2
    assert "one system of units" in capsys.readouterr().err


def test_a_lost_photograph_does_not_shut_the_project(folder: Path) -> None:
    opened = project.read(folder)
    found = fits(opened.project, size="220 × 90 × 80 cm", kind="sofa")
    edits = keep_edits(opened.project, found, name="one", photo="site/gone.jpg")
    saved = project.save(opened, edits)
    assert any(remark.path == "pieces.one.photo" for remark in saved.problems)
    outside = [replace(edits[0], new={**edits[0].new, "photo": "../../x.jpg"})]  # type: ignore[dict-item]
    with pytest.raises(project.ProjectErrors, match="inside the project folder"):
        project.apply(opened, outside)
