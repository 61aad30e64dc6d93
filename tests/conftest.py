"""Shared set-up: derandomised Hypothesis, and the count of outside checks."""

from __future__ import annotations

import collections
import os
from collections.abc import Iterable

import hypothesis
import pytest
from lab_fixtures import browser, lab, study

__all__ = ["browser", "lab", "study"]

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is imported
hypothesis.settings.register_profile("fixed", derandomize=True, deadline=None)
hypothesis.settings.load_profile("fixed")

_passed: dict[str, set[str]] = collections.defaultdict(set)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterable[None]:
    report = yield
    if report.when == "call" and report.passed:
        for mark in item.iter_markers("reference"):
            for name in mark.args:
                _passed[mark.kwargs["of"]].add(name)
    return report


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if not _passed:
        return
    terminalreporter.section("checked against something outside the project")
    for module in sorted(_passed):
        names = sorted(_passed[module])
        terminalreporter.write_line(f"{module} {len(names)}: {' '.join(names)}")
    every = set().union(*_passed.values())
    terminalreporter.write_line(f"distinct reference ids: {len(every)}")
