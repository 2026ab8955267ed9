"""The commands that the README lists do what they are listed for, one after the other on one job."""

from __future__ import annotations

import re
import shlex
from base64 import b64decode
from collections.abc import Iterator
from pathlib import Path

import pytest

from estimator.cli import main
from tests.days import STUDIED
from tests.every_field import TINY_PICTURE

_README = Path(__file__).parents[2] / "README.md"


def commands() -> Iterator[list[str]]:
    """Each command of the list with its words, without what may be left out."""
    text = _README.read_text(encoding="utf-8")
    (block,) = re.findall(r"^```\n(baydrop build .*?)^```", text, re.DOTALL | re.MULTILINE)
    for line in block.splitlines():
        if line.startswith("baydrop "):
            yield shlex.split(re.sub(r"\[[^]]*\]", "", re.split(r" {3,}", line)[0]))[1:]


def test_the_listed_commands_do_what_they_are_listed_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The second named a drop, the fourth an alternate, that the job of the first does not have."""
    monkeypatch.setenv("BAYDROP_HOME", str(tmp_path / "home"))
    book = tmp_path / "prices.xlsx"
    assert main(["prices", "export", str(book)]) == 0
    job, logo = tmp_path / "job.baydrop", tmp_path / "logo.png"
    logo.write_bytes(b64decode(TINY_PICTURE))
    listed = list(commands())
    assert len(listed) >= 12
    for number, words in enumerate(listed):
        paper = tmp_path / f"out-{number}{'.json' if words[0] == 'study' else '.pdf'}"
        put = {"JOB": str(job), "FILE": str(paper), "prices.xlsx": str(book), "logo.png": str(logo)}
        day = [] if words[0] == "import" else ["--date", STUDIED.isoformat()]
        code = main([*(put.get(word, word) for word in words), *day])
        said = capsys.readouterr()
        assert code == 0, (words, said.err)
        if "FILE" in words:
            draft = paper.with_name(f"{paper.stem}-draft.pdf")
            assert paper.exists() is (words[0] != "quote"), words
            assert draft.exists() is (words[0] == "quote"), words
