"""Thousands of damaged and hostile files, opened as a person would: a sentence or an answer, soon, in little memory.

    python -m tests.benchmarks.hostile_files [--jobs 10000] [--books 2000] [--workbooks 500] [--seed 1] [--seconds 600]

Each file is made from the seed and its number, so that one that fails can be made again: `--only jobs:4711`. A process
opens many one after another and may take 1.5 GB and 60 s for each; it is given up after one that took much memory, so
that the memory of each file is that of the process before it and what the file added. A file that takes too long or too
much is opened again in a process of its own, a few times, and the best counts: a busy machine slows every process.
Told are tracebacks, refusals without a sentence, the slowest and the largest; the program ends with 1 if there is a
traceback, or a file that takes more than 2 s of processor time or 500 MB. Not collected by pytest:
`tests/store/test_hostile_files.py` takes a small sample.
"""

from __future__ import annotations

import argparse
import base64
import gc
import io
import json
import multiprocessing
import random
import re
import sys
import tempfile
import time
import traceback
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Any, Final

from estimator.shipped import shipped
from estimator.store.book_exchange import export_book, read_book
from estimator.store.jobs import JobFileError, load_job
from estimator.store.pricebooks import PriceBookError, shipped_price_book

__all__ = ["KINDS", "Outcome", "content_of", "open_one", "outcomes"]

_MOST_S: Final = 2.0
_MOST_MB: Final = 500.0
_ROOM: Final = 1_500_000_000
_WAIT_S: Final = 60
_FRESH_MB: Final = 250.0
"""A process that took more is not used again: it would keep some of it."""
_USUAL_MB: Final = 150.0
"""Making a file may not leave more than this in the process that opens it."""
_TRIES: Final = 3
_EXAMPLES: Final = ("gannet-quay.baydrop", "harrow-mill.baydrop")
_TEXTS: Final = (
    "", "\0", "\uffff", "\ud800", "<img src='file:///x'>", "=1+1", "\u202e", "\x9b31m", "{0}", "%s", "../../x", "1e999",
    "-0", "9" * 400, "x" * 5_000, "NaN", "12 m", "12 furlongs", "2027-02-30", "\n", '"', "[[]]",
)  # fmt: skip
_VALUES: Final[tuple[Any, ...]] = (
    None, True, False, 0, -1, 1e308, -1e-308, 2**63, 10**300, [], {}, [[]], [None], {"": None}, float("inf"),
    float("nan"), *_TEXTS,
)  # fmt: skip

