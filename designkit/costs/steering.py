"""The best set of alternatives under the cap, and what one more thousand buys.

Each line as drawn stands beside its alternatives. What a choice costs is a
whole number of minor units; what it is worth to the client is a whole number
of hundredths. With both whole, `designkit.costs.sets` finds the best set
exactly, and one list of sets answers every cap.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from typing import Literal

from designkit.costs.lines import Counted, PricedLine, price_checked, problems, raise_first
from designkit.costs.money import currency, money_text, rounded
from designkit.costs.scenarios import choices, resolve
from designkit.costs.sets import Sets, undominated
from designkit.costs.tables import Terms, sum_cells, whole_sum
from designkit.errors import InputError, LookupFailed, nearest
from designkit.model import CostLine, Project, ScenarioChange
from designkit.reference import value

__all__ = [
    "BestSet",
    "Choice",
    "Frontier",
    "FrontierStep",
    "Level",
    "best_set",
    "frontier",
    "priorities_of",
]

Level = Literal["lower", "as drawn", "same price", "higher", "left out"]

# A weight times a merit is counted to the hundredth, as people weigh things.
_HUNDREDTHS = 100
_MOST_WORTH = 10**6  # of one choice, so that sums of lists stay exact and short
_HELD = ("ordered", "paid")
_NAMED = 3  # things named in a sentence
_NAME_COLUMN = "choice"  # of costs.csv: the user's own name for an alternative


@dataclass(frozen=True, kw_only=True, eq=False)
class Choice:
    """One way to have a line."""

    slot: str  # the line as drawn
    line: str  # cost line id; "" when it is left out
    item: str
    level: Level
    name: str  # the user's own name for it, else the level
    cost: Decimal  # what it adds to the total, as the cap counts [currency]
    merit: float  # what it is worth, before the client's weight
    weight: float
    worth: int  # weight × merit [hundredths]


@dataclass(frozen=True, kw_only=True, eq=False)
class BestSet:
    """The set of choices that is worth most under the cap."""

    currency: str
    cap: Decimal
    fits: bool  # False: even the cheapest set is over the cap, and this is it
    choices: tuple[Choice, ...]  # one a line that can be chosen
    options: tuple[tuple[Choice, ...], ...]  # all ways to have each of them, as drawn first
    held: tuple[str, ...]  # lines that cannot: no alternative, ordered, paid, next year
    fixed: Decimal  # what the held lines come to
    total: Decimal  # fixed and chosen, line by line
    sheet: Decimal  # the same set as the budget sheet adds it
    worth: int  # of the chosen [hundredths]
    most: int  # worth of the best set without a cap [hundredths]
    changes: tuple[ScenarioChange, ...]  # against the lines as drawn
    words: tuple[str, ...]  # what changes, in words
    answer: str
    why: tuple[str, ...]
    rules: tuple[str, ...]

    @property
    def spare(self) -> Decimal:
        """Cap less total; negative is over. [currency]"""
        return self.cap - self.total


@dataclass(frozen=True, kw_only=True, eq=False)
class FrontierStep:
    """The best set at one cap, against the step below."""

    cap: Decimal
    total: Decimal
    worth: int
    better: tuple[str, ...]  # slots that gain
    worse: tuple[str, ...]  # slots that give way so that others gain
    words: str


@dataclass(frozen=True, kw_only=True, eq=False)
class Frontier:
    """What each step of money buys, from the cheapest set to the best."""

    currency: str
    step: Decimal
    cap: Decimal | None
    steps: tuple[FrontierStep, ...]
    answer: str  # what one more step buys at the cap


def priorities_of(project: Project) -> dict[str, float]:
    """What each line as drawn weighs to the client.

    What the brief gives under `priorities` counts. Else a line of a piece that
    the brief keeps, or that a wish names, weighs `costs.steer.weight.named`;
    every other line `costs.steer.weight.other`.

    Parameters
    ----------
    project : Project
        Its brief and its lines.

    Returns
    -------
    dict of str to float
        A weight for each line as drawn.
    """
    home = project.home
    named = set(home.brief.keeps)
    for wish in home.brief.wishes.values():
        named |= {wish.start, wish.end}
    named.discard("")
    high = value("costs.steer.weight.named", home.rules)
    low = value("costs.steer.weight.other", home.rules)
    given = home.brief.priorities
    return {
        line.id: float(given.get(line.id, high if line.piece in named else low))
        for line in project.costs
        if not line.alternative_of
    }


def _gone(project: Project) -> tuple[str, ...]:
    """What the brief weighs or could do without, and no line as drawn is any more."""
    brief = project.home.brief
    drawn = {line.id for line in project.costs if not line.alternative_of}
    named = dict.fromkeys((*brief.priorities, *brief.may_leave_out))
    return tuple(id for id in named if id not in drawn)


def _weights(project: Project, given: Mapping[str, float] | None) -> dict[str, float]:
    weights = priorities_of(project)
    for id, weight in (given or {}).items():
        if id not in weights:
            near = nearest(id, weights)
            raise LookupFailed(
                "priorities",
                given=id,
                allowed=f"the id of a line as drawn{f'; nearest: {near}' if near else ''}",
                mend="weigh the line as drawn; its alternatives share its weight",
            )
        if not math.isfinite(weight) or not 0 <= weight <= 100:
            raise InputError(
                f"priority of {id}", given=weight, allowed="0 to 100", mend="1 is usual, 0: no care"
            )
        weights[id] = float(weight)
    return weights


def _checked_weights(project: Project, given: Mapping[str, float] | None) -> dict[str, float]:
    """The brief's weights are held to the same range as those that are given here."""
    drawn = {line.id for line in project.costs if not line.alternative_of}
    kept = {id: w for id, w in project.home.brief.priorities.items() if id in drawn}
    return _weights(project, {**kept, **(given or {})})


