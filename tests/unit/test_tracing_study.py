"""From a plan: clicks and typed points, the sheet's frame, a model, what cannot be opened."""

from __future__ import annotations

import importlib
import importlib.util
import io
import math
import shutil
import zlib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from shapely.geometry import Polygon as Shape
from test_glossary import labels_of, names_of, plain, unknown

from designkit import project as files
from designkit.errors import FileFormatError, InputError
from designkit.figures.drawing import Picture, Polygon, Text
from designkit.figures.tracing_sheet import as_shown, pale, paper_of_sheet, tracing_drawing
from designkit.plan.tracing import TracingSheet, scale_between, trace
from designkit.plan.tracing_frame import beside, frame_of
from designkit.project.ifc import rooms_from_ifc
from designkit.studies.desk import Desk
from designkit.studies.tracing_parts import points_of, points_text
from designkit.studies.tracing_study import FromAPlan

DATA = Path(__file__).parents[2] / "data"
ELL = [(0.0, 0.0), (6.0, 0.0), (6.0, 2.4), (3.6, 2.4), (3.6, 4.0), (0.0, 4.0)]  # y down [m]


def png(width: int = 1000, height: int = 700) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height), "white").save(out, "PNG")
    return out.getvalue()


def on_picture(points: list[tuple[float, float]], k: float = 100.0) -> list[tuple[float, float]]:
    return [(100 + x * k, 100 + y * k) for x, y in points]


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    files.new(tmp_path / "new")
    return Desk(tmp_path / "new")


@pytest.fixture
def study(desk: Desk) -> FromAPlan:
    study = FromAPlan(desk)
    give(study, "ground floor.png", png())
    return study


def give(study: FromAPlan, name: str, data: bytes) -> dict[str, Any]:
    shown = study.act("file", {"control": "file", "name": name, "data": data})
    assert shown is not None
    return shown


def put(study: FromAPlan, **values: Any) -> dict[str, Any]:
    shown: dict[str, Any] = {}
    for key in values:
        shown = study.show({key: values[key]}, key)
    return shown


def click(study: FromAPlan, point: tuple[float, float]) -> dict[str, Any]:
    """A click as the page sends it: millimetres of the drawing, y down."""
    assert study.sheet is not None
    on = paper_of_sheet(study.sheet)
    shown = study.act("point", {"x": on.left + point[0] * on.k, "y": on.top + point[1] * on.k})
    assert shown is not None
    return shown


def traced_ell(study: FromAPlan) -> dict[str, Any]:
    for point in on_picture([(0, 0), (6, 0)]):
        click(study, point)
    put(study, distance="6 m")
    shown: dict[str, Any] = {}
    for point in on_picture(ELL):
        shown = click(study, point)
    return shown


# --- the frame of a sheet ------------------------------------------------------------------


@given(
    angle=st.floats(-20, 20),
    x=st.floats(-300, 300),
    y=st.floats(-300, 300),
    reverse=st.booleans(),
    start=st.integers(0, 5),
)
def test_the_outline_lies_on_its_clicks_again(
    angle: float, x: float, y: float, reverse: bool, start: int
) -> None:
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    corners = [(x + 100 * (c * a - s * b), y + 100 * (s * a + c * b)) for a, b in ELL]
    corners = corners[start:] + corners[:start]
    if reverse:
        corners.reverse()
    traced = trace(corners, scale=scale_between((0, 0), (600, 0), distance=6.0))
    frame = frame_of(traced)
    assert frame.off < 2e-4  # the outline is rounded to a tenth of a millimetre
    for k, point in zip(frame.order, frame.on_sheet(traced.outline)):
        assert math.dist(point, corners[k]) < 0.05
    assert frame.in_room([corners[frame.order[0]]])[0] == pytest.approx(traced.outline[0], abs=2e-4)


