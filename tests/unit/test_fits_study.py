"""On the spot: the page's answer, its pictures, what it keeps; the command line says the same."""

from __future__ import annotations

import io
import itertools
import math
import shutil
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
import shapely
from PIL import Image
from shapely.geometry import Polygon as Shape
from test_glossary import labels_of, names_of, plain, unknown

from designkit import project as files
from designkit.cli import main
from designkit.errors import FileFormatError, InputError
from designkit.figures.check import faults
from designkit.figures.delivery_way import NARROW, delivery_way, in_column, narrow_plan
from designkit.figures.drawing import Drawing, Line, Picture, Polygon, Text
from designkit.figures.svg import to_svg
from designkit.model import DeliveryStep, Piece
from designkit.plan.delivery import deliver
from designkit.project.photographs import keep_photograph, read_photograph
from designkit.studies.desk import Desk
from designkit.studies.fits_study import OnTheSpot

DATA = Path(__file__).parents[2] / "data"
STEPS = {
    "door": DeliveryStep(kind="door", name="front door", width=0.86, height=2.08),
    "lift": DeliveryStep(
        kind="lift", width=1.1, depth=1.4, height=2.15, door_width=0.8, door_height=2.0
    ),
    "corner": DeliveryStep(kind="corner", width=1.2, after=1.35, height=2.5),
    "quarter": DeliveryStep(kind="stair turn", width=1.0, after=1.0, height=2.6),
    "half": DeliveryStep(
        kind="stair turn", turn="half", width=1.12, after=1.2, well=0.15, height=2.55
    ),
    "flight": DeliveryStep(kind="flight", width=1.0, height=2.05),
}
SIZES = ((0.8, 0.8, 0.8), (2.2, 0.95, 0.8), (1.5, 0.6, 2.2), (3.0, 1.2, 0.95))


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    shutil.copytree(DATA / "harbour-flat", tmp_path / "h")
    return Desk(tmp_path / "h")


def put(study: OnTheSpot, **values: Any) -> dict[str, Any]:
    shown: dict[str, Any] = {}
    for key in values:
        shown = study.show({key: values[key]}, key)
    return shown


def jpeg(width: int = 300, height: int = 200, **more: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (width, height), (120, 120, 120)).save(out, "JPEG", **more)
    return out.getvalue()


def texts(drawing: Drawing) -> list[str]:
    return [item.text for item in drawing.items if isinstance(item, Text)]


# --- the tight place ------------------------------------------------------------------


@pytest.mark.parametrize(("step", "size"), list(itertools.product(STEPS, SIZES)))
def test_the_tight_place_is_drawn_true(step: str, size: tuple[float, float, float]) -> None:
    piece = Piece(name="piece", kind="wardrobe", size=size)
    way = deliver(piece, steps=[STEPS[step]])
    place = way.best.tightest
    drawing = delivery_way(way)
    assert faults(drawing) == []
    assert drawing.width == NARROW
    scale = drawing.scale
    assert scale is not None
    greys = [i for i in drawing.items if isinstance(i, Polygon) and i.weight]
    (body,) = greys  # the piece; walls have no outline
    drawn = Shape(body.outline)
    assert drawn.area == pytest.approx(Shape(place.carry.body).area * (1000 / scale) ** 2)
    walls = shapely.union_all(
        [Shape(i.outline, i.holes) for i in drawing.items if isinstance(i, Polygon) and i.fill
         and not i.weight]
    )  # fmt: skip
    if place.clearance > 0.02:  # nothing of the piece in a wall, and what is left is dimensioned
        assert drawn.intersection(walls).area < 1e-6
        assert f"{place.clearance * 1000:.0f}" in texts(drawing)
        # between the piece and the nearest wall along the dimension there is just that much
        ends = [i.points for i in drawing.items if isinstance(i, Line) and len(i.points) == 2]
        lengths = [math.dist(*points) * scale / 1000 for points in ends]
        assert min(abs(n - place.clearance) for n in lengths) < 1e-6
    if place.clearance < -0.02:
        assert "missing" in drawing.text
    x0, y0, x1, y1 = shapely.union_all([drawn, walls]).bounds
    assert x0 >= 0
    assert x1 <= drawing.width
    assert y0 >= 0
    assert y1 <= drawing.height


