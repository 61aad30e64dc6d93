"""LM-63 files: what is read, what is refused by name, and that nothing else is ever raised."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from designkit.errors import FileFormatError, InputError
from designkit.lighting.photometry import (
    LARGEST_FILE,
    beam_angle,
    candela,
    parse_photometry,
    read_photometry,
    total_lumens,
    zonal_constants,
    zonal_lumens,
)

VERTICAL = list(range(0, 181, 5))


def made(
    *,
    version: str = "IESNA:LM-63-2002",
    header: str = "[TEST] invented\n",
    tilt: str = "TILT=NONE\n",
    lamps: str = "1 1000 1",
    kind: str = "1",
    units: str = "2",
    opening: str = "-0.2 0 0",
    ballast: str = "1 1 12",
    vertical: list[float] | None = None,
    horizontal: list[float] | None = None,
    table: list[list[float]] | None = None,
    tail: str = "\n",
) -> bytes:
    """A small invented file: the same 50 cd everywhere unless told otherwise."""
    v = VERTICAL if vertical is None else vertical
    h = [0] if horizontal is None else horizontal
    rows = [[50.0] * len(v)] * len(h) if table is None else table
    text = f"{version}\n{header}{tilt}{lamps} {len(v)} {len(h)} {kind} {units} {opening}\n"
    text += f"{ballast}\n{' '.join(map(str, v))}\n{' '.join(map(str, h))}\n"
    text += "\n".join(" ".join(map(str, row)) for row in rows) + tail
    return text.encode()


def test_a_plain_file():
    found = parse_photometry(made(), name="plain.ies")
    # 50 cd all round are 4π·50 lm, whatever the step.
    assert total_lumens(found) == pytest.approx(200 * math.pi, rel=1e-12)
    assert found.lamp_lumens == 1000
    assert not found.absolute
    assert (found.opening, found.size) == ("circle", (0.2, 0.2, 0.0))
    assert found.keywords["TEST"] == "invented"
    assert found.warnings == ()


def test_absolute_photometry_is_never_multiplied_by_its_lamps():
    one = parse_photometry(made(lamps="1 -1 1"))
    many = parse_photometry(made(lamps="48 -1 1"))
    assert many.absolute
    assert total_lumens(many) == total_lumens(one)


def test_multipliers():
    assert total_lumens(parse_photometry(made(lamps="1 1000 0.5"))) == pytest.approx(100 * math.pi)
    found = parse_photometry(made(version="IESNA:LM-63-1995", ballast="0.9 0.5 12"))
    assert total_lumens(found) == pytest.approx(200 * math.pi * 0.45)
    later = parse_photometry(made(ballast="0.9 0.5 12"))
    assert total_lumens(later) == pytest.approx(200 * math.pi * 0.9)
    assert "future use" in later.warnings[0]
    coded = parse_photometry(made(version="IES:LM-63-2019", ballast="1 1.10001 12"))
    assert total_lumens(coded) == pytest.approx(200 * math.pi)
    assert coded.warnings == ()


def test_more_light_than_the_lamps_give_is_a_warning():
    found = parse_photometry(made(lamps="1 500 1"))
    assert "more than the 500 lm" in found.warnings[0]


@pytest.mark.parametrize(
    ("opening", "shape"),
    [
        ("0 0 0", "point"),
        ("0.3 0.6 0", "rectangle"),
        ("0.3 0.6 0.1", "rectangle with luminous sides"),
        ("-0.2 0 0", "circle"),
        ("-0.2 -0.2 0", "circle"),
        ("-0.2 0 -0.2", "sphere"),
        ("-0.2 0 0.3", "vertical cylinder"),
        ("-0.2 -0.2 -0.2", "sphere"),
        ("-0.2 -0.4 0", "ellipse"),
    ],
)
def test_openings(opening: str, shape: str):
    assert parse_photometry(made(opening=opening)).opening == shape


def test_feet_are_turned_into_metres():
    found = parse_photometry(made(units="1", opening="1 2 0"))
    assert found.size == pytest.approx((0.3048, 0.6096, 0))


def test_no_version_line_one_line_header_and_letters_of_old_code_pages():
    body = made().split(b"TILT=NONE\n")[1]
    assert parse_photometry(b"TILT=NONE\n" + body).version == ""
    one_line = parse_photometry(b"IESNA91 [TEST] all on one line TILT=NONE " + body)
    assert one_line.version == "IESNA91"
    old = parse_photometry(b"IESNA91\n[LUMINAIRE] verre sabl\xe9\nTILT=NONE\n" + body)
    assert old.keywords["LUMINAIRE"] == "verre sablé"
    more = parse_photometry(b"IESNA91\n[TEST] a\n[MORE] b\ntilt = none\n" + body)
    assert more.keywords["TEST"] == "a\nb"
    assert total_lumens(parse_photometry(made().replace(b"\n", b"\r\n") + b"\x1a")) > 0


@pytest.mark.parametrize(("kind", "name"), [("2", "Type B"), ("3", "Type A")])
def test_other_types_are_refused_by_name(kind: str, name: str):
    with pytest.raises(FileFormatError, match=name):
        parse_photometry(made(kind=kind))


def test_a_decimal_comma_is_an_error_and_says_so():
    with pytest.raises(FileFormatError, match="decimal comma"):
        parse_photometry(made(table=[[50] * 36 + ["50,5"]]))  # type: ignore[list-item]


def test_words_after_the_end_name_their_line():
    with pytest.raises(FileFormatError, match=r"line 9, after the last candela = the word 99"):
        parse_photometry(made(tail="\n99\n"))


def test_a_file_that_is_cut_short():
    data = made()
    with pytest.raises(FileFormatError, match="cut short"):
        parse_photometry(data[: len(data) - 40])


@pytest.mark.parametrize(
    ("changes", "match"),
    [
        ({"lamps": "0 1000 1"}, "number of lamps"),
        ({"lamps": "1 -5 1"}, "lumens per lamp"),
        ({"lamps": "1 1000 0"}, "candela multiplier"),
        ({"lamps": "1 1000 1e300"}, "candelas times multipliers"),
        ({"units": "3"}, "units type"),
        ({"kind": "7"}, "photometric type"),
        ({"ballast": "0 1 12"}, "ballast factor"),
        ({"ballast": "1 1 -12"}, "input watts"),
        ({"vertical": [0, 45, 45, 90]}, "angles that rise"),
        ({"vertical": [-1e308, 0, 1e308]}, "vertical angles"),
        ({"horizontal": [0, 1e308]}, "horizontal angles"),
        ({"tilt": "TILT=INCLUDE\n1 2\n-1e308 1e308\n1 1\n"}, "tilt angles"),
        ({"vertical": [0, 45, 80]}, "0° to 80°"),
        ({"horizontal": [0, 45, 120]}, "0° to 120°"),
        ({"horizontal": [30]}, "30° to 30°"),
        ({"table": [[-1.0] * 37]}, "0 cd or more"),
        ({"table": [[0.0] * 37]}, "some light"),
        ({"table": [["x"] * 37]}, "a finite number"),
        ({"table": [["nan"] * 37]}, "a finite number"),
        ({"tilt": "TILT=lamp.til\n"}, "another file"),
    ],
)
def test_what_is_refused(changes: dict[str, object], match: str):
    with pytest.raises(FileFormatError, match=match) as error:
        parse_photometry(made(**changes), name="bad.ies")  # type: ignore[arg-type]
    assert "bad.ies line" in str(error.value)


def test_tilt_in_the_file_is_read_for_a_luminaire_that_is_not_tilted():
    tilt = "TILT=INCLUDE\n1 3\n0 45 90\n1 0.9 0.8\n"
    assert total_lumens(parse_photometry(made(tilt=tilt))) == pytest.approx(200 * math.pi)
    odd = parse_photometry(made(tilt=tilt.replace("1 0.9", "0.95 0.9")))
    assert total_lumens(odd) == pytest.approx(200 * math.pi * 0.95)
    assert "tilt table" in odd.warnings[0]


def test_huge_binary_and_missing_files(tmp_path):
    with pytest.raises(FileFormatError, match="binary"):
        parse_photometry(b"IESNA91\nTILT=NONE\n\x00\x01")
    with pytest.raises(FileFormatError, match="at most"):
        parse_photometry(b" " * (LARGEST_FILE + 1))
    with pytest.raises(FileFormatError, match="whole number"):
        parse_photometry(b"IESNA91\nTILT=NONE\n1 -1 1 99999999 99999999 1 2 0 0 0")
    with pytest.raises(FileFormatError, match="photometry folder"):
        read_photometry(tmp_path / "none.ies")
    with pytest.raises(FileFormatError, match="TILT"):
        parse_photometry(b"")
    (tmp_path / "a.ies").write_bytes(made())
    assert read_photometry(tmp_path / "a.ies").name == "a.ies"


# --- planes -------------------------------------------------------------------

PLANES = {
    "quadrants": [0, 45, 90],
    "halves": [0, 45, 90, 135, 180],
    "halves about 90–270": [90, 135, 180, 225, 270],
    "none": [0, 45, 90, 135, 180, 225, 270, 315, 360],
}


@pytest.mark.parametrize("symmetry", PLANES)
def test_planes_are_continued_by_their_symmetry(symmetry: str):
    """A shape that has the symmetry comes back in every direction of the full circle."""

    def shape(degrees: float) -> float:
        turn = math.radians(degrees)
        return {
            "quadrants": 100 + 50 * math.cos(2 * turn),
            "halves": 100 + 50 * math.cos(turn),
            "halves about 90–270": 100 + 50 * math.sin(turn),
            "none": 100 + 50 * math.cos(turn) + 20 * math.sin(turn),
        }[symmetry]

    planes = PLANES[symmetry]
    found = parse_photometry(
        made(
            lamps="1 -1 1",
            horizontal=planes,  # type: ignore[arg-type]
            table=[[shape(h)] * len(VERTICAL) for h in planes],
        )
    )
    assert found.symmetry == symmetry
    for degrees in range(-360, 721, 45):
        assert candela(found, vertical=30.0, horizontal=degrees) == pytest.approx(shape(degrees))
    # The mean round the circle is 100 cd; the trapezoid rule at 45° is exact for these.
    assert total_lumens(found) == pytest.approx(400 * math.pi, rel=1e-9)


def test_a_circle_without_its_last_plane_is_closed():
    found = parse_photometry(
        made(
            lamps="1 -1 1",
            horizontal=[0, 90, 180, 270],
            table=[[c] * len(VERTICAL) for c in (100, 200, 300, 200)],
        )
    )
    assert candela(found, vertical=10, horizontal=315) == pytest.approx(150)
    assert "repeated" in found.warnings[0]


def test_nothing_outside_the_angles_of_the_file():
    down = parse_photometry(made(vertical=list(range(0, 91, 5))))
    assert candela(down, vertical=[90.0, 91.0, 180.0]).tolist() == [50, 0, 0]
    assert zonal_lumens(down)[9:].sum() == 0
    up = parse_photometry(made(vertical=list(range(90, 181, 5))))
    assert candela(up, vertical=[89.0, 90.0]).tolist() == [0, 50]
    assert zonal_lumens(up)[:9].sum() == 0
    for one in (down, up):
        assert zonal_lumens(one).sum() == pytest.approx(total_lumens(one), rel=1e-9)


def test_a_cosine_distribution_gives_its_known_flux():
    """I0·cos θ gives π·I0 lm and has a beam of 120°: closed forms, not ours."""
    vertical = [i / 2 for i in range(181)]
    table = [[1000 * max(0.0, math.cos(math.radians(v))) for v in vertical]]
    found = parse_photometry(made(lamps="1 -1 1", vertical=vertical, table=table))
    assert total_lumens(found) == pytest.approx(1000 * math.pi, rel=1e-4)
    assert beam_angle(found) == pytest.approx(120, abs=0.01)


def test_a_globe_has_no_beam():
    with pytest.raises(InputError, match="lights all round"):
        beam_angle(parse_photometry(made()))
    with pytest.raises(InputError, match="share"):
        beam_angle(parse_photometry(made()), share=1.0)


def test_bad_angles():
    with pytest.raises(InputError, match="vertical angle"):
        candela(parse_photometry(made()), vertical=200)
    with pytest.raises(InputError, match="angle"):
        candela(parse_photometry(made()), vertical=math.nan)
    with pytest.raises(InputError, match="zone edges"):
        zonal_constants([10, 0])


# --- fuzz ---------------------------------------------------------------------


def check_survives(data: bytes) -> None:
    """Either an intensity table with finite light, or FileFormatError; nothing else."""
    try:
        found = parse_photometry(data)
    except FileFormatError:
        return
    assert np.isfinite(found.intensity).all()
    assert found.intensity.min() >= 0
    assert math.isfinite(total_lumens(found))
    assert total_lumens(found) > 0 or len(found.vertical) == 2


@settings(max_examples=200)
@given(st.binary(max_size=400))
def test_any_bytes(data: bytes):
    check_survives(data)


@settings(max_examples=200)
@given(st.binary(max_size=200))
def test_any_bytes_after_the_tilt_line(data: bytes):
    check_survives(b"IESNA91\nTILT=NONE\n" + data)


WORDS = st.sampled_from(
    ["0", "-1", "1", "2", "90", "180", "1e308", "-1e308", "1e-320", "nan", "inf", "x", "1,5", "7_0"]
)


@settings(max_examples=300)
@given(st.data())
def test_a_good_file_with_words_changed(data: st.DataObject):
    words = made(horizontal=[0, 45, 90], vertical=[0, 30, 60, 90]).decode().split(" ")
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(words) - 1))
        how = data.draw(st.sampled_from(["change", "drop", "add"]))
        if how == "drop" and len(words) > 1:
            del words[at]
        elif how == "add":
            words.insert(at, data.draw(WORDS))
        else:
            words[at] = data.draw(WORDS)
    check_survives(" ".join(words).encode())
