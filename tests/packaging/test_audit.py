"""What an advisory check answered is read right; above all, an answer that did not come is none."""

from __future__ import annotations

import json
from datetime import date

from bootstrap.audit import CLEAN, FOUND, NOT_ASKED, Answer, answered, recorded

# The shape of pip-audit's JSON, from its documentation; names and advisory invented.
_CLEAN = {"name": "alpha", "version": "1.0", "vulns": []}
_BAD = {
    "name": "beta",
    "version": "2.0",
    "vulns": [{"id": "ADV-2026-1", "fix_versions": ["2.1"], "aliases": []}],
}
_SKIPPED = {"name": "gamma", "skip_reason": "Dependency not found and could not be audited: gamma (3.0)"}


def _printed(*packages: object) -> str:
    return json.dumps({"dependencies": packages, "fixes": []})


def test_none_found() -> None:
    answer = answered("a.lock", _printed(_CLEAN), "")
    assert answer == Answer("a.lock", 1, (), "")
    assert answer.code == CLEAN


def test_an_advisory_is_told_with_its_package_also_where_others_were_not_asked() -> None:
    answer = answered("a.lock", _printed(_CLEAN, _BAD, _SKIPPED), "")
    assert answer.found == ("beta 2.0: ADV-2026-1",)
    assert answer.code == FOUND
    assert "1 of 3" in answer.why_not


def test_a_package_that_was_not_asked_about_is_not_clean() -> None:
    assert answered("a.lock", _printed(_CLEAN, _SKIPPED), "").code == NOT_ASKED


def test_an_empty_answer_and_a_failure_are_not_clean() -> None:
    assert answered("a.lock", _printed(), "").code == NOT_ASKED
    assert answered("a.lock", "", "").code == NOT_ASKED
    assert answered("a.lock", "[]", "").code == NOT_ASKED


def test_a_failure_names_its_kind_and_no_host() -> None:
    err = "Traceback …\nrequests.exceptions.ConnectionError: HTTPSConnectionPool(host='advice.example', port=443)"
    answer = answered("a.lock", "", err)
    assert "ConnectionError" in answer.why_not
    assert "example" not in answer.why_not


def test_the_record_has_the_day_and_a_line_for_each_lock() -> None:
    text = recorded(
        date(2027, 3, 1),
        [Answer("a.lock", 2, (), ""), Answer("b.lock", 1, ("beta 2.0: ADV-2026-1",), "why")],
    )
    assert text == (
        "Advisories asked about on 2027-03-01 by `python3 packaging/advisories.py`.\n"
        "a.lock: none for its 2 packages.\n"
        "b.lock: not wholly checked; why.\n"
        "b.lock: 1 found.\n"
        "  beta 2.0: ADV-2026-1\n"
    )