def _cost(x: PricedLine, terms: Terms) -> Decimal:
    """What one line adds to the total with its own tax, contingency and fee."""
    code = terms.money.currency
    if x.line.kind == "fee":
        return (x.gross if terms.with_tax else x.net) if terms.with_fee else Decimal(0)
    total = x.gross if terms.with_tax else x.net
    for rate, tax in (
        (x.contingency, x.tax_rate),
        (terms.money.fee if terms.with_fee and x.in_fee else Decimal(0), terms.money.tax),
    ):
        part = rounded(x.net * rate, code=code)
        total += part + (rounded(part * tax, code=code) if terms.with_tax else Decimal(0))
    return total


class _Offer:
    """The lines of a project as slots with options, and what is held."""

    def __init__(
        self,
        project: Project,
        *,
        scenario: str,
        priorities: Mapping[str, float] | None,
        merits: Mapping[str, float] | None,
        may_leave_out: Collection[str] | None,
    ) -> None:
        home, every = project.home, project.costs
        if not every:
            raise InputError(
                "costs.csv", given="no line", allowed="one line or more", mend="write the first"
            )
        raise_first(problems(every, money=home.money))
        self.home = home
        self.code = home.money.currency
        self.unit = currency(self.code).unit
        brief = home.brief
        self.terms = Terms(
            money=home.money,
            with_tax=brief.budget_includes_tax,
            with_fee=brief.budget_includes_fee,
            spent=1.0,
        )
        self.old = tuple(id for id, piece in home.pieces.items() if piece.old)
        self.counted = resolve(
            every, scenario=scenario, scenarios=home.scenarios, code=self.code
        ).counted
        self.weights = _checked_weights(project, priorities)
        self.gone = _gone(project)
        self.merits = self._given_merits(every, merits)
        offers = choices(every)
        slots = {x.slot for x in self.counted}
        if may_leave_out is None:
            may_leave_out = [id for id in brief.may_leave_out if id in slots]
        for id in may_leave_out:
            if id not in slots:
                near = nearest(id, slots)
                raise LookupFailed(
                    "may_leave_out",
                    given=id,
                    allowed=f"the id of a line that counts{f'; nearest: {near}' if near else ''}",
                    mend="name the line as drawn",
                )
        self.slots: list[tuple[Choice, ...]] = []
        self.lines: dict[tuple[str, str], Counted] = {}
        self.held: list[Counted] = []
        self.fixed = Decimal(0)
        for now in self.counted:
            others = [x for x in offers[now.slot] if x.id != now.line.id]
            settled = now.line.status in _HELD or now.year > 1
            if settled or (not others and now.slot not in may_leave_out):
                self.held.append(now)
                if now.year == 1:
                    self.fixed += self._price(now)
                continue
            self.slots.append(self._options(now, others, now.slot in may_leave_out))

    def _given_merits(
        self, every: Sequence[CostLine], merits: Mapping[str, float] | None
    ) -> dict[str, float]:
        ids = {x.id for x in every}
        for id, merit in (merits or {}).items():
            if id not in ids:
                near = nearest(id, ids)
                raise LookupFailed(
                    "merits",
                    given=id,
                    allowed=f"the id of a cost line{f'; nearest: {near}' if near else ''}",
                    mend="name the line or the alternative",
                )
            if not math.isfinite(merit) or not -100 <= merit <= 100:
                raise InputError(
                    f"merit of {id}", given=merit, allowed="-100 to 100", mend="as drawn is 2"
                )
        return dict(merits or {})

    def _price(self, x: Counted) -> Decimal:
        # Alone on an invoice a line carries its own tax.
        money = replace(self.home.money, tax_per="line")
        priced = price_checked([x], money=money, old=self.old, overrides=self.home.rules)
        return _cost(priced[0], self.terms)

    def _options(
        self, now: Counted, others: Sequence[CostLine], may_go: bool
    ) -> tuple[Choice, ...]:
        rules = self.home.rules
        drawn_merit = value("costs.steer.merit.as_drawn", rules)
        here = self._price(now)
        costs = {x.id: self._price(Counted(line=x, slot=now.slot)) for x in others}
        cheaper = sorted((x for x in others if costs[x.id] < here), key=lambda x: costs[x.id])
        alike = [x for x in others if costs[x.id] == here]
        dearer = sorted((x for x in others if costs[x.id] > here), key=lambda x: costs[x.id])
        lower = value("costs.steer.merit.lower", rules)
        higher = value("costs.steer.merit.higher", rules)
        # Several alternatives on one side share the way to its end.
        merit = {x.id: drawn_merit for x in alike}
        for i, x in enumerate(cheaper):
            merit[x.id] = lower + (drawn_merit - lower) * i / len(cheaper)
        for i, x in enumerate(dearer, start=1):
            merit[x.id] = drawn_merit + (higher - drawn_merit) * i / len(dearer)
        weight = self.weights[now.slot]
        found = []
        # As drawn first: of equal sets the one nearest the drawing is taken.
        rows: list[tuple[CostLine | None, Level, Decimal, float]] = [
            (now.line, "as drawn", here, drawn_merit)
        ]
        rows += [(x, "same price", costs[x.id], merit[x.id]) for x in alike]
        rows += [(x, "lower", costs[x.id], merit[x.id]) for x in reversed(cheaper)]
        rows += [(x, "higher", costs[x.id], merit[x.id]) for x in dearer]
        if may_go:
            gone = value("costs.steer.merit.left_out", rules)
            rows.append((None, "left out", Decimal(0), gone))
        for line, level, cost, its in rows:
            own = its if line is None else self.merits.get(line.id, its)
            worth = int(
                (Decimal(repr(float(own))) * Decimal(repr(weight)) * _HUNDREDTHS).to_integral_value(
                    rounding=ROUND_HALF_UP
                )
            )
            assert abs(worth) <= _MOST_WORTH
            named = "" if line is None else line.more.get(_NAME_COLUMN, "").strip()
            found.append(
                Choice(
                    slot=now.slot,
                    line="" if line is None else line.id,
                    item=now.line.item if line is None else line.item,
                    level=level,
                    name=named or level,
                    cost=cost,
                    merit=float(own),
                    weight=weight,
                    worth=worth,
                )
            )
            if line is not None:
                counted = now if line.id == now.line.id else Counted(line=line, slot=now.slot)
                self.lines[now.slot, line.id] = counted
        return tuple(found)

    def minor(self, amount: Decimal) -> int:
        return int(amount / self.unit)

    def sets(self) -> Sets:
        return undominated(
            [[(self.minor(c.cost), c.worth) for c in options] for options in self.slots]
        )

    def place(self, sets: Sets, cap: Decimal) -> int:
        """The place of the best set under a cap; −1: none."""
        room = (cap - self.fixed).quantize(self.unit, rounding=ROUND_FLOOR)
        return sets.at(self.minor(room))

    def picked(self, sets: Sets, place: int) -> tuple[Choice, ...]:
        return tuple(options[i] for options, i in zip(self.slots, sets.options(place), strict=True))

    def on_sheet(self, chosen: Sequence[Choice]) -> Decimal:
        """The set as the budget adds it: tax, contingency and fee by heading."""
        taken = {c.slot: c.line for c in chosen}
        counted = []
        for x in self.counted:
            id = taken.get(x.slot, x.line.id)
            if id:
                counted.append(self.lines.get((x.slot, id), x))
        priced = price_checked(
            counted, money=self.home.money, old=self.old, overrides=self.home.rules
        )
        return whole_sum(sum_cells(priced, self.terms), self.terms, 1)


