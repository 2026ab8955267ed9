"""Random acts on a document against a plain list of jobs: undo, redo, refusals, file and back, without any window."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from estimator.acts.document import Document
from estimator.acts.edits import edited, edits_from
from estimator.acts.quick_build import QuickBuild, act_name, built
from estimator.model.edit import EditError
from estimator.model.job import Job
from estimator.store.jobs import job_from_text, job_text
from estimator.store.pricebooks import shipped_price_book

TEXTS = st.sampled_from(
    [
        "7 m",
        "23 ft",
        "12 ft 6 in",
        "9",
        "-1 m",
        "",
        "nonsense",
        "40",
        "0.5",
        "yes",
        "=1+1",
        "Ω é Ж",
        "2027-03-31",
    ]
)
PLACES = st.sampled_from(
    [
        *(
            "site.floor.width",
            "site.use.guns_open",
            "customer.name",
            "terms.rule_percent",
            "terms.labour.high",
        ),
        *("design.clip_spacing", "design.drops.0.hose_length", "design.drops.1.gun", "design.products.0.id"),
        *("design.bays.0.id", "quote.dated", "design.common.eyewash", "nowhere.at.all"),
    ]
)
LISTS = st.sampled_from(["products", "bays", "drops", "plant", "lines"])
INPUTS = st.builds(
    QuickBuild,
    bays=st.integers(1, 2),
    products=st.integers(1, 3),
    drops_per_side=st.just(1),
    air=st.booleans(),
)


class Desk(RuleBasedStateMachine):
    """One document; `past` is what its history must be."""

    @initialize()
    def begin(self) -> None:
        """A blank job."""
        self.document = Document.of(Job(), shipped_price_book())
        self.past = [Job()]
        self.at = 0

    def _does(self, *edits: dict[str, Any]) -> None:
        before = self.document
        try:
            done = edited(before.job, edits_from(list(edits)))
        except EditError as error:
            assert all(f.message and f.place for f in error.findings)
            assert self.document is before
            return
        assert isinstance(done.whole, Job)
        assert len(done.names) == len(done.places) >= len(edits)
        self.document = before.after("; ".join(done.names), job=done.whole)
        self._past()

    def _past(self) -> None:
        del self.past[self.at + 1 :]
        self.past.append(self.document.whole)
        self.at += 1

    @rule(inputs=INPUTS)
    def build(self, inputs: QuickBuild) -> None:
        """A whole design."""
        job = built(self.document.job, inputs)
        self.document = self.document.after(act_name(job), job=job)
        self._past()

    @rule(place=PLACES, text=TEXTS)
    def type_text(self, place: str, text: str) -> None:
        """Into a field."""
        self._does({"set": place, "to": text})

    @rule(name=LISTS, verb=st.sampled_from(["add", "duplicate", "remove", "move"]), row=st.integers(0, 8))
    def rows(self, name: str, verb: str, row: int) -> None:
        """Of a list."""
        place = f"design.{name}" if verb == "add" else f"design.{name}.{row}"
        self._does({verb: place, **({"to": 0} if verb == "move" else {})})

    @rule(place=PLACES, text=TEXTS)
    def several(self, place: str, text: str) -> None:
        """In one go, or none."""
        self._does({"set": "customer.contact", "to": "Front desk"}, {"set": place, "to": text})

    @precondition(lambda self: self.at > 0)
    @rule()
    def undo(self) -> None:
        """One back."""
        self.document = self.document.undone()
        self.at -= 1

    @precondition(lambda self: self.at + 1 < len(self.past))
    @rule()
    def redo(self) -> None:
        """One forward."""
        self.document = self.document.redone()
        self.at += 1

    @rule()
    def save_and_load(self) -> None:
        """The file holds the job; what is read is the job; the history begins anew."""
        path = Path("job.baydrop")
        saved = self.document.saved_to(path)
        assert not saved.is_modified
        read = job_from_text(job_text(saved.whole), path.name)
        assert read == saved.whole
        self.document = Document.of(read, saved.book, path)
        self.past, self.at = [read], 0

    @invariant()
    def the_job_is_the_one_of_the_list(self) -> None:
        """Undo is the list of earlier values."""
        if hasattr(self, "past"):
            assert self.document.whole == self.past[self.at]
            assert self.document.history.position == self.at
            assert bool(self.document.history.redo_name) == (self.at + 1 < len(self.past))
            assert self.document.is_modified == (self.document.whole != self.document.saved)


TestDocument = Desk.TestCase
TestDocument.settings = settings(max_examples=40, stateful_step_count=30, deadline=None)