def test_rooms_of_one_sheet_lie_side_by_side_though_the_sheet_is_askew() -> None:
    turn = math.radians(3)

    def askew(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
        c, s = math.cos(turn), math.sin(turn)
        return [(200 + 100 * (c * x - s * y), 150 + 100 * (s * x + c * y)) for x, y in points]

    scale = scale_between((0, 0), (100, 0), distance=1.0)
    one = trace(askew(ELL), scale=scale)
    hall = trace(askew([(6.12, 0), (8.12, 0), (8.12, 3), (6.12, 3)]), scale=scale)
    there = beside(hall, first=one)
    xs, ys = zip(*there.outline)
    # by hand: the L is 4.00 deep, so the hall lies from 1.00 to 4.00 above its lower edge
    assert (min(xs), max(xs)) == pytest.approx((6.12, 8.12), abs=1e-3)
    assert (min(ys), max(ys)) == pytest.approx((1.0, 4.0), abs=1e-3)
    assert not Shape(one.outline).intersects(Shape(there.outline))


# --- the drawing -----------------------------------------------------------------------------


def sheet(width: int, height: int, data: bytes = b"") -> TracingSheet:
    return TracingSheet(
        name="plan.png", picture=data or png(width, height), form="png", size=(width, height),
        page=None, pages=1, per_paper_metre=4000.0,
    )  # fmt: skip


@pytest.mark.parametrize("size", [(1000, 700), (700, 1000), (3600, 2400), (300, 80)])
def test_a_click_comes_back_to_its_pixel(size: tuple[int, int]) -> None:
    on = paper_of_sheet(as_shown(sheet(*size)))
    for point in ((0.0, 0.0), (12.5, 70.0), (200.0, 33.0)):
        x, y = on.paper(point)
        assert on.pixel(x, on.height - y) == pytest.approx(point)
    assert on.width >= on.left + on.size[0] * on.k - 1e-9


def test_a_scan_is_counted_in_the_pixels_of_the_page() -> None:
    large = as_shown(sheet(3600, 2400))
    assert max(large.size) <= 1000
    assert large.size[0] / large.size[1] == pytest.approx(1.5, abs=0.01)
    assert large.per_paper_metre == pytest.approx(4000 * large.size[0] / 3600)
    small = sheet(600, 400)
    assert as_shown(small) is small


def test_the_picture_under_the_drawing_is_pale_and_small() -> None:
    noise = Image.effect_noise((3000, 2000), 90).convert("RGB")
    out = io.BytesIO()
    noise.save(out, "JPEG", quality=95)
    data = pale(sheet(3000, 2000, out.getvalue()))
    image = Image.open(io.BytesIO(data))
    assert max(image.size) <= 2600
    assert len(data) <= 1_000_000
    black = io.BytesIO()
    Image.new("RGB", (200, 100), "black").save(black, "PNG")
    grey = Image.open(io.BytesIO(pale(sheet(200, 100, black.getvalue())))).getpixel((50, 50))
    assert grey == pytest.approx(255 * 0.45, abs=4)  # faded by 45 % towards white


def test_the_drawing_shows_what_was_clicked_and_what_it_makes() -> None:
    scale = scale_between((100, 100), (700, 100), distance=6.0)
    corners = on_picture(ELL)
    traced = trace(corners, scale=scale)
    drawing = tracing_drawing(
        sheet(1000, 700),
        scale_points=corners[:2],
        scale_words="6.00 m",
        corners=corners,
        traced=traced,
    )
    assert isinstance(drawing.items[0], Picture)
    words = [i.text for i in drawing.items if isinstance(i, Text)]
    assert {"6000", "2400", "1600", "3600", "4000"} <= set(words)
    (ring,) = [i for i in drawing.items if isinstance(i, Polygon)]
    on = paper_of_sheet(sheet(1000, 700))
    drawn = Shape(ring.outline)
    clicked = Shape([on.paper(p) for p in corners])
    assert drawn.symmetric_difference(clicked).area < 1e-3 * clicked.area


# --- the page: clicks -------------------------------------------------------------------------


def test_clicks_give_scale_corners_and_a_room(study: FromAPlan, desk: Desk) -> None:
    shown = traced_ell(study)
    # by hand: 6.00 × 4.00 less 2.40 × 1.60
    assert "20.2" in shown["said"]["answer"]
    lengths = sorted(row[1] for row in shown["said"]["tables"][0]["rows"])
    assert lengths == ["1600", "2400", "2400", "3600", "4000", "6000"]
    assert "first one again to close" in shown["said"]["point"]
    shown = click(study, on_picture(ELL)[0])
    assert study.values["clicks"] == "check"
    put(study, name="Living room", use="living", height="2.62 m")
    assert study.act("room", {}) is not None
    kept = files.read(desk.folder).project.home.rooms["living_room"]
    assert Shape(kept.outline).area == pytest.approx(20.16, rel=1e-3)
    assert (kept.name, kept.use, kept.height) == ("Living room", "living", 2.62)
    assert kept.known.source == "plan"
    assert kept.known_of["height"].source == "guess"
    assert (desk.folder / "plan" / "ground floor.png").read_bytes() == png()
    assert study.values["corners"] == ""


def test_typed_points_do_the_same(study: FromAPlan) -> None:
    clicked = traced_ell(study)
    other = FromAPlan(study.desk)
    give(other, "ground floor.png", png())
    typed = put(
        other,
        scale_points="100, 100; 700, 100",
        distance="6 m",
        corners=points_text(on_picture(ELL)),
    )
    assert typed["said"]["answer"] == clicked["said"]["answer"]
    assert typed["picture"] == clicked["picture"]


def test_a_second_room_lies_beside_the_first(study: FromAPlan, desk: Desk) -> None:
    traced_ell(study)
    put(study, name="one")
    study.act("room", {})
    put(
        study, corners=points_text(on_picture([(6.1, 0), (8.1, 0), (8.1, 3), (6.1, 3)])), name="two"
    )
    study.act("room", {})
    rooms = files.read(desk.folder).project.home.rooms
    first = min(x for x, _ in rooms["one"].outline)
    assert min(x for x, _ in rooms["two"].outline) - first == pytest.approx(6.1, abs=1e-3)


def test_a_tracing_under_way_comes_back_with_its_plan(study: FromAPlan, desk: Desk) -> None:
    traced_ell(study)
    put(study, name="one")
    study.act("room", {})
    corners = points_text(on_picture([(6.1, 0), (8.1, 0), (8.1, 3), (6.1, 3)]))
    put(study, corners=corners, name="two")
    shown = put(study, stated="6 m²")
    # The kernel goes without a goodbye; what waits to be written is its last wish.
    assert study._file is not None
    study._file.flush()
    again = FromAPlan(Desk(desk.folder))
    back = again.show({}, None)
    assert back["picture"] == shown["picture"]
    assert back["said"]["answer"] == shown["said"]["answer"]
    assert "Brought back from" in back["said"]["note"]
    again.act("room", {})
    rooms = files.read(desk.folder).project.home.rooms
    first = min(x for x, _ in rooms["one"].outline)
    assert min(x for x, _ in rooms["two"].outline) - first == pytest.approx(6.1, abs=1e-3)
    # All is kept: nothing comes back a second time.
    assert again._file is not None
    again._file.flush()
    assert FromAPlan(Desk(desk.folder)).show({}, None)["said"]["answer"].startswith("Choose")


def test_a_damaged_draft_of_a_tracing_is_said(study: FromAPlan, desk: Desk) -> None:
    traced_ell(study)
    assert study._file is not None
    study._file.flush()
    for held in (desk.folder / ".designkit" / "drafts").glob("*"):
        if held.suffix != ".json":
            held.write_bytes(held.read_bytes()[:60])
    shown = FromAPlan(Desk(desk.folder)).show({}, None)
    assert shown["said"]["answer"].startswith("Choose")
    assert shown["said"]["note"]


def test_a_home_with_rooms_gets_the_new_one_apart(tmp_path: Path) -> None:
    shutil.copytree(DATA / "harbour-flat", tmp_path / "h")
    desk = Desk(tmp_path / "h")
    study = FromAPlan(desk)
    give(study, "p.png", png())
    traced_ell(study)
    put(study, name="hall")
    study.act("room", {})
    rooms = files.read(desk.folder).project.home.rooms
    new = Shape(rooms["hall_2"].outline)
    assert not any(new.intersects(Shape(r.outline)) for k, r in rooms.items() if k != "hall_2")


def test_the_second_click_of_a_double_one_is_no_corner(study: FromAPlan) -> None:
    for point in on_picture([(0, 0), (6, 0)]):
        click(study, point)
    put(study, distance="6 m")
    click(study, (100, 100))
    click(study, (100.4, 100))
    assert points_of(study.values["corners"], what="corners") == [(100, 100)]


def test_a_round_that_crosses_itself_is_said_and_can_go_on(study: FromAPlan) -> None:
    for point in on_picture([(0, 0), (6, 0)]):
        click(study, point)
    put(study, distance="6 m")
    shown: dict[str, Any] = {}
    for point in on_picture([(0, 0), (4, 3), (4, 0), (0, 3)]):
        shown = click(study, point)
    texts = [row["text"] for row in shown["said"]["findings"]["rows"]]
    assert any(t.startswith("No room so far: outline = sides that cross") for t in texts)
    with pytest.raises(InputError, match="sides that cross"):
        study.act("room", {})
    shown_again = study.act("last", {})
    assert shown_again is not None
    assert "corners" in shown_again["said"]["answer"]


def test_the_last_point_goes_back(study: FromAPlan) -> None:
    traced_ell(study)
    study.act("last", {})
    assert len(points_of(study.values["corners"], what="corners")) == 5


# --- the page: areas and dimensions ----------------------------------------------------------


def test_which_area_holds_is_asked_before_the_room_is_kept(study: FromAPlan, desk: Desk) -> None:
    traced_ell(study)
    shown = put(study, stated="22.4 m²")
    assert "say which area holds" in shown["said"]["answer"]
    with pytest.raises(InputError, match="say which holds"):
        study.act("room", {})
    shown = put(study, holds="the stated area", name="studio")
    assert "22.4" in shown["said"]["answer"]
    study.act("room", {})
    room = files.read(desk.folder).project.home.rooms["studio"]
    assert Shape(room.outline).area == pytest.approx(22.4, rel=1e-3)


def test_an_area_that_agrees_asks_nothing(study: FromAPlan) -> None:
    traced_ell(study)
    shown = put(study, stated="20.2 m²")
    assert "holds" not in [c["id"] for c in shown["controls"]]
    assert "agrees with the plan" in shown["said"]["findings"]["rows"][1]["text"]


def test_a_second_dimension_that_does_not_agree_is_told(study: FromAPlan) -> None:
    traced_ell(study)
    shown = put(study, check_points="100, 100; 100, 500", check_distance="4.40 m")
    (row,) = [r for r in shown["said"]["findings"]["rows"] if r["state"] == "fails"]
    assert "10.0 % larger" in row["text"]
    shown = put(study, check_distance="4.00 m")
    assert not [r for r in shown["said"]["findings"]["rows"] if r["state"] == "fails"]


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("distance", "six", "distance of the two points"),
        ("distance", "900 m", "0.05 to 200 m"),
        ("scale_points", "100, 100; 105, 100", "take the longest dimension"),
        ("scale_points", "100; 100", "write as 120, 340"),
        ("scale_points", "1, 1; 2, 2; 3, 3", "2 or fewer"),
        ("corners", "100, 100\n9000, 20", "size of the picture"),
        ("corners", "here", "write as 120, 340"),
        ("stated", "large", "stated area"),
        ("height", "25 cm", "1.5 to 12 m"),
        ("at", "over there", "4.12 m, 0 m"),
    ],
)
def test_wrong_fields_get_a_sentence_and_change_nothing(
    study: FromAPlan, field: str, text: str, said: str
) -> None:
    traced_ell(study)
    before = dict(study.values)
    with pytest.raises(InputError, match=said):
        put(study, **{field: text})
    assert study.values == before
    study.draw()  # and it goes on