def _cap_of(project: Project, cap: Decimal | None) -> Decimal:
    cap = project.home.brief.budget if cap is None else cap
    if cap is None:
        raise InputError(
            "cap",
            given="nothing",
            allowed="> 0",
            mend="write brief.budget in project.toml, or give the cap",
        )
    if not cap.is_finite() or cap <= 0:
        raise InputError("cap", given=cap, allowed="> 0", mend="give the sum that may be spent")
    return cap


_RULES = (
    "costs.steer.weight.named",
    "costs.steer.weight.other",
    "costs.steer.merit.lower",
    "costs.steer.merit.as_drawn",
    "costs.steer.merit.higher",
    "costs.steer.merit.left_out",
)


def _said(choice: Choice, was: Choice, code: str) -> str:
    """One change in words, with what it saves or costs."""
    moved = choice.cost - was.cost
    amount = money_text(abs(moved), code=code)
    effect = f"{'costs' if moved > 0 else 'saves'} {amount}" if moved else "costs the same"
    if not choice.line:
        return f"without {was.item}: {effect}"
    if not was.line:
        return f"{choice.item}, {choice.name}: {effect}"
    return f"{choice.item}, not {was.item}: {effect}"


def best_set(
    project: Project,
    *,
    cap: Decimal | None = None,
    priorities: Mapping[str, float] | None = None,
    merits: Mapping[str, float] | None = None,
    may_leave_out: Collection[str] | None = None,
    scenario: str = "",
) -> BestSet:
    r"""The choices that are worth most to the client under the cap, exactly.

    .. math:: \max \sum_i w_i\,m_{i,c_i}
              \quad\text{with}\quad F + \sum_i k_{i,c_i} \le K

    The cap holds this year's sum with tax and fee as the brief says, and the
    whole contingency. Every line carries its own tax, contingency and fee,
    rounded line by line; a set is given only where the budget sheet, which
    rounds by heading, stays under the cap too. Of equal sets the cheaper is
    taken, then the one nearest the drawing, line by line from the first.

    Parameters
    ----------
    project : Project
        Lines, their alternatives (`alternative_of`) and the brief.
    cap : Decimal, optional
        What may be spent this year; by default the brief's budget. [currency]
    priorities : mapping of str to float, optional
        The client's weight w of a line as drawn; lines that are not in it
        keep the weight of :func:`priorities_of`.
    merits : mapping of str to float, optional
        What a line or an alternative is worth m. By default a cheaper one is
        worth less than the line as drawn and a dearer one more
        (`costs.steer.merit.*`); several on one side share the way evenly.
    may_leave_out : collection of str, optional
        Lines as drawn that the client could do without; by default the brief's.
    scenario : str, optional
        What counts as drawn; "" for the lines as drawn.

    Returns
    -------
    BestSet
        With the changes a scenario would hold.

    Raises
    ------
    InputError
        No lines, no cap, or a number outside its range.
    LookupFailed
        A line or scenario that is named is not there.
    """
    cap = _cap_of(project, cap)
    offer = _Offer(
        project,
        scenario=scenario,
        priorities=priorities,
        merits=merits,
        may_leave_out=may_leave_out,
    )
    sets = offer.sets()
    place = offer.place(sets, cap)
    fits = place >= 0
    place = max(place, 0)
    chosen = offer.picked(sets, place)
    sheet = offer.on_sheet(chosen)
    while fits and sheet > cap:
        # Headings rounded up past the cap: the next set below.
        if place == 0:
            fits = False
            break
        place -= 1
        chosen = offer.picked(sets, place)
        sheet = offer.on_sheet(chosen)
    total = offer.fixed + sum((c.cost for c in chosen), Decimal(0))
    drawn = {options[0].slot: options[0] for options in offer.slots}
    changed = [c for c in chosen if c.line != drawn[c.slot].line]
    code = offer.code
    words = tuple(_said(c, drawn[c.slot], code) for c in changed)
    distance = money_text(abs(cap - total), code=code)
    if not offer.slots:
        answer = "No line has an alternative that could be chosen; "
        answer += f"the lines are {distance} {'under' if total <= cap else 'over'} the cap."
    elif not fits:
        answer = (
            f"Even the cheapest set is {money_text(max(total, sheet) - cap, code=code)} over the "
            "cap: leave a line out, find a cheaper alternative, or move one to next year."
        )
    elif not changed:
        answer = f"Everything as drawn stays under, {distance} to spare."
    else:
        count = len(changed)
        answer = (
            f"{count} of {len(offer.slots)} line{'s' if len(offer.slots) > 1 else ''} "
            f"change{'s' if count == 1 else ''}; {distance} to spare."
        )
    return BestSet(
        currency=code,
        cap=cap,
        fits=fits,
        choices=chosen,
        options=tuple(offer.slots),
        held=tuple(x.slot for x in offer.held),
        fixed=offer.fixed,
        total=total,
        sheet=sheet,
        worth=sum(c.worth for c in chosen),
        most=int(sets.worths[-1]),
        changes=tuple(
            ScenarioChange(line=drawn[c.slot].line, to=c.line, drop=not c.line) for c in changed
        ),
        words=words,
        answer=answer,
        why=(
            f"held {money_text(offer.fixed, code=code)} + chosen "
            f"{money_text(total - offer.fixed, code=code)} = {money_text(total, code=code)}; "
            f"cap {money_text(cap, code=code)}",
            f"worth {sum(c.worth for c in chosen) / _HUNDREDTHS:g} of "
            f"{int(sets.worths[-1]) / _HUNDREDTHS:g}; "
            f"{len(sets.costs):,} sets that no other beats were compared",
            *(f"the brief names {id}, and no line as drawn is called so" for id in offer.gone),
        ),
        rules=_RULES,
    )


