"""How long the share of black, its light and its swaps take, without a browser.

Run with ``-m bench``; nothing is asserted about time. The room has 120 boxes of our own,
spread over a floor of 9 × 7 m, and six lamps; rays a field are those that were measured to
be within 0.5 and 0.2 point.
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from designkit import analyses, project
from designkit.analyses.litview import lit_balances
from designkit.analyses.swaps import swaps_three_ways
from designkit.lighting.full import by_day, exchange, in_the_evening, moved, with_finishes
from designkit.model import Colour, Finish, Fixture, Home, Lamp, Layout, Piece, Placement, Room
from designkit.scene.surfaces import surfaces
from designkit.scene.view import FIELDS, look, scene_of, standing
from designkit.scene.weights import area_weights
from designkit.studies.black_study import ShareOfBlack
from designkit.studies.desk import Desk

pytestmark = pytest.mark.bench

ROOT = Path(__file__).parents[2]
Report = Callable[..., None]
THREE = [FIELDS[name] for name in ("60", "30", "band")]
EYES = [
    standing((0.4, 0.4), facing=40.0),
    standing((8.6, 0.4), facing=140.0),
    standing((4.5, 6.7), facing=270.0),
]


def times(call: Callable[[int], object], count: int) -> list[float]:
    """Seconds of each call, after one that is not counted."""
    call(0)
    gc.collect()
    out = []
    for n in range(1, count + 1):
        start = time.perf_counter()
        call(n)
        out.append(time.perf_counter() - start)
    return out


def crowded() -> tuple[Home, Layout]:
    """A room with 120 boxes in four finishes."""
    tones = {"white": 85.0, "grey": 30.0, "oak": 38.0, "black": 4.0}
    finishes = {
        id: Finish(name=id, kind="timber", colours=(Colour(lrv=lrv),)) for id, lrv in tones.items()
    }
    names = list(tones)
    pieces, placed = {}, {}
    for n in range(120):
        x, y = 0.9 + (n % 15) * 0.51, 0.9 + (n // 15) * 0.72
        pieces[f"box{n}"] = Piece(
            name=f"box {n}",
            kind="stool",
            size=(0.25 + 0.01 * (n % 7), 0.30, 0.3 + 0.02 * (n % 23)),
            finish=names[n % 4],
        )
        placed[f"box{n}"] = Placement(at=(x, y), rotation=float(13 * n % 90))
    home = Home(
        name="bench",
        rooms={
            "room": Room(
                name="room",
                outline=((0.0, 0.0), (9.0, 0.0), (9.0, 7.0), (0.0, 7.0)),
                height=2.7,
                floor="oak",
                wall="white",
                ceiling="white",
            )
        },
        openings={},
        finishes=finishes,
        pieces=pieces,
        fixtures={
            "ceiling": Fixture(
                name="ceiling light",
                kind="ceiling light",
                size=(0.3, 0.3, 0.1),
                lumens=1500.0,
                kelvin=2700.0,
            )
        },
    )
    lamps = {
        f"l{n}": Lamp(fixture="ceiling", at=(1.5 + 3.0 * (n % 3), 1.75 + 3.5 * (n // 3)))
        for n in range(6)
    }
    return home, Layout(name="bench", pieces=placed, lamps=lamps)


def test_three_viewpoints_and_three_fields(report: Report) -> None:
    home, layout = crowded()
    scene = scene_of(home, layout)

    def views(rays: int) -> Callable[[int], object]:
        return lambda _: [look(scene, eye, fields=THREE, rays=rays) for eye in EYES]

    report("120 boxes ready to look at", times(lambda _: scene_of(home, layout), 12))
    report(
        "three viewpoints, three fields, 120 boxes, within 0.2 point",
        times(views(10_000), 20),
        goal="60 ms",
    )
    report(
        "three viewpoints, three fields, 120 boxes, within 0.5 point",
        times(views(2000), 20),
        goal="15 ms",
    )
    report("120 boxes by area", times(lambda _: area_weights(surfaces(home, layout)), 6))


def test_light(report: Report) -> None:
    home, layout = crowded()
    # A new room each time: the set-up is what is measured, not what is remembered.
    taller = [
        replace(home, rooms={"room": replace(home.rooms["room"], height=2.7 + 0.01 * n)})
        for n in range(4)
    ]
    patches = len(exchange(home, layout).patches.area)
    report(
        f"light: set-up, {patches} patches",
        times(lambda n: exchange(taller[n], layout, operator=True), 3),
        goal="1,500 ms up to 1,500 patches",
    )
    for demo in ("harbour-flat", "parlor-floor"):
        flat = project.read(ROOT / "data" / demo).project.home
        plan = flat.layouts[flat.layout]
        of = exchange(flat, plan, operator=True)
        finishes = [id for id, f in flat.finishes.items() if f.kind == "cloth"]
        painted = [
            replace(
                flat,
                pieces={
                    **flat.pieces,
                    "sofa": replace(flat.pieces["sofa"], finish=finishes[n % len(finishes)]),
                },
            )
            for n in range(16)
        ]
        count = len(of.patches.area)
        report(
            f"{demo}: {count} patches, another finish",
            times(lambda n, of=of, painted=painted: with_finishes(of, painted[n]), 15),
            goal="20 ms",
        )
        report(
            f"{demo}: dimmed",
            times(lambda n, of=of: in_the_evening(of, dim=0.99 - 0.01 * n), 20),
            goal="2 ms",
        )
        lamp = of.lamps[0].id
        report(
            f"{demo}: a lamp moved",
            times(lambda n, of=of, lamp=lamp: moved(of, lamp=lamp, by=(0.01 * n, 0.0, 0.0)), 15),
            goal="20 ms",
        )
        report(f"{demo}: by day", times(lambda _, of=of: by_day(of), 6))


@pytest.mark.parametrize("demo", ["harbour-flat", "parlor-floor"])
def test_swaps(report: Report, demo: str) -> None:
    opened = project.read(ROOT / "data" / demo)
    home = opened.project.home
    plan = home.layouts[home.layout]
    lit = lit_balances(home, plan, points=["sofa"], rays=2000)["sofa", "60"]

    def swaps(rough: bool) -> Callable[[int], object]:
        return lambda _: swaps_three_ways(home, plan, lit=lit, rough=rough)

    report(f"{demo}: swaps three ways, each with its light", times(swaps(False), 8))
    report(f"{demo}: swaps three ways, while a control moves", times(swaps(True), 12))


@pytest.mark.parametrize("demo", ["harbour-flat", "parlor-floor"])
def test_page(report: Report, demo: str) -> None:
    """Control to SVG text, with three views by finish and three as lit."""
    study = ShareOfBlack(Desk(ROOT / "data" / demo))
    views = list(analyses.scheme_viewpoints(study.desk.project))
    study.show({}, None)
    study.values["views"] = views[-3:]
    study.show({**study.values, "lit": "yes"}, "lit")
    study.moved_at = 0.0
    study.act("look", {})
    finishes = list(study.desk.home.finishes)

    def limit(n: int) -> object:
        return study.show({**study.values, "black": 22 + n % 8}, "black")

    def finish(n: int) -> object:
        return study.show({**study.values, "finish": finishes[n % len(finishes)]}, "finish")

    report(f"{demo}: limit of black, three views lit too", times(limit, 20), goal="60 ms")
    report(f"{demo}: another finish, three views lit too", times(finish, 16), goal="60 ms")
    rests = []
    for n in range(5):
        finish(n)
        study.moved_at = 0.0
        start = time.perf_counter()
        study.act("look", {})
        rests.append(time.perf_counter() - start)
    report(f"{demo}: another finish, once it rests", rests)


# From the key that goes down to the frame that shows the new picture.
WATCH = """() => {
  window.seen = []; window.began = null;
  document.querySelector('.dk-page').addEventListener('dk-drawn', () =>
    requestAnimationFrame(() => setTimeout(() => {
      if (window.began !== null) window.seen.push(performance.now() - window.began);
      window.began = null;
    }, 0)));
  document.addEventListener('keydown', () => { window.began = performance.now(); }, true);
}"""


@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::ResourceWarning")
def test_key_press_to_a_picture_three_ways(study: Callable[..., Any], report: Report) -> None:
    opened = study("share-of-black", height=1000)  # a laptop's window
    page = opened.page
    page.evaluate("() => document.querySelectorAll('.dk-more').forEach(n => { n.open = true; })")
    views = page.locator("[data-control='views'] input")
    for n in range(views.count()):
        wanted = views.nth(n).input_value() in ("bedroom_door", "sofa", "dining_table.front1")
        if views.nth(n).is_checked() != wanted:
            before = opened.answered()
            views.nth(n).set_checked(wanted)
            opened.settle(before)
    page.click("[data-control='lit'] [data-choice='yes']")
    page.wait_for_function(
        "() => document.querySelector('.dk-tables').innerText.includes('lit, ')", timeout=60_000
    )
    page.locator(".dk-page [data-control='black']").focus()
    page.evaluate(WATCH)
    for n in range(60):
        before = opened.answered()
        page.keyboard.press("ArrowLeft" if n % 2 == 0 else "ArrowRight")
        opened.settle(before)
        page.wait_for_timeout(40)
    seen = page.evaluate("() => window.seen")
    assert len(seen) >= 40
    report(
        "limit of black to a picture three ways, in Chromium",
        [t / 1000 for t in seen],
        goal="p50 60, p95 120 ms",
    )
    page.evaluate("() => { window.seen = []; }")
    box = page.locator(".dk-page [data-control='finish']")
    ids = box.locator("option").evaluate_all("options => options.map(o => o.value)")
    for n in range(24):
        before = opened.answered()
        page.evaluate(
            """([box, id]) => {
              window.began = performance.now();
              box.value = id;
              box.dispatchEvent(new Event('change'));
            }""",
            [box.element_handle(), ids[n % len(ids)]],
        )
        opened.settle(before)
        page.wait_for_timeout(40)
    seen = page.evaluate("() => window.seen")
    report(
        "another finish to a picture three ways, in Chromium",
        [t / 1000 for t in seen],
        goal="p50 60, p95 120 ms",
    )