def test_two_fields_left_before_an_answer_are_both_taken(study: FromAPlan) -> None:
    traced_ell(study)
    page = {**study.values, "stated": "20.2 m²", "name": "studio"}  # the page sends all it holds
    study.show(page, "stated")
    assert (study.values["stated"], study.values["name"]) == ("20.2 m²", "studio")
    # what was refused once does not stand in the way of the next field
    page |= {"height": "25 cm"}
    with pytest.raises(InputError, match=r"1\.5 to 12 m"):
        study.show(page, "height")
    page |= {"name": "den"}
    study.show(page, "name")
    assert (study.values["name"], study.values["height"]) == ("den", "2.50 m")
    # and an old page does not take clicks back
    click(study, on_picture(ELL)[0])
    study.show({**page, "corners": "", "clicks": "corners", "use": "living"}, "use")
    assert len(points_of(study.values["corners"], what="corners")) == 6


def test_a_click_beside_the_plan_is_refused(study: FromAPlan, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="beside the plan"):
        click(study, (-20, 40))
    files.new(tmp_path / "bare")
    bare = FromAPlan(Desk(tmp_path / "bare"))
    with pytest.raises(InputError, match="a plan to click on"):
        bare.act("point", {"x": 10, "y": 10})


# --- what cannot be opened --------------------------------------------------------------------


