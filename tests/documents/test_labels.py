"""Labels of containers, day tanks and lines: identity, place, strength and hazards, whole in their field or refused.

29 CFR 1910.1200(f)(6)(ii) asks for the product's identity and words, pictures or symbols on its hazards (from memory).
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from estimator.cli import main
from estimator.documents.label_grid import label_grid
from estimator.documents.quote import QuoteError, write_labels
from estimator.documents.sheet import page_of
from estimator.model.called import service_names
from estimator.model.choices import Pictogram
from estimator.model.presentation import LabelSheet
from estimator.shown.figures import figures_of
from estimator.shown.findings import sentences_of
from estimator.shown.label_words import LabelText, hazard_words, label_texts
from estimator.study import Study
from estimator.units import UnitSystem
from tests.days import STUDIED
from tests.documents.every_paper import letters, printed
from tests.documents.studies import made, packed, pages_of, raw


def _labels(study: Study) -> tuple[LabelText, ...]:
    return label_texts(
        study, sentences_of(study).names, service_names(study.job.design), figures_of(study.job)
    )


def _job(**labels: Any) -> dict[str, Any]:
    job = raw("tern-bank")
    job["units"] = "metric"
    job["presentation"]["labels"] |= labels
    return job


def test_every_container_tank_and_line_has_its_label() -> None:
    study = made(raw())
    design, found = study.job.design, _labels(study)
    for product in design.products:
        own = [label for label in found if label.name == product.name]
        sides = {(d.bay, d.side) for d in design.drops if d.service == product.id}
        tanks = sum(unit.product == product.id for unit in design.plant)
        assert len(own) == product.containers + tanks + (len(sides) + 1 if sides else 0)
        assert all("azards" in label.hazards and label.strength for label in own)
    air = [label for label in found if "pressure" in label.hazards and label.place.startswith("Line A")]
    assert len(air) == 1 + len({(d.bay, d.side) for d in design.drops if d.service == "air"})


def test_a_label_tells_identity_line_strength_and_hazards() -> None:
    """Tern Bank's hypochlorite, by its sheet: corrosion and environment, H290, H314, H400, EUH031; line 3, 60:1."""
    text = " ".join(pages_of(printed("tern-bank", "labels").pdf))
    for words in (
        "Day tank, line 3, green Diluted 60:1, water : concentrate; hypochlorite Danger",
        "corrosive, harms life in water; burns skin and eyes",
        "(H290, H314, H400, EUH031)",
        "Container, for line 3, green Concentrate, full strength; hypochlorite",
        "Safety data sheet of February 10, 2026.",
        "Quote LR-2026-063, draft",
        "none stated on its safety data sheet",
    ):
        assert words in text, words
    assert "DRAFT" not in text and "Page 1" not in text


def test_every_pictogram_has_words() -> None:
    product = made(raw()).job.design.products[0]
    for pictogram in Pictogram:
        sheet = product.sheet.model_copy(update={"pictograms": (pictogram,), "classes": (), "statements": ()})
        words = hazard_words(product.model_copy(update={"sheet": sheet}))
        assert "none stated" not in words and not words.startswith(("burns", "may burn", "keep"))


@pytest.mark.parametrize(
    ("columns", "rows", "width", "height", "units"),
    [
        (1, 1, "190 mm", "270 mm", "metric"),
        (3, 8, "64 mm", "33.8 mm", "metric"),
        (2, 4, "4 in", "2.5 in", "us"),
    ],
)
def test_letters_lie_in_their_own_label(columns: int, rows: int, width: str, height: str, units: str) -> None:
    job = _job(columns=columns, rows=rows, width=width, height=height, gap_across="2 mm", gap_down="0 mm")
    job["units"] = units
    study = made(job)
    grid = label_grid(study.job.presentation.labels, page_of(UnitSystem(units)), UnitSystem(units))
    fields = [(x, y, x + grid.width, y + grid.height) for x, y in grid.corners()]
    pages = letters(write_labels(study))
    assert len(pages) == -(-len(_labels(study)) // (columns * rows))
    for page in pages:
        for box in page:
            assert any(
                x < box.left and box.right < r and y < box.bottom and box.top < t for x, y, r, t in fields
            )


def test_a_text_that_has_no_room_is_refused_with_what_it_needs() -> None:
    job = _job(height="20 mm", rows=10)
    with pytest.raises(
        QuoteError, match=r"needs ([\d.]+) mm in letters of 6 points, and has 20.0 mm"
    ) as caught:
        write_labels(made(job))
    assert caught.value.findings[0].place == "presentation.labels.height"
    needed = float(str(caught.value).split(" needs ")[1].split()[0])
    # What it asks for is enough, and no more than that.
    assert write_labels(made(_job(height=f"{needed} mm", rows=5)))
    with pytest.raises(QuoteError):
        write_labels(made(_job(height=f"{needed - 0.6} mm", rows=5)))


def test_a_sheet_larger_than_the_page_is_refused() -> None:
    # ISO 216: A4 is 210 mm by 297 mm; 3 x 90 mm + 2 x 5 mm = 280 mm.
    with pytest.raises(
        QuoteError, match=r"3 columns with their gaps need 280.0 mm, and a page of A4 has 210.0 mm"
    ):
        write_labels(made(_job(columns=3)))
    # 11 in; 6 x 2 in + 5 x 5 mm = 12.98 in.
    job = _job(rows=6, height="2 in")
    job["units"] = "us"
    with pytest.raises(
        QuoteError, match=r"6 rows with their gaps need 12.98 in, and a page of Letter has 11.00 in"
    ):
        write_labels(made(job))


def test_a_product_of_which_nothing_is_known_has_no_label() -> None:
    job = raw("tern-bank")
    job["design"]["products"][1]["sheet"] = {}
    with pytest.raises(QuoteError, match="nothing is stated of what “Acid trailer brightener” can do"):
        write_labels(made(job))


def test_the_default_sheet_fits_both_pages_and_a_long_name_is_whole() -> None:
    for system in UnitSystem:
        assert label_grid(LabelSheet(), page_of(system), system).rows == 5
    job = _job(columns=1, rows=2, width="180 mm", height="120 mm")
    job["design"]["products"][0]["name"] = "W" * 120
    assert "W" * 120 in packed("".join(pages_of(write_labels(made(job)))))


def test_the_command_line_writes_them(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))
    job, paper = tmp_path / "job.baydrop", tmp_path / "labels.pdf"
    job.write_bytes((Path(__file__).parents[2] / "resources" / "examples" / "tern-bank.baydrop").read_bytes())
    assert main(["labels", str(job), "--pdf", str(paper), "--date", STUDIED.isoformat()]) == 0
    assert "Caustic truck soap" in pages_of(paper.read_bytes())[0]
    assert main(["edit", str(job), "--set", "presentation.labels.columns=9"]) in (0, 1)
    assert main(["labels", str(job), "--pdf", str(tmp_path / "b.pdf"), "--date", STUDIED.isoformat()]) == 2
    assert not (tmp_path / "b.pdf").exists()
