"""Work that must wait: sampling, the final measure, and the order of trades.

A gate is not advice. Nothing that disturbs an old surface is scheduled before
a sample and its written result, and no drapery cloth is cut before the final
measure. A building of unknown year counts as old.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping, Sequence
from decimal import Decimal

from designkit.model import Building, Finding, Scope, Task
from designkit.reference import table, value
from designkit.reference.buildings import counts_as_old
from designkit.schedule.network import network

__all__ = ["check_order", "is_about", "stage_of", "with_gates"]


@functools.cache
def _rows() -> list[dict[str, str]]:
    return table("work-order")


def is_about(task: Task, word_class: str) -> bool:
    """Whether a task is of a class of the table work-order.

    Parameters
    ----------
    task : Task
        From tasks.csv. A column named `stage` there decides before its words.
    word_class : str
        "sample", "disturb", "measure", "cut" or a stage of the work.

    Returns
    -------
    bool
        True where the task's words are of the class.

    Examples
    --------
    >>> is_about(Task(id="t", task="Sand the floor", likely=Decimal(2)), "disturb")
    True
    """
    if word_class == "disturb" and task.more.get("disturbs", "").strip().lower() in ("yes", "no"):
        return task.more["disturbs"].strip().lower() == "yes"
    text = f" {task.task.lower()} "
    for row in _rows():
        if row["class"] == word_class:
            words = [w.strip() for w in row["words"].split("|") if w.strip()]
            unless = [w.strip() for w in row["unless"].split("|") if w.strip()]
            return any(w in text for w in words) and not any(w in text for w in unless)
    return False


def stage_of(task: Task) -> int | None:
    """Place of a task in the usual order of work (P18), from 1 on.

    Parameters
    ----------
    task : Task
        From tasks.csv. A column named `stage` decides before its words.

    Returns
    -------
    int or None
        None where the words say nothing.
    """
    rows = [r for r in _rows() if r["stage"]]
    named = task.more.get("stage", "").strip().lower()
    for row in rows:
        if named and named == row["class"]:
            return int(row["stage"])
    for row in rows:
        if is_about(task, row["class"]):
            return int(row["stage"])
    return None


def _stage_name(stage: int) -> str:
    return next(r["class"] for r in _rows() if r["stage"] == str(stage))


def _ancestors(tasks: Sequence[Task]) -> dict[str, set[str]]:
    """For each task all that must be done before it."""
    before: dict[str, set[str]] = {}
    for id, step in network(tasks).steps.items():
        before[id] = set(step.task.after)
        for one in step.task.after:
            before[id] |= before[one]
    return before


def check_order(
    tasks: Sequence[Task],
    *,
    building: Building,
    scopes: Mapping[str, Scope] | None = None,
    overrides: Mapping[str, float] | None = None,
) -> tuple[Finding, ...]:
    """Gates that are missing and work in an unusual order.

    Parameters
    ----------
    tasks : sequence of Task
        Rows of tasks.csv.
    building : Building
        Year and sampling.
    scopes : mapping of str to Scope, optional
        All work of a trade whose scope disturbs old surfaces counts as
        disturbing, unless the task's column `disturbs` says no.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of Finding
        Safety first; empty where nothing is to be said.

    Raises
    ------
    InputError
        No task, a ring of tasks, or an id twice.
    LookupFailed
        A task waits for one that is not there.
    """
    before = _ancestors(tasks)
    by_id = {t.id: t for t in tasks}
    found: list[Finding] = []
    trades = {s.trade for s in (scopes or {}).values() if s.disturbs_old_surface} - {""}

    if counts_as_old(building, overrides=overrides):
        year = "unknown year, counts as old" if building.year is None else f"{building.year}"
        for task in tasks:
            by_trade = task.trade in trades and task.more.get("disturbs", "").lower() != "no"
            if is_about(task, "sample") or not (by_trade or is_about(task, "disturb")):
                continue
            samples = [b for b in sorted(before[task.id]) if is_about(by_id[b], "sample")]
            done = building.sampled == "yes"
            if done or samples:
                why = f"building: {year}; sampled: {building.sampled}; " + (
                    f"waits for {', '.join(samples)}" if samples else "the result is there"
                )
            else:
                why = f"building: {year}; no task with a sample and written result comes before"
            found.append(
                Finding(
                    what=f"{task.task}: sample and written result first",
                    measured=None,
                    required=None,
                    unit="",
                    verdict="passes" if done else ("measure first" if samples else "fails"),
                    severity="safety",
                    rule="schedule.old_before",
                    why=why,
                    mend="keep the written result at hand; where it found asbestos or lead, "
                    "licensed removal comes first"
                    if done
                    else (
                        "wait for the written result; where asbestos or lead is found, licensed "
                        "removal; local rules decide"
                        if samples
                        else "put a task 'sample and written result' before it"
                    ),
                    about=(task.id,),
                )
            )

    for task in tasks:
        if not is_about(task, "cut"):
            continue
        measures = [b for b in sorted(before[task.id]) if is_about(by_id[b], "measure")]
        found.append(
            Finding(
                what=f"{task.task}: final measure first",
                measured=None,
                required=None,
                unit="",
                verdict="passes" if measures else "fails",
                severity="tight",
                rule="schedule.order",
                why=f"waits for {', '.join(measures)}"
                if measures
                else "no final measure comes before the cloth is cut",
                mend=""
                if measures
                else "put a task 'final measure' before it, after floor and track",
                about=(task.id,),
            )
        )

    stages = {t.id: stage_of(t) for t in tasks}
    for task in tasks:
        mine = stages[task.id]
        if mine is None:
            continue
        for earlier in sorted(before[task.id], key=list(by_id).index):
            other = stages[earlier]
            if other is not None and other > mine:
                found.append(
                    Finding(
                        what=f"{by_id[earlier].task} comes before {task.task}",
                        measured=None,
                        required=None,
                        unit="",
                        verdict="fails",
                        severity="inconvenient",
                        rule="schedule.order",
                        why=f"usual order: {_stage_name(mine)} ({mine}) before "
                        f"{_stage_name(other)} ({other})",
                        mend="turn the two round, or say in the notes why not",
                        about=(earlier, task.id),
                    )
                )
    order = {"safety": 0, "tight": 1, "inconvenient": 2}
    return tuple(sorted(found, key=lambda f: order.get(f.severity, 3)))


def with_gates(
    tasks: Sequence[Task],
    *,
    building: Building,
    scopes: Mapping[str, Scope] | None = None,
    overrides: Mapping[str, float] | None = None,
) -> tuple[Task, ...]:
    """The tasks with the gates that were missing, so that dates come out true.

    Parameters
    ----------
    tasks : sequence of Task
        Rows of tasks.csv.
    building : Building
        Year and sampling.
    scopes : mapping of str to Scope, optional
        All work of a trade whose scope disturbs old surfaces counts as
        disturbing, unless the task's column `disturbs` says no.
    overrides : mapping of str to float, optional
        The project's own values.

    Returns
    -------
    tuple of Task
        Added tasks carry `more["added"] = "gate"`: a sample with the wait for
        its result (`schedule.sample.weeks`) before the first work that
        disturbs an old surface, and a final measure before drapery is cut.

    Raises
    ------
    InputError
        No task, a ring of tasks, or an id twice.
    LookupFailed
        A task waits for one that is not there.
    """
    missing = [
        f
        for f in check_order(tasks, building=building, scopes=scopes, overrides=overrides)
        if f.verdict == "fails"
    ]
    disturbing = {f.about[0] for f in missing if f.severity == "safety"}
    cutting = {f.about[0] for f in missing if f.severity == "tight"}
    ids = {t.id for t in tasks}

    def new(id: str) -> str:
        while id in ids:
            id += " gate"
        ids.add(id)
        return id

    result = list(tasks)

    def tie(targets: set[str], gate: Task) -> None:
        for index, task in enumerate(result):
            if task.id in targets:
                result[index] = dataclasses.replace(task, after=(*task.after, gate.id))
        result.insert(0, gate)

    if cutting:
        before = _ancestors(tasks)
        # The measure itself comes after the floor and the track that it measures to.
        floors = [
            t.id
            for t in tasks
            if is_about(t, "floor") and not any(c in before[t.id] for c in cutting)
        ]
        tie(
            cutting,
            Task(
                id=new("final measure"),
                task="Final measure for drapery",
                likely=Decimal("0.5"),
                after=tuple(floors),
                more={"added": "gate"},
            ),
        )
    if disturbing:
        weeks = value("schedule.sample.weeks", overrides)
        tie(
            disturbing,
            Task(
                id=new("sample"),
                task="Sample taken, written result",
                likely=Decimal("0.5"),
                lead_weeks=Decimal(str(weeks)),
                more={"added": "gate"},
            ),
        )
    return tuple(result)
