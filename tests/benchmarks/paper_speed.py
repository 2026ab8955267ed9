"""Times the quote against the library's own plain text of the same pages, in one run. Run by hand:

    python tests/benchmarks/paper_speed.py [--rounds 9] [--largest]

What the "plain text of the same pages" is: the quote is written once and read back, line by line and page by page, as
a person would copy it out of a viewer. Those lines, on as many pages of the same size, in the same two embedded fonts
parsed beforehand, are then written by the library alone, in two ways:

- *flow*: one paragraph a line, a document template that measures, flows and breaks them. It is what one writes with
  the library who wants the words and nothing else; the limit of three times is held against it.
- *strings*: each line put at a fixed place without measuring anything: the least that these pages can cost.

Neither draws a table, a rule, a plan, a bookmark or a head; the quote does. The study is made anew for each printing,
outside the time, so that nothing a study keeps is found ready. Processor time, the least of the rounds, taken in turn;
the first printing of a process (fonts are parsed then) is told apart. `--largest` adds a job of 1,600 drops; the wish
for it is twenty times the flow of its pages, and 500 MB.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from estimator.documents.faces import PLAIN, register  # noqa: E402
from estimator.documents.quote import write_quote  # noqa: E402
from estimator.model.job import Job  # noqa: E402
from estimator.store.jobs import load_job  # noqa: E402
from estimator.store.pricebooks import shipped_price_book  # noqa: E402
from estimator.study import Study, study  # noqa: E402
from tests.days import STUDIED  # noqa: E402
from tests.large_jobs import large_job  # noqa: E402

Page = tuple[float, float, list[str]]


def pages_of(pdf: bytes) -> list[Page]:
    """Width and height in points, and the lines of text, of each page."""
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    found: list[Page] = []
    for i in range(len(document)):
        page = document[i]
        lines = [line.strip() for line in page.get_textpage().get_text_bounded().splitlines()]
        found.append((*page.get_size(), [line for line in lines if line]))
    document.close()
    return found


def flow(pages: list[Page]) -> bytes:
    """The lines as paragraphs through a document template."""
    from xml.sax.saxutils import escape

    from reportlab.lib.styles import ParagraphStyle
    from reportlab.platypus import BaseDocTemplate, Flowable, Frame, PageBreak, PageTemplate, Paragraph

    file = BytesIO()
    width, height, _ = pages[0]
    document = BaseDocTemplate(file, pagesize=(width, height), invariant=1)
    document.addPageTemplates([PageTemplate("page", [Frame(20, 20, width - 40, height - 40)])])
    story: list[Flowable] = []
    for _, height, lines in pages:
        leading = min(10.0, (height - 70) / max(1, len(lines)))
        style = ParagraphStyle("line", fontName=PLAIN, fontSize=min(8.0, leading), leading=leading)
        story += [Paragraph(escape(line), style) for line in lines]
        story.append(PageBreak())
    document.build(story)
    return file.getvalue()


def strings(pages: list[Page]) -> bytes:
    """The lines at fixed places."""
    from reportlab.pdfgen.canvas import Canvas

    file = BytesIO()
    canvas = Canvas(file, pagesize=pages[0][:2], invariant=1)
    for width, height, lines in pages:
        canvas.setPageSize((width, height))
        canvas.setFont(PLAIN, 8)
        for i, line in enumerate(lines):
            canvas.drawString(20, height - 30 - 10 * i, line)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def timed(work: Callable[[], object]) -> float:
    """Processor milliseconds of one run."""
    begun = time.process_time()
    work()
    return 1000.0 * (time.process_time() - begun)


def measured(name: str, job: Job, rounds: int) -> None:
    """Print the rows of one job."""

    def made() -> Study:
        return study(job, shipped_price_book(), STUDIED)

    register()
    pages = pages_of(write_quote(made()))
    words = sum(len(line.split()) for _, _, lines in pages for line in lines)
    count = sum(len(lines) for _, _, lines in pages)
    print(f"{name}: {len(pages)} pages, {count} lines, {words} words")
    least = {"quote": 1e12, "flow": 1e12, "strings": 1e12}
    for _ in range(rounds):
        fresh = made()
        for kind, work in (
            ("quote", lambda fresh=fresh: write_quote(fresh)),
            ("flow", lambda: flow(pages)),
            ("strings", lambda: strings(pages)),
        ):
            least[kind] = min(least[kind], timed(work))
    for kind, spent in least.items():
        print(f"  {kind:<10}{spent:10.1f} ms   quote is {least['quote'] / spent:6.2f} times it")
    written = len(write_quote(made()))
    print(
        f"  {written / 1000:.0f} kB, at most {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB"
    )


def main() -> None:
    """Print the table."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--rounds", type=int, default=9)
    options.add_argument("--largest", action="store_true")
    asked = options.parse_args()
    job = load_job(ROOT / "resources" / "examples" / "gannet-quay.baydrop")
    first = study(job, shipped_price_book(), STUDIED)
    print(f"first printing of the process: {timed(lambda: write_quote(first)):.1f} ms")
    measured("Gannet Quay", job, asked.rounds)
    if asked.largest:
        measured("1,600 drops", large_job(options=False), 1)


if __name__ == "__main__":
    main()
