"""Whoever holds another phone reads the cautions themselves; and nobody answers a case that is closed."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.cases.events import Acknowledgement, Case, Closed, CompetenceSaid, Disturbed, Resumed
from diagnose.cases.journal import Journal
from diagnose.rule_book.quantities import DataSheet
from tests.engines import real_engine
from tests.serving.phones import Phone, Server

ENGINE = real_engine()
SHEET: DataSheet = {"location": ("building",), "signal-duty": ("control",)}
CAUTION = "Signal used by control or protection"
STEP = "End test, hold or simulation in the settings."
HEED = "yes, I have read this and will act on it"


@pytest.fixture
def server(tmp_path: Path) -> Server:
    """A server with the case of an output that was left in test."""
    with Journal.start(tmp_path, SHEET, "loop", ENGINE.fingerprint):
        pass
    return Server(tmp_path, ENGINE)


def at_the_caution(server: Server) -> Phone:
    """Return a phone on which the cautions of the first step are shown."""
    phone = server.phone().open("loop").type("mA output stuck since the loop test").type("2")
    assert CAUTION in phone.text
    assert STEP not in phone.text
    return phone


def kept(folder: Path) -> Case:
    """Return the case as it is on disk."""
    return Journal.read(folder, "loop")


class TestCautions:
    """Heeded by one person, they are unread by the other."""

    def test_they_come_before_the_step_on_each_phone(self, server: Server, tmp_path: Path) -> None:
        """In full, with a button of their own; the first phone goes on meanwhile."""
        one = at_the_caution(server)
        other = server.phone().open("loop")
        one.press(HEED)
        assert STEP in one.text
        before = kept(tmp_path)
        for _ in range(2):  # looking once more is not reading it
            other.open("loop")
            assert CAUTION in other.text
            assert "Overflow, overdosing" in other.text
            assert STEP not in other.text
        other.press(HEED)
        assert STEP in other.text
        assert kept(tmp_path) == before, "of the case nothing has changed"
        assert STEP in one.open("loop").text

    def test_a_phone_that_comes_new_reads_them_too(self, server: Server) -> None:
        """Also where it was not there when they came up."""
        at_the_caution(server).press(HEED)
        new = server.phone().open("loop")
        assert "goes on as an instructed person" in new.text
        assert STEP not in new.text
        assert STEP in new.press(HEED).text

    def test_what_was_heeded_at_a_terminal_is_unread_here(self, server: Server, tmp_path: Path) -> None:
        """Whoever typed the y there may be somebody else."""
        at_the_caution(server)
        with Journal.resume(tmp_path, "loop") as journal:
            heeded = (Acknowledgement(caution=name, step="typed") for name in ENGINE.rule_book.cautions)
            journal.add(journal.new_turn(), *heeded)
        assert STEP not in server.phone().open("loop").text

    def test_one_that_does_not_want_it_may_say_so(self, server: Server) -> None:
        """At the cautions as at the step: it is left out for the case."""
        one = at_the_caution(server).press(HEED)
        other = server.phone().open("loop").type("may not do that")
        assert "Which steps does that apply to?" in other.text
        assert STEP not in one.open("loop").text

    def test_after_a_shift_every_phone_reads_them_anew(self, server: Server, tmp_path: Path) -> None:
        """What was read before it is no longer so."""
        one = at_the_caution(server).press(HEED)
        other = server.phone().open("loop").press(HEED)
        with Journal.resume(tmp_path, "loop") as journal:
            journal.add(journal.new_turn(), Resumed())
        assert STEP not in one.open("loop").text
        one.press(HEED)
        assert STEP in one.text
        assert STEP not in other.open("loop").text


class TestCompetence:
    """Who says that they may do less is taken at their word."""

    @pytest.mark.parametrize(
        "said", ["ordinary", "ordinary person", "I am an ordinary person", "I'm only the operator here"]
    )
    @pytest.mark.parametrize("at", ["caution", "step"])
    def test_an_ordinary_person_gets_no_step_that_is_not_for_them(
        self, server: Server, tmp_path: Path, said: str, at: str
    ) -> None:
        """Whatever is on the page when it is said."""
        phone = at_the_caution(server)
        if at == "step":
            phone.press(HEED)
        phone.type(said)
        assert STEP not in phone.text
        told = [each.event for each in kept(tmp_path).entries if isinstance(each.event, CompetenceSaid)]
        assert told[-1].competence == "ordinary"
        assert "for an instructed person" not in phone.text
        assert "for a skilled person" not in phone.text


class TestClosed:
    """A case that is closed says so, whoever opens it."""

    def closed(self, folder: Path, *before: Disturbed) -> None:
        """Close the case at the desk."""
        with Journal.resume(folder, "loop") as journal:
            closed = Closed(outcome="found", cause="output-in-test", by="J. D.")
            journal.add(journal.new_turn(), *before, closed)

    def test_it_says_so_and_asks_nothing(self, server: Server, tmp_path: Path) -> None:
        """With what it was closed; it is not changed by being looked at."""
        phone = at_the_caution(server)
        self.closed(tmp_path)
        before = kept(tmp_path)
        phone.open("loop")
        assert "This case is closed" in phone.text
        assert "J. D." in phone.text
        assert "diagnose cases reopen loop" in phone.text
        assert not phone.buttons()
        assert kept(tmp_path) == before

    def test_what_is_not_put_back_stays_on_it(self, server: Server, tmp_path: Path) -> None:
        """Leads that came off for a check are off still, closed or not."""
        self.closed(tmp_path, Disturbed(step="coil-resistance", what=("sensor-leads-off",)))
        phone = server.phone().open("loop")
        assert "coil or electrode leads off" in phone.text.lower()
        assert "Put it back, or tell whoever comes next." in phone.text
