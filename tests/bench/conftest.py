"""A fixed calibration loop, so that timings can be compared between machines."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import pytest


def _loop() -> float:
    start = time.perf_counter()
    total = 0
    for i in range(200_000):
        total += i * i % 7
    assert total > 0
    return time.perf_counter() - start


@pytest.fixture(scope="session")
def calibration() -> float:
    """Median seconds of the loop on this machine."""
    return statistics.median(_loop() for _ in range(15))


@pytest.fixture
def report(calibration: float) -> Callable[..., None]:
    """Print a median and a 95th percentile as milliseconds and as multiples of the loop."""

    def say(what: str, seconds: list[float], *, goal: str = "") -> None:
        assert seconds, what
        ordered = sorted(seconds)
        p50 = statistics.median(ordered)
        p95 = ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]
        print(
            f"\n{what}: median {p50 * 1000:.1f} ms ({p50 / calibration:.2f} loops), "
            f"p95 {p95 * 1000:.1f} ms, n {len(ordered)}" + (f"; goal {goal}" if goal else "")
        )

    return say
