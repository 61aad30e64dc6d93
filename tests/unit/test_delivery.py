"""The way up: geometry against brute-force search, carries, verdicts, what comes off."""

from __future__ import annotations

import math
import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage
from shapely.geometry import LineString, Polygon

from designkit import shipped
from designkit.errors import InputError
from designkit.model import DeliveryStep, Known, Piece
from designkit.plan.carrying import (
    best_carry,
    carries,
    corner_clearance,
    longest_round_corner,
    through_opening,
)
from designkit.plan.delivery import carried_size, deliver
from designkit.project.reading import read

SURE = Known(source="measured", within=0.0)
GRID, TURN = 0.02, 61


def _rectangles(long: float, thick: float, angles: np.ndarray) -> np.ndarray:
    c, s = np.cos(angles), np.sin(angles)
    half = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)]) * (long / 2, thick / 2)
    return np.stack(
        [half[:, 0] * c[:, None] - half[:, 1] * s[:, None],
         half[:, 0] * s[:, None] + half[:, 1] * c[:, None]], axis=-1
    )  # fmt: skip


def _can_move(
    long: float, thick: float, *, box: tuple[float, float, float, float],
    hole: tuple[float, float], angles: np.ndarray, start: tuple[float, float, float],
    ends: list[tuple[float, float, float]],
) -> bool:  # fmt: skip
    """Search all positions and turns on a grid: box minus a strip that runs down for ever."""
    x0, y0, x1, y1 = box
    xs, ys = np.arange(x0, x1, GRID), np.arange(y0, y1, GRID)
    free = np.zeros((len(angles), len(xs), len(ys)), dtype=bool)
    for k, corners in enumerate(_rectangles(long, thick, angles)):
        left, right = corners[:, 0].min(), corners[:, 0].max()
        low, high = corners[:, 1].min(), corners[:, 1].max()
        inside = np.outer((xs + left >= x0) & (xs + right <= x1), ys + high <= y1)
        apart = np.outer(xs + right <= hole[0], np.ones(len(ys), bool))
        apart |= np.outer(xs + left >= hole[1], np.ones(len(ys), bool))
        apart |= np.outer(np.ones(len(xs), bool), ys + low >= 0)
        for a, b in zip(corners, np.roll(corners, -1, axis=0)):
            nx, ny = b[1] - a[1], a[0] - b[0]
            for d in ((nx, ny), (-nx, -ny)):
                if d[1] <= 0:  # the strip is bounded that way
                    reach = (corners @ np.array(d)).max()
                    least = min(d[0] * hole[0], d[0] * hole[1])
                    apart |= d[0] * xs[:, None] + d[1] * ys[None, :] + reach <= least
        free[k] = inside & apart
    labels, _ = ndimage.label(free, structure=np.ones((3, 3, 3)))

    def at(spot: tuple[float, float, float]) -> int:
        k = int(np.argmin(np.abs(angles - spot[2])))
        return int(labels[k, round((spot[0] - x0) / GRID), round((spot[1] - y0) / GRID)])

    return at(start) != 0 and at(start) in {at(end) for end in ends}


def _round_a_corner(long: float, thick: float, a: float, b: float) -> bool:
    arm = long + 0.3
    angles = np.linspace(0, math.pi, 2 * TURN - 1)
    return _can_move(
        long, thick, box=(0.0, -arm, a + arm, b), hole=(a, 100.0), angles=angles,
        start=(a / 2, -arm + long / 2 + 0.1, math.pi / 2),
        ends=[(a + arm - long / 2 - 0.1, b / 2, 0.0), (a + arm - long / 2 - 0.1, b / 2, math.pi)],
    )  # fmt: skip


@pytest.mark.parametrize(
    ("thick", "a", "b"), [(0.3, 0.9, 0.9), (0.5, 0.9, 1.2), (0.6, 1.2, 0.9), (0.7, 1.0, 1.1)]
)
def test_a_corner_against_a_search_of_all_positions(thick: float, a: float, b: float) -> None:
    long = longest_round_corner(thick, before=a, after=b)
    assert long > max(a, b)
    assert _round_a_corner(long - 0.1, thick, a, b)
    assert not _round_a_corner(long + 0.08, thick, a, b)


