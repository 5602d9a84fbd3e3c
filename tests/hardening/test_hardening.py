"""The harnesses in small: what breaks the program is found, and nothing does."""

from __future__ import annotations

import json
import random
import time
from contextlib import suppress
from pathlib import Path

import pytest

from diagnose.cases import journal
from diagnose.commands import main as commands
from diagnose.shipped import shipped_folder
from tests.commands.running import Done
from tests.engines import real_engine
from tests.hardening import calling, full_disk, fuzz, kills, page_kills, power_cut, writers
from tests.hardening.calling import call, surroundings
from tests.hardening.full_disk import INTERVIEW, KINDS
from tests.hardening.judging import Input, judged, outcome
from tests.patience import Hangs, patience
from tests.protocol.lamps import LAMP, lamp_book_engine


@pytest.fixture(autouse=True)
def one_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take the engine that all tests share for that of the rule book that ships."""
    shipped = shipped_folder("rules")
    made = calling.engine_of
    monkeypatch.setattr(calling, "engine_of", lambda rules: real_engine() if rules == shipped else made(rules))
    monkeypatch.setattr(writers, "WRITERS", 3)


class TestKills:
    """Interviews as processes of their own, killed at random moments."""

    def test_a_killed_interview_has_every_answer_and_goes_on(self) -> None:
        """Whole, as they were given, with the question that an interview asks that nobody killed."""
        counts = kills.run(4, seed=5, only_lamp=True)
        assert counts.told == []
        assert (counts.kills, counts.wrong) == (4, 0)
        assert counts.resumed
        assert counts.answers

    def test_an_answer_that_was_not_kept_is_seen(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """An interview whose answers do not reach the disk is counted as one that loses them."""
        monkeypatch.setattr(kills.Child, "type", lambda child, line: _say(child, "w"))
        counts = kills.run(2, seed=5, only_lamp=True)
        assert counts.lost + counts.mismatches + counts.other


class TestKillsOfThePage:
    """The server of the page, killed while an answer is under way."""

    def test_what_was_acknowledged_is_kept_and_nothing_else(self) -> None:
        """Each answer is on the disk before the page leads on; of one that was under way all is kept, or nothing."""
        counts = page_kills.run(3, seed=2)
        assert counts.told == []
        assert (counts.kills, counts.under_way, counts.wrong) == (3, 3, 0)
        assert counts.acknowledged

    def test_an_answer_that_was_not_kept_is_seen(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """A server that takes another answer than was given is found out."""
        send = page_kills._send
        monkeypatch.setattr(page_kills, "_send", lambda server, case, said: send(server, case, "n something else"))
        assert page_kills.run(2, seed=2).lost


def _say(child: kills.Child, line: str) -> None:
    """Type something else than what was to be typed."""
    child.screen = b""
    child._in.write(line.encode() + b"\n")
    child._in.flush()


class TestWriters:
    """Several programs at once: here three."""

    @pytest.mark.parametrize("kind", ["new cases within a second, no name", "the cache of one rule book"])
    def test_each_gets_through_and_nothing_is_mixed(self, kind: str) -> None:
        """Each case is one person's, and the cache is whole."""
        assert writers.run(kind, LAMP) == writers.Round(writers.WRITERS, 0, [])

    def test_one_gets_in_and_the_others_are_told(self) -> None:
        """At the same case, by its name, by its file, and through a link."""
        done = writers.run("the same case, resumed", LAMP)
        assert (done.through, done.broken) == (3, [])


