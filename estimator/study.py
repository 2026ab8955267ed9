"""The one pipeline: a Job, a price book and a day in, a Study out."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from threading import Lock
from typing import TYPE_CHECKING, Any, Generic, TypeVar

from estimator.going import ALONE, Going
from estimator.layout.plan import Layer
from estimator.layout.types import Layout
from estimator.model.colours import line_colours
from estimator.model.design import Design
from estimator.model.finding import Finding, in_order
from estimator.model.job import Job
from estimator.model.option_designs import alternative_of, option_findings, worked_on
from estimator.model.options import BASE
from estimator.model.pricebook import PriceBook
from estimator.model.revisions import revision_findings
from estimator.model.site import Site
from estimator.pricing.book_changes import book_for, changed_findings, stale_findings
from estimator.pricing.price import price_rows
from estimator.pricing.revise import expired
from estimator.pricing.sold import sold_but_left_out
from estimator.pricing.types import Price
from estimator.reference.catalogue import Catalogue, catalogue
from estimator.reference.own_parts import with_makers
from estimator.reference.resolved import Resolved, resolve
from estimator.reference.stock import stock_book
from estimator.safety.checks import SafetyChecks
from estimator.safety.line_colours import line_colour_findings
from estimator.safety.wetted import unfit_lines
from estimator.sizing.types import NOTHING, Proof
from estimator.takeoff.buying import BoughtRow, buy
from estimator.takeoff.rows import TakeOff
from estimator.takeoff.types import TakeoffRow

if TYPE_CHECKING:
    from estimator.pricing.risk import RiskModel
    from estimator.sizing.proof import Prover

__all__ = ["Pipeline", "Study", "followed", "study"]


@dataclass(frozen=True)
class Study:
    """Everything the program worked out from a job; never saved as truth, always recomputed.

    A study of a whole job holds one of its base design and, in `options`, one of each other option.

    Attributes:
        job: the job it was worked out from; of an option, the job as if the option were its base design, alone.
        on: the day it holds for: what the age of prices and the validity of the quote are counted to.
        layout: where everything goes.
        proof: what comes out of every nozzle, and whether plant, air and water keep up.
        takeoff: what to buy.
        price: what it costs.
        findings: what is missing, wrong or to be looked at, in the order of `in_order`. Those of an
            offered option that the base design does not have stand here too and know their option.
        prices: the prices it was worked out with: those the job holds on to, the book's for every other part.
        bought: what to buy in whole coils, stock lengths and packs against what is needed.
        option: id of the design.
        options: a study of each alternative, in order; empty in that of an option, and while an edit is followed
            (see `Pipeline.design`).
    """

    job: Job
    on: date
    layout: Layout
    proof: Proof
    takeoff: tuple[TakeoffRow, ...]
    price: Price
    findings: tuple[Finding, ...]
    prices: PriceBook
    bought: tuple[BoughtRow, ...]
    option: str = BASE
    options: tuple[Study, ...] = ()
    _odds: _Odds | None = field(default=None, compare=False, repr=False)

    @property
    def risk(self) -> RiskModel:
        """The distribution of the cost, worked out when it is asked for.

        Raises:
            RiskError: an amount that has no distribution.
        """
        return (self._odds or _Odds())(self.price, self.prices)

    @property
    def offers(self) -> tuple[Study, ...]:
        """Studies of the options that the customer can sign for besides the base design."""
        offered = {a.id for a in self.job.alternatives if a.offered}
        return tuple(o for o in self.options if o.option in offered)

    def with_options(self, options: Iterable[Study]) -> Study:
        """The study of the base design completed by those of the other options."""
        whole = replace(self, options=tuple(options))
        own = set(self.findings)
        more = (
            replace(f, option=study.option)
            for study in whole.offers
            for f in study.findings
            if f not in own  # what the base design has too is told once
        )
        return replace(whole, findings=in_order((*self.findings, *more)))

    def seen_with(self, base: Study) -> Study:
        """The study of an option worked on, with what the customer can sign for besides it.

        Args:
            base: that of the base design, with its options.

        Returns:
            The same with the base and the other options as its `options`, and with those of the findings of what is
            offered that this one does not have; each knows its design, those of this one too.
        """
        own = set(self.findings)
        here = (replace(f, option=self.option) for f in self.findings)
        more = (f for f in base.findings if f.option != self.option and replace(f, option=BASE) not in own)
        others = (base, *(o for o in base.options if o.option != self.option))
        return replace(self, options=others, findings=in_order((*here, *more)))


R = TypeVar("R")


class _Kept(Generic[R]):
    """Keeps the last answer of a stage for as long as its inputs are equal; threads take turns.

    What is handed in by name (whether the work is still wanted) does not change an answer and is not compared.
    """

    def __init__(self, stage: Callable[..., R]) -> None:
        self._stage = stage
        self._inputs: tuple[Any, ...] | None = None
        self._answer: R | None = None
        self._turn = Lock()

    def __call__(self, *inputs: Any, **beside: Any) -> R:
        with self._turn:
            known = self._inputs
            if (
                known is None
                or self._answer is None
                or not all(a is b or a == b for a, b in zip(known, inputs, strict=True))
            ):
                self._answer = self._stage(*inputs, **beside)
                self._inputs = inputs
            return self._answer


class _Proving:
    """The proof. Solver and numpy are loaded with the first drop: a blank desk starts without them."""

    def __init__(self) -> None:
        self._prover: Prover | None = None

    def __call__(
        self,
        site: Site,
        design: Design,
        layout: Layout,
        parts: Catalogue,
        known: Resolved,
        *,
        going: Going = ALONE,
    ) -> tuple[Proof, tuple[Finding, ...]]:
        if not design.drops:
            return NOTHING, ()
        if self._prover is None:
            from estimator.sizing.proof import Prover

            self._prover = Prover()
        return self._prover(site, design, layout, parts, known, going=going)


class _Odds:
    """Keeps the last distribution: a changed row costs its own transform and no other."""

    def __init__(self) -> None:
        self._last: RiskModel | None = None
        self._kept = _Kept(self._made)

    def _made(self, price: Price, prices: PriceBook) -> RiskModel:
        from estimator.pricing.risk import RiskModel, items_of  # loaded when a spread is wanted

        self._last = RiskModel(items_of(price, prices.entries), price.currency, before=self._last)
        return self._last

    def __call__(self, price: Price, prices: PriceBook) -> RiskModel:
        return self._kept(price, prices)


class _Stages:
    """The stages of one design, each with its last answer."""

    def __init__(self, parts: Catalogue) -> None:
        self._parts = parts
        self._makers = _Kept(with_makers)
        self._resolved = _Kept(resolve)
        self._layout = _Kept(Layer())
        self._proof = _Kept(_Proving())
        self._takeoff = _Kept(TakeOff())
        self._price = _Kept(price_rows)
        self._buying = _Kept(buy)
        self._issued = _Kept(revision_findings)
        self._safety = _Kept(SafetyChecks())
        self._odds = _Odds()

    def price(self, job: Job, book: PriceBook, going: Going) -> Price:
        """The price alone, which hangs on no proof; what it is made from is found ready by the study."""
        going.check()
        parts, _ = self._makers(job.design.makers, self._parts)
        known = self._resolved(job.design, parts)
        layout, _ = self._layout(job.site, job.design, parts, known)
        going.check()
        takeoff, _ = self._takeoff(job.design, layout, parts, known)
        going.check()
        return self._price(takeoff, job.terms, book_for(job, book))[0]

    def __call__(self, job: Job, book: PriceBook, on: date, option: str, going: Going) -> Study:
        going.check()
        parts, maker_findings = self._makers(job.design.makers, self._parts)
        # Every key of the design is looked up here, once, and an unknown one told once.
        known = self._resolved(job.design, parts)
        layout, layout_findings = self._layout(job.site, job.design, parts, known)
        going.check()
        proof, proof_findings = self._proof(job.site, job.design, layout, parts, known, going=going)
        going.check()
        takeoff, takeoff_findings = self._takeoff(job.design, layout, parts, known)
        prices = book_for(job, book)
        price, price_findings = self._price(takeoff, job.terms, prices)
        going.check()
        bought, buying_findings = self._buying(
            takeoff, stock_book(), prices, line_colours(job.design), going=going
        )
        going.check()
        safety = (
            *self._safety(job.site, job.design, known, on),
            *line_colour_findings(job.design),
        )
        # A line with a part that dissolves fails, whatever its pressures are.
        proof = proof.with_unfit(unfit_lines(safety))
        findings = in_order(
            (
                *maker_findings,
                *known.findings,
                *layout_findings,
                *proof_findings,
                *takeoff_findings,
                *price_findings,
                *sold_but_left_out(price, job.terms, known.backflow),
                *buying_findings,
                *changed_findings(job, book),
                *option_findings(job),
                *self._issued(job.issued, job.ledger),
                *safety,
                *stale_findings(price, job.terms, on),
                *expired(job, on),
            )
        )
        return Study(
            job, on, layout, proof, takeoff, price, findings, prices, bought, option, _odds=self._odds
        )


class Pipeline:
    """A pipeline that keeps what has not changed between one job and the next, for each design.

    Several threads may ask it: the window for the design worked on, work beside it for all of them.
    """

    def __init__(self, parts: Catalogue | None = None) -> None:
        self._parts = parts or catalogue()
        self._designs: dict[str, _Stages] = {}
        self._turn = Lock()

    def _stages(self, option: str) -> _Stages:
        with self._turn:
            if option not in self._designs:
                self._designs[option] = _Stages(self._parts)
            return self._designs[option]

    def study(self, job: Job, book: PriceBook, on: date, going: Going = ALONE) -> Study:
        """The study of a job with all its options; pure: the same inputs give the same study.

        Prices that the job holds on to stand before those of the book.

        Args:
            job, book, on: see `Study`.
            going: asked all along whether the study is still wanted; what was worked out until then is kept.

        Raises:
            Stopped: it is not.
        """
        base = self.design(job, book, on, going)
        if not job.alternatives:
            return base
        ids = [a.id for a in job.alternatives]
        with self._turn:
            self._designs = {key: kept for key, kept in self._designs.items() if key == BASE or key in ids}
        return base.with_options(self.option(job, book, on, key, going) for key in ids)

    def design(self, job: Job, book: PriceBook, on: date, going: Going = ALONE) -> Study:
        """The study of the base design alone, for what must follow an edit at once.

        Raises:
            Stopped: it is not wanted any more; see `study`.
        """
        return self._stages(BASE)(job, book, on, BASE, going)

    def option(self, job: Job, book: PriceBook, on: date, option: str, going: Going = ALONE) -> Study:
        """The study of one option alone, as `Study.options` holds it.

        Raises:
            LookupError: there is none of that id.
            Stopped: it is not wanted any more; see `study`.
        """
        return self._stages(option)(worked_on(job, option), book, on, option, going)

    def price(self, job: Job, book: PriceBook, option: str, going: Going = ALONE) -> Price:
        """The price of one design, as its study holds it: there in a part of the time.

        Raises:
            LookupError: there is none of that id.
            Stopped: it is not wanted any more; see `study`.
        """
        return self._stages(option).price(job if option == BASE else worked_on(job, option), book, going)

    def alone(self, job: Job, book: PriceBook, on: date, option: str, going: Going = ALONE) -> Study:
        """The study of one design without the others, of the base design or of an option.

        Raises:
            LookupError: there is none of that id.
            Stopped: it is not wanted any more; see `study`.
        """
        if option == BASE:
            return self.design(job, book, on, going)
        return self.option(job, book, on, option, going)


def followed(job: Job, book: PriceBook, on: date, option: str) -> tuple[object, ...]:
    """What the study of one design follows from; where two are equal their studies are, but for the `job` in them.

    Of the rest of a job nothing enters: neither who quotes and who is quoted, nor a note, nor the other options. The
    base design's findings tell of changes of options that do nothing; those alone can differ.

    Args:
        job: the whole job.
        option: id of the option, or of the base design.

    Raises:
        LookupError: there is none of that id.
    """
    changes = () if option == BASE else alternative_of(job, option).changes
    design = job.design if not job.design.name else job.design.model_copy(update={"name": ""})
    dated = job.quote.dated if not job.issued else None
    return (
        design,
        changes,
        job.site,
        job.terms,
        job.prices,
        job.units,
        job.issued,
        job.ledger,
        dated,
        book,
        on,
    )


def study(job: Job, book: PriceBook, on: date) -> Study:
    """The study of a job from nothing."""
    return Pipeline().study(job, book, on)