@pytest.mark.parametrize(
    ("long", "thick", "width", "landing", "well"),
    [
        (1.5, 0.5, 1.0, 1.0, 0.1),
        (1.9, 0.4, 1.0, 1.1, 0.2),
        (2.3, 0.4, 1.0, 1.1, 0.2),
        (2.2, 0.75, 1.2, 1.3, 0.1),
        (1.7, 0.9, 1.1, 1.2, 0.1),
        (1.15, 0.8, 1.0, 1.2, 0.1),
    ],
)
def test_a_half_landing_against_a_search(
    long: float, thick: float, width: float, landing: float, well: float
) -> None:
    step = DeliveryStep(
        kind="stair turn", turn="half", width=width, after=landing, well=well, height=9.9
    )
    # upright only: the height is out of reach of any other way up
    found = [c for c in carries((long, thick, 8.9), step=step) if c.words == "upright"]
    gap = found[0].clearance
    total = 2 * width + well
    arm = long + 0.2
    angles = np.linspace(-math.pi / 2, 3 * math.pi / 2, 4 * TURN - 3)
    moves = _can_move(
        long, thick, box=(0.0, -arm, total, landing), hole=(width, width + well), angles=angles,
        start=(width / 2, -arm + long / 2 + 0.06, math.pi / 2),
        ends=[(total - width / 2, -arm + long / 2 + 0.06, turn)
              for turn in (-math.pi / 2, math.pi / 2, 3 * math.pi / 2)],
    )  # fmt: skip
    assert abs(gap) > 0.04, "too near for the grid"
    assert moves == (gap > 0)


@given(p=st.floats(0.1, 2.5), q=st.floats(0.1, 2.5), w=st.floats(0.3, 2.5), h=st.floats(0.3, 2.5))
@settings(max_examples=60)
def test_tilting_through_an_opening_against_sampling(
    p: float, q: float, w: float, h: float
) -> None:
    gap, angle = through_opening(p, second=q, width=w, height=h)
    psi = np.linspace(0, math.pi / 2, 20_001)
    gaps = np.minimum(w - p * np.cos(psi) - q * np.sin(psi), h - p * np.sin(psi) - q * np.cos(psi))
    assert gap == pytest.approx(gaps.max(), abs=3e-4)
    assert gap >= gaps.max() - 1e-9
    assert 0 <= angle <= math.pi / 2


@given(
    size=st.tuples(st.floats(0.3, 2.4), st.floats(0.2, 1.2), st.floats(0.2, 2.2)),
    a=st.floats(0.7, 1.6),
    b=st.floats(0.7, 1.6),
    h=st.floats(2.0, 3.0),
)
@settings(max_examples=25)
def test_leaning_round_a_corner_against_sampling(
    size: tuple[float, float, float], a: float, b: float, h: float
) -> None:
    step = DeliveryStep(kind="corner", width=a, after=b, height=h)
    best = max(one.clearance for one in carries(size, step=step))
    theta = np.linspace(0, math.pi / 2, 721)
    c, s = np.cos(theta), np.sin(theta)
    seen = -9.0
    for across in range(3):
        r, q = (size[k] for k in range(3) if k != across)
        for phi in np.linspace(0, math.pi / 2, 181):
            foot = r * math.cos(phi) + q * math.sin(phi)
            above = h - (r * math.sin(phi) + q * math.cos(phi))
            long, thick = max(foot, size[across]), min(foot, size[across])
            turned = (a * s + b * c - long * s * c - thick).min()
            slid = max(min(a - long, b - thick), min(a - thick, b - long))
            seen = max(seen, min(above, max(turned, slid)))
    assert best == pytest.approx(seen, abs=0.02)
    assert best >= seen - 1e-3


