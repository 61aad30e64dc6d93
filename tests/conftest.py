"""Shared set-up: derandomised Hypothesis, the count of outside checks, the table of proofs.

``-m proof`` runs what is marked so and every Hypothesis test at `PROOF_TIMES`
its usual number of cases, and ends with a table: revision, seed, counts,
minutes. ``--proof-table FILE`` writes it. A proof test counts what it went
through with ``record_property("proof", (number, "what"))``.
``--hypothesis-seed N`` gives it fresh cases; without one they are derandomised.
"""

from __future__ import annotations

import collections
import datetime
import os
import platform
import re
import subprocess
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

import hypothesis
import pytest
from lab_fixtures import browser, lab, study

__all__ = ["browser", "lab", "study"]

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is imported
hypothesis.settings.register_profile("fixed", derandomize=True, deadline=None)
hypothesis.settings.load_profile("fixed")

PROOF_TIMES = 20
LATER = 10  # niceness of what runs beside the browser


@dataclass
class Proof:
    """One test function of the proof run."""

    passed: int = 0
    failed: int = 0
    seconds: float = 0.0
    counts: collections.Counter[str] = field(default_factory=collections.Counter)
    seed: str = "none: every case"


_passed: dict[str, set[str]] = collections.defaultdict(set)
_proofs: dict[str, Proof] = {}


def is_proof_run(config: pytest.Config) -> bool:
    return "proof" in config.option.markexpr and "not proof" not in config.option.markexpr


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--proof-table", metavar="FILE", help="write the table of -m proof here")


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Two for the whole of the tests; one process for a part of them, timings and proofs."""
    part = any(not word.startswith("-") for word in config.invocation_params.args)
    return 0 if part or "not bench" not in config.option.markexpr else min(2, os.cpu_count() or 1)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> object:
    """One browser and one JupyterLab at a time, in a process of their own; else file by file."""
    from xdist.scheduler import LoadScopeScheduling

    class ByFile(LoadScopeScheduling):
        # xdist_group marks do not reach the scheduler under pytest 9.2.
        def _split_scope(self, nodeid: str) -> str:
            return "browser" if "/browser/" in nodeid else nodeid.split("::")[0]

    return ByFile(config, log)


@pytest.hookimpl(tryfirst=True)  # before -m leaves out what has no mark
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    # The browser first: the longest queue, and so it has a process of its own.
    items.sort(key=lambda item: "browser" not in item.path.parts)
    if not is_proof_run(config):
        return
    seeded = config.getoption("hypothesis_seed", None) is not None
    for item in items:
        test = getattr(item, "obj", None)
        if test is None or not hypothesis.is_hypothesis_test(test):
            continue
        item.add_marker(pytest.mark.proof)
        usual = getattr(test, "_hypothesis_internal_use_settings", hypothesis.settings.default)
        if getattr(test, "proof_settings", None) is None:  # once for all its parameters
            test.proof_settings = hypothesis.settings(
                usual, max_examples=PROOF_TIMES * usual.max_examples, derandomize=not seeded
            )
            test._hypothesis_internal_use_settings = test.proof_settings


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Beside a browser, everything else waits its turn: a page must not be late for it."""
    worker = hasattr(item.config, "workerinput") and hasattr(os, "setpriority")
    if worker and "browser" not in item.path.parts:
        os.setpriority(os.PRIO_PROCESS, 0, max(LATER, os.getpriority(os.PRIO_PROCESS, 0)))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterable[None]:
    report = yield
    if report.when == "call" and report.passed:
        for mark in item.iter_markers("reference"):
            # On the report, so that it comes back from another process.
            report.user_properties += [("reference", [mark.kwargs["of"], n]) for n in mark.args]
    if is_proof_run(item.config):
        note_proof(item, report)
    return report


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.when == "call" and report.passed:
        for name, value in report.user_properties:
            if name == "reference":
                of, id = value
                _passed[of].add(id)


def note_proof(item: pytest.Item, report: pytest.TestReport) -> None:
    """Add one phase of one test to the table."""
    row = _proofs.setdefault(item.nodeid.split("[")[0], Proof())
    row.seconds += report.duration
    row.failed += report.failed
    if report.when != "call":
        return
    row.passed += report.passed
    for name, value in report.user_properties:
        if name == "proof":
            number, what = value
            row.counts[what] += number
    if hypothesis.is_hypothesis_test(getattr(item, "obj", None)):
        seed = item.config.getoption("hypothesis_seed", None)
        row.seed = "derandomised" if seed is None else str(seed)
        told = getattr(item, "hypothesis_statistics", "")
        row.counts["cases"] += sum(map(int, re.findall(r"(\d+) passing", told)))


def revision(root: Path) -> str:
    """The commit that the tree stands at, and whether it was changed since."""

    def git(*words: str) -> str:
        done = subprocess.run(
            ["git", "-C", str(root), *words],
            capture_output=True,
            text=True,
            env={**os.environ, "GIT_OPTIONAL_LOCKS": "0"},  # only looks
        )
        return done.stdout.strip() if done.returncode == 0 else ""

    found = git("rev-parse", "--short=10", "HEAD")
    if not found:
        return "no revision known"
    changed = git("status", "--porcelain", "--untracked-files=no")
    return f"{found}, with {len(changed.splitlines())} files changed since" if changed else found


def proof_table(config: pytest.Config) -> list[str]:
    """The table as Markdown."""
    seed = config.getoption("hypothesis_seed", None)
    seconds = sum(row.seconds for row in _proofs.values())
    failed = sum(row.failed for row in _proofs.values())
    lines = [
        "# What `pytest -m proof` went through",
        "",
        f"- revision: {revision(config.rootpath)}",
        f"- day: {datetime.date.today().isoformat()}; Python {platform.python_version()}, "
        f"Hypothesis {hypothesis.__version__}",
        f"- seed: {'derandomised (each test by its own text)' if seed is None else seed}",
        f"- Hypothesis tests at {PROOF_TIMES} times their usual number of cases",
        f"- {len(_proofs)} tests, {failed} failed, {seconds / 60:.1f} minutes",
        "",
        "| test | runs | failed | went through | seed | minutes |",
        "|---|---:|---:|---|---|---:|",
    ]
    for name, row in sorted(_proofs.items()):
        counts = ", ".join(f"{n:,} {what}" for what, n in sorted(row.counts.items()))
        lines.append(
            f"| {name.removeprefix('tests/')} | {row.passed + row.failed} | {row.failed} | "
            f"{counts or '–'} | {row.seed} | {row.seconds / 60:.2f} |"
        )
    return lines


def pytest_terminal_summary(
    terminalreporter: pytest.TerminalReporter, config: pytest.Config
) -> None:
    if _proofs:
        lines = proof_table(config)
        terminalreporter.section("proof")
        for line in lines:
            terminalreporter.write_line(line)
        target = config.getoption("proof_table")
        if target:
            Path(target).write_text("\n".join(lines) + "\n", encoding="utf-8")
    if not _passed:
        return
    terminalreporter.section("checked against something outside the project")
    for module in sorted(_passed):
        names = sorted(_passed[module])
        terminalreporter.write_line(f"{module} {len(names)}: {' '.join(names)}")
    every = set().union(*_passed.values())
    terminalreporter.write_line(f"distinct reference ids: {len(every)}")
