"""What the studio asks for its own work: a rate, a fixed sum, or hours.

A fee is agreed in writing before the work. Which lines a rate stands on is
part of the agreement: goods, works, or both; never a sale of what the client
owned, and never another fee.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal, get_args

from designkit.costs.lines import OUTSIDE_KINDS, PricedLine
from designkit.costs.money import money_text, rounded
from designkit.costs.scenarios import plain_number
from designkit.errors import InputError
from designkit.units import NBSP

__all__ = ["GOODS", "FeeBase", "FeeKind", "FeeModel", "FeePart", "fee_of"]

FeeKind = Literal["rate", "fixed", "per hour"]
FeeBase = Literal["goods and works", "goods", "works"]

# What is bought, with what comes off it; the other kinds are hours of somebody.
GOODS = ("purchase", "fabric", "discount", "credit", "return")


@dataclass(frozen=True, kw_only=True)
class FeeModel:
    """One part of what the studio asks; several add up."""

    kind: FeeKind
    amount: Decimal  # rate: a fraction; fixed: the sum; per hour: the hourly rate
    on: FeeBase = "goods and works"  # what a rate stands on
    hours: Decimal = Decimal(0)  # of a fee per hour
    at_least: Decimal | None = None  # [currency]
    at_most: Decimal | None = None  # [currency]

    def __post_init__(self) -> None:
        """Refuse what is no fee."""
        if self.kind not in get_args(FeeKind):
            raise InputError(
                "fee, kind",
                given=self.kind,
                allowed=", ".join(get_args(FeeKind)),
                mend="use one of these",
            )
        if self.on not in get_args(FeeBase):
            raise InputError(
                "fee, on",
                given=self.on,
                allowed=", ".join(get_args(FeeBase)),
                mend="use one of these",
            )
        for name, number in (
            ("amount", self.amount),
            ("hours", self.hours),
            ("at_least", self.at_least),
            ("at_most", self.at_most),
        ):
            if number is not None and (not number.is_finite() or number < 0):
                raise InputError(
                    f"fee, {name}", given=number, allowed=">= 0", mend="write the number"
                )
        if self.kind == "rate" and self.amount > 1:
            raise InputError(
                "fee, amount", given=self.amount, allowed="0 to 1", mend="write 0.15 for 15 %"
            )
        low, high = self.at_least, self.at_most
        if low is not None and high is not None and low > high:
            raise InputError(
                "fee, at_least",
                given=low,
                allowed=f"at most {high}",
                mend="put the two in order",
            )


@dataclass(frozen=True, kw_only=True, eq=False)
class FeePart:
    """One part of the fee with its tax."""

    model: FeeModel
    base: Decimal  # what a rate stands on, before tax [currency]
    net: Decimal
    tax: Decimal
    gross: Decimal
    why: str


def fee_of(
    priced: Iterable[PricedLine],
    *,
    models: Sequence[FeeModel],
    tax: Decimal = Decimal(0),
    code: str = "EUR",
) -> tuple[FeePart, ...]:
    """The studio's fee on priced lines, part by part.

    Parameters
    ----------
    priced : iterable of PricedLine
        From :func:`designkit.costs.price`; sums before tax are taken.
    models : sequence of FeeModel
        The parts of the agreement.
    tax : Decimal
        Tax on the fee, a fraction.
    code : str
        The project's currency, ISO 4217.

    Returns
    -------
    tuple of FeePart
        In the order of the models. A base below nought counts as nought.

    Raises
    ------
    InputError
        There is no model, or the tax is outside 0 to 1.
    LookupFailed
        The currency is unknown.

    Examples
    --------
    >>> model = FeeModel(kind="per hour", amount=Decimal(80), hours=Decimal("12.5"))
    >>> fee_of([], models=[model], tax=Decimal("0.20"))[0].gross
    Decimal('1200.00')
    """
    if not models:
        raise InputError("models", given="none", allowed="one or more", mend="name what is asked")
    if not tax.is_finite() or not 0 <= tax <= 1:
        raise InputError("tax", given=tax, allowed="0 to 1", mend="write 0.20 for 20 %")
    goods, works = Decimal(0), Decimal(0)
    for x in priced:
        if x.line.kind in OUTSIDE_KINDS:
            continue
        if x.line.kind in GOODS:
            goods += x.net
        else:
            works += x.net
    bases = {"goods and works": goods + works, "goods": goods, "works": works}
    return tuple(_part(model, max(bases[model.on], Decimal(0)), tax, code) for model in models)


def _part(model: FeeModel, base: Decimal, tax: Decimal, code: str) -> FeePart:
    if model.kind == "rate":
        net = base * model.amount
        why = f"{plain_number(model.amount * 100)}{NBSP}% of {money_text(base, code=code)}"
        why += f", {model.on} before tax"
    elif model.kind == "per hour":
        base = Decimal(0)
        net = model.amount * model.hours
        why = f"{plain_number(model.hours)} h × {money_text(model.amount, code=code)}"
    else:
        base = Decimal(0)
        net = model.amount
        why = "fixed, as agreed"
    if model.at_least is not None and net < model.at_least:
        net = model.at_least
        why += f"; at least {money_text(model.at_least, code=code)}"
    if model.at_most is not None and net > model.at_most:
        net = model.at_most
        why += f"; at most {money_text(model.at_most, code=code)}"
    net = rounded(net, code=code)
    owed = rounded(net * tax, code=code)
    return FeePart(model=model, base=base, net=net, tax=owed, gross=net + owed, why=why)