@given(
    size=st.tuples(st.floats(0.3, 2.4), st.floats(0.2, 1.2), st.floats(0.2, 2.2)),
    door=st.floats(0.7, 1.0),
)
@settings(max_examples=25)
def test_a_lift_against_sampling_of_turns_about_each_axis(
    size: tuple[float, float, float], door: float
) -> None:
    step = DeliveryStep(
        kind="lift", width=1.1, depth=1.4, height=2.2, door_width=door, door_height=2.0
    )
    best = max(one.clearance for one in carries(size, step=step))
    room = np.array((min(1.1, door), 1.4, 2.0))
    corners = np.array([(x, y, z) for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (-0.5, 0.5)])
    seen = -9.0
    for order in ((0, 1, 2), (0, 2, 1), (1, 0, 2), (1, 2, 0), (2, 0, 1), (2, 1, 0)):
        body = corners * [size[k] for k in order]
        for axis in range(3):
            one, two = (k for k in range(3) if k != axis)
            for turn in np.linspace(0, math.pi / 2, 361):
                c, s = math.cos(turn), math.sin(turn)
                turned = body.copy()
                turned[:, one] = body[:, one] * c - body[:, two] * s
                turned[:, two] = body[:, one] * s + body[:, two] * c
                seen = max(seen, float((room - np.ptp(turned, axis=0)).min()))
    assert best == pytest.approx(seen, abs=0.012)
    assert best >= seen - 1e-9


@given(
    size=st.tuples(st.floats(0.3, 2.6), st.floats(0.2, 1.2), st.floats(0.2, 2.2)),
    kind=st.sampled_from(["door", "lift", "corner", "quarter", "half", "flight"]),
)
@settings(max_examples=60)
def test_what_is_drawn_has_the_clearance_that_is_said(
    size: tuple[float, float, float], kind: str
) -> None:
    steps = {
        "door": DeliveryStep(kind="door", width=0.86, height=2.1),
        "flight": DeliveryStep(kind="flight", width=1.1, height=2.0),
        "lift": DeliveryStep(kind="lift", width=1.1, depth=1.4, height=2.2, door_width=0.8),
        "corner": DeliveryStep(kind="corner", width=1.0, after=1.2, height=2.5),
        "quarter": DeliveryStep(kind="stair turn", width=1.0, after=1.0, height=2.4),
        "half": DeliveryStep(
            kind="stair turn", turn="half", width=1.0, after=1.1, well=0.1, height=2.4
        ),
    }
    for carry in carries(size, step=steps[kind]):
        free, body = Polygon(carry.free), Polygon(carry.body)
        assert free.is_valid
        assert body.is_valid
        assert body.area > 0
        if carry.clearance > 1e-6:
            assert body.difference(free).area < 1e-6, carry.words
        assert LineString(carry.line).length >= min(carry.clearance, 0.0)


def test_a_corner_slides_or_turns() -> None:
    gap, turn = corner_clearance(1.1, depth=0.8, before=0.9, after=1.2)
    assert turn is None
    assert gap == pytest.approx(0.1)
    gap, turn = corner_clearance(2.0, depth=0.3, before=1.0, after=1.0)
    assert turn == pytest.approx(math.pi / 4, abs=0.01)
    assert gap == pytest.approx(math.sqrt(2) - 2 / 2 - 0.3, abs=1e-6)
    assert longest_round_corner(1.0, before=0.9, after=1.2) == 0.0


def test_the_easiest_carry_comes_first() -> None:
    door = DeliveryStep(kind="door", width=0.9, height=2.1)
    assert best_carry((0.8, 0.6, 1.8), step=door).words.startswith("upright")
    assert best_carry((2.2, 0.95, 0.78), step=door).words == "on its back"
    # only tilted does a deep one pass a low, narrow hatch
    hatch = DeliveryStep(kind="door", width=1.0, height=1.05)
    tilted = best_carry((2.0, 1.2, 0.2), step=hatch)
    assert "tilted sideways" in tilted.words
    assert tilted.clearance > 0


