"""How long proposals take: medians, and multiples of a calibration loop in the same process.

Run with ``-m bench``; nothing is asserted about time. The numbers to reach are
printed beside what was measured.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "unit"))

from layouts_sample import every

from designkit.plan.layouts import kernels, propose
from designkit.plan.layouts.options import Progress

pytestmark = pytest.mark.bench


def calibration() -> float:
    """Processor seconds of a fixed loop: sorting and adding in numpy and in Python."""
    began = time.process_time()
    values = np.random.default_rng(1).random(200_000)
    for _ in range(10):
        values = np.sort(values)[::-1] * 1.0000001
    total = 0
    for k in range(400_000):
        total += k & 7
    assert total
    return time.process_time() - began


def share(times: list[float], most: float) -> float:
    return 100.0 * sum(t <= most for t in times) / len(times)


def quantile(times: list[float], q: float) -> float:
    return float(np.quantile(times, q))


def measure(*, fast: bool, nodes: int, count: int) -> dict[str, tuple[float, float, int, object]]:
    """Processor seconds to the first option and to all, by room."""
    out = {}
    for name, (where, space, pieces) in every().items():
        first: list[float] = []
        began = time.process_time()

        def note(p: Progress, began: float = began, first: list[float] = first) -> None:
            if p.best is not None and not first:
                first.append(time.process_time() - began)

        found = propose(
            where, pieces=pieces, space=space, fast=fast, nodes=nodes, count=count, progress=note
        )
        took = time.process_time() - began
        if found.options:
            out[name] = (first[0], took, len(pieces), found)
    return out


@pytest.mark.parametrize("fast", [False, True])
def test_first_and_five_options(fast: bool, capsys: pytest.CaptureFixture[str]) -> None:
    if fast and not kernels.available():
        pytest.skip("numba, the extra fast, is not installed")
    measure(fast=fast, nodes=5, count=1)  # compiles
    unit = calibration()
    firsts = [row[0] for row in measure(fast=fast, nodes=50, count=1).values()]
    fives = [row[1] for row in measure(fast=fast, nodes=300, count=5).values()]
    assert len(firsts) == len(fives) > 0  # whoever has a first option has others, or one
    engine = "numba" if fast else "numpy"
    first, five = statistics.median(firsts), statistics.median(fives)
    with capsys.disabled():
        print(f"\n{engine}, {len(fives)} rooms, calibration loop {unit:.3f} s of processor")
        print(f"  first option, median {first:.2f} s = {first / unit:.1f} loops")
        print(
            f"  five options, median {five:.2f} s = {five / unit:.1f} loops, "
            f"p95 {quantile(fives, 0.95):.2f} s, most {max(fives):.2f} s"
        )


def test_proofs(capsys: pytest.CaptureFixture[str]) -> None:
    if not kernels.available():
        pytest.skip("numba, the extra fast, is not installed")
    measure(fast=True, nodes=5, count=1)
    rows = measure(fast=True, nodes=200_000, count=5)
    assert rows
    with capsys.disabled():
        print("\nnumba, five options each proven, processor seconds")
        for low, high, limit in ((1, 7, 2.0), (8, 8, 5.0), (9, 14, 10.0)):
            some = {n: r for n, r in rows.items() if low <= r[2] <= high}
            if not some:
                continue
            times = [r[1] for r in some.values()]
            proven = sum(all(o.proven for o in r[3].options) for r in some.values())  # type: ignore[attr-defined]
            print(
                f"  {low}-{high} pieces: {len(some)} rooms, all options proven in {proven}, "
                f"within {limit:g} s in {share(times, limit):.0f} %, median "
                f"{statistics.median(times):.2f} s, most {max(times):.2f} s"
            )


FILL = ("side_table", "plant", "lamp", "bookcase", "chest", "armchair")


def nine_and_ten() -> dict[str, tuple[object, str, list[str], bool]]:
    """Rooms of nine or ten pieces, and those of six to nine filled up; whether as written."""
    out = {}
    for name, (where, space, pieces) in every().items():
        for n in (9, 10):
            more = [p for p in FILL if p in where.pieces and p not in pieces]
            filled = [*pieces, *more[: max(0, n - len(pieces))]]
            if 6 <= len(pieces) <= n == len(filled):
                out[f"{name}, {n}"] = (where, space, filled, filled == pieces)
    return out


def test_gap_of_nine_and_ten_pieces_after_two_seconds(capsys: pytest.CaptureFixture[str]) -> None:
    """The certificate's gap of the best option when the search is stopped at 2 s of processor."""
    if not kernels.available():
        pytest.skip("numba, the extra fast, is not installed")
    measure(fast=True, nodes=5, count=1)
    found: dict[float, dict[str, float]] = {}
    for limit in (2.0, 10.0):
        gaps = found[limit] = {}
        for name, (where, space, pieces, _) in nine_and_ten().items():
            if limit > 2.0 and found[2.0].get(name) == 0.0:
                gaps[name] = 0.0  # proven by then
                continue
            began = time.process_time()

            def over(began: float = began, limit: float = limit) -> bool:
                return time.process_time() - began > limit

            best = propose(where, pieces=pieces, space=space, count=1, nodes=10**9, stop=over)
            if best.options:
                gaps[name] = best.options[0].gap
    assert found[2.0]
    assert found[2.0].keys() <= found[10.0].keys()  # what is found by then is not lost
    with capsys.disabled():
        print("\nnumba, the best option of 9 and 10 pieces, gap of its certificate")
        for limit, gaps in found.items():
            for written in (True, False):
                some = {n: g for n, g in gaps.items() if nine_and_ten()[n][3] == written}
                small = share(list(some.values()), 0.02)
                proven = share(list(some.values()), 0.0)
                what = "as written" if written else "filled up"
                print(f"  after {limit:g} s, {len(some)} rooms {what}: gap at most 2 % in "
                      f"{small:.0f} %, proven in {proven:.0f} %; over 2 %: "
                      + (", ".join(f"{n} {100 * g:.0f} %" for n, g in some.items() if g > 0.02)
                         or "none"))  # fmt: skip