def frontier(
    project: Project,
    *,
    step: Decimal | None = None,
    cap: Decimal | None = None,
    priorities: Mapping[str, float] | None = None,
    merits: Mapping[str, float] | None = None,
    may_leave_out: Collection[str] | None = None,
    scenario: str = "",
    most: int = 400,
) -> Frontier:
    """What one more thousand buys, from the cheapest set to the best.

    Parameters
    ----------
    project : Project
        As for :func:`best_set`.
    step : Decimal, optional
        By default `costs.steer.step`. [currency]
    cap : Decimal, optional
        Where the answer stands; by default the brief's budget, if it has one.
    priorities, merits, may_leave_out, scenario
        As for :func:`best_set`.
    most : int
        Steps at most; more are refused, so that nothing is left unsaid.

    Returns
    -------
    Frontier
        Caps are whole multiples of the step, from the first that holds the
        cheapest set; the client's own cap and one step beyond it stand among
        them. A step that buys nothing says so. Totals are added line by line.

    Raises
    ------
    InputError
        As for :func:`best_set`; or the step is too small.
    LookupFailed
        As for :func:`best_set`.
    """
    if step is None:
        step = Decimal(repr(value("costs.steer.step", project.home.rules)))
    if not step.is_finite() or step <= 0:
        raise InputError("step", given=step, allowed="> 0", mend="1000 is usual")
    if cap is not None or project.home.brief.budget is not None:
        cap = _cap_of(project, cap)
    offer = _Offer(
        project,
        scenario=scenario,
        priorities=priorities,
        merits=merits,
        may_leave_out=may_leave_out,
    )
    sets = offer.sets()
    least = offer.fixed + int(sets.costs[0]) * offer.unit
    last = offer.fixed + int(sets.costs[-1]) * offer.unit
    first_cap = (least / step).to_integral_value(rounding=ROUND_CEILING) * step
    count = int(((last - first_cap) / step).to_integral_value(rounding=ROUND_CEILING)) + 1
    if count > most:
        raise InputError(
            "step",
            given=step,
            allowed=f"at most {most} steps from {least} to {last}",
            mend="take a coarser step",
        )
    code = offer.code
    steps: list[FrontierStep] = []
    caps = [first_cap + i * step for i in range(max(count, 1))]
    if cap is not None:
        # The client's own cap, and one step beyond it, are always answered.
        extra = [x for x in (cap, cap + step) if x >= least]
        caps = sorted({*caps, *extra})
    before: tuple[Choice, ...] | None = None
    for at in caps:
        chosen = offer.picked(sets, offer.place(sets, at))
        steps.append(_step(at, chosen, before, offer))
        before = chosen
    answer = steps[-1].words
    if cap is not None:
        answer = _beyond(cap, step=step, offer=offer, sets=sets)
    return Frontier(currency=code, step=step, cap=cap, steps=tuple(steps), answer=answer)


