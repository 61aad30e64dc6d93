"""A fixed calibration loop, so that timings can be compared between machines.

``pytest -m bench`` ends with a table: median and 95th percentile in
milliseconds, the median as a multiple of the loop, and what it should be.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import pytest

_rows: list[tuple[str, str, str, str, str, str]] = []
_HEAD = ("what", "median ms", "loops", "p95 ms", "n", "goal")


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
    found = statistics.median(_loop() for _ in range(15))
    _rows.append(("one calibration loop", f"{found * 1000:.1f}", "1.00", "", "15", ""))
    return found


@pytest.fixture
def report(calibration: float) -> Callable[..., None]:
    """Take a row for the table: what was timed, its seconds, what it should be."""

    def say(what: str, seconds: list[float], *, goal: str = "") -> None:
        assert seconds, what
        ordered = sorted(seconds)
        p50 = statistics.median(ordered)
        p95 = ordered[min(len(ordered) - 1, int(0.95 * len(ordered)))]
        _rows.append(
            (
                what,
                f"{p50 * 1000:,.1f}",
                f"{p50 / calibration:.2f}",
                f"{p95 * 1000:,.1f}",
                str(len(ordered)),
                goal,
            )
        )

    return say


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if not _rows:
        return
    terminalreporter.section("bench")
    wide = max(len(row[0]) for row in _rows)
    for what, p50, loops, p95, n, goal in [_HEAD, *_rows]:
        line = f"{what:{wide}}  {p50:>10}  {loops:>8}  {p95:>10}  {n:>3}  {goal}"
        terminalreporter.write_line(line.rstrip())
