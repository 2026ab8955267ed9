"""The words of each act that both front ends offer: a menu or a button, its tip, and the help of the command line.

The desk adds keys, menu and when an act applies, the command line its arguments.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["ACTS", "ActWords"]


@dataclass(frozen=True, slots=True)
class ActWords:
    """What an act is called and what it does.

    Attributes:
        words: with "&" before the letter that chooses it in a menu.
        told: a sentence or two.
    """

    words: str
    told: str


ACTS: Final[dict[str, ActWords]] = {
    "quick.build": ActWords(
        "&Build the design", "Make bays, products, drops and plant from the inputs of a quick build."
    ),
    "sizes.propose": ActWords(
        "&Propose sizes…",
        "Find the cheapest sizes that keep every drop inside its window; nothing changes before you take them.",
    ),
    "file.quote": ActWords(
        "Write draft &PDF…", "Write the quote to a file, marked as a draft until it is issued."
    ),
    "findings.sign": ActWords(
        "Si&gn for this finding…",
        "Take on what must otherwise never go out, with a name and a reason; both stand on the paper. Where it becomes "
        "another by a change of the job, it is asked about again.",
    ),
    "findings.fit": ActWords(
        "&Parts that stand it…",
        "Put a part that stands its product in the place of one that does not, with what that costs beside it.",
    ),
    "findings.unsign": ActWords(
        "Take the signature &back", "Let a finding that was signed for keep quote and revision back again."
    ),
    "file.safety": ActWords(
        "Write sa&fety notes…",
        "Write what to do in an emergency, the cautions of this job and its floor plan, without prices, for the wall "
        "beside the board; marked as a draft unless the job is as it was issued.",
    ),
    "file.labels": ActWords(
        "Write la&bels…",
        "Write the labels of containers, day tanks and lines on sheets of the size that stands under Presentation: "
        "product, line, dilution and hazards in words, without prices.",
    ),
    "revisions.issue": ActWords(
        "&Issue revision…",
        "Keep the job, its prices, totals and PDF under the next letter, save the job, and write a copy of the PDF. It "
        "cannot be undone; a revision can be withdrawn.",
    ),
    "revisions.withdraw": ActWords(
        "Withdraw…",
        "Mark an issued revision as no longer valid, with a reason. It stays on record, its paper too.",
    ),
    "company.logo": ActWords(
        "Company lo&go…",
        "Take the company's logo from a PNG or JPEG file into the job; it stands on the cover.",
    ),
    "company.no-logo": ActWords("Remo&ve the company logo", "Leave the company's logo out of the job."),
    "options.make": ActWords(
        "&Make an option from the one worked on", "Make a copy of an option as a new one, to be changed."
    ),
    "options.ready": ActWords("&Ready-made", "Make a new option: another one with one thing done otherwise."),
    "options.offer": ActWords(
        "On the quote, to be ticked", "Offer an option on the quote with its price beside the base."
    ),
    "options.rename": ActWords("&Name", "Give an option another name."),
    "options.make-base": ActWords("Make it the base", "Let an option and the base design change places."),
    "options.remove": ActWords("Remove", "Take an option out of the job."),
    "options.take-base": ActWords(
        "Take the base's", "Let an option have at one place again what the base design has."
    ),
    "options.keep-own": ActWords(
        "Keep its own", "Let an option stay as it is where the base design was changed too."
    ),
    "book.import": ActWords(
        "&Import CSV or XLSX…",
        "Take over a price book from CSV or XLSX; what it would change is shown first.",
    ),
    "book.export": ActWords("E&xport CSV or XLSX…", "Write the price book as CSV or XLSX, by the ending."),
    "book.complete": ActWords(
        "Add &missing parts…",
        "Add the entries of the shipped price book, invented demo data, whose codes yours lacks; shown first.",
    ),
    "book.percent": ActWords(
        "&Change prices by a percentage…",
        "Change the prices of a group, or all, by a percentage; what would change is shown first.",
    ),
    "book.hold": ActWords(
        "&Hold these prices", "Let the job keep the prices it uses, whatever the price book becomes."
    ),
    "book.take-new": ActWords(
        "Take &new prices…", "Take the price book's prices for those held that changed since; shown first."
    ),
    "book.release": ActWords("&Let go of held prices", "Let the job follow the price book again."),
}
"""By the id of the desk's command, or of what the desk has a button for."""
