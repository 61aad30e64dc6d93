"""The value of a finish by ladder or photograph, and the verdicts that it leaves open."""

from __future__ import annotations

import io
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from test_glossary import labels_of, names_of, plain, unknown

from designkit.analyses.of_swatch import flips, with_colour
from designkit.errors import InputError, LookupFailed
from designkit.figures.check import faults
from designkit.figures.sheet import TitleBlock
from designkit.figures.swatch_reading import ladder_figure
from designkit.model import Colour
from designkit.palette.colour import linear_to_rgb
from designkit.palette.swatches import ladder
from designkit.studies.desk import Desk
from designkit.studies.swatch_study import Swatches

DATA = Path(__file__).parents[2] / "data"


def cutting(swatch: float, card: float = 0.85) -> bytes:
    linear = np.full((600, 900, 3), 0.3)
    linear[100:500, 60:400] = card
    linear[100:500, 480:840] = swatch
    file = io.BytesIO()
    pixels = np.round(255 * linear_to_rgb(np.clip(linear * 0.8, 0, 1))).astype(np.uint8)
    Image.fromarray(pixels).save(file, "PNG")
    return file.getvalue()


@pytest.fixture
def study(tmp_path: Path) -> Swatches:
    folder = tmp_path / "flat"
    shutil.copytree(DATA / "harbour-flat", folder)
    return Swatches(Desk(folder))


def at(study: Swatches, column: float, row: float) -> dict[str, Any]:
    """A click on a pixel of the photograph, in the drawing's millimetres."""
    k = min(150.0 / 900, 100.0 / 600)
    shown = study.act("point", {"x": 0.5 + column * k, "y": 0.5 + row * k})
    assert shown is not None
    return shown


def test_by_the_ladder(study: Swatches) -> None:
    shown = study.show({}, None)
    assert "L* " in shown["said"]["answer"]
    shown = study.show({**study.values, "step": 3.0}, "step")
    # Munsell value 3 is LRV 6.4 (ASTM D1535), L* 30.4.
    assert "L* 30 ± 5.0, LRV 6;" in shown["said"]["answer"]
    states = {r["state"] for r in shown["said"]["findings"]["rows"]}
    assert states == {"passes", "measure first"}
    assert unknown(labels_of(shown), {plain(t) for t in names_of(study.desk.project)}) == []


def test_from_a_photograph_and_into_the_project(study: Swatches) -> None:
    study.show({**study.values, "way": "photo"}, "way")
    shown = study.act("file", {"control": "photo", "name": "cut.png", "data": cutting(0.05)})
    assert shown is not None
    assert shown["said"]["point"] == "Click the swatch."
    assert unknown(labels_of(shown), {plain(t) for t in names_of(study.desk.project)}) == []
    assert at(study, 650, 300)["said"]["point"] == "Click the white paper."
    shown = at(study, 200, 300)
    assert study.reading is not None
    assert study.reading.lrv == pytest.approx(5.0, rel=0.08)
    after = study.act("use", {})
    assert after is not None
    finish = study.desk.home.finishes[study.values["finish"]]
    assert finish.colours[0].lrv == pytest.approx(5.0, rel=0.08)
    assert finish.colours[0].within is not None
    assert finish.known.source == "measured"
    study.act("undo", {})
    assert study.desk.home.finishes[study.values["finish"]].colours[0].lrv == 84


def test_a_click_that_cannot_be_leaves_the_last_reading(study: Swatches) -> None:
    study.act("file", {"control": "photo", "name": "cut.png", "data": cutting(0.05, card=1.3)})
    at(study, 650, 300)
    with pytest.raises(InputError, match="burnt out"):
        at(study, 200, 300)
    assert study.values["card_at"] == ""
    assert at(study, 2000, 20)["said"]["note"] == "That is not on the photograph."
    with pytest.raises(InputError, match="column, row"):
        study.show({**study.values, "card_at": "somewhere"}, "card_at")
    study.values["card_at"] = ""


def test_the_ladder_is_printed(study: Swatches) -> None:
    study.show({}, None)
    study.act("ladder", {})
    assert list(study.desk.folder.glob("issued/*/value-ladder.pdf"))
    block = TitleBlock(project="A flat", title="Value ladder", number="D-308")
    assert [str(f) for f in faults(ladder_figure(ladder(), block=block))] == []


def test_verdicts_that_flip_say_so_and_sure_ones_do_not() -> None:
    home = Desk(DATA / "harbour-flat").home
    sure = flips(home, finish="wall_white", colour=Colour(lrv=84.0, within=0.5))
    assert sure[0].what == "counts as"
    assert not sure[0].flips
    assert sure[0].sentence == "counts as: light, over the whole ±"
    wide = {f.what: f for f in flips(home, finish="wall_white", colour=Colour(lrv=6.3, within=4.0))}
    assert wide["counts as"].flips
    assert (wide["counts as"].low, wide["counts as"].high) == ("black", "dark")
    assert wide["share of black by area"].flips
    assert "above the band" in wide["share of black by area"].low
    with pytest.raises(LookupFailed, match="wall_whit"):
        with_colour(home, finish="wall_whit", colour=Colour(lrv=5.0))


def test_a_stripe_is_read_colour_by_colour(study: Swatches) -> None:
    shown = study.show({**study.values, "finish": "stripe"}, "finish")
    assert any(c["id"] == "part" for c in shown["controls"])
    study.show({**study.values, "part": "1"}, "part")
    study.show({**study.values, "step": 8.0}, "step")
    study.act("use", {})
    first, second = study.desk.home.finishes["stripe"].colours
    assert first.lab == (22, 0, 0)
    assert (second.ladder, second.share) == (8.0, 0.6)
    study.show({**study.values, "finish": "wall_white"}, "finish")
    assert study.values["part"] == "0"
    with pytest.raises(InputError, match="1 to 2"):
        with_colour(study.desk.home, finish="stripe", colour=Colour(lrv=5.0), part=2)