def test_a_narrow_plan_is_no_wider_than_the_telephone(desk: Desk) -> None:
    home = desk.home
    for rooms in ((), ("living",), ("hall",)):
        drawing = narrow_plan(home, home.layouts["a"], rooms=rooms)
        assert drawing.width <= NARROW
    shown = to_svg(narrow_plan(home, home.layouts["a"], rooms=("hall",)))
    assert "dining table" not in shown.split("</desc>")[1]


def test_drawings_in_a_column_keep_apart() -> None:
    one = Drawing(width=90, height=20, items=(Text(at=(1, 1), text="a", size=2),), text="One.")
    two = Drawing(width=40, height=10, items=(Text(at=(1, 1), text="b", size=2),), text="Two.")
    both = in_column([one, two], title="t")
    at = {i.text: i.at for i in both.items if isinstance(i, Text)}
    assert at["a"] == (1, 17)
    assert at["b"] == (26, 1)
    assert both.text == "One. Two."


# --- photographs ---------------------------------------------------------------------


def test_a_photograph_is_made_upright_and_small_and_says_no_place() -> None:
    exif = Image.Exif()
    exif[0x0112] = 6  # turned
    exif[0x8825] = {1: "N", 2: (50.0, 4.0, 0.0)}
    data = read_photograph(jpeg(3000, 2000, exif=exif))
    kept = Image.open(io.BytesIO(data))
    assert kept.size == (1600, 2400)
    assert not kept.getexif()


def test_photographs_of_one_name_do_not_overwrite(tmp_path: Path) -> None:
    one, two = read_photograph(jpeg()), read_photograph(jpeg(200, 200))
    assert keep_photograph(tmp_path, one, name="sofa") == "site/sofa.jpg"
    assert keep_photograph(tmp_path, one, name="sofa") == "site/sofa.jpg"
    assert keep_photograph(tmp_path, two, name="../sofa") == "site/sofa 2.jpg"
    assert (tmp_path / "site" / "sofa.jpg").read_bytes() == one


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "no picture"),
        (b"%PDF-1.4 and so on", "no picture"),
        (jpeg(1200, 900)[:2000], "cut off"),
    ],
)
def test_wrong_photographs_get_a_sentence(desk: Desk, data: bytes, said: str) -> None:
    study = OnTheSpot(desk)
    put(study, size="220 × 95 × 80 cm")
    with pytest.raises(FileFormatError, match=said):
        study.act("file", {"control": "photo", "name": "x.jpg", "data": data})
    assert study.photo == b""


def test_a_picture_of_too_many_pixels_is_refused_unopened() -> None:
    # a true PNG head that claims 20000 × 20000 pixels
    out = io.BytesIO()
    Image.new("1", (8, 8)).save(out, "PNG")
    data = bytearray(out.getvalue())
    data[16:24] = (20000).to_bytes(4, "big") * 2
    import zlib

    data[29:33] = zlib.crc32(bytes(data[12:29])).to_bytes(4, "big")
    with pytest.raises(FileFormatError, match="400 million pixels"):
        read_photograph(bytes(data))


# --- the page --------------------------------------------------------------------------


def test_nothing_is_said_before_a_size(desk: Desk) -> None:
    shown = OnTheSpot(desk).show({}, None)
    assert shown["said"]["findings"]["rows"] == []
    assert "ticket" in shown["said"]["answer"]
    assert shown["said"]["actions"][0]["off"]


