"""Commands that change a job or a price book: what they do, what they print, and every refusal with its place."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.acts.quick_build import QuickBuild
from estimator.cli import main
from estimator.cli.talk import visible
from estimator.model.grades import Grade
from estimator.model.spec import fields_of
from estimator.store.book_exchange import export_book, read_book
from estimator.store.jobs import job_text
from estimator.study import study
from tests.cli.hands import Terminal

ROOT = Path(__file__).parents[2]
DAY = ("--date", "2027-03-01")


class TestHelp:
    @pytest.mark.parametrize(
        "command",
        [
            *(["build"], ["edit"], ["propose"], ["option"], ["import"], ["prices"], ["issue"], ["quote"]),
            ["withdraw"],
            *(["study"], ["check"], ["option", "alternate"], ["prices", "percent"], ["prices", "edit"]),
        ],
        ids=" ".join,
    )
    def test_every_command_has_help(self, command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
        with pytest.raises(SystemExit) as caught:
            main([*command, "--help"])
        assert caught.value.code == 0
        assert f"baydrop {' '.join(command)}" in " ".join(capsys.readouterr().out.split())

    def test_build_offers_every_input_of_the_quick_build(self, capsys: pytest.CaptureFixture[str]) -> None:
        with pytest.raises(SystemExit):
            main(["build", "--help"])
        out = capsys.readouterr().out
        assert all(f"--{f.name.replace('_', '-')}" in out for f in fields_of(QuickBuild))


class TestBuild:
    def test_json_in_and_out(self, terminal: Terminal) -> None:
        told = terminal.json(
            *("build", "JOB", "--from", "-", "--bays", "2", *DAY),
            stdin='{"bays": 3, "products": 4, "floor_width": "24.50 m"}',
        )
        design = terminal.whole.design
        assert told["job"] == str(terminal.job)
        # A flag wins over the file; a text stays as typed.
        assert (len(design.bays), len(design.products)) == (2, 4)
        assert terminal.whole.site.floor.width.text == "24.50 m"
        assert told["acts"] == [f"Quick build: 2 bays, {len(design.drops)} drops"]
        made = study(terminal.whole, read_book(terminal.book), date(2027, 3, 1))
        assert Decimal(told["total"]["likely"]) == made.price.totals.total.likely > 0
        assert len(told["findings"]) == len(made.findings)
        assert {"severity", "place", "rule", "sentence"} <= set(told["findings"][0])

    def test_again_keeps_the_customer(self, built: Terminal) -> None:
        built.good("edit", "JOB", "--set", "customer.name=Demo customer", *DAY)
        built.good("build", "JOB", "--again", "--bays", 2, *DAY)
        assert built.whole.customer.name == "Demo customer"
        assert len(built.whole.design.bays) == 2

    @pytest.mark.parametrize(
        ("arguments", "stdin", "words"),
        [
            (["--bays", "0"], "", "bays: Bays: "),
            (["--bays", "many"], "", "Bays: “many” is not a number"),
            (["--floor-width", "24"], "", "Floor width"),
            (["--gun", "gold"], "", "Gun grade: “gold” is not one of the choices; they are gun-plastic"),
            (["--bays", "9", "--floor-width", "20 m"], "", "at most 5 bays fit there"),
            (["--bays", "2", "--floor-width", "5 m"], "", "; one bay fits there"),
            (
                ["--drops-per-side", "4", "--products", "2"],
                "",
                "Drops a side: 4 are more than the products (2)",
            ),
            (["--from", "-"], '{"colour": 1}', "no field “colour”"),
            (["--from", "-"], "[1]", "--from: the inputs are a group"),
            (["--from", "-"], "{", "line 1, column 2"),
            (["--from", "-"], '{"bays": NaN}', "NaN is no number"),
            (["--from", "-"], '{"bays": 1, "bays": 2}', "“bays” stands in one group more than once"),
            (["--from", "-"], "[" * 200_000, "nested too deep"),
            (["--from", "nowhere.json"], "", "There is no file “nowhere.json”"),
        ],
    )
    def test_bad_input(self, terminal: Terminal, arguments: list[str], stdin: str, words: str) -> None:
        assert words in terminal.refused("build", "JOB", *arguments, stdin=stdin)
        assert not terminal.job.exists()

    def test_bytes_that_are_no_text(self, terminal: Terminal) -> None:
        assert "not UTF-8 text" in terminal.refused("build", "JOB", "--from", "-", stdin=b"\xff\xfe{")

    def test_a_job_that_is_there_stays(self, built: Terminal) -> None:
        assert "is there already" in built.refused("build", "JOB")
        assert "the ending .baydrop" in built.refused("build", built.folder / "job.txt")
        assert "there is no folder" in built.refused("build", built.folder / "gone" / "job.baydrop")


class TestEdit:
    def test_flags_in_the_order_they_are_typed(self, built: Terminal) -> None:
        told = built.json(
            *("edit", "JOB", "--duplicate", "design.drops.1-l-remover", "--move", "design.drops.3=0"),
            *("--set", "design.drops.0.hose_length=12 ft", "--rename", "design.bays.bay-1=north"),
            *("--remove", "design.products.prewash", "--add", "design.bays", *DAY),
        )
        design = built.whole.design
        assert [b.id for b in design.bays] == ["north", "bay-1"]
        assert {d.bay for d in design.drops} == {"north"}
        assert {d.service for d in design.drops} == {"remover", "air"}
        assert design.drops[0].hose_length.text == "12 ft"
        assert told["acts"][4] == "Products: remove Alkaline foam pre-wash with 1 drop, 1 plant unit"
        assert told["places"][3] == "design.bays.north.id"

    def test_json_from_a_file(self, built: Terminal) -> None:
        edits = built.folder / "edits.json"
        edits.write_text(json.dumps([{"set": "terms.tax_percent", "to": 8.25}]), encoding="utf-8")
        built.good("edit", "JOB", "--from", edits, *DAY)
        assert str(built.whole.terms.tax_percent) == "8.25"

    def test_one_wrong_edit_changes_nothing(self, built: Terminal) -> None:
        said = built.refused(
            "edit", "JOB", "--set", "customer.name=Demo", "--set", "terms.tax_percent=lots", *DAY
        )
        assert "terms.tax_percent" in said and "Tax: “lots” is not a number" in said

    def test_another_file(self, built: Terminal) -> None:
        before, other = built.job.read_bytes(), built.folder / "other.baydrop"
        built.good("edit", "JOB", "--set", "customer.name=Demo", "--out", other, *DAY)
        assert built.job.read_bytes() == before != other.read_bytes()
        assert "is there already" in built.refused("edit", "JOB", "--set", "quote.number=1", "--out", other)

    def test_the_file_is_written_as_the_desk_writes_it(self, built: Terminal) -> None:
        assert built.job.read_text(encoding="utf-8") == job_text(built.whole)

    def test_an_option_alone(self, built: Terminal) -> None:
        built.good("option", "copy", "JOB", "base", "--name", "Other", *DAY)
        built.good(
            "edit", "JOB", "--option", "option-1", "--only-here",
            "--set", "design.drops.1-l-remover.gun=gun-metal", *DAY,
        )  # fmt: skip
        told = built.json("option", "list", "JOB", *DAY)
        assert [row["id"] for row in told["options"]] == ["base", "option-1"]
        assert Decimal(told["options"][1]["difference"]) > 0
        assert built.whole.design.drops[1].gun == "gun-plastic"
        assert "no option “option-9”" in built.refused(
            "edit", "JOB", "--option", "option-9", "--set", "quote.number=1"
        )

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            ([], "There is nothing to do"),
            (["--set", "customer.name"], "--set: “customer.name” has no “=”"),
            (["--set", "customer.nam=x"], "customer.nam: there is no field “nam” here"),
            (["--set", "design.drops.9-x.gun=x"], "there is no row “9-x” in Drops"),
            (["--set", "design.drops.0.hose_length=9 psi"], "Hose length"),
            (["--move", "design.drops.0=9"], "no position 9"),
            (["--remove", "design.drops.9"], "no row “9”"),
            (["--set", "issued=x"], "issued"),
            (["--set", "design.bays=x"], "design.bays: Bays: this must be a list of rows"),
            (["--set", "terms.labour=x"], "terms.labour: This is a group of fields"),
            (["--set", "terms.labour.low=100"], "Terms, Labour rate: Low 100, likely 55, high 70; low ≤"),
        ],
    )
    def test_bad_input(self, built: Terminal, arguments: list[str], words: str) -> None:
        assert words in built.refused("edit", "JOB", *arguments)

    def test_an_error_of_the_job_is_exit_code_1(self, built: Terminal) -> None:
        """Written all the same: the next edit may mend it."""
        code = built.run("edit", "JOB", "--set", "design.drops.1-l-remover.gun=gun-air", *DAY)
        assert code == 1
        assert "mend  design.drops.1.gun" in built.err
        assert built.whole.design.drops[1].gun == "gun-air"


class TestPropose:
    def test_nothing_changes_without_take(self, built: Terminal) -> None:
        before = built.job.read_bytes()
        told = built.json("propose", "JOB", *DAY)
        assert built.job.read_bytes() == before
        assert told["taken"] is False and told["changes"] > 0 and told["not_possible"] == []
        assert {line["line"] for line in told["lines"]} == {"prewash", "remover", "air", "board water"}
        choice = told["lines"][0]["choices"][0]
        assert {"place", "old", "new", "reason", "cost", "smaller", "larger", "fixed"} == set(choice)

    def test_the_whole_is_taken_as_one_act(self, built: Terminal) -> None:
        offered = built.json("propose", "JOB", *DAY)
        built.good("propose", "JOB", "--take", *DAY)
        assert built.json("propose", "JOB", *DAY)["changes"] == 0
        plant = {u.product: u for u in built.whole.design.plant}
        pumps = {c["place"]: c["new"] for line in offered["lines"] for c in line["choices"]}
        assert pumps["plant.remover.pump"] == plant["remover"].pump

    def test_one_line_or_one_choice_alone(self, built: Terminal) -> None:
        before = {u.product: u for u in built.whole.design.plant}
        told = built.json("propose", "JOB", "--line", "remover", "--take", *DAY)
        after = {u.product: u for u in built.whole.design.plant}
        assert [line["line"] for line in told["lines"]] == ["remover"]
        assert after["prewash"] == before["prewash"] and after["remover"] != before["remover"]
        assert built.whole.design.pinned == ()
        built.good("propose", "JOB", "--choice", "plant.prewash.tank", "--take", *DAY)
        changed = {u.product: u for u in built.whole.design.plant}["prewash"]
        assert changed.model_copy(update={"tank": before["prewash"].tank}) == before["prewash"]

    def test_a_choice_is_kept_and_given_free(self, built: Terminal) -> None:
        address = "plant.remover.regulator"
        built.good("propose", "JOB", "--keep", address, "--take", *DAY)
        assert list(built.whole.design.pinned) == [address]
        assert built.whole.design.plant[1].regulator.text == "4 bar"
        built.good("propose", "JOB", "--free", address, "--take", *DAY)
        assert list(built.whole.design.pinned) == []
        assert built.whole.design.plant[1].regulator.text != "4 bar"

    def test_a_line_that_is_not_there(self, built: Terminal) -> None:
        said = built.refused("propose", "JOB", "--line", "wax")
        assert "no line or choice “wax”; the lines are prewash, remover, air" in said


class TestOption:
    def test_from_copy_to_base(self, built: Terminal) -> None:
        built.good("option", "add", "JOB", "--name", "Other", *DAY)
        built.good("option", "alternate", "JOB", "guns-metal", "--of", "option-1", *DAY)
        built.good("option", "copy", "JOB", "option-2", *DAY)
        built.good("option", "rename", "JOB", "option-1", "Plain", *DAY)
        built.good("option", "offer", "JOB", "option-2", *DAY)
        told = built.json("option", "list", "JOB", *DAY)["options"]
        assert [row["name"] for row in told] == ["Base design", "Plain", "Metal guns", "Copy of Metal guns"]
        assert [row["offered"] for row in told] == [True, False, True, False]
        metal = told[2]["total"]
        built.good("option", "make-base", "JOB", "option-2", *DAY)
        assert built.json("option", "list", "JOB", *DAY)["options"][0]["total"] == metal
        built.good("option", "offer", "JOB", "option-2", "--no", *DAY)
        built.good("option", "remove", "JOB", "option-1", *DAY)
        assert [a.id for a in built.whole.alternatives] == ["option-2", "option-3"]

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (["offer", "JOB", "option-9"], "no option “option-9”; the options are base"),
            (["offer", "JOB", "base"], "always on the quote"),
            (["remove", "JOB", "base"], "cannot be removed"),
            (["alternate", "JOB", "gold"], "no alternate “gold” for this design; there are: guns-metal"),
            (["rename", "JOB", "base", "x" * 300], "120 characters"),
            (["make-base", "JOB", "x"], "no option “x”"),
        ],
    )
    def test_bad_input(self, built: Terminal, arguments: list[str], words: str) -> None:
        assert words in built.refused("option", *arguments)


class TestOwnOfOptions:
    def test_what_an_option_has_of_its_own_is_shown_kept_and_given_up(self, built: Terminal) -> None:
        gun, place = "design.drops.1-l-remover.gun", "drops.1-l-remover.gun"
        built.good("option", "alternate", "JOB", "guns-metal", *DAY)
        (own,) = built.json("option", "own", "JOB", "option-1", *DAY)["own"]
        assert (own["place"], own["state"]) == (place, "own")
        # The base is changed at the same place: the option keeps its own, and it is told.
        built.run("edit", "JOB", "--set", f"{gun}=gun-foam", *DAY)
        assert built.run("option", "own", "JOB", "option-1", "--json", *DAY) in (0, 1)
        assert json.loads(built.out)["own"][0]["state"] == "both"
        # Acts are called by the names of rows, as undo at the desk calls them.
        told = built.json("option", "keep-own", "JOB", "option-1", place, *DAY)
        assert told["acts"] == ["Metal guns, Bay 1 left, Insect and tar remover, Gun: keeps its own"]
        built.run("option", "own", "JOB", "option-1", "--json", *DAY)
        assert json.loads(built.out)["own"][0]["state"] == "own"
        said = built.refused("option", "take-base", "JOB", "option-1", "drops.9.gun")
        assert f"nothing of its own at “drops.9.gun”; it has {place}" in said
        built.run("option", "take-base", "JOB", "option-1", place, *DAY)
        built.run("option", "own", "JOB", "option-1", "--json", *DAY)
        assert json.loads(built.out)["own"] == []

    def test_what_an_option_loses_with_an_edit_of_the_base_is_told(self, built: Terminal) -> None:
        built.good("option", "alternate", "JOB", "guns-metal", *DAY)
        told = built.json("edit", "JOB", "--remove", "design.drops.1-l-remover", *DAY)
        assert "Metal guns" in told["lost"]

    def test_an_edit_on_an_option_reaches_all_or_only_that_one(self, built: Terminal) -> None:
        built.good("option", "add", "JOB", *DAY)
        edit = ("edit", "JOB", "--option", "option-1", "--set")
        built.good(*edit, "design.clip_spacing=2 m", *DAY)
        assert built.whole.design.clip_spacing.text == "2 m"
        built.good(*edit, "design.clip_spacing=3 m", "--only-here", *DAY)
        assert built.whole.design.clip_spacing.text == "2 m"


class TestPrices:
    def test_an_import_is_shown_first_and_taken_when_asked(self, terminal: Terminal) -> None:
        other = terminal.folder / "other.xlsx"
        terminal.good("prices", "export", other)
        entry = read_book(terminal.book).entries[0]
        terminal.good("prices", "edit", "--set", f"entries.{entry.code}.source=Demo supplier", "--take")
        told = terminal.json("import", other)
        (change,) = told["changes"]
        assert (change["kind"], change["code"], told["taken"]) == ("changed", entry.code, False)
        assert change["cells"] == [{"field": "source", "before": "Demo supplier", "after": entry.source}]
        assert terminal.json("import", other, "--take")["taken"] is True
        assert read_book(terminal.book).entries[0] == entry
        assert terminal.json("import", other)["changes"] == []

    def test_replace_removes_what_the_file_does_not_hold(self, terminal: Terminal) -> None:
        small = terminal.folder / "small.csv"
        small.write_text("\n".join(terminal.book.read_text(encoding="utf-8-sig").splitlines()[:4]) + "\n")
        count = len(read_book(terminal.book).entries)
        assert terminal.json("import", small)["changes"] == []
        told = terminal.json("import", small, "--replace")
        assert len(told["changes"]) == count - 2
        assert {c["kind"] for c in told["changes"]} == {"removed"}

    def test_a_book_of_before_gets_the_parts_that_it_lacks(self, terminal: Terminal) -> None:
        book = read_book(terminal.book)
        old = book.model_copy(update={"entries": book.entries[2:]})
        export_book(terminal.book, old)
        shown = terminal.json("prices", "complete")
        assert [c["kind"] for c in shown["changes"]] == ["added"] * 2 and read_book(terminal.book) == old
        terminal.good("prices", "complete", "--take")
        assert read_book(terminal.book).entries == (*old.entries, *book.entries[:2])

    def test_a_percentage(self, terminal: Terminal) -> None:
        old = {e.code: e for e in read_book(terminal.book).entries}
        told = terminal.json("prices", "percent", "10", "--group", "Plant", "--take", *DAY)
        new = {e.code: e for e in read_book(terminal.book).entries}
        changed = {c["code"] for c in told["changes"]}
        assert changed == {code for code, e in old.items() if e.group == "Plant"}
        assert all(new[c].likely == old[c].likely * Decimal("1.1") for c in changed)

    def test_a_job_holds_its_prices_lets_go_and_takes_new_ones(self, built: Terminal) -> None:
        held = built.json("prices", "hold", "JOB", *DAY)
        prices = built.whole.prices
        assert prices is not None and held["held"] == len(prices.entries) > 10
        assert held["acts"] == ["Hold these prices"]
        assert built.json("prices", "hold", "JOB", *DAY)["acts"] == []
        built.good("prices", "percent", "10", "--take", *DAY)
        told = built.json("prices", "renew", "JOB", *DAY)
        assert told["acts"] == [] and len(told["changes"]) == len(prices.entries)
        assert built.whole.prices == prices
        assert built.json("prices", "renew", "JOB", "--take", *DAY)["acts"] == ["Take new prices"]
        assert built.whole.prices != prices
        built.good("prices", "release", "JOB", *DAY)
        assert built.whole.prices is None

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (["import", "nowhere.csv"], "nowhere.csv"),
            (["import", "book.doc"], "neither CSV nor XLSX"),
            (["prices", "percent", "lots"], "PERCENT: “lots” is no number"),
            (["prices", "percent", "3", "--group", "Gold"], "no entry is in “Gold”"),
            (["prices", "percent", "-100"], "above -100 %"),
            (
                ["prices", "edit", "--set", "entries.NONE.low=1", "--take"],
                "there is no row “NONE” in Entries",
            ),
            (["prices", "export", "book.doc"], "the ending .csv or .xlsx"),
        ],
    )
    def test_bad_input(self, terminal: Terminal, arguments: list[str], words: str) -> None:
        assert words in terminal.refused(*arguments)

    def test_the_book_is_not_written_over_by_its_export(self, terminal: Terminal) -> None:
        assert "is the input itself" in terminal.refused("prices", "export", terminal.book)


class TestIssue:
    def test_a_revision_is_kept_and_its_paper_written(self, named: Terminal) -> None:
        paper = named.folder / "a.pdf"
        told = named.json("issue", "JOB", "--reason", "First offer", "--pdf", paper, *DAY)
        (issued,) = named.whole.issued
        assert (told["letter"], told["dated"], issued.letter) == ("A", "2027-03-01", "A")
        assert told["fingerprint"] == issued.fingerprint
        copy = named.folder / "copy.pdf"
        named.good("quote", "JOB", "--revision", "A", "--pdf", copy)
        assert copy.read_bytes() == paper.read_bytes()

    def test_a_job_with_errors_is_issued_only_anyway(self, named: Terminal) -> None:
        named.run("edit", "JOB", "--set", "design.drops.1-l-remover.gun=gun-air", *DAY)
        paper = named.folder / "a.pdf"
        assert named.run("issue", "JOB", "--reason", "x", "--pdf", paper, *DAY) == 1
        assert "Nothing was issued" in named.err
        assert list(named.whole.issued) == [] and not paper.exists()
        assert named.run("issue", "JOB", "--reason", "x", "--pdf", paper, "--anyway", *DAY) == 1
        assert len(named.whole.issued) == 1 and paper.exists()

    def test_bad_input(self, named: Terminal) -> None:
        paper = named.folder / "a.pdf"
        issue = ("issue", "JOB", "--pdf", paper)
        assert "--reason" in named.refused(*issue)
        assert "--reason: say why" in named.refused(*issue, "--reason", "  ")
        assert "names a job file" in named.refused("issue", "JOB", "--reason", "x", "--pdf", "x.baydrop")
        named.good(*issue, "--reason", "x", *DAY)
        assert "cannot be dated February 1, 2027" in named.refused(
            *issue, "--reason", "y", "--date", "2027-02-01"
        )
        named.good(*issue, "--reason", "y", "--date", "2027-02-01", "--earlier", "--anyway")
        assert [r.letter for r in named.whole.issued][-2:] == ["A", "B"], (
            "a clock ahead once stops nothing for ever"
        )

    def test_a_withdrawn_revision_stays_on_record_and_its_letter_is_spent(self, named: Terminal) -> None:
        paper, copy = named.folder / "a.pdf", named.folder / "copy.pdf"
        named.good("issue", "JOB", "--reason", "First offer", "--pdf", paper, *DAY)
        withdraw = ("withdraw", "JOB", "a")
        assert "Nothing was withdrawn: Say why" in named.refused(*withdraw, "--reason", " ", *DAY)
        told = named.json(*withdraw, "--reason", "Wrong hoses", *DAY)
        assert (told["acts"], told["letter"]) == (["Withdraw revision A"], "A")
        (a,) = named.whole.issued
        assert a.withdrawn is not None and a.withdrawn.reason == "Wrong hoses"
        assert "was withdrawn on March 1, 2027 already" in named.refused(*withdraw, "--reason", "x", *DAY)
        assert "no revision B" in named.refused("withdraw", "JOB", "B", "--reason", "x", *DAY)
        named.good("quote", "JOB", "--revision", "A", "--pdf", copy)
        assert copy.read_bytes() == paper.read_bytes()
        assert "withdrawn on March 1, 2027: Wrong hoses" in named.err
        assert named.json("issue", "JOB", "--reason", "Anew", "--pdf", paper, *DAY)["letter"] == "B"


class TestTerminal:
    @pytest.mark.parametrize(
        ("text", "seen"),
        [
            ("plain Ω é 李", "plain Ω é 李"),
            ("two\r\nlines", "two lines"),
            ("0.72\u00a0bar", "0.72 bar"),
            ("\x1b]0;title\x07", "\\x1b]0;title\\x07"),
            ("\x9b31m", "\\x9b31m"),
            ("a\u202eb\u2066c\u200f", "a\\u202eb\\u2066c\\u200f"),
        ],
    )
    def test_what_a_terminal_obeys_is_written_out(self, text: str, seen: str) -> None:
        assert visible(text) == seen

    def test_a_name_of_control_characters_is_shown_and_not_obeyed(self, built: Terminal) -> None:
        """C1 and changes of direction are allowed in a name; C0 is refused where it is typed."""
        name = "Demo \x9b31m\u202egnisrever"
        built.good("edit", "JOB", "--set", f"design.products.remover.name={name}", *DAY)
        assert built.whole.design.products[1].name == name
        assert "\\x9b31m\\u202egnisrever" in built.out and "\u202e" not in built.out
        built.good("check", "JOB", *DAY)
        assert "\\u202e" in built.out and "\u202e" not in built.out and "\x9b" not in built.out
        document = built.json("edit", "JOB", "--set", f"customer.name={name}", *DAY)
        assert document["acts"] == [f"Customer, Name: {name}"]
        assert "\u202e" not in built.out
        assert "control character" in built.refused("edit", "JOB", "--set", "customer.name=a\x1b[2J")

    @pytest.mark.skipif(os.name != "posix", reason="pipes end otherwise elsewhere")
    def test_a_reader_that_has_seen_enough_is_no_error(self, built: Terminal) -> None:
        command = [
            sys.executable,
            "-m",
            "estimator.cli",
            "check",
            str(built.job),
            "--prices",
            str(built.book),
        ]
        with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT) as process:
            assert process.stdout is not None and process.stderr is not None
            process.stdout.close()
            told = process.stderr.read()
            assert process.wait(timeout=120) == 0
        assert told == b""

    def test_one_finding_one_line(self, built: Terminal) -> None:
        built.good("check", "JOB", *DAY)
        assert all(line.split("  ")[0] in set(Grade) for line in built.out.splitlines())


def test_ctrl_c_is_no_fault_of_the_program(built: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    """It left with a traceback. As where a disk hangs while a file is read or written."""
    before = built.job.read_bytes()

    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    for name in ("estimator.store.document.write_whole", "estimator.store.jobs.read_whole"):
        with monkeypatch.context() as patch:
            patch.setattr(name, interrupted)
            assert built.run("edit", "JOB", "--set", "customer.name=A") == 130
        assert built.err == "Left: what was not written yet is not written.\n"
        assert built.job.read_bytes() == before
    assert [path.suffix for path in built.folder.iterdir() if path.suffix in (".part", ".lock")] == []


@pytest.mark.parametrize(
    ("units", "example", "least"),
    # 5 m = 16.4 ft and 6 m = 19.685 ft (1 ft = 0.3048 m exactly, NIST SP 811), the least rounded up.
    [
        ("us", "such as “16 ft”", "19.7 ft or more would fit"),
        ("metric", "such as “5 m”", "6 m or more would fit"),
    ],
)
def test_a_refusal_is_told_in_the_units_of_the_job(
    built: Terminal, units: str, example: str, least: str
) -> None:
    """Examples and limits were metric, whatever the job's units."""
    built.good("edit", "JOB", "--set", f"units={units}", "--date", "2027-03-01")
    said = built.refused("edit", "JOB", "--set", "site.floor.width=30").replace("\xa0", " ")
    assert "Floor width: “30” has no unit" in said and example in said
    said = built.refused("build", "JOB", "--floor-depth", "3 m", "--again").replace("\xa0", " ")
    assert least in said
