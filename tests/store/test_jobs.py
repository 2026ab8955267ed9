"""Job files: what is saved is what is loaded, and whatever else is on the disk gets a sentence."""

from __future__ import annotations

import copy
import gc
import json
import tracemalloc
from collections.abc import Callable, Iterator
from functools import cache, partial
from importlib import resources
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimator.going import Going, Stopped
from estimator.model.choices import Chemistry, SideName
from estimator.model.design import AIR, Bay, Design, Drop, PlantUnit, Product
from estimator.model.job import FORMAT, Job
from estimator.model.sheet import SafetySheet
from estimator.store import jobs
from estimator.store.collecting import collecting_later
from estimator.store.jobs import (
    MOST_BYTES,
    JobFileError,
    _check_amount,
    _without_texts,
    job_from_text,
    job_schema,
    job_text,
    load_job,
    save_job,
    schema_text,
)
from tests.random_jobs import jobs as any_jobs
from tests.work import calls_of

EXAMPLES = ("gannet-quay.baydrop", "harrow-mill.baydrop")


def example_bytes(name: str) -> bytes:
    return resources.files("resources").joinpath("examples", name).read_bytes()


def example_data(name: str = EXAMPLES[0]) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(example_bytes(name))
    return data


def refused(text: str) -> JobFileError:
    with pytest.raises(JobFileError) as caught:
        job_from_text(text, "x.baydrop")
    for finding in caught.value.findings:
        assert finding.message.endswith((".", "!", "?")), finding.message
        assert len(finding.message) < 500
        assert finding.place
    return caught.value


