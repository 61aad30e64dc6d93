"""The page "my room" without a browser: typing, bad input, the draft, rooms, furniture, words."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from test_glossary import DEMOS, labels_of, names_of, plain, unknown

from designkit import project as files
from designkit.errors import DesignkitError, FileFormatError, InputError
from designkit.model import Edit
from designkit.plan.box import box
from designkit.project.store import HIDDEN
from designkit.studies import draft
from designkit.studies.desk import Desk
from designkit.studies.room_controls import size_text
from designkit.studies.room_forms import form_of, words_of
from designkit.studies.room_study import MyRoom

L_ROOM = "right 4.12\nup 2.60\nleft 1.50\nup 0.80\nleft 2.62\ndown 3.40"
FEET = "right 13'-6\"\nup 8'-6\"\nleft 5'-0\"\nup 2'-8\"\nleft 8'-6\"\ndown 11'-2\""


class Sitter:
    """Somebody at the page: types into controls and presses buttons."""

    def __init__(self, folder: Path) -> None:
        self.study = MyRoom(Desk(folder))
        self.shown = self.study.show({}, None)

    @property
    def said(self) -> dict[str, Any]:
        words: Any = self.shown["said"]
        return dict(words() if callable(words) else words)

    @property
    def answer(self) -> str:
        return str(self.said["answer"]).replace("\u00a0", " ")

    @property
    def home(self) -> Any:
        return self.study.desk.home

    def type(self, **values: str) -> Sitter:
        for id, value in values.items():
            self.shown = self.study.show({**self.study.values, id: value}, id)
        return self

    def press(self, action: str, **message: Any) -> Sitter:
        shown = self.study.act(action, message)
        assert shown is not None
        self.shown = shown
        return self


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return files.new(tmp_path / "mine")


@pytest.fixture
def feet(tmp_path: Path) -> Path:
    """A project with nothing in it at all, in feet and inches."""
    place = tmp_path / "feet"
    place.mkdir()
    (place / "project.toml").write_text('schema = 1\nname = "Mine"\nunits = "ft"\n', "utf-8")
    return place


def draft_of(folder: Path) -> Path:
    return folder / HIDDEN / draft.FOLDER / "my-room.json"


# --- walking ------------------------------------------------------------------------


def test_the_drawing_follows_while_one_types(folder: Path) -> None:
    page = Sitter(folder)
    assert page.answer.startswith("Stand in a corner and walk along the walls")
    assert "an example" in page.shown["picture"]
    page.type(walk="right 4.12")
    assert page.answer.startswith("1 wall so far. Back to corner A it is 4 120 mm to the left")
    page.type(walk="right 4.12, up 2.60, left 1.50")
    assert "2 620 mm to the left and 2 600 mm down" in page.answer
    assert page.said["findings"]["rows"] == []
    page.type(walk=L_ROOM)
    assert page.answer == "It closes. 12.8 m² of floor."
    assert page.home.rooms["living"].outline[2] == (4.12, 2.6)
    assert page.home.rooms["living"].known.source == "measured"


def test_a_new_project_loses_its_sample(folder: Path) -> None:
    page = Sitter(folder).type(walk="right 2.0, up 2.0, left 2.0, down 2.0")
    assert page.home.openings == {}
    assert page.home.layouts["a"].pieces == {}
    assert "Taken out of the layout, as this is another room: Sofa" in page.said["note"]


def test_the_closing_error_is_spread_or_put_on_one_wall(folder: Path) -> None:
    page = Sitter(folder).type(walk="right 4.00, up 3.00, left 4.02, down 3.00")
    assert "spread" in [c["id"] for c in page.shown["controls"]]
    assert page.home.rooms["living"].outline[1] == pytest.approx((4.00997506, 0), abs=1e-6)
    page.type(spread="pinned", pinned="2")
    assert "put on wall 3, left 4.02" in page.answer
    assert page.home.rooms["living"].outline[1] == (4.0, 0.0)
    page.type(spread="compass")
    assert "by their length" in page.answer
    # each wall takes 20 mm by its share of 14.02 m: the walls along y as well
    assert page.home.rooms["living"].outline[2][0] == pytest.approx(4 + 0.02 * 7 / 14.02)


def test_diagonals_by_the_letters_of_the_drawing(folder: Path) -> None:
    page = Sitter(folder).type(walk="right 4, up 3, left 4, down 3", diagonals="A C 5.06")
    rows = [row[1] for table in page.said["tables"] for row in table["rows"]]
    assert "diagonal A to C again" in rows
    page.type(diagonals="A C 5.00\nB-D 5,01")
    rows = [row[1] for table in page.said["tables"] for row in table["rows"]]
    assert not any("diagonal" in row for row in rows)
    page.type(diagonals="A K 5")
    assert "A to D" in page.answer
    assert page.home.rooms["living"].outline[2] == (4.0, 3.0)  # the room is there all the same


@pytest.mark.parametrize(
    ("walk", "says"),
    [
        ("right 4.12, up 2.60, left 1.50, up 0.80, left 2.26, down 3.40",
         "To mend: wall 5, left 2.26 would close at 2 620 mm (two figures swapped)"),
        ("right 4, up 3, left 5, down 1, right 3, down 2, left 2",
         "wall 1 (right 4) crosses wall 6 (down 2). Allowed: walls that meet at their corners"),
        ("right 4 [door 0.9 at 3.5], up 3, left 4, down 3",
         "Wall 1, opening 'door 0.9 at 3.5': 400 mm past the corner. Allowed: within right 4"),
        ("right 4 m, up 10', left 4 m, down 10'",
         "Wall 2, \"up 10'\": feet or inches beside metres. Allowed: one system of units"),
        ("right 4, up -3, left 4, down 3",
         "Wall 2, 'up -3': -3 m. Allowed: more than 0"),
        ("right 4, up three, left 4, down 3", "Wall 2, 'up three': 'three'. Allowed: a length"),
        ("right 4, up , left 4, down 3", "It closes"),  # left open: it follows from the others
        ("right 4, up 3 [door 0.9 at 1, left 4, down 3", "To mend: close the bracket"),
        ("hop 4", "To mend: write each wall as right 4.12"),
        ("right 412, up 300", "To mend: look at its unit: bare numbers count in m"),
        ("   ", "Stand in a corner"),
    ],
)  # fmt: skip
def test_bad_input_is_told_and_stays_as_it_was_typed(folder: Path, walk: str, says: str) -> None:
    page = Sitter(folder).type(walk=walk)
    assert says in page.answer
    assert page.study.values["walk"] == walk
    again = Sitter(folder)  # a reload
    assert again.study.values["walk"] == walk


def test_bad_input_in_feet(feet: Path) -> None:
    page = Sitter(feet).type(walk="right 12.6")
    assert "12 ft 7 3/16 in or 12'-6\"" in page.answer
    assert page.answer.startswith("Wall 1, 'right 12.6'")
    assert page.answer.endswith('To mend: write "12.6 ft" or 12\'-6".')
    page.type(walk="right 4.1 m, up 8")
    assert "Wall 2, 'up 8': feet or inches beside metres" in page.answer
    page.type(walk=FEET, height="8'-6\"")
    assert page.answer == "It closes. 137.4 sq ft of floor."
    assert page.home.rooms["room"].height == pytest.approx(8.5 * 0.3048)
    page.type(height="tall")
    assert page.answer.startswith("Height of the ceiling: 'tall'. Allowed: a length")
    assert page.home.rooms["room"].height == pytest.approx(8.5 * 0.3048)


def test_sources_and_plus_minus(folder: Path) -> None:
    page = Sitter(folder).type(
        walk="right 4 ± 0.02 client, up 3 plan, left 4, down 3", height="2.5 guess"
    )
    room = page.home.rooms["living"]
    assert room.known_of["height"].source == "guess"
    assert (room.known.source, room.known.within) == ("client", 0.02) or room.known.within == 0.02
    left = page.said["tables"][1]["rows"]
    assert [row[1].split(":")[0] for row in left[:2]] == [
        "wall 1 (right 4 ± 0.02 client)", "wall 2 (up 3 plan)",
    ]  # fmt: skip


# --- nothing typed is lost --------------------------------------------------------------


def test_a_reload_brings_back_what_was_not_kept(folder: Path) -> None:
    page = Sitter(folder).type(walk=L_ROOM, height="2.62", part="openings", distance="0.35")
    before = (folder / "project.toml").read_bytes()
    again = Sitter(folder)
    assert (folder / "project.toml").read_bytes() == before
    assert "Brought back from " in again.said["note"]
    assert "the walk of Living room" in again.said["note"]
    assert again.study.values["distance"] == "0.35"
    assert again.home.rooms["living"].outline == page.home.rooms["living"].outline
    again.press("keep")
    assert "last kept" in again.said["note"]
    assert "walks" in (folder / "project.toml").read_text("utf-8")
    again.type(distance="")
    assert not draft_of(folder).exists()
    assert Sitter(folder).study.values["walk"] == L_ROOM


def test_undo_takes_what_was_restored_away(folder: Path) -> None:
    Sitter(folder).type(walk=L_ROOM)
    page = Sitter(folder).press("undo")
    assert page.study.values["walk"] == ""
    assert page.home.rooms["living"].outline[1] == (5.2, 0.0)
    assert page.press("redo").study.values["walk"] == L_ROOM


def test_a_crash_while_writing_leaves_the_draft_before(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = Sitter(folder).type(walk="right 4, up 3")
    good = draft_of(folder).read_bytes()

    def die(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(draft.os, "replace", die)
    page.type(walk="right 4, up 3, left 4")
    assert "cannot be written to the project folder" in page.said["note"]
    monkeypatch.undo()
    assert draft_of(folder).read_bytes() == good
    assert [p.name for p in draft_of(folder).parent.glob("*.part")] == []
    assert Sitter(folder).study.values["walk"] == "right 4, up 3"


def test_a_draft_that_cannot_be_read_is_set_aside(folder: Path) -> None:
    draft_of(folder).parent.mkdir(parents=True)
    draft_of(folder).write_text("{ half", "utf-8")
    page = Sitter(folder)
    assert page.study.values["walk"] == ""
    aside = draft_of(folder).with_suffix(".unreadable")
    assert f"set aside as .designkit/drafts/{aside.name}" in page.said["note"]
    assert aside.read_text("utf-8") == "{ half"


def test_a_draft_that_the_project_no_longer_takes_keeps_its_words(folder: Path) -> None:
    draft.DraftFile(folder, "my-room").put(
        [[Edit(path="rooms.living.height", old="2.6 m", new="no height")]],
        {"walk": L_ROOM, "room": "living"},
    )
    page = Sitter(folder)
    assert "Not brought back, as the project no longer takes it" in page.study.note
    assert "rooms, Living room, height: no height" in page.study.note
    assert page.study.values["walk"] == L_ROOM


def test_what_somebody_else_keeps_is_not_written_over(folder: Path) -> None:
    page = Sitter(folder).type(walk=L_ROOM)
    other = Sitter(folder)
    other.press("undo").type(height="2.9", walk="right 5, up 4, left 5, down 4").press("keep")
    assert "Not overwritten" in page.press("keep").said["note"]


# --- openings and services ---------------------------------------------------------------


def with_room(folder: Path) -> Sitter:
    return Sitter(folder).type(walk=L_ROOM, height="2.62")


def test_openings_from_a_corner(folder: Path) -> None:
    page = with_room(folder).type(
        part="openings", width="0.90", distance="0.35", corner="end", hinge="left", clear="0.82",
        head="2.05", thick="0.12", to="landing",
    )  # fmt: skip
    page.press("add")
    door = page.home.openings["living_door_1"]
    assert door.offset == pytest.approx(4.12 - 0.35 - 0.90)
    assert (door.hinge, door.swing, door.clear_width, door.to) == ("left", "in", 0.82, "landing")
    page.type(what="window", wall="1", width="1.60", distance="0.5", hinge="", sill="0.85")
    page.type(head="2.2", leaf="tilt-turn", clear="", to="", source_of="client", within="0.02")
    page.press("add")
    window = page.home.openings["living_window_1"]
    assert (window.wall, window.leaf, window.sill) == (1, "tilt-turn", 0.85)
    assert (window.known.source, window.known.within) == ("client", 0.02)
    # chosen in the table: changed, then taken out
    page.press("pick", table="openings", row="1.0")
    assert page.study.values["width"] == "1.60"
    page.type(width="1.80").press("change")
    assert page.home.openings["living_window_1"].width == 1.8
    page.press("pick", table="openings", row="1.0").press("out")
    assert list(page.home.openings) == ["living_door_1"]


def test_an_opening_past_its_corner_stays_in_the_form(folder: Path) -> None:
    page = with_room(folder).type(part="openings", width="0.90", distance="3.5")
    with pytest.raises(InputError, match=r"wall 1, opening .* = 280\xa0mm past"):
        page.press("add")
    assert page.study.values["distance"] == "3.5"
    page.type(distance="")
    with pytest.raises(InputError, match="from the corner = empty"):
        page.press("add")
    page.type(distance="1", width="0.9 feet of snow")
    with pytest.raises(InputError, match="a length with its unit"):
        page.press("add")
    assert page.home.openings == {}


def test_services_and_columns(folder: Path) -> None:
    page = with_room(folder).type(part="things")
    assert page.study.values["what"] == "socket"
    page.type(distance="1.20", high_at="0.30").press("add")
    page.type(what="radiator", wall="1", width="1.0", distance="0.8", deep="0.1", tall="0.6",
              high_at="0.12").press("add")  # fmt: skip
    page.type(what="ceiling outlet", wall="0", distance="2.0", out="1.5", high_at="").press("add")
    page.type(what="column", wall="5", width="0.4", deep="0.2", distance="1.0", out="0")
    page.press("add")
    services = page.home.services
    assert services["living_socket_1"].at == (1.2, 0.0)
    radiator = services["living_radiator_1"]
    assert radiator.size == (1.0, 0.1, 0.6)
    assert radiator.at == pytest.approx((4.12, 1.3))
    assert services["living_ceiling_outlet_1"].at == (2.0, 1.5)
    assert services["living_ceiling_outlet_1"].height == 2.62
    (pier,) = page.home.rooms["living"].columns
    assert (pier.at, pier.size) == (pytest.approx((0.1, 2.2)), (0.2, 0.4))


@pytest.mark.parametrize(
    "bracket",
    [
        "door 0.9 at 0.35 head 2.05 hinge left swing out clear 0.82 to hall name door to the hall",
        "balcony 1.05 from end 0.6 head 2.3 hinge right swing in to balcony",
        "window 4 at 2.8 sill 0.58 head 2.3 leaf tilt-turn leaves 4 name harbour ± 0.01 client",
        "passage 1.25 at 0.05 to living",
        "socket from end 1.2 height 0.3 plan",
        "ceiling outlet at 2 out 1",
        "radiator 2 at 3.8 deep 0.1 high 0.4 height 0.12 name radiator",
        "column 0.6 deep 0.4 at 2.4 out 0",
    ],
)
def test_forms_read_back_what_they_wrote(bracket: str) -> None:
    assert words_of(form_of(bracket)) == bracket


@pytest.mark.parametrize(
    ("units", "papers", "mm"),
    [("m", ["A4", "A3"], (420, 297)), ("ft", ["Letter", "Tabloid"], (431.8, 279.4))],
)
def test_the_survey_sheet_is_written_on_the_chosen_paper(
    folder: Path, feet: Path, units: str, papers: list[str], mm: tuple[float, float]
) -> None:
    """Sizes of paper: ISO 216, and ANSI/ASME Y14.1 (A and B)."""
    place = folder if units == "m" else feet
    page = Sitter(place).type(walk=L_ROOM if units == "m" else FEET)
    choice = next(c for c in page.shown["controls"] if c["id"] == "paper")
    assert [c[0] for c in choice["choices"]] == papers
    assert page.study.values["paper"] == papers[0]
    page.type(paper=papers[1]).press("export")
    assert f"the survey on {papers[1]}" in page.said["note"]
    (last,) = (place / "issued").iterdir()
    svg = next(last.glob("survey*.svg")).read_text("utf-8")
    found = re.search(r'width="([\d.]+)mm" height="([\d.]+)mm"', svg)
    assert found is not None
    assert [float(n) for n in found.groups()] == pytest.approx(mm)


def test_nothing_is_written_before_there_is_a_room(feet: Path) -> None:
    page = Sitter(feet).press("export")
    assert "walk the walls of a room first" in page.said["note"]
    assert not (feet / "issued").exists()


# --- several rooms ----------------------------------------------------------------------


def test_rooms_are_joined_by_their_doors(folder: Path) -> None:
    page = with_room(folder).type(room="+")
    assert page.study.values["name"] == "Room 2"
    page.type(name="Hall", walk="right 1.2, up 3, left 1.2, down 3")
    assert "Hall is joined to no other room yet" in page.said["findings"]["rows"][0]["text"]
    page.type(part="openings", what="passage", wall="3", width="0.9", distance="1", to="living")
    page.press("add")
    page.type(part="walls", room="living", walk=L_ROOM.replace("2.60", "2.60 [passage 0.9 at 1 to "
              "hall thick 0.15]"))  # fmt: skip
    assert page.said["findings"]["rows"] == []
    hall = page.home.rooms["room"]
    assert min(p[0] for p in hall.outline) == pytest.approx(4.12 + 0.15)
    assert [o.to for o in page.home.openings.values()] == ["room"]
    # a longer living room moves the hall with it
    page.type(walk=page.study.values["walk"].replace("4.12", "4.32").replace("2.62", "2.82"))
    hall = page.home.rooms["room"]
    assert min(p[0] for p in hall.outline) == pytest.approx(4.32 + 0.15)
    page.press("keep")
    assert {r.name for r in files.read(folder).project.home.rooms.values()} == {
        "Living room", "Hall",
    }  # fmt: skip


# --- photographs ------------------------------------------------------------------------


def jpeg(size: tuple[int, int] = (800, 600)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, (90, 110, 100)).save(out, "JPEG")
    return out.getvalue()


def test_photographs_are_pinned_to_walls(folder: Path) -> None:
    page = with_room(folder).type(part="photos", wall="1", note="window wall")
    page.press("file", control="photo", name="IMG_1.jpg", data=jpeg())
    (photo,) = page.home.photos.values()
    assert (photo.room, photo.wall, photo.note) == ("living", 1, "window wall")
    assert (folder / photo.file).is_file()
    assert len(page.shown["options"]["rows"]) == 1
    assert page.said["tables"][0]["rows"] == [["wall 2", "window wall", photo.file]]
    page.type(wall="").press("file", control="photo", name="all.jpg", data=jpeg((600, 800)))
    assert [one.wall for one in page.home.photos.values()] == [1, None]
    (folder / photo.file).unlink()
    assert page.type(part="photos").said["tables"][0]["rows"][0][2].endswith("is not there")
    page.press("keep")
    assert len(files.read(folder).project.home.photos) == 2


def bomb() -> bytes:
    """A PNG of a few bytes that says it is 30 000 × 30 000."""
    out = io.BytesIO()
    Image.new("1", (8, 8)).save(out, "PNG")
    data = bytearray(out.getvalue())
    data[16:24] = (30_000).to_bytes(4, "big") * 2
    import zlib

    data[29:33] = zlib.crc32(bytes(data[12:29])).to_bytes(4, "big")
    return bytes(data)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"no picture", "no picture that can be read"),
        (bomb(), "million pixels"),
        (jpeg()[:400], "cut off"),
    ],
    ids=["text", "bomb", "cut off"],
)
def test_what_is_no_photograph_is_refused(folder: Path, data: bytes, says: str) -> None:
    page = with_room(folder).type(part="photos")
    with pytest.raises(FileFormatError, match=says):
        page.press("file", control="photo", name="x.png", data=data)
    assert page.home.photos == {}


# --- furniture --------------------------------------------------------------------------


def test_the_first_plan_with_findings(folder: Path) -> None:
    page = with_room(folder).type(
        walk=L_ROOM.replace("2.60", "2.60 [window 1.6 at 0.5 sill 0.9 head 2.2]", 1)
    )
    page.type(part="furniture", box="sofa_three").press("put")
    assert page.answer.startswith("1 piece, and nothing fails")
    page.type(box="low_table").press("put")
    page.type(group="dining", box="dining_six", chairs="ends").press("put")
    table = page.home.pieces["dining_six"]
    assert (table.chairs.front, table.chairs.left) == (3, 1)
    assert page.said["findings"]["title"] == "What the plan says"
    states = {row["state"] for row in page.said["findings"]["rows"]}
    assert "fails" in states
    assert {row["state"] for row in page.said["brief"]} == {"not asked"}  # nobody was asked yet
    before = page.home.layouts["a"].pieces["dining_six"]
    page.press("another")
    assert page.home.layouts["a"].pieces["dining_six"] != before
    page.press("away")
    assert list(page.home.layouts["a"].pieces) == ["sofa_three", "low_table"]
    assert "dining_six" not in page.home.pieces
    assert "dining_chair" not in page.home.pieces
    page.press("keep")
    kept = files.read(folder).project.home
    assert list(kept.layouts["a"].pieces) == ["sofa_three", "low_table"]


@pytest.mark.parametrize("units", ["m", "ft"])
def test_a_size_that_is_shown_can_be_changed(folder: Path, feet: Path, units: str) -> None:
    page = Sitter(folder if units == "m" else feet)
    page.type(part="furniture")
    for one in box().values():
        if one.piece.shape == "circle":
            continue
        shown = size_text(one, page.home)
        wide = shown.split(" × ")[0]
        more = f"{float(wide) * 1.05:g}"
        page.study.values |= {"box": one.id, "size": shown.replace(wide, more, 1)}
        _, piece = page.study._piece()
        assert piece.size[0] == pytest.approx(one.piece.size[0] * 1.05, rel=0.02), one.id
        assert piece.size[1:] == pytest.approx(one.piece.size[1:], abs=0.004), one.id


def test_a_piece_of_ones_own_in_either_order(folder: Path) -> None:
    page = with_room(folder).type(part="furniture", own="own", kind_of="sofa")
    page.type(called="Grandmother's sofa", size="95 × 220 × 80 cm").press("put")
    piece = page.home.pieces["grandmother_s_sofa"]
    assert piece.size == (2.2, 0.95, 0.8)
    assert piece.known.source == "seller"
    page.type(own="box", group="living", box="sofa_two", size="170 × 90 × 78 cm").press("put")
    assert page.home.pieces["sofa_two"].size == (1.7, 0.9, 0.78)
    assert page.home.pieces["sofa_two"].mass is None
    assert "Read as 1\xa0700\xa0mm wide" in page.said["note"]


@pytest.mark.parametrize(
    ("size", "says"),
    [
        ("2.2 m x 37 in x 31 in", "one system of units"),
        ("", "write the three sizes and the unit"),
        ("wide", "write the three sizes and the unit"),
        ("-3 x 2 x 1 m", "measure it again"),
        ("220 × 95 × 80", "write the unit"),
        ("9 × 8 × 7 m", "look at the unit and the kind"),
    ],
)
def test_sizes_that_are_refused(folder: Path, size: str, says: str) -> None:
    page = with_room(folder).type(part="furniture", own="own", kind_of="sofa", size=size)
    with pytest.raises(InputError, match=says):
        page.press("put")
    assert page.study.values["size"] == size


def test_what_cannot_be_put(folder: Path, feet: Path) -> None:
    page = Sitter(feet).type(part="furniture")
    assert page.answer.startswith("No room yet")
    with pytest.raises(InputError, match="walk its walls first"):
        page.press("put")
    page = Sitter(folder).type(walk="right 1.5, up 1.5, left 1.5, down 1.5", part="furniture")
    assert "Fitted kitchens and bathrooms are out of scope" in page.answer
    page.type(box="sofa_four")
    with pytest.raises(InputError, match="take a smaller one"):
        page.press("put")
    page.type(box="table_lamp")
    with pytest.raises(InputError, match="put a side table into the room first"):
        page.press("put")


# --- demos and words ----------------------------------------------------------------------


@pytest.mark.parametrize("demo", DEMOS, ids=lambda d: d.name)
def test_a_room_that_is_known_is_walked_again(demo: Path, tmp_path: Path) -> None:
    folder = files.new(tmp_path / "demo", demo=demo.name)
    page = Sitter(folder)
    before = page.home
    page.type(height="2.55" if before.units == "m" else "9'-6\"")
    after = page.home
    id = page.study.values["room"]
    assert after.rooms[id].height != before.rooms[id].height
    assert after.rooms[id].outline == before.rooms[id].outline
    assert after.rooms[id].walls == before.rooms[id].walls
    assert after.openings == before.openings
    assert after.services == {
        k: after.services[k] if s.kind == "ceiling outlet" else s
        for k, s in before.services.items()
    }
    assert after.layouts == before.layouts
    page.press("keep")
    assert files.read(folder).project.home == after


def test_a_walk_that_leaves_out_what_others_name_is_kept_and_told(tmp_path: Path) -> None:
    folder = files.new(tmp_path / "demo", demo="harbour-flat")
    page = Sitter(folder)
    before = page.home.rooms
    page.type(walk="right 7\nup 5\nleft 7\ndown 5")
    assert page.answer.startswith("The room stays as it was: layouts or the brief name")
    assert "harbour_window" in page.answer
    assert page.home.rooms == before
    again = Sitter(folder)
    assert again.study.values["walk"] == "right 7\nup 5\nleft 7\ndown 5"
    assert "not as its walk has it" in again.said["findings"]["rows"][-1]["text"]
    again.press("keep")
    assert files.read(folder).project.home.rooms == before


@pytest.mark.parametrize("demo", [None, *DEMOS], ids=lambda d: d.name if d else "new")
def test_every_word_is_in_the_glossary(demo: Path | None, tmp_path: Path) -> None:
    folder = files.new(tmp_path / "p", demo=demo.name if demo else "")
    page = Sitter(folder)
    data = {plain(text) for text in names_of(page.study.desk.project)}
    data |= {plain(one.piece.name) for one in box().values()}
    if demo is None:
        page.type(walk=L_ROOM.replace("3.40", "3.41"))
    whatsit = {
        "openings": ("door", "window", "balcony", "passage"),
        "things": ("socket", "radiator", "ceiling outlet", "column"),
    }
    for part in ("walls", "openings", "things", "photos", "furniture"):
        page.type(part=part)
        for what in whatsit.get(part, ("",)):
            if what:
                page.type(what=what)
            if part == "furniture":
                page.type(own="own", kind_of="dining table")
            said = page.said
            shown = {**page.shown, "said": {**said, "brief": []}}
            labels = [re.sub(r"\b[A-Z] to [A-Z]\b", "", text) for text in labels_of(shown)]
            assert unknown(iter(labels), data) == []


def test_the_draft_is_plain_json(folder: Path) -> None:
    Sitter(folder).type(walk=L_ROOM)
    raw = json.loads(draft_of(folder).read_text("utf-8"))
    assert set(raw) == {"written", "steps", "values", "files"}
    assert any(row["path"] == "walks.living" for step in raw["steps"] for row in step)


def test_errors_are_sentences(folder: Path) -> None:
    page = with_room(folder)
    for action in ("change", "out", "away", "another"):
        with pytest.raises(DesignkitError, match="to mend"):
            page.press(action)
