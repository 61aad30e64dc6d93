"""Scenarios: named changes to the lines as drawn, or to another scenario.

A change swaps a line for one of its alternatives, changes its quantity or its
price, leaves it out, or moves it to next year. Each says itself in words.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from designkit.costs.lines import Counted, drawn
from designkit.costs.money import money_text
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import CostLine, Scenario, ScenarioChange

__all__ = ["Changed", "Resolved", "chain", "choices", "resolve"]


@dataclass(frozen=True, kw_only=True)
class Changed:
    """What a scenario changes about one line, in words."""

    slot: str  # the line as drawn
    line: str  # the line that counts now; "" when it is left out
    words: tuple[str, ...]
    categories: tuple[str, ...]  # where it shows


@dataclass(frozen=True, kw_only=True, eq=False)
class Resolved:
    """The lines that count in a scenario, and what differs from the drawing."""

    id: str
    name: str
    note: str
    counted: tuple[Counted, ...]
    changes: tuple[Changed, ...]


def choices(lines: Iterable[CostLine]) -> dict[str, tuple[CostLine, ...]]:
    """For each line as drawn, itself and its alternatives.

    Parameters
    ----------
    lines : iterable of CostLine
        All lines.

    Returns
    -------
    dict of str to tuple of CostLine
        Keyed by the id of the line as drawn, which comes first.
    """
    found: dict[str, list[CostLine]] = {}
    every = tuple(lines)
    for line in every:
        if not line.alternative_of:
            found[line.id] = [line]
    for line in every:
        if line.alternative_of in found:
            found[line.alternative_of].append(line)
    return {slot: tuple(members) for slot, members in found.items()}


def chain(scenario: str, *, scenarios: Mapping[str, Scenario]) -> tuple[str, ...]:
    """The scenarios that one starts from, the first one first.

    Parameters
    ----------
    scenario : str
        Scenario id; "" for the lines as drawn.
    scenarios : mapping of str to Scenario
        All scenarios.

    Returns
    -------
    tuple of str
        Ids, the scenario itself last.

    Raises
    ------
    LookupFailed
        A scenario is not there.
    InputError
        Scenarios start from each other in a ring.
    """
    found: list[str] = []
    name, asked_by = scenario, ""
    while name:
        if name not in scenarios:
            near = nearest(name, scenarios)
            raise LookupFailed(
                f"scenarios.{asked_by}.start" if asked_by else "scenario",
                given=name,
                allowed=", ".join(scenarios) or "no scenario is written yet",
                mend=f"write {near}" if near else "use one of these, or leave it empty",
            )
        if name in found:
            ring = [*found[found.index(name) :], name]
            raise InputError(
                f"scenarios.{asked_by}.start",
                given=" starts from ".join(ring),
                allowed="scenarios that do not start from each other in a ring",
                mend=f"leave the start of {asked_by} empty",
            )
        found.append(name)
        name, asked_by = scenarios[name].start, name
    return tuple(reversed(found))


def plain_number(number: Decimal) -> str:
    """A quantity as it is said: 4, 2.5, never 4.0 or 4E+1."""
    text = f"{number.normalize():f}"
    return text.replace("-", "−")


def _moved(line: CostLine, likely: Decimal) -> CostLine:
    """The line at another likely price; a range that was given moves along."""
    if not line.likely:
        return replace(line, likely=likely, low=None, high=None)
    share = likely / line.likely
    if share < 0:
        return replace(line, likely=likely, low=None, high=None)
    return replace(
        line,
        likely=likely,
        low=None if line.low is None else line.low * share,
        high=None if line.high is None else line.high * share,
    )


class _State:
    """The lines of a scenario while its changes are made."""

    def __init__(self, lines: tuple[CostLine, ...], code: str) -> None:
        self.by_id = {line.id: line for line in lines}
        self.code = code
        self.counted: dict[str, Counted | None] = {x.slot: x for x in drawn(lines)}
        self.words: dict[str, dict[str, str]] = {}
        self.left_out: dict[str, CostLine] = {}

    def slot_of(self, change: ScenarioChange, where: str) -> str:
        if change.line not in self.by_id:
            near = nearest(change.line, self.by_id)
            raise LookupFailed(
                f"{where}, line",
                given=change.line,
                allowed=f"the id of a cost line{f'; nearest: {near}' if near else ''}",
                mend="write the id of the line that changes",
            )
        line = self.by_id[change.line]
        slot = line.alternative_of or line.id
        now = self.counted.get(slot)
        if now is None or (line.alternative_of and now.line.id != line.id):
            instead = f"{now.line.id} counts there" if now else "the line is left out there"
            raise InputError(
                f"{where}, line",
                given=change.line,
                allowed="a line that counts in the scenario it starts from",
                mend=f"{instead}: change that, or take this change out",
            )
        return slot

    def apply(self, change: ScenarioChange, where: str) -> None:
        slot = self.slot_of(change, where)
        now = self.counted[slot]
        assert now is not None
        words = self.words.setdefault(slot, {})
        numbers = (change.quantity, change.likely, change.year)
        if not change.to and not change.drop and all(number is None for number in numbers):
            raise InputError(
                where,
                given=f"a change of {change.line} that changes nothing",
                allowed="to, quantity, likely, year or drop",
                mend="say what changes, or take it out",
            )
        if change.drop:
            if change.to or change.quantity is not None or change.likely is not None:
                raise InputError(
                    where,
                    given=f"{change.line} is left out and changed",
                    allowed="one of the two",
                    mend="take drop out, or the rest",
                )
            self.left_out[slot] = now.line
            self.counted[slot] = None
            words.clear()
            words["line"] = change.text or f"without {now.line.item}"
            return
        said = False
        if change.to:
            now = replace(now, line=self.target(change, slot, where))
            words.clear()
            first = self.by_id[slot]
            if now.line.id != slot:
                words["line"] = change.text or f"{now.line.item}, not {first.item}"
                said = True
        if change.quantity is not None:
            if not change.quantity.is_finite() or change.quantity <= 0:
                raise InputError(
                    f"{where}, quantity",
                    given=change.quantity,
                    allowed="> 0",
                    mend="write drop = true to leave the line out",
                )
            before = now.line.quantity
            now = replace(now, line=replace(now.line, quantity=change.quantity))
            unit = "" if now.line.unit == "piece" else f" {now.line.unit}"
            words["quantity"] = (not said and change.text) or (
                f"{now.line.item}: {plain_number(change.quantity)}{unit}, "
                f"not {plain_number(before)}"
            )
            said = True
        if change.likely is not None:
            if not change.likely.is_finite():
                raise InputError(
                    f"{where}, likely",
                    given=change.likely,
                    allowed="a finite number",
                    mend="write the price",
                )
            code = now.line.currency or self.code
            old = money_text(now.line.likely, code=code)
            new = money_text(change.likely, code=code)
            now = replace(now, line=_moved(now.line, change.likely))
            words["likely"] = (not said and change.text) or f"{now.line.item} at {new}, not {old}"
            said = True
        if change.year is not None:
            if change.year < 1:
                raise InputError(
                    f"{where}, year",
                    given=change.year,
                    allowed="1 (this year) or 2 (next year)",
                    mend="write 2 to pay it next year",
                )
            now = replace(now, year=change.year)
            words.pop("year", None)
            if change.year > 1:
                words["year"] = (not said and change.text) or f"{now.line.item} next year"
        self.counted[slot] = now

    def target(self, change: ScenarioChange, slot: str, where: str) -> CostLine:
        if change.to not in self.by_id:
            near = nearest(change.to, self.by_id)
            raise LookupFailed(
                f"{where}, to",
                given=change.to,
                allowed=f"the id of a cost line{f'; nearest: {near}' if near else ''}",
                mend="write the id of the line that replaces it",
            )
        line = self.by_id[change.to]
        if (line.alternative_of or line.id) != slot:
            raise InputError(
                f"{where}, to",
                given=change.to,
                allowed=f"{slot} or an alternative of it",
                mend=f"write alternative_of = {slot} on the line {change.to}",
            )
        return line


def resolve(
    lines: Iterable[CostLine],
    *,
    scenario: str = "",
    scenarios: Mapping[str, Scenario] | None = None,
    code: str = "EUR",
) -> Resolved:
    """The lines that count in a scenario, with its changes in words.

    Parameters
    ----------
    lines : iterable of CostLine
        All lines, alternatives too.
    scenario : str
        Scenario id; "" for the lines as drawn.
    scenarios : mapping of str to Scenario, optional
        All scenarios.
    code : str
        The project's currency, for the words.

    Returns
    -------
    Resolved
        In the order of the lines as drawn.

    Raises
    ------
    LookupFailed
        A scenario or a line that a change names is not there.
    InputError
        Scenarios form a ring; a change swaps a line that does not count, or
        for one that is not its alternative; or it changes nothing.
    """
    every = tuple(lines)
    known = scenarios or {}
    state = _State(every, code)
    for name in chain(scenario, scenarios=known):
        for number, change in enumerate(known[name].changes, start=1):
            state.apply(change, f"scenarios.{name}, change {number}")
    changes = []
    for slot, words in state.words.items():
        if not words:
            continue
        now = state.counted[slot]
        before = state.by_id[slot].category
        after = before if now is None else now.line.category
        changes.append(
            Changed(
                slot=slot,
                line="" if now is None else now.line.id,
                words=tuple(dict.fromkeys(words.values())),
                categories=tuple(dict.fromkeys((before, after))),
            )
        )
    return Resolved(
        id=scenario,
        name=known[scenario].name if scenario else "As drawn",
        note=known[scenario].note if scenario else "",
        counted=tuple(x for x in state.counted.values() if x is not None),
        changes=tuple(changes),
    )