def _step(
    at: Decimal, chosen: tuple[Choice, ...], before: tuple[Choice, ...] | None, offer: _Offer
) -> FrontierStep:
    total = offer.fixed + sum((c.cost for c in chosen), Decimal(0))
    better: list[str] = []
    worse: list[str] = []
    words: list[str] = []
    if before is None:
        dearer = [
            c.item
            for c, options in zip(chosen, offer.slots, strict=True)
            if c.cost > min(o.cost for o in options)
        ]
        rest = f" and {len(dearer) - _NAMED} more" if len(dearer) > _NAMED else ""
        what = f", but with {', '.join(dearer[:_NAMED])}{rest}" if dearer else ""
        words.append(f"the cheapest set{what}")
    else:
        for now, was in zip(chosen, before, strict=True):
            if now.line == was.line:
                continue
            (better if now.worth > was.worth else worse).append(now.slot)
            words.append(_said(now, was, offer.code))
    return FrontierStep(
        cap=at,
        total=total,
        worth=sum(c.worth for c in chosen),
        better=tuple(better),
        worse=tuple(worse),
        words="; ".join(words) or "buys nothing more",
    )


def _beyond(cap: Decimal, *, step: Decimal, offer: _Offer, sets: Sets) -> str:
    code = offer.code
    least = offer.fixed + int(sets.costs[0]) * offer.unit
    if cap < least:
        return f"The cheapest set needs {money_text(least - cap, code=code)} more than the cap."
    more = money_text(step, code=code)
    place = offer.place(sets, cap)
    now = offer.picked(sets, place)
    then = _step(cap + step, offer.picked(sets, offer.place(sets, cap + step)), now, offer)
    if then.better:
        return f"One more {more} buys: {then.words}."
    if place + 1 == len(sets.costs):
        return "More money buys nothing: every line has its best choice already."
    needed = offer.fixed + int(sets.costs[place + 1]) * offer.unit - cap
    return (
        f"One more {more} buys nothing yet: the next change needs {money_text(needed, code=code)}."
    )