def pixels_claimed(width: int, height: int) -> bytes:
    """A PNG whose head says that it is as large as that."""
    data = bytearray(png(8, 8))
    data[16:24] = width.to_bytes(4, "big") + height.to_bytes(4, "big")
    data[29:33] = zlib.crc32(bytes(data[12:29])).to_bytes(4, "big")
    return bytes(data)


def pdf(*, pages: int = 1, locked: bool = False) -> bytes:
    """A small PDF written by hand from ISO 32000-1; locked by a password that nobody knows."""
    kids = " ".join(f"{3 + k} 0 R" for k in range(pages))
    parts = [
        "<< /Type /Catalog /Pages 2 0 R >>",
        f"<< /Type /Pages /Kids [{kids}] /Count {pages} >>",
    ]
    parts += ["<< /Type /Page /Parent 2 0 R /MediaBox [0 0 842 595] >>"] * pages
    trailer = f"/Size {len(parts) + 1 + locked} /Root 1 0 R"
    if locked:
        key = "<" + "41" * 32 + ">"
        parts.append(f"<< /Filter /Standard /V 1 /R 2 /O {key} /U {key} /P -4 >>")
        trailer += f" /Encrypt {len(parts)} 0 R /ID [<{'00' * 16}> <{'00' * 16}>]"
    out = b"%PDF-1.4\n"
    places = []
    for number, part in enumerate(parts, start=1):
        places.append(len(out))
        out += f"{number} 0 obj\n{part}\nendobj\n".encode()
    start = len(out)
    out += f"xref\n0 {len(parts) + 1}\n0000000000 65535 f \n".encode()
    out += "".join(f"{place:010d} 00000 n \n" for place in places).encode()
    return out + f"trailer << {trailer} >>\nstartxref\n{start}\n%%EOF".encode()


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("scan.png", pixels_claimed(20000, 10000), "200 million pixels"),
        ("scan.png", pixels_claimed(40000, 40000), "million pixels"),
        ("cut.png", png()[:60], "cut off"),
        ("plan.png", b"no picture at all", "no picture that can be read"),
        ("plan.pdf", pdf(pages=0), "a PDF with no page"),
        ("plan.pdf", pdf(locked=True), "save it without its password"),
        ("plan.pdf", b"%PDF-1.4 nothing", "no PDF that can be read"),
        ("model.ifc", b"ISO-10303-21; and no more", "cut off"),
        ("model.ifc", b"ISO-10303-21; END-ISO-10303-21;", "a whole file in IFC2X3"),
        ("model.ifc", b"nothing", "begins with ISO-10303-21"),
    ],
)
def test_plans_that_cannot_be_opened_get_a_sentence(
    study: FromAPlan, name: str, data: bytes, said: str
) -> None:
    if name.endswith("pdf"):
        pytest.importorskip("pypdfium2", reason="the extra plans is not installed")
    if name.endswith("ifc"):
        pytest.importorskip("ifcopenshell", reason="the extra ifc is not installed")
    before = study.sheet
    with pytest.raises(FileFormatError, match=said):
        give(study, name, data)
    assert study.sheet is before  # the last plan stays