def refused_data(data: object) -> JobFileError:
    return refused(json.dumps(data))


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_is_saved_byte_for_byte_as_it_is_shipped(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_bytes(example_bytes(name))
    job = load_job(path)
    save_job(path, job)
    assert path.read_bytes() == example_bytes(name)
    assert load_job(path) == job


def test_the_new_system_example_is_the_job_it_says() -> None:
    design = job_from_text(example_bytes(EXAMPLES[0]).decode(), "x").design
    count = {
        (bay, service): sum(d.bay == bay and d.service == service for d in design.drops)
        for bay in ("bay-1", "bay-2", "bay-3")
        for service in (*(p.id for p in design.products), AIR)
    }
    # Bays 1 and 2: pre-wash, remover, degreaser and air on each side; bay 3: glass, sanitiser and air. 22 drops.
    wet, dry = {"prewash": 2, "remover": 2, "degreaser": 2, AIR: 2}, {"glass": 2, "sanitiser": 2, AIR: 2}
    assert {k: n for k, n in count.items() if n} == {
        **{("bay-1", s): n for s, n in wet.items()},
        **{("bay-2", s): n for s, n in wet.items()},
        **{("bay-3", s): n for s, n in dry.items()},
    }
    assert len(design.drops) == 22
    assert [(p.id, p.dilution) for p in design.products] == [
        ("prewash", 40.0),
        ("remover", 8.0),
        ("degreaser", 15.0),
        ("glass", 6.0),
        ("sanitiser", 64.0),
    ]


def test_the_upgrade_example_keeps_what_hangs_there() -> None:
    design = job_from_text(example_bytes(EXAMPLES[1]).decode(), "x").design
    assert {d.side for d in design.drops if d.existing} == {SideName.LEFT}
    assert {d.service for d in design.drops if d.existing} == {u.product for u in design.plant if u.existing}
    assert all(b.left.mount_existing and not b.right.mount_existing for b in design.bays)
    assert sum(d.existing for d in design.drops) == 4
    assert len(design.products) - sum(u.existing for u in design.plant) == 1
    assert design.common.existing


@pytest.mark.parametrize("name", EXAMPLES)
def test_an_example_and_the_published_schema_agree(name: str) -> None:
    jsonschema.Draft202012Validator.check_schema(job_schema())
    jsonschema.validate(example_data(name), job_schema())


def test_the_published_schema_is_the_model_s() -> None:
    # To renew: write estimator.store.jobs.schema_text() to the file.
    published = resources.files("resources").joinpath("job.schema.json").read_text(encoding="utf-8")
    assert published == schema_text()


@cache
def whole_file() -> jsonschema.Draft202012Validator:
    """Of the schema of job files, itself checked; made once."""
    jsonschema.Draft202012Validator.check_schema(job_schema())
    return jsonschema.Draft202012Validator(job_schema())


@settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(any_jobs())
def test_a_saved_job_is_the_same_job_and_the_same_bytes(job: Job) -> None:
    text = job_text(job)
    again = job_from_text(text, "x")
    assert again == job
    assert job_text(again) == text
    whole_file().validate(json.loads(text))


def test_format_comes_first_and_the_text_is_readable() -> None:
    text = job_text(Job())
    assert text.startswith('{\n  "format": 6,\n')
    assert text.endswith("}\n")
    assert '"°C"' not in text
    assert "15 °C" in text


def test_a_byte_order_mark_is_no_matter(tmp_path: Path) -> None:
    path = tmp_path / "a.baydrop"
    path.write_bytes(b"\xef\xbb\xbf" + example_bytes(EXAMPLES[0]))
    assert load_job(path) == job_from_text(example_bytes(EXAMPLES[0]).decode(), "x")


@pytest.mark.parametrize(
    ("content", "rule"),
    [
        (b"", "empty"),
        (b" \n", "empty"),
        (b"%PDF-1.7\n%\xe2\xe3", "not-a-job"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "not-text"),
        ("{}".encode("utf-16"), "not-text"),
        (b'{"format": 1\x00}', "not-text"),
        (b"a,b,c\n1,2,3\n", "not-json"),
        (b"[]", "not-a-job"),
        (b'"format"', "not-a-job"),
        (b"17", "not-a-job"),
        (b'{"type": "FeatureCollection"}', "not-a-job"),
        (b'{"format": 1, "units"', "cut-off"),
        (b'{"format": 1 "units": 2}', "not-json"),
        (b'{"format": 7}', "newer-format"),
        (b'{"format": 999999999999999999999999}', "newer-format"),
        (b'{"format": 0}', "format"),
        (b'{"format": -1}', "format"),
        (b'{"format": true}', "format"),
        (b'{"format": "1"}', "format"),
        (b'{"format": 1.0}', "format"),
        (b'{"format": null}', "format"),
        (b'{"format": ' + b"1" * 10_000 + b"}", "number"),
        (b'{"format": NaN}', "not-finite"),
        (b'{"format": 1, "format": 1}', "duplicate-key"),
        (b"[" * 200_000, "too-deep"),
        (b'{"format":1,"site":' + b'{"a":' * 60 + b"1" + b"}" * 61, "too-deep"),
        (b'{"format": 1, "x": "\\ud800"}', "json_invalid"),
    ],
)
def test_what_is_no_job_is_told(tmp_path: Path, content: bytes, rule: str) -> None:
    path = tmp_path / "foreign.baydrop"
    path.write_bytes(content)
    with pytest.raises(JobFileError) as caught:
        load_job(path)
    assert rule in {f.rule for f in caught.value.findings}
    assert all(len(f.message) < 400 for f in caught.value.findings)
    assert path.read_bytes() == content


def test_a_huge_file_is_not_read(tmp_path: Path) -> None:
    path = tmp_path / "huge.baydrop"
    with path.open("wb") as file:
        file.truncate(MOST_BYTES + 1)
    with pytest.raises(JobFileError, match="larger than 60 MB"):
        load_job(path)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(JobFileError, match=r"There is no file “none\.baydrop”"):
        load_job(tmp_path / "none.baydrop")


def test_a_newer_format_tells_which_one_can_be_read() -> None:
    error = refused(json.dumps({**example_data(), "format": FORMAT + 6}))
    assert f"file format {FORMAT + 6}" in str(error)
    assert f"reads formats up to {FORMAT}" in str(error)


def test_broken_json_is_told_by_line_and_column() -> None:
    text = example_bytes(EXAMPLES[0]).decode().replace('"pressure": "3.5 bar",', '"pressure" "3.5 bar",')
    line = next(i for i, words in enumerate(text.splitlines(), 1) if '"pressure" "3.5' in words)
    assert f"line {line}, column " in str(refused(text))


@pytest.mark.parametrize("share", [0.001, 0.1, 0.33, 0.5, 0.9, 0.999])
def test_a_truncated_file_is_told(share: float) -> None:
    text = example_bytes(EXAMPLES[0]).decode()
    refused(text[: int(len(text) * share)])


@settings(deadline=None, max_examples=150)
@given(st.data())
def test_a_damaged_file_is_a_job_or_a_message(data: st.DataObject) -> None:
    content = bytearray(example_bytes(EXAMPLES[1]))
    for _ in range(data.draw(st.integers(1, 3))):
        at = data.draw(st.integers(0, len(content) - 1))
        content[at : at + data.draw(st.integers(0, 3))] = data.draw(st.binary(max_size=3))
    try:
        job = job_from_text(bytes(content).decode("utf-8"), "x")
    except (JobFileError, UnicodeDecodeError) as error:
        assert str(error)
    else:
        assert job_from_text(job_text(job), "x") == job


def _shapes(data: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """One path for every key of every kind of group in a file."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield (*path, key)
            yield from _shapes(value, (*path, key))
    elif isinstance(data, list) and data:
        yield from _shapes(data[0], (*path, 0))


def _at(data: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


SHAPES = list(_shapes(example_data()))


def test_the_example_has_shapes_of_every_group() -> None:
    assert len(SHAPES) > 100


@pytest.mark.parametrize("path", [s for s in SHAPES if s != ("format",)], ids=lambda s: ".".join(map(str, s)))
def test_a_missing_key_and_a_wrong_type_are_told_by_name(path: tuple[Any, ...]) -> None:
    place = ".".join(map(str, path))
    without = example_data()
    del _at(without, path[:-1])[path[-1]]
    missing = refused_data(without)
    assert place in {f.place for f in missing.findings}
    assert "missing" in next(f.message for f in missing.findings if f.place == place)
    for wrong in (["a"], {"a": 1}, 1e400, True, "\x01", ""):
        other = example_data()
        holder = _at(other, path[:-1])
        if type(wrong) is type(holder[path[-1]]):
            continue
        holder[path[-1]] = wrong
        # The field itself is told, or what it is made of (a group of another kind misses its keys).
        places = {f.place for f in refused_data(other).findings}
        assert any(told == place or told.startswith(f"{place}.") for told in places), wrong


def test_an_unknown_key_is_told_and_not_dropped() -> None:
    data = example_data()
    data["site"]["floor"]["colour" + "x" * 5000] = 1
    error = refused_data(data)
    assert "not known" in str(error)
    assert len(str(error)) < 300


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        (
            ("design", "drops", 3, "bay"),
            "bay-9",
            "There is no bay “bay-9”; the bays are bay-1, bay-2, bay-3.",
        ),
        (("design", "drops", 3, "service"), "wax", "There is no service “wax”"),
        (("design", "drops", 3, "id"), "1-l-prewash", "stands 2 times in drops"),
        (("design", "bays", 1, "id"), "bay-1", "stands 2 times in bays"),
        (("design", "products", 1, "id"), "air", "kept for compressed air"),
        (("design", "plant", 0, "product"), "wax", "There is no product “wax”"),
        (("design", "drops", 0, "hose_length"), "6 psi", "does not measure length"),
        (("design", "drops", 0, "hose_length"), "-6 m", "outside 0.5 m to 60 m"),
        (("design", "drops", 0, "hose_length"), "6e9 m", "outside 0.5 m to 60 m"),
        (("design", "drops", 0, "hose_length"), "nan m", "one number and a unit"),
        (("design", "drops", 0, "hose_length"), 6, "text with a number and a unit"),
        (("design", "drops", 0, "id"), "a b", "Only letters, digits, hyphens"),
        (("design", "products", 0, "dilution"), -1, "at least 0"),
        (("design", "products", 0, "dilution"), 1e300, "at most 2000"),
        (("design", "products", 0, "name"), "n" * 300, "120 characters at most"),
        (("design", "products", 0, "sheet", "classes"), ["magic"], "one of 'neutral-detergent'"),
        (("terms", "rule_percent"), "100", "below 100 %"),
        (("terms", "labour", "low"), "60", "low ≤ likely ≤ high"),
        (("terms", "currency"), "usd", "ISO 4217"),
        (("terms", "locale"), "english please", "such as en_US"),
        (("quote", "dated"), "31.3.2027", "a date such as"),
        (("customer", "name"), "a\x07b", "control character"),
    ],
)
def test_a_wrong_value_is_told(path: tuple[Any, ...], value: object, told: str) -> None:
    data = example_data()
    _at(data, path[:-1])[path[-1]] = value
    assert told in str(refused_data(data))


@pytest.mark.parametrize("word", ["NaN", "Infinity", "-Infinity"])
def test_words_for_no_number_are_told_by_place(word: str) -> None:
    text = example_bytes(EXAMPLES[0]).decode().replace('"dilution": 40.0', f'"dilution": {word}')
    (finding,) = refused(text).findings
    assert finding.place == "design.products.0.dilution"
    assert "Dilution" in finding.message
    assert word in finding.message


def test_a_doubled_key_is_told_by_place() -> None:
    text = (
        example_bytes(EXAMPLES[0]).decode().replace('"width": "24 m",', '"width": "24 m",\n"width": "25 m",')
    )
    (finding,) = refused(text).findings
    assert finding.place == "site.floor"
    assert "“width”" in finding.message


def test_markup_and_braces_stay_text() -> None:
    data = example_data()
    words = '<b>{0}</b> & <img src="file:///etc/passwd"> %s {reason}'
    data["customer"]["name"] = words
    assert job_from_text(json.dumps(data), "x").customer.name == words
    data["design"]["drops"][0]["bay"] = "{0}"
    refused_data(data)


def test_thousands_of_problems_are_told_as_some() -> None:
    data = example_data()
    data["design"]["drops"] = [{**data["design"]["drops"][0], "side": "up"}] * 500
    findings = refused_data(data).findings
    assert len(findings) == 51
    assert findings[-1].message == "There are 450 more problems in the file."


def _with_keys(number: int) -> str:
    data = example_data()
    data["site"] |= {f"key{i}": i for i in range(number)}
    return json.dumps(data)


def test_a_file_of_nothing_but_keys_is_told_soon() -> None:
    """Three calls a key today: reading it, looking at it, no more."""
    assert "no part of a job has so many" in str(refused(_with_keys(500_000)))
    some, twice = _with_keys(20_000), _with_keys(40_000)
    assert calls_of(lambda: refused(twice)) < 2.1 * calls_of(lambda: refused(some)) < 2.1 * 5 * 20_000


def test_a_failed_save_leaves_the_file(tmp_path: Path) -> None:
    path = tmp_path / "a.baydrop"
    save_job(path, Job())
    before = path.read_bytes()
    newer = Job().model_copy(update={"format": FORMAT + 1})
    with pytest.raises(JobFileError):
        save_job(path, newer)
    assert path.read_bytes() == before
    with pytest.raises(JobFileError, match="cannot be written"):
        save_job(tmp_path / "no folder" / "a.baydrop", Job())


def _large_job(number: int) -> Job:
    products = tuple(
        Product(id=f"p{i}", sheet=SafetySheet(classes=(Chemistry.QUATERNARY,))) for i in range(40)
    )
    bays = tuple(Bay(id=f"b{i}") for i in range(60))
    drops = tuple(Drop(id=f"d{i}", bay=f"b{i % 60}", service=f"p{i % 40}") for i in range(number))
    plant = tuple(PlantUnit(product=p.id) for p in products)
    return Job(design=Design(products=products, bays=bays, drops=drops, plant=plant))


def test_a_job_as_large_as_the_model_allows_opens_and_each_drop_adds_the_same_work(tmp_path: Path) -> None:
    """As many calls for each further drop at 600 as at 300; `tests/benchmarks/stages.py` times it."""
    path = tmp_path / "large.baydrop"
    work = []
    for number in (150, 300, 600):
        job = _large_job(number)
        save_job(path, job)
        assert load_job(path) == job
        work.append(calls_of(partial(save_job, path, job)) + calls_of(partial(load_job, path)))
    assert work[2] - work[1] < 2.2 * (work[1] - work[0])


def test_the_data_of_a_load_is_not_shared() -> None:
    data = example_data()
    before = copy.deepcopy(data)
    job_from_text(json.dumps(data), "x")
    assert data == before


def _options_file(number: int, change: object) -> str:
    data = example_data()
    option = {"name": "", "offered": True, "changes": [change] * (number // 40)}
    data["alternatives"] = [{"id": f"o{i}", **option} for i in range(40)]
    return json.dumps(data)


_NOWHERE = {"kind": "set", "place": ["nowhere", "x"], "value": 1, "instead_of": None, "after": ""}


@pytest.mark.parametrize("change", [{}, {**_NOWHERE, "kind": "?", "place": 3, "after": 4}, 7, _NOWHERE])
def test_of_any_number_of_bad_changes_some_are_told_with_as_much_work(change: object) -> None:
    """80,000 of them took 12.8 s and 528 MB: each was made a sentence before all but fifty were dropped."""
    few, many = _options_file(4_000, change), _options_file(8_000, change)
    findings = refused(many).findings
    assert len(findings) == 51 and "more problems in the file" in findings[-1].message
    assert findings[0].place.startswith("alternatives.0.changes.0")
    # What grows is reading and validating; a sentence takes a hundred calls, and there were five a change.
    assert calls_of(lambda: refused(many)) - calls_of(lambda: refused(few)) < 4_000 * 160


def _many_changes(number: int) -> str:
    """An option with as many changes of a drop that the base no longer has: all in order, and all do nothing."""
    data = example_data()
    places = (["drops", f"gone{i}", "gun"] for i in range(number))
    changes = [{**_NOWHERE, "place": place} for place in places]
    data["alternatives"] = [{"id": "o", "name": "", "offered": True, "changes": changes}]
    return json.dumps(data)


def test_a_change_of_an_option_takes_few_calls_to_read() -> None:
    """80,000 changes took 4 s: 94 calls for each more, and 51 now (counted); most made an encoder for a plain value
    or kept a path that nobody asked for."""
    job_from_text(_many_changes(10), "x")
    few, many = _many_changes(1_000), _many_changes(3_000)
    assert (
        calls_of(lambda: job_from_text(many, "x")) - calls_of(lambda: job_from_text(few, "x"))
    ) / 2_000 < 60


def _searches(work: Callable[[], object]) -> int:
    """How often Python searched for cycles meanwhile."""
    begun: list[str] = []

    def follow(phase: str, _: object) -> None:
        begun.append(phase)

    gc.collect()
    gc.callbacks.append(follow)
    try:
        work()
    finally:
        gc.callbacks.remove(follow)
    return begun.count("start")


def test_cycles_are_not_searched_for_while_a_file_is_taken_in() -> None:
    """What becomes of a file is a tree. 3,000 changes: 64 searches before (counted); with 80,000 they took 1.9 of
    3.5 s. What is put off is one search at the end."""
    text = _many_changes(3_000)
    job_from_text(text, "x")
    assert _searches(lambda: job_from_text(text, "x")) <= 3


def test_the_search_for_cycles_is_afterwards_as_it_was() -> None:
    """Whatever comes of the file, and with one file read within the time of another."""
    good, bad = _many_changes(10), _options_file(80, {})
    job_from_text(good, "x")
    refused(bad)
    assert gc.isenabled()
    with collecting_later():
        job_from_text(good, "x")
        refused(bad)
        assert not gc.isenabled()
    assert gc.isenabled()
    gc.disable()
    try:
        job_from_text(good, "x")
        assert not gc.isenabled()
    finally:
        gc.enable()
    first, second = collecting_later(), collecting_later()
    first.__enter__()
    second.__enter__()
    first.__exit__(None, None, None)  # of two threads the one that began first ends first
    assert not gc.isenabled()
    second.__exit__(None, None, None)
    assert gc.isenabled()


def test_opening_can_be_left_between_two_options() -> None:
    """Options are read one after the other: after each it is asked whether the job is still wanted."""
    data = example_data()
    data["alternatives"] = [{"id": f"o{i}", "name": "", "offered": True, "changes": []} for i in range(20)]
    text, asked = json.dumps(data), []

    class Counted(Going):
        def check(self) -> None:
            asked.append(1)
            super().check()

    job_from_text(text, "x", Counted())
    assert len(asked) > 40, "once where an option is read, once where it is put together"
    left = Going(lambda done, _: left.leave() if done == 3 else None)
    with pytest.raises(Stopped):
        job_from_text(text, "x", left)


def test_a_job_of_80_000_changes_to_no_field_is_told_at_its_first_200() -> None:
    """All were told of before all but fifty were dropped."""
    error = refused(_options_file(80_000, _NOWHERE))
    assert len(error.findings) == 51
    assert error.findings[-1].message == "There are 152 more problems in the file."


def test_a_wide_file_is_looked_at_in_few_calls() -> None:
    """8 MB of lists and groups of nothing took 2.9 s: 34 calls for each two of them, and 9 now (counted)."""

    def wide(number: int) -> str:
        return json.dumps({**example_data(), "prices": [{"a": [1, 2]}] * number})

    few, many = wide(2_000), wide(4_000)
    refused(few)
    assert calls_of(lambda: refused(many)) - calls_of(lambda: refused(few)) < 12 * 2_000


def test_what_is_odd_is_told_by_its_place_among_many() -> None:
    text = json.dumps({**example_data(), "prices": [[], {"a": [1, {"b": []}]}, {"c": {"d": [[]]}}]})
    text = text.replace('"d": [[]]', '"d": [[], [NaN], {"e": 1, "e": 2}]')
    findings = refused(text).findings
    assert [(f.place, f.rule) for f in findings] == [
        ("prices.2.c.d.2", "duplicate-key"),
        ("prices.2.c.d.1.0", "not-finite"),
    ]


def test_counting_parts_of_a_file_takes_no_second_copy_of_it() -> None:
    """5 million values in 26 MB of texts and brackets: the largest of all hostile files, 565 MB."""
    text = json.dumps({**example_data(), "extra": ['a, "b" [\\'] * 1_300_000})
    tracemalloc.start()
    try:
        with pytest.raises(JobFileError, match="more groups, lists and values than any job"):
            _check_amount(text, "x")
        assert tracemalloc.get_traced_memory()[1] < len(text) / 2
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("length", [1, 2, 7, 50, 1000])
def test_texts_are_left_out_however_the_pieces_fall(monkeypatch: pytest.MonkeyPatch, length: int) -> None:
    monkeypatch.setattr(jobs, "_PIECE_LENGTH", length)
    data = {'a"[,': ["\\", '\\"', "", "x" * 60, {"b": [1, 2, '"']}], "c\\": "\n,{"}
    bare = "".join(_without_texts(json.dumps(data)))
    assert bare == "{: [, , , , {: [1, 2, ]}], : }"
    assert "".join(_without_texts('{"a": [1], "b')) == "{: [1], "


def test_keys_that_nobody_knows_are_told_as_some() -> None:
    """1,600 drops of 190 unknown keys took 12 s and 680 MB."""
    data = example_data()
    drop = {**data["design"]["drops"][0], **{f"key{i}": 1 for i in range(150)}}
    data["design"]["drops"] = [drop] * 1_600
    findings = refused_data(data).findings
    assert len(findings) == 51 and findings[0].rule == "extra_forbidden"
    assert findings[-1].message == "There are at least 1951 more problems in the file."


def test_empty_lists_without_number_are_not_read() -> None:
    """20 MB of them took 30 s; they are counted in the text, before anything is made of them."""
    text = "[" + ",".join(["[]"] * 7_000_000) + "]"
    (finding,) = refused(text).findings
    assert finding.rule == "too-many-parts"
    assert calls_of(lambda: refused(text)) < 100


@pytest.mark.parametrize("number", [1, FORMAT])
def test_half_a_pair_of_characters_is_told(number: int) -> None:
    """As a fingerprint of the first format it was a traceback (found by `tests/benchmarks/hostile_files.py`, jobs:276);
    elsewhere a sentence about hexadecimal without the name of the file."""
    odd = "\ud800"
    issued = [{"letter": "A", "snapshot": {}, "fingerprint": odd, "pdf_fingerprint": odd}]
    (finding,) = refused_data({**example_data(), "format": number, "issued": issued}).findings
    told = (
        finding.message
        if number == 1
        else refused_data({**example_data(), "customer": odd}).findings[0].message
    )
    assert "“x.baydrop” holds half of a pair of characters" in told