class TestFullDisk:
    """The disk is full at the n-th call that writes."""

    @pytest.mark.parametrize("kind", [each for each in KINDS if "real" not in each and "/dev/full" not in each])
    def test_it_is_told_and_what_was_answered_is_kept(self, kind: str) -> None:
        """At each of the first calls."""
        counts = KINDS[kind](7)
        assert counts.tried >= 3
        assert counts.wrong == []

    def test_a_file_that_may_not_grow(self) -> None:
        """A real one, in a process of its own."""
        assert full_disk.files_that_may_not_grow(1500).wrong == []

    def test_a_disk_that_is_full_without_a_word_is_seen(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """A journal that goes on where nothing could be written is found out."""
        append = journal._append

        def silently(path: Path, *lines: bytes) -> None:
            with suppress(OSError):
                append(path, *lines)

        monkeypatch.setattr(journal, "_append", silently)
        assert KINDS["interview, full from then on"](7).wrong


class TestPowerCut:
    """The power fails at every moment of an interview."""

    def test_what_was_put_through_is_there_or_the_file_is_refused(self) -> None:
        """Whatever the disk makes of the rest."""
        counts = power_cut.run(lamp_book_engine(), 5, seed=1, apart=7)
        assert counts.wrong == []
        assert counts.came["cut off"]["loads"] > 50
        assert counts.came["its end garbage"]["refused"] > 10

    def test_an_answer_of_which_half_counts_is_seen(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """If lines did not say whether more of the answer follows, half of it would be taken for all."""
        monkeypatch.setattr(journal, "JournalLine", _without_more)
        counts = power_cut.run(lamp_book_engine(), 8, seed=1, apart=25)
        assert any("events in place of" in each for each in counts.wrong)


def _without_more(more: bool, **rest: object) -> object:
    from diagnose.cases.journal_lines import JournalLine

    return JournalLine(**rest)  # type: ignore[arg-type]


class TestFuzz:
    """Inputs that nobody meant, area by area."""

    def test_nothing_breaks(self) -> None:
        """A few of every area; those that take the rules that ship, or a process for each, take long."""
        for area in fuzz.SHARES:
            if "shipped" not in area and area not in ("recorded cases", "ends of pipes"):
                (found,) = fuzz.run(60, seed=3, only=area).values()
                assert (area, found.failures) == (area, [])
                assert found.inputs

    def test_every_area_has_what_makes_its_inputs(self, tmp_path: Path) -> None:
        """And none is left out of the table."""
        with surroundings(tmp_path):
            assert list(fuzz.areas(tmp_path, random.Random(1))) == list(fuzz.SHARES)
        assert fuzz.FULL >= 20_000

    def test_the_same_seed_tries_the_same(self, tmp_path: Path) -> None:
        """So that a failure can be looked at again."""
        with surroundings(tmp_path):
            shown = [
                [fuzz.areas(tmp_path, chooser)["tables"](chooser).shown for _ in range(20)]
                for chooser in (random.Random(7), random.Random(7))
            ]
        assert shown[0] == shown[1]

    def test_mistakes_of_the_program_are_seen(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """A planted one ends with exit status 70, and that is a failure."""
        monkeypatch.setattr(commands, "load", lambda _: 1 / 0)
        monkeypatch.setattr("diagnose.commands.helpdesk.load", lambda _: 1 / 0)
        with surroundings(tmp_path, TMPDIR=str(tmp_path)):
            done = call((*INTERVIEW[:2], "triage", "-"), "no light")
        assert judged(done, ("triage",)).startswith("status 70")

    @pytest.mark.parametrize(
        ("done", "seen"),
        [
            (Done(1, "", ""), "without a word"),
            (Done(3, "x", "x"), "status 3"),
            (Done(0, "\x1b[2J", ""), "control characters"),
            (Done(0, '{"value": NaN}', ""), "NaN in JSON"),
            (Done(0, json.dumps({"value": float("inf")}), ""), "Infinity in JSON"),
            (Done(0, '{"value": ', ""), "JSON"),
            (Done(1, "", "Traceback (most recent call last)"), "traceback"),
        ],
    )
    def test_what_counts_as_a_failure(self, done: Done, seen: str) -> None:
        """Whatever the area."""
        assert seen in judged(done, ("--format", "json"))

    def test_hangs_and_tracebacks_are_seen(self) -> None:
        """No handler of errors takes a hang for an error."""
        assert outcome(Input("x", lambda: str(1 / 0))).startswith("traceback: ZeroDivisionError")
        with pytest.raises(Hangs):
            _sleep()


def _sleep() -> None:
    with patience(1), suppress(Exception):
        time.sleep(20)