def test_pages_of_a_pdf(study: FromAPlan) -> None:
    pytest.importorskip("pypdfium2", reason="the extra plans is not installed")
    shown = give(study, "set.pdf", pdf(pages=3))
    assert "Page, of 3" in [c["label"] for c in shown["controls"]]
    put(study, page="3")
    assert study.sheet is not None
    assert study.sheet.page == 2
    with pytest.raises(InputError, match="1 to 3"):
        put(study, page="4")
    # a print to scale: A4 across is 297 mm, so 1:100 makes it 29.7 m
    put(study, ratio="1:100")
    scale = study._scale()
    assert scale is not None
    assert scale.metres * study.sheet.size[0] == pytest.approx(842 / 72 * 0.0254 * 100, rel=2e-3)


# --- a building model ----------------------------------------------------------------------------


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_rooms_of_a_model_are_taken(study: FromAPlan, desk: Desk, tmp_path: Path) -> None:
    pytest.importorskip("ifcopenshell", reason="the extra ifc is not installed")
    make = importlib.import_module("ifc_sample").model
    path = tmp_path / "flat.ifc"
    make(path)
    shown = give(study, "flat.ifc", path.read_bytes())
    assert shown["said"]["answer"].startswith("2 rooms of the model")
    shown = put(study, rooms=["living_living"])
    assert shown["said"]["answer"] == "1 room of the model, 40.1\u00a0m²."
    assert study.act("model", {}) is not None
    room = files.read(desk.folder).project.home.rooms["living_living"]
    # by hand: 7.60 × 4.20 and 3.40 × 2.40 more
    assert Shape(room.outline).area == pytest.approx(7.6 * 4.2 + 3.4 * 2.4)
    assert room.height == pytest.approx(2.62)
    assert (desk.folder / "plan" / "flat.ifc").is_file()
    put(study, rooms=[])
    with pytest.raises(InputError, match="choose rooms"):
        study.act("model", {})


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_model_that_is_cut_off_or_has_no_units_or_rooms(study: FromAPlan, tmp_path: Path) -> None:
    """Without its end some rooms would be missing, without units they would be of any size."""
    ifc = pytest.importorskip("ifcopenshell", reason="the extra ifc is not installed")
    path = tmp_path / "m.ifc"
    importlib.import_module("ifc_sample").model(path)
    data = path.read_bytes()
    for share in (0.1, 0.5, 0.9, 0.99):
        with pytest.raises(FileFormatError, match="an IFC file that is cut off"):
            give(study, "m.ifc", data[: int(len(data) * share)])
    for what, said in (("IfcUnitAssignment", "no unit of length"), ("IfcSpace", "no space")):
        model = ifc.open(str(path))
        for one in model.by_type(what):
            model.remove(one)
        model.write(str(tmp_path / "bare.ifc"))
        with pytest.raises(FileFormatError, match=said):
            give(study, "m.ifc", (tmp_path / "bare.ifc").read_bytes())
    assert study.model is None