def test_ways_by_lift_and_by_stair() -> None:
    steps = [
        DeliveryStep(kind="door", name="street door", width=0.95, height=2.1, known=SURE),
        DeliveryStep(
            kind="lift", name="lift", way="lift", width=1.0, depth=1.2, height=2.1,
            door_width=0.8, known=SURE,
        ),
        DeliveryStep(
            kind="stair turn", name="landing", way="stair", width=1.2, after=1.2, height=2.6,
            known=SURE,
        ),
    ]  # fmt: skip
    small = Piece(name="chest", kind="chest of drawers", size=(0.7, 0.45, 0.9), known=SURE)
    large = Piece(name="sofa", kind="sofa", size=(2.3, 0.95, 0.8), known=SURE)
    assert deliver(small, steps=steps).best.name == "lift"
    found = deliver(large, steps=steps)
    assert found.best.name == "stair"
    assert found.verdict == "passes"
    assert "not by lift" in found.sentence
    assert [place.name for place in found.best.places] == ["street door", "landing"]
    assert pickle.loads(pickle.dumps(found)).sentence == found.sentence


def test_what_would_have_to_come_off() -> None:
    door = DeliveryStep(kind="door", name="flat door", width=0.72, height=2.0, known=SURE)
    sofa = Piece(
        name="sofa, grey", kind="sofa", size=(2.2, 0.95, 0.80), packed=(2.3, 1.0, 0.86), known=SURE
    )
    found = deliver(sofa, steps=[door])
    assert found.verdict == "fails"
    assert found.packed
    assert "missing at the flat door" in found.sentence
    words = {one.what: one.verdict for one in found.off}
    # 0.80 less its feet of 0.10 leaves 20 mm; the leaf gives 40 mm more
    assert "the packing and the feet and the leaf of the door" in words
    assert words["the packing and the feet"] == "passes"
    assert "the packing" not in words
    assert found.sentence.endswith("it would with the packing and the feet off.")
    assert "the leaf" not in found.off[0].what


def test_a_margin_smaller_than_the_plus_minus_is_measured_first() -> None:
    door = DeliveryStep(kind="door", name="flat door", width=0.80, height=2.0, known=SURE)
    sofa = Piece(name="sofa", kind="sofa", size=(2.2, 0.95, 0.77), known=Known(source="seller"))
    found = deliver(sofa, steps=[door])
    assert found.verdict == "measure first"
    assert found.sentence.startswith("Measure the flat door and the piece first")


def test_a_rug_is_rolled() -> None:
    rug = Piece(name="rug", kind="rug", size=(3.0, 2.0, 0.012))
    long, round_, _ = carried_size(rug)
    assert long == 2.0
    # the roll has the area of the edge: π/4 d² = 3.0 × 0.012
    assert math.pi / 4 * round_**2 == pytest.approx(3.0 * 0.012)


@pytest.mark.parametrize(
    ("step", "message"),
    [
        (DeliveryStep(kind="corner", width=1.0, height=2.4), "after of corner = nothing"),
        (DeliveryStep(kind="lift", width=1.0, height=2.4, depth=1.2), "door_width of lift"),
        (DeliveryStep(kind="door", width=-1.0, height=2.0), "width of door = -1.0"),
        (DeliveryStep(kind="door", width=math.nan, height=2.0), "width of door = nan"),
        (DeliveryStep(kind="hatch", width=1.0, height=2.0), "kind of hatch"),  # type: ignore[arg-type]
    ],
)
def test_a_step_without_its_lengths_is_refused(step: DeliveryStep, message: str) -> None:
    chest = Piece(name="chest", kind="chest of drawers", size=(0.7, 0.45, 0.9))
    with pytest.raises(InputError, match=message):
        deliver(chest, steps=[step])


def test_no_way_is_asked_back() -> None:
    chest = Piece(name="chest", kind="chest of drawers", size=(0.7, 0.45, 0.9))
    with pytest.raises(InputError, match="walk the way with a tape"):
        deliver(chest, steps=[])
    with pytest.raises(InputError, match="width, depth, height above 0 m"):
        carries((1.0, 0.0, 1.0), step=DeliveryStep(kind="door", width=1.0, height=2.0))


def test_the_demo_sofa_goes_by_the_stair() -> None:
    home = read(shipped.shipped("data/harbour-flat")).project.home
    found = deliver(home.pieces["sofa"], steps=home)
    assert found.best.name == "stair"
    assert found.verdict == "passes"
    # 0.86 m of front door less 0.80 m of packed sofa
    assert found.best.tightest.name == "front door"
    assert found.best.tightest.clearance == pytest.approx(0.06)
    for way in found.ways:
        assert way.tightest in way.places