@pytest.mark.parametrize(
    ("size", "kind", "price"),
    [
        ("220 × 95 × 80 cm", "sofa", "1900"),
        ("95 × 220 × 80 cm", "sofa", ""),
        ("300 × 120 × 95 cm", "sofa", "4900"),
        ("120 × 60 × 75 cm", "desk", "300"),
        ("Ø 110 × 74 cm", "dining table", ""),
        ("280 × 200 × 1 cm", "rug", ""),
    ],
)
def test_the_command_line_says_the_same(
    desk: Desk, capsys: pytest.CaptureFixture[str], size: str, kind: str, price: str
) -> None:
    study = OnTheSpot(desk)
    shown = put(study, kind=kind, size=size, price=price)
    result = study.result
    assert result is not None
    code = main(
        ["fits", size, "--as", kind, "--project", str(desk.folder)]
        + (["--price", price] if price else [])
    )
    said = capsys.readouterr().out.strip().splitlines()
    assert said[0] == result.sentence
    assert [line.strip() for line in said[1:]] == list(result.sentences)
    assert code == int(result.answer == "no")
    bold, rest = shown["said"]["answer"]
    assert bold[0] + rest == result.sentence
    assert bold[0] in ("Yes:", "No:", "Measure first:")
    states = {row["state"] for row in shown["said"]["findings"]["rows"]}
    assert states <= {"passes", "fails", "measure first"}
    if result.answer == "no":
        assert "fails" in states


def test_each_place_can_be_looked_at(desk: Desk) -> None:
    study = OnTheSpot(desk)
    shown = put(study, size="220 × 95 × 80 cm")
    cards = shown["options"]["rows"]
    assert len(cards) > 1
    again = study.act("open", {"option": cards[1]["id"]})
    assert again is not None
    assert again["picture"] != shown["picture"]
    assert [c["current"] for c in again["options"]["rows"]].index(True) == 1
    # the brief is held against the layout with the piece in it
    heads = {row["text"]: row["state"] for row in again["said"]["brief"]}
    assert heads["4 seats every day (5 places)"] == "met"


def test_a_photograph_is_shown_and_kept_with_the_candidate(desk: Desk) -> None:
    study = OnTheSpot(desk)
    before = desk.project
    put(study, size="220 × 95 × 80 cm", price="1900", seat="42 cm", held="2099-01-31",
        seller="Supplier 9", name="grey sofa")  # fmt: skip
    shown = study.act("file", {"control": "photo", "name": "a.jpg", "data": jpeg()})
    assert shown is not None
    assert 'href="data:image/jpeg;base64,' in shown["picture"]
    assert study.act("candidate", {}) is not None
    kept = files.read(desk.folder).project
    piece = kept.home.pieces["grey_sofa"]
    assert (piece.photo, piece.seller) == ("site/grey sofa.jpg", "Supplier 9")
    assert (piece.size, piece.held_until) == ((2.2, 0.95, 0.8), "2099-01-31")
    (line,) = [c for c in kept.costs if c.piece == "grey_sofa"]
    assert (line.likely, line.alternative_of) == (Decimal(1900), "sofa_buy")
    assert len(kept.costs) == len(before.costs) + 1
    assert kept.home.layouts == before.home.layouts
    # and it is there to be looked at again
    fresh = OnTheSpot(Desk(desk.folder))
    (table,) = [t for t in fresh.show({}, None)["said"]["tables"] if t["title"] == "Candidates"]
    assert table["pick"] == ["grey_sofa"]
    back = fresh.act("pick", {"table": "held", "row": "grey_sofa"})
    assert back is not None
    assert fresh.result is not None
    assert fresh.result.piece.size == (2.2, 0.95, 0.8)
    assert back["values"]["price"] == "1900"