@pytest.mark.parametrize("unit", ["FOOT", "INCH", "METRE"])
def test_a_model_in_other_units_has_the_same_rooms(tmp_path: Path, unit: str) -> None:
    ifc = pytest.importorskip("ifcopenshell", reason="the extra ifc is not installed")
    convert = pytest.importorskip("ifcopenshell.util.unit")
    path, other = tmp_path / "m.ifc", tmp_path / "u.ifc"
    importlib.import_module("ifc_sample").model(path)
    convert.convert_file_length_units(ifc.open(str(path)), unit).write(str(other))
    one, two = rooms_from_ifc(path), rooms_from_ifc(other)
    assert [*one.areas] == [*two.areas]
    for id, room in one.rooms.items():
        assert two.areas[id] == pytest.approx(one.areas[id], abs=1e-4)
        assert two.rooms[id].height == pytest.approx(room.height, abs=1e-4)


def test_every_visible_word_has_a_meaning(study: FromAPlan, tmp_path: Path) -> None:
    data = {plain(text) for text in names_of(study.desk.project)}
    states = [FromAPlan(study.desk).show({}, None), traced_ell(study), put(study, stated="30 m²")]
    if importlib.util.find_spec("pypdfium2"):
        states.append(give(study, "set.pdf", pdf(pages=3)))
    if importlib.util.find_spec("ifcopenshell"):
        importlib.import_module("ifc_sample").model(tmp_path / "m.ifc")
        states.append(give(study, "m.ifc", (tmp_path / "m.ifc").read_bytes()))
    for shown in states:
        assert unknown(labels_of(shown), data) == []
