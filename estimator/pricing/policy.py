"""How a firm price comes about: from likely cost, from a confidence, or typed; and what it buys.

Cost at a confidence is shared over the rows: the gap from the sum of likely costs up to it in proportion to what
each row can rise (high - likely), a gap down in proportion to what it can fall (likely - low), by largest
remainder. So a row without a range keeps its cost and every row stays inside its own range.

A typed price stands for rows and contingency together, before discount and tax. It is shared over the rows in
proportion to what they would cost by the rule, and has no range: low, likely and high are the same.

A contingency as the gap to a confidence is the cost at that confidence less the cost in the price, sold by the
job's own rule. Where the price already covers that confidence there is no gap and no contingency.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from functools import partial
from typing import Final, Protocol

from estimator.locales import number_text
from estimator.model.choices import ContingencyBasis, PriceBasis, PriceRule, Section
from estimator.model.finding import Fact, Finding, Money, Number, Severity, facts
from estimator.model.terms import Terms
from estimator.money import minor_units, price_at_margin, price_at_markup
from estimator.pricing.apportion import apportion
from estimator.pricing.types import CostRange, Price

__all__ = [
    "Bought",
    "CostOdds",
    "OddsMaker",
    "Rules",
    "chance_words",
    "firm_costs",
    "margin_percent",
    "policy_findings",
    "what_it_buys",
]

_HUNDRED: Final = Decimal(100)
_PRACTICE: Final = "common practice, no source"


class CostOdds(Protocol):
    """How sure the cost is: what a risk result answers."""

    def cost_at(self, chance: float) -> Decimal:
        """Cost that is not passed with that chance (0 to 1)."""
        ...

    def confidence(self, cost: Decimal) -> float:
        """Chance (0 to 1) that the cost is that or less."""
        ...


_Selling = Callable[[Decimal, Decimal], Decimal]
_SELLING: Final[dict[PriceRule, _Selling]] = {
    PriceRule.MARGIN: price_at_margin,
    PriceRule.MARKUP: price_at_markup,
}
"""What a cost sells for at a percentage, by rule."""


class Rules:
    """The terms as arithmetic: what a cost sells for, what a percentage takes, all rounded half up.

    Attributes:
        unit: the currency's minor unit.
        rounded: an amount half up to that unit.
    """

    def __init__(self, terms: Terms) -> None:
        self.terms = terms
        self.rate = CostRange(terms.labour.low, terms.labour.likely, terms.labour.high)
        # Kept for speed: rounding is most of the work of pricing a job.
        self.unit = Decimal(1).scaleb(-minor_units(terms.currency))
        self.rounded: Callable[[Decimal], Decimal] = partial(
            Decimal.quantize, exp=self.unit, rounding=ROUND_HALF_UP
        )
        self._main = (_SELLING[terms.rule], terms.rule_percent)
        self._of: dict[Section, tuple[_Selling, Decimal]] = {}
        for own in terms.section_rules:
            self._of.setdefault(own.section, (_SELLING[own.rule], own.percent))

    def price(self, cost: Decimal, section: Section | None = None) -> Decimal:
        """What a cost sells for by the rule of a section, by the job's own without one; rounded."""
        sold, percent = self._of.get(section, self._main) if section is not None and self._of else self._main
        return self.rounded(sold(cost, percent))

    def share(self, amounts: CostRange, percent: Decimal) -> CostRange:
        """A percentage of a range; rounded."""
        return CostRange(
            *(self.rounded(a * percent / _HUNDRED) for a in (amounts.low, amounts.likely, amounts.high))
        )


def firm_costs(costs: tuple[CostRange, ...], wanted: Decimal, unit: Decimal) -> tuple[Decimal, ...]:
    """Costs inside their ranges that add up to a wanted sum; see the module for how it is shared.

    Args:
        costs: rounded cost ranges.
        wanted: from the sum of lows to the sum of highs, rounded.
        unit: minor unit of the currency.

    Raises:
        ValueError: the wanted sum is outside.

    >>> rows = (CostRange(Decimal(8), Decimal(10), Decimal(16)), CostRange(Decimal(5), Decimal(5), Decimal(5)))
    >>> [str(cost) for cost in firm_costs(rows, Decimal(18), Decimal("0.01"))]
    ['13.00', '5.00']
    """
    gap = wanted - sum((c.likely for c in costs), Decimal(0))
    room = [c.high - c.likely if gap > 0 else c.likely - c.low for c in costs]
    if abs(gap) > sum(room, Decimal(0)):
        raise ValueError(f"a cost of {wanted} is outside what the rows can cost together")
    return tuple(c.likely + share for c, share in zip(costs, apportion(gap, room, unit), strict=True))


def margin_percent(net: Decimal, cost: Decimal) -> Decimal | None:
    """(net - cost) / net in percent, None where there is no price.

    >>> margin_percent(Decimal(1000), Decimal(600))
    Decimal('40')
    """
    return None if net <= 0 else (net - cost) * _HUNDRED / net