_PIECES: Final = (
    b"<a>", b"<a/>", b"<si><t/></si>", b"<xf/>", b'<row><c t="s"><v>0</v></c></row>', b" ", b"<c/>", b"&lt;",
    b'<sheet name="x"/>', b'<a b="1" c="2"/>', b"<!-- -->", b"<?a b?>",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a file.

    Attributes:
        kind, number: which file.
        told: the first sentence, "" where it opened.
        traceback: "" where there is none.
        seconds: of the processor.
        megabytes: largest memory of the process.
    """

    kind: str
    number: int
    told: str = ""
    traceback: str = ""
    seconds: float = 0.0
    megabytes: float = 0.0

    @property
    def is_wrong(self) -> bool:
        """Whether it breaks what is promised."""
        return bool(self.traceback) or self.seconds > _MOST_S or self.megabytes > _MOST_MB


@cache
def _job_texts() -> tuple[str, ...]:
    files = resources.files("resources").joinpath("examples")
    return tuple(files.joinpath(name).read_text(encoding="utf-8") for name in _EXAMPLES)


@cache
def _workbook() -> tuple[tuple[str, bytes], ...]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.xlsx"
        export_book(path, shipped_price_book())
        with zipfile.ZipFile(path) as archive:
            return tuple((name, archive.read(name)) for name in archive.namelist())


def _places(data: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    children = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, child in children:
        yield (*path, step)
        yield from _places(child, (*path, step))


def _inside(data: Any, path: tuple[Any, ...]) -> Any:
    for step in path:
        data = data[step]
    return data


def _damaged(dice: random.Random, content: bytes) -> bytes:
    """Bytes changed, cut off, doubled or moved."""
    for _ in range(dice.choice((1, 1, 2, 5, 40))):
        a, b = sorted(dice.randrange(len(content) + 1) for _ in range(2))
        b = min(b, a + dice.choice((1, 4, 100, 3_000)))
        new = dice.choice(
            (b"", content[a:b] * 2, dice.randbytes(b - a), dice.choice(_TEXTS).encode("utf-8", "ignore"))
        )
        content = content[:a] + new + content[b:]
    return content[: dice.randrange(len(content) + 1)] if dice.random() < 0.1 else content


def _mutated(dice: random.Random, data: Any) -> Any:
    """Values put in the place of others, rows multiplied, keys taken out, added or renamed."""
    places = list(_places(data))
    for _ in range(dice.choice((1, 1, 1, 3, 10, 60))):
        *above, last = dice.choice(places)
        try:
            group = _inside(data, tuple(above))
            old = group[last]
            match dice.randrange(6):
                case 0 | 1:
                    group[last] = dice.choice(_VALUES)
                case 2:
                    group[last] = json.loads(json.dumps(_inside(data, dice.choice(places))))
                case 3:
                    del group[last]
                case 4 if isinstance(old, list):
                    group[last] = old * dice.choice((2, 100, 5_000)) if len(old) < 50 else old[::-1]
                case 5 if isinstance(old, dict):
                    old |= {f"{dice.choice(_TEXTS)}{i}": 1 for i in range(dice.choice((1, 1, 150, 5_000)))}
                case _:
                    group[last] = [old] * dice.choice((1, 3, 1_000))
        except (KeyError, IndexError, TypeError):
            continue
    return data


def _attack(dice: random.Random) -> str:
    """Files made to take long."""
    data = json.loads(_job_texts()[0])
    many = int(10 ** dice.uniform(3, 6.3))
    change = {"kind": "set", "place": ["drops", "d1", "gun"], "value": 1, "instead_of": None, "after": ""}
    part: Any = dice.choice(
        (1, {}, [], "x", None, change, data["design"]["drops"][0], {"segment": "a", "length": "1 m"})
    )
    most = max(1, min(many, 30_000_000 // (len(json.dumps(part)) + 2)))
    match dice.randrange(5):
        case 0:
            return "[" * most + "]" * dice.choice((0, most))
        case 1:
            data["design"][dice.choice(("drops", "bays", "products", "lines", "plant"))] = [part] * most
        case 2:
            option = {"name": "", "offered": False, "changes": [part] * (most // 40)}
            data["alternatives"] = [{"id": f"o{i}", **option} for i in range(40)]
        case 3:
            line = dice.choice(data["design"]["lines"] or [{"service": "air"}])
            data["design"]["lines"] = [{**line, "measured": [part] * min(most, 40_000)}]
        case _:
            data[dice.choice(("issued", "alternatives", "prices", "extra"))] = [part] * most
    return json.dumps(data)


def _as_format_1(dice: random.Random, data: Any) -> Any:
    """What a file of the first format says, in part: the number, the letter, whole designs as options."""
    data["format"] = dice.choice((1, 1, 1, 0, 3, "1", 1.0, None))
    if dice.random() < 0.7:
        data["quote"].pop("first_letter", None)
        data["quote"]["revision"] = dice.choice(("A", "b", "9", "", "ZZ", None, "x" * 200))
    if dice.random() < 0.7:
        other = _mutated(dice, json.loads(json.dumps(data["design"])))
        options = [
            {"id": f"o{i}", "name": "", "offered": False, "design": other}
            for i in range(dice.choice((1, 60)))
        ]
        data["alternatives"] = dice.choice((options, options[0], None, [None, *options]))
    if dice.random() < 0.5:
        text = dice.choice(_TEXTS)
        data["issued"] = [
            {"letter": text, "snapshot": data["design"], "fingerprint": text, "pdf_fingerprint": text}
        ]
    return data


def _changes(dice: random.Random, data: Any) -> Any:
    """Options of many changes, most in order, of rows and fields that are there or are not."""
    design = data["design"]
    lists = [name for name, rows in design.items() if isinstance(rows, list) and rows]
    options = []
    for i in range(dice.choice((1, 5, 40))):
        changes = []
        for j in range(int(10 ** dice.uniform(0, 3.3))):
            name = dice.choice((*lists, "nowhere"))
            row = dice.choice(design.get(name) or [{"id": "x"}])
            key = str(next(iter(row.values()))) if dice.random() < 0.5 else f"n{j}"
            kind = dice.choice(("set", "add", "remove", "move", "set", "add", "turn"))
            place = [name, key, dice.choice(list(row))] if kind == "set" else [name, key]
            value = {**row, "id": key} if kind == "add" else dice.choice((1, "x", None, row))
            after = dice.choice(("", f"n{j - 1}", key))
            changes.append({"kind": kind, "place": place, "value": value, "instead_of": None, "after": after})
        options.append({"id": f"o{i}", "name": "", "offered": True, "changes": changes})
    data["alternatives"] = options
    return data


def _deep(dice: random.Random, data: Any) -> Any:
    """A value deep in groups and lists at some place, or an option's change of it."""
    inner: Any = dice.choice(_VALUES)
    for _ in range(dice.choice((10, 34, 39, 41, 500))):
        inner = [inner] if dice.random() < 0.5 else {"a": inner}
    *above, last = dice.choice(list(_places(data)))
    _inside(data, tuple(above))[last] = inner
    return data


def _wrong_hashes(dice: random.Random, data: Any) -> Any:
    """Revisions whose fingerprints, papers, order or ledger are not those that were issued."""
    text = json.dumps(dice.choice((data["design"], data, "x", 1)))
    data["issued"] = [
        {
            "letter": dice.choice(("A", "B", "AA", "a", "")),
            "text": dice.choice((text, text[:-1], "x" * 100_000, "[" * 100_000)),
            "fingerprint": dice.choice(("0" * 64, "0" * 63, "g" * 64, "")),
            "paper": dice.choice(("", "AAAA", "eJwDAAAAAAE=", "A" * 1_000_000)),
            "paper_fingerprint": dice.choice(("0" * 64, "")),
            "withdrawn": dice.choice((None, {"dated": "2027-01-01", "reason": "", "follows": ""})),
        }
        for _ in range(dice.choice((1, 2, 200, 201)))
    ]
    data["ledger"] = {"last": dice.choice(("A", "ZZ", "", 1)), "seal": "0" * 64, "withdrawals": ""}
    return data


def _gentle(dice: random.Random, data: Any) -> Any:
    """A job that may well be in order: other words in its texts, rows taken out or in another order."""
    words = ("name", "title", "notes", "description", "address", "reason", "source", "phone", "contact")
    for _ in range(dice.choice((1, 5, 30))):
        *above, last = dice.choice(list(_places(data)))
        group = _inside(data, tuple(above))
        old = group[last]
        if last in words and isinstance(old, str):
            group[last] = dice.choice((*_TEXTS[4:11], "Ω≈ç√ 日本", "x" * 100, "{'a': [1]}"))
        elif isinstance(old, list) and last in ("drops", "lines", "plant", "bays", "products"):
            dice.shuffle(old)
            del old[dice.choice((1, 9, len(old))) :]
    return data


def _texted(dice: random.Random, text: str) -> str:
    """Doubled keys, numbers of thousands of digits and words for none, put where a value stands in the text."""
    values = list(re.finditer(r'"[a-z_]+": (?=[\d"tfn])', text))
    for found in sorted(dice.sample(values, dice.choice((1, 3, 50))), key=lambda m: -m.start()):
        new = dice.choice(
            (
                f"{found[0]}1, {found[0]}",
                f'{found[0]}{"9" * 5_000}, "x": ',
                f'{found[0]}NaN, "x": ',
                f'{found[0]}-Infinity, "y": ',
                f'{found[0]}1e999, "z": ',
                f'{found[0]}"\\ud800", "u": ',
            )
        )
        text = text[: found.start()] + new + text[found.end() :]
    return text


def _job(dice: random.Random) -> bytes:
    text = dice.choice(_job_texts())
    way = dice.random()
    if way < 0.3:
        return _damaged(dice, text.encode())
    if way < 0.4:
        return _texted(dice, text).encode("utf-8", "replace")
    if way < 0.5:
        return json.dumps(_gentle(dice, json.loads(text)), indent=dice.choice((None, 0, 2))).encode()
    if way < 0.7:
        make = dice.choice((_as_format_1, _as_format_1, _changes, _deep, _wrong_hashes))
        return json.dumps(make(dice, json.loads(text))).encode("utf-8", "replace")
    return (_attack(dice) if way > 0.99 else json.dumps(_mutated(dice, json.loads(text)))).encode(
        "utf-8", "replace"
    )


def _book(dice: random.Random) -> bytes:
    text = shipped("price-book.csv").read_text(encoding="utf-8-sig")
    if dice.random() < 0.3:
        return _damaged(dice, text.encode())
    rows = [line.split(",") for line in text.splitlines()]
    gentle = dice.random() < 0.3
    for _ in range(dice.choice((1, 3, 30))):
        row = dice.choice(rows[2:] if gentle else rows)
        row[1 if gentle else dice.randrange(len(row))] = dice.choice(_TEXTS[4:11] if gentle else _TEXTS)
    if dice.random() < 0.1:
        rows += [list(dice.choice(rows)) for _ in range(dice.choice((500, 30_000)))]
    return (
        dice.choice((",", ",", ";", "\t")).join(("\n".join(map(",".join, rows)),)).encode("utf-8", "replace")
    )


def _swell(dice: random.Random, parts: dict[str, bytes]) -> None:
    """A sheet said to be as large as there are, far cells, thousands of sheets, styles or formats, a bomb."""
    sheet, book, styles = "xl/worksheets/sheet1.xml", "xl/workbook.xml", "xl/styles.xml"
    many = int(10 ** dice.uniform(2, 5))
    match dice.randrange(6):
        case 0:
            parts[sheet] = re.sub(
                rb"<sheetData>", b'<dimension ref="A1:XFD1048576"/><cols><col min="1" max="16384"/></cols><sheetData>',
                parts[sheet],
            )  # fmt: skip
        case 1:
            place = dice.choice((b"XFD1048576", b"A20003", b"BI4", b"A999999999999", b"ZZZZ4", b"A0", b"4"))
            row = b'<row r="%s"><c r="%s"><v>1</v></c></row>' % (place.lstrip(b"ABDFIXZ"), place)
            parts[sheet] = parts[sheet].replace(b"</sheetData>", row + b"</sheetData>")
        case 2:
            more = b"".join(b'<sheet name="s%d" sheetId="%d" r:id="rId1"/>' % (i, i) for i in range(2, many))
            parts[book] = parts[book].replace(b"</sheets>", more + b"</sheets>")
        case 3:
            formats = b"".join(
                b'<numFmt numFmtId="%d" formatCode="%s"/>' % (i, b"y" * 200) for i in range(many)
            )
            used = b"".join(b'<xf numFmtId="%d"/>' % i for i in range(many))
            parts[styles] = (
                b"<styleSheet><numFmts>"
                + formats
                + b"</numFmts><cellXfs>"
                + used
                + b"</cellXfs></styleSheet>"
            )
        case 4:
            parts["xl/media/image1.png"] = b"\0" * dice.choice((1_000_000, 79_000_000, 90_000_000))
        case _:
            parts |= {
                f"xl/worksheets/sheet{i}.xml": b"<worksheet/>" for i in range(2, dice.choice((50, 600)))
            }


def _sheet(dice: random.Random) -> bytes:
    parts = dict(_workbook())
    name = dice.choice(list(parts))
    kind = dice.random()
    if kind < 0.3:
        parts[name] = _damaged(dice, parts[name])
    elif kind < 0.5:
        parts[name] = re.sub(
            rb'"[^"]*"|>[^<]+<',
            lambda m: (
                m[0]
                if dice.random() > 0.01
                else m[0][:1] + dice.choice(_TEXTS).encode("utf-8", "ignore") + m[0][-1:]
            ),
            parts[name],
        )
    elif kind < 0.8:
        piece = dice.choice(_PIECES)
        head, mark, tail = parts[name].rpartition(b"</")
        parts[name] = head + piece * int(10 ** dice.uniform(1, 6.5)) + mark + tail
    elif kind < 0.87:
        _swell(dice, parts)
    elif kind < 0.93:
        head, mark, tail = parts[name].partition(b"?>")
        parts[name] = head + mark + b'<!DOCTYPE a [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>' + tail
    else:
        del parts[name]
    # What packs badly hides how well the rest packs.
    parts["docProps/padding"] = base64.b64encode(dice.randbytes(dice.choice((0, 400_000))))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for part, content in parts.items():
            # A day of its own would make another file of the same numbers.
            archive.writestr(zipfile.ZipInfo(part), content, zipfile.ZIP_DEFLATED)
    return _damaged(dice, out.getvalue()) if dice.random() < 0.15 else out.getvalue()


KINDS: Final[dict[str, tuple[str, Callable[[random.Random], bytes], Callable[[Path], object]]]] = {
    "jobs": (".baydrop", _job, load_job),
    "books": (".csv", _book, read_book),
    "workbooks": (".xlsx", _sheet, read_book),
}


def content_of(kind: str, number: int, seed: int) -> bytes:
    """A file: the same for the same three."""
    return KINDS[kind][1](random.Random(f"{seed} {kind} {number}"))


def open_one(kind: str, number: int, path: Path) -> Outcome:
    """Open a file in this process, whose memory is not looked at; nothing that happens is raised."""
    before = time.process_time()
    told = trace = ""
    try:
        KINDS[kind][2](path)
    except (JobFileError, PriceBookError) as error:
        told = error.findings[0].message if error.findings else ""
        if not told or len(str(error)) > 100_000 or any(not f.message.strip() for f in error.findings):
            trace = "refused without a sentence, or with one without end"
    except Exception:
        trace = traceback.format_exc()
    taken = time.process_time() - before
    return Outcome(kind, number, told, trace, taken)


def _memory_mb(name: str) -> float:
    """Memory of this process as Linux counts it: "VmRSS" is now, "VmHWM" the largest since the mark was reset."""
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith(f"{name}:"):
            return int(line.split()[1]) / 1000
    raise RuntimeError("this system does not tell the memory of a process")


def _serve(kind: str, seed: int, path: Path, orders: Connection) -> None:
    """Make and open the files whose numbers come in, one after another, until one took so much that a new process is
    better; the answer is None where that is so before the file is opened."""
    # Not on every system; the sample in the tests does without.
    import resource

    none = resource.getrlimit(resource.RLIMIT_AS)
    while True:
        number, is_made = orders.recv()
        fits = True
        if not is_made:
            path.write_bytes(content_of(kind, number, seed))
            gc.collect()
            fits = _memory_mb("VmRSS") < _USUAL_MB
        if not fits:
            orders.send(None)
            return
        # What making the file took is not what opening it takes.
        Path("/proc/self/clear_refs").write_text("5", encoding="ascii")
        resource.setrlimit(resource.RLIMIT_AS, (_ROOM, none[1]))
        outcome = replace(open_one(kind, number, path), megabytes=_memory_mb("VmHWM"))
        resource.setrlimit(resource.RLIMIT_AS, none)
        orders.send(outcome)
        if outcome.megabytes > _FRESH_MB:
            return


class _Servant:
    """A process that opens files, made anew when it is gone."""

    def __init__(self, kind: str, seed: int, path: Path) -> None:
        self._kind, self._seed, self._path = kind, seed, path
        self._process: BaseProcess | None = None

    def _start(self) -> None:
        fork = multiprocessing.get_context("fork")
        self._here, there = fork.Pipe()
        self._process = fork.Process(target=_serve, args=(self._kind, self._seed, self._path, there))
        self._process.start()
        there.close()

    def open(self, number: int) -> Outcome:
        """What becomes of a file."""
        dead = Outcome(self._kind, number, traceback=f"no answer within {_WAIT_S} s, or its process died")
        # Making a file can take long where the machine is busy; that is not what is looked at.
        for is_made in (False, True):
            if self._process is None or not self._process.is_alive():
                self._start()
            try:
                self._here.send((number, is_made))
                outcome: Outcome | None = (
                    self._here.recv() if self._here.poll(_WAIT_S if is_made else 10 * _WAIT_S) else dead
                )
            except (EOFError, OSError):
                outcome = dead
            if outcome is None or outcome.traceback or outcome.megabytes > _FRESH_MB:
                self.end()
            if outcome is not None:
                return outcome
        return dead

    def end(self) -> None:
        """Let the process go."""
        if self._process is not None:
            self._process.kill()
            self._process.join()
            self._here.close()
            self._process = None


def outcomes(kind: str, numbers: range, seed: int, until: float = float("inf")) -> Iterator[Outcome]:
    """Open files, many a process, up to a moment of `time.monotonic`."""
    with tempfile.TemporaryDirectory() as folder:
        servant = _Servant(kind, seed, Path(folder) / f"file{KINDS[kind][0]}")
        try:
            for number in numbers:
                if time.monotonic() > until:
                    return
                outcome = servant.open(number)
                for _ in range(_TRIES):
                    if not outcome.is_wrong or outcome.traceback:
                        break
                    servant.end()
                    again = servant.open(number)
                    outcome = min(outcome, again, key=lambda o: (bool(o.traceback), o.seconds))
                yield outcome
        finally:
            servant.end()


def _report(kind: str, found: list[Outcome]) -> int:
    if not found:
        return 0
    wrong = [o for o in found if o.is_wrong]
    slowest, largest = max(found, key=lambda o: o.seconds), max(found, key=lambda o: o.megabytes)
    opened = sum(not o.told and not o.traceback for o in found)
    refused = sum(bool(o.told) and not o.traceback for o in found)
    print(
        f"{kind}: {len(found)} files, {opened} opened, {refused} refused, {len(wrong)} wrong; slowest "
        f"{slowest.seconds:.2f} s ({kind}:{slowest.number}), largest {largest.megabytes:.0f} MB "
        f"({kind}:{largest.number})",
        flush=True,
    )
    ends = Counter(o.traceback.strip().rpartition("\n")[2] for o in wrong)
    for end, times in ends.most_common(20):
        first = next(o for o in wrong if o.traceback.strip().rpartition("\n")[2] == end)
        print(f"  {times} x {end or 'too slow or too large'}: {kind}:{first.number}, {first.seconds:.2f} s, "
              f"{first.megabytes:.0f} MB; {first.told[:120]}")  # fmt: skip
    return len(wrong)


def main() -> int:
    """1 if a file broke what is promised."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    for kind, number in (("jobs", 10_000), ("books", 2_000), ("workbooks", 500)):
        parser.add_argument(f"--{kind}", type=int, default=number)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first file of each kind")
    parser.add_argument("--every", type=int, default=1_000_000, help="tell how it stands after so many files")
    parser.add_argument("--seconds", type=float, default=float("inf"), help="of each kind")
    parser.add_argument("--only", help="one file, such as jobs:4711, with its traceback")
    chosen = parser.parse_args()
    if chosen.only:
        kind, _, number = chosen.only.partition(":")
        for outcome in outcomes(kind, range(int(number), int(number) + 1), chosen.seed):
            print(outcome.traceback or outcome.told or "opened")
            print(f"{outcome.seconds:.2f} s, {outcome.megabytes:.0f} MB")
        return 0
    wrong = 0
    for kind in KINDS:
        numbers = range(chosen.first, chosen.first + getattr(chosen, kind))
        found: list[Outcome] = []
        for outcome in outcomes(kind, numbers, chosen.seed, time.monotonic() + chosen.seconds):
            found.append(outcome)
            if len(found) % chosen.every == 0:
                _report(kind, found)
        wrong += _report(kind, found)
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main())
