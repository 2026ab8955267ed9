"""Thousands of damaged and hostile files, opened as a person would: a sentence or an answer, soon, in little memory.

    python -m tests.benchmarks.hostile_files [--jobs 10000] [--books 2000] [--workbooks 500] [--seed 1] [--seconds 600]

Each file is made from the seed and its number, so that one that fails can be made again: `--only jobs:4711`. It is
opened in a process of its own that may take 1.5 GB and 60 s. Told are tracebacks, refusals without a sentence, the
slowest and the largest; the program ends with 1 if there is a traceback, or a file that takes more than 2 s of
processor time or 500 MB. Not collected by pytest: `tests/store/test_hostile_files.py` takes a small sample.
"""

from __future__ import annotations

import argparse
import base64
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


def _job(dice: random.Random) -> bytes:
    text = dice.choice(_job_texts())
    way = dice.random()
    if way < 0.35:
        return _damaged(dice, text.encode())
    return (_attack(dice) if way > 0.99 else json.dumps(_mutated(dice, json.loads(text)))).encode(
        "utf-8", "replace"
    )


def _book(dice: random.Random) -> bytes:
    text = shipped("price-book.csv").read_text(encoding="utf-8-sig")
    if dice.random() < 0.3:
        return _damaged(dice, text.encode())
    rows = [line.split(",") for line in text.splitlines()]
    for _ in range(dice.choice((1, 3, 30))):
        row = dice.choice(rows)
        row[dice.randrange(len(row))] = dice.choice(_TEXTS)
    if dice.random() < 0.1:
        rows += [list(dice.choice(rows)) for _ in range(dice.choice((500, 30_000)))]
    return (
        dice.choice((",", ",", ";", "\t")).join(("\n".join(map(",".join, rows)),)).encode("utf-8", "replace")
    )


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
    elif kind < 0.9:
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


def _alone(kind: str, number: int, path: Path, answer: Connection) -> None:
    # Not on every system; the sample in the tests does without.
    import resource

    resource.setrlimit(resource.RLIMIT_AS, (_ROOM, _ROOM))
    outcome = open_one(kind, number, path)
    answer.send(replace(outcome, megabytes=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000))


def outcomes(kind: str, numbers: range, seed: int, until: float = float("inf")) -> Iterator[Outcome]:
    """Open files, each in a process of its own, up to a moment of `time.monotonic`."""
    fork = multiprocessing.get_context("fork")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"file{KINDS[kind][0]}"
        for number in numbers:
            if time.monotonic() > until:
                return
            path.write_bytes(content_of(kind, number, seed))
            here, there = fork.Pipe(duplex=False)
            child = fork.Process(target=_alone, args=(kind, number, path, there))
            child.start()
            there.close()
            try:
                found = here.recv() if here.poll(_WAIT_S) else None
            except EOFError:
                found = None
            if found is None:
                child.kill()
                found = Outcome(kind, number, traceback=f"no answer within {_WAIT_S} s, or its process died")
            child.join()
            yield found


def _report(kind: str, found: list[Outcome]) -> int:
    wrong = [o for o in found if o.is_wrong]
    slowest, largest = max(found, key=lambda o: o.seconds), max(found, key=lambda o: o.megabytes)
    opened = sum(not o.told and not o.traceback for o in found)
    print(
        f"{kind}: {len(found)} files, {opened} opened, {len(wrong)} wrong; slowest {slowest.seconds:.2f} s "
        f"({kind}:{slowest.number}), largest {largest.megabytes:.0f} MB ({kind}:{largest.number})",
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
        number = getattr(chosen, kind)
        if number:
            wrong += _report(
                kind, list(outcomes(kind, range(number), chosen.seed, time.monotonic() + chosen.seconds))
            )
    return int(wrong > 0)


if __name__ == "__main__":
    sys.exit(main())