def policy_findings(price: Price, terms: Terms) -> tuple[Finding, ...]:
    """What a person should look at twice in how the price is made."""
    found: list[Finding] = []

    def say(place: str, rule: str, sentence: str, **named: Fact) -> None:
        found.append(
            Finding(Severity.WARNING, f"terms.{place}", rule, sentence, _PRACTICE, facts=facts(**named))
        )

    if (
        terms.price_basis is PriceBasis.CONFIDENCE
        and terms.contingency_basis is ContingencyBasis.PERCENT
        and terms.contingency_percent > 0
    ):
        say(
            "contingency_percent",
            "risk-counted-twice",
            "Contingency: the price already covers {covered} of what the cost can be, and {contingency} come on top. "
            "Set one of them to what you mean.",
            covered=Number(terms.basis_confidence, 4, "%"),
            contingency=Number(terms.contingency_percent, 4, "%"),
        )
    sections = [rule.section for rule in terms.section_rules]
    for i, section in enumerate(sections):
        if section in sections[:i]:
            say(
                f"section_rules.{i}",
                "section-rule-twice",
                "Sections of their own rule: “{section}” stands twice; the first counts. Remove the other.",
                section=section.value,
            )
    totals = price.totals
    net, cost = totals.net.likely + totals.rounding.likely, totals.cost.likely
    margin = margin_percent(net, cost)
    if cost > 0 and net < cost:
        say(
            "discount_percent" if terms.discount_percent else "rule_percent",
            "price-below-cost",
            "Price: the net price of {net} is below the likely cost of {cost}; every job at this price loses money.",
            net=Money(net, price.currency),
            cost=Money(cost, price.currency),
        )
    elif (
        margin is not None
        and (terms.discount_percent > 0 or price.basis.kind is PriceBasis.TYPED)
        and margin < terms.least_margin_percent
    ):
        typed = price.basis.kind is PriceBasis.TYPED
        say(
            "typed_price" if typed else "discount_percent",
            "margin-least",
            "{what}: it leaves a margin of {margin} at likely cost; the least you set is {least}. Raise the price or "
            "lower the discount.",
            what="Typed price" if typed else "Discount",
            margin=Number(margin, 1, "%"),
            least=Number(terms.least_margin_percent, 4, "%"),
        )
    return tuple(found)


def chance_words(chance: float) -> str:
    """A chance (0 to 1) in whole percent; certain and impossible only where it is just that.

    >>> chance_words(0.85), chance_words(0.9996), chance_words(1.0), chance_words(0.001)
    ('85 %', 'over 99 %', '100 %', 'under 1 %')
    """
    if 0.995 <= chance < 1.0:
        return "over 99 %"
    if 0.0 < chance < 0.005:
        return "under 1 %"
    return f"{chance * 100:.0f} %"


@dataclass(frozen=True, slots=True)
class Bought:
    """What a price buys.

    Attributes:
        net: net price with the rounding of the total.
        confidence: chance (0 to 1) that it covers the cost.
        margin_percent: at likely cost, None where there is no price.
        least_margin_percent: what the terms ask for. `least_confidence`: chance that the margin is at least that.
        old_share: share (0 to 1) of the likely cost that rests on prices older than the terms allow, or undated;
            the confidence is no better than they are. None without a date to compare with.
        words: the same in sentences.
    """

    net: Decimal
    confidence: float
    margin_percent: Decimal | None
    least_margin_percent: Decimal
    least_confidence: float
    old_share: float | None
    words: str


def what_it_buys(price: Price, terms: Terms, odds: CostOdds, on: date | None = None) -> Bought:
    """Confidence and margin of the firm price.

    Args:
        price: priced with these terms.
        terms: least margin, age of old prices.
        odds: distribution of the cost of the same rows.
        on: day that the age of prices is counted to; nothing is said of age without it.
    """
    totals = price.totals
    net = totals.net.likely + totals.rounding.likely
    margin = margin_percent(net, totals.cost.likely)
    covers = odds.confidence(net)
    least = odds.confidence(net * (1 - terms.least_margin_percent / _HUNDRED))
    words = f"The price covers the cost with {chance_words(covers)} confidence."
    if margin is not None:
        words += (
            f" At likely cost the margin is {number_text(margin, 1, terms.locale)} %; it stays above "
            f"{number_text(terms.least_margin_percent, 4, terms.locale)} % "
            f"with {chance_words(least)} confidence."
        )
    share = None
    if on is not None:
        share = _old_share(price, terms, on)
        if share > 0:
            words += (
                f" {chance_words(share)} of the likely cost rests on old or undated prices, so it is no surer "
                "than they are."
            )
    return Bought(net, covers, margin, terms.least_margin_percent, least, share, words)


def _old_share(price: Price, terms: Terms, on: date) -> float:
    last = on - timedelta(days=min(int(terms.stale_after.si // 86400), on.toordinal() - 1))
    rows = [r for r in price.rows if r.known and r.takeoff.section is not Section.EXTRAS]
    whole = sum((r.material.likely for r in rows), Decimal(0))
    old = sum((r.material.likely for r in rows if r.dated is None or r.dated < last), Decimal(0))
    return float(old / whole) if whole else 0.0


OddsMaker = Callable[[Price], CostOdds]
"""Makes the distribution of the cost of a priced job; only its costs are looked at."""