def test_a_second_candidate_of_one_name_stands_beside(desk: Desk) -> None:
    study = OnTheSpot(desk)
    put(study, size="220 × 95 × 80 cm", name="grey sofa")
    study.act("candidate", {})
    put(study, size="210 × 95 × 80 cm")
    study.act("candidate", {})
    pieces = files.read(desk.folder).project.home.pieces
    assert (pieces["grey_sofa"].size[0], pieces["grey_sofa_2"].size[0]) == (2.2, 2.1)


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("size", "220 × 95", "size"),
        ("size", "2.2 m x 95 x 80", "a unit on each"),
        ("size", "80 × 95 × 220 cm", "which is the depth"),
        ("size", "big", "size"),
        ("price", "lots", "price"),
        ("price", "1,200", "one reading"),
        ("price", "-3", "0 or more"),
        ("held", "tomorrow", "year-month-day"),
        ("seat", "9 m", "0.1 to 1.2"),
    ],
)
def test_wrong_fields_get_a_sentence(desk: Desk, field: str, text: str, said: str) -> None:
    study = OnTheSpot(desk)
    put(study, size="220 × 95 × 80 cm")
    with pytest.raises(InputError, match=said):
        put(study, **{field: text})
    assert not desk.edits


def test_what_would_have_to_come_off_is_said(desk: Desk) -> None:
    study = OnTheSpot(desk)
    shown = put(study, kind="wardrobe", size="W 200 × D 92 × H 215 cm")
    assert study.result is not None
    assert study.result.delivery is not None
    titles = [t["title"] for t in shown["said"]["tables"]]
    assert bool(study.result.delivery.off) == ("What would have to come off" in titles)
    assert study.result.delivery.verdict != "passes"


def test_without_a_way_up_it_is_measured_first(tmp_path: Path) -> None:
    shutil.copytree(DATA / "parlor-floor", tmp_path / "p")
    desk = Desk(tmp_path / "p")
    if desk.home.delivery:
        text = (desk.folder / "project.toml").read_text()
        head, *rest = text.split("[[delivery]]")
        tail = rest[-1].split("\n[", 1)[1]
        (desk.folder / "project.toml").write_text(f"{head}[{tail}")
        desk = Desk(tmp_path / "p")
    assert not desk.home.delivery
    study = OnTheSpot(desk)
    shown = put(study, size="84 × 36 × 32 in")
    rows = [r["text"] for r in shown["said"]["findings"]["rows"]]
    assert "No way from the street is written down." in rows
    assert study.result is not None
    assert any("way from the street" in m for m in study.result.measure)


def test_the_form_of_a_picture_is_told_by_its_bytes() -> None:
    png = io.BytesIO()
    Image.new("RGB", (2, 2)).save(png, "PNG")
    shown = [
        to_svg(
            Drawing(width=9, height=9, items=(Picture(at=(0, 0), size=(9, 9), png=d, text="t"),))
        )
        for d in (png.getvalue(), jpeg(2, 2))
    ]
    assert [f"data:image/{f};" in s for f, s in zip(("png", "jpeg"), shown)] == [True, True]
    from designkit.figures.axes import png_bytes

    image = Drawing(
        width=9, height=9, items=(Picture(at=(0, 0), size=(9, 9), png=jpeg(9, 9), text="t"),)
    )
    middle = Image.open(io.BytesIO(png_bytes(image, dpi=100))).convert("L").getpixel((17, 17))
    assert middle == pytest.approx(120, abs=4)  # the grey that was put in


def test_every_visible_word_has_a_meaning(desk: Desk) -> None:
    study = OnTheSpot(desk)
    data = {plain(text) for text in names_of(desk.project)}
    states = [study.show({}, None)]
    states.append(put(study, size="220 × 95 × 80 cm", price="1900"))
    states.append(put(study, kind="wardrobe", size="W 200 × D 92 × H 215 cm"))
    study.act("candidate", {})
    states.append(study.draw())
    data |= {plain(text) for text in names_of(desk.project)}
    for shown in states:
        assert unknown(labels_of(shown), data) == []
