"""Hazards as strangers tell them stop all work, and what only sounds like one stops nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.cases.events import Case, Closed, Event
from diagnose.documents.document import diagnosis_document, hazard_documents
from diagnose.documents.markdown import markdown
from diagnose.documents.page import diagnosis_page
from diagnose.errors import BadInput
from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from diagnose.protocol import replies
from diagnose.protocol.closing import closing
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import ComplaintPrompt, Prompt, QuestionPrompt, StopPrompt
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation
from diagnose.protocol.typed import reply_to
from diagnose.triage.report import TriageResult, triage
from tests.engines import real_engine

PARTS: dict[str, Any] = yaml.safe_load((Path(__file__).parent / "hazards_told.yaml").read_text(encoding="utf-8"))
HELD_BACK = PARTS["held-back"]
STRANGERS: dict[str, list[str]] = yaml.safe_load(
    (Path(__file__).parent / "hazards_by_strangers.yaml").read_text(encoding="utf-8")
)
CRIED: dict[str, list[str]] = yaml.safe_load((Path(__file__).parent / "hazards_cried.yaml").read_text(encoding="utf-8"))
ENGINE = real_engine()
HAZARDS = {name: item for name, item in ENGINE.rule_book.findings.items() if item.keep_away}

TICKETS = [
    ticket["text"]
    for path in sorted((Path(__file__).parent.parent / "language").glob("*_tickets.yaml"))
    for ticket in yaml.safe_load(path.read_text(encoding="utf-8"))
]

LEAST_TOLD, LEAST_HARMLESS = 0.93, 1.0
MOST_ASKED = 0.06
"""Share of ordinary tickets of which it may be asked whether anybody is in danger."""


def asks(text: str) -> bool:
    """Tell whether it is asked of a text if anybody is in danger."""
    return bool(understand(clean(text), ENGINE.lexicon).dangers)


def stops(text: str) -> set[str]:
    """Return the hazards that a text leaves present; of two statements the later one holds."""
    said: dict[str, bool] = {}
    for each in understand(clean(text), ENGINE.lexicon).understood:
        if each.finding in HAZARDS and each.present is not None:
            said[each.finding] = each.present
    return {name for name, present in said.items() if present}


class TestSentences:
    """What people write and call over the radio, mixed with other complaints."""

    @pytest.mark.parametrize("told", PARTS["told"], ids=lambda told: told["text"][:40])
    def test_a_hazard_told_is_understood(self, told: dict[str, str]) -> None:
        """The finding that is meant is present."""
        assert told["finding"] in stops(told["text"])

    @pytest.mark.parametrize("text", PARTS["harmless"], ids=lambda text: text[:40])
    def test_what_only_sounds_like_it_stops_nothing(self, text: str) -> None:
        """No hazard is read into it."""
        assert stops(text) == set()

    @pytest.mark.parametrize("text", CRIED["dangerous"])
    def test_danger_in_few_words_stops(self, text: str) -> None:
        """Some hazard is present; which one matters less than that work stops."""
        assert triage(ENGINE, text, {}).stop is not None

    @pytest.mark.parametrize("text", CRIED["asked"])
    def test_what_may_tell_of_danger_is_asked_about(self, text: str) -> None:
        """Work does not stop yet, but nothing else is asked first."""
        assert asks(text)
        assert not stops(text)
        talk = Talk(text)
        assert getattr(talk.prompt, "about", "") == "danger"

    def test_ordinary_tickets_are_rarely_asked_about(self) -> None:
        """Who is asked every day whether anybody is in danger stops reading the question."""
        assert len(TICKETS) > 300
        assert sum(asks(text) for text in TICKETS) <= MOST_ASKED * len(TICKETS)

    @pytest.mark.parametrize("text", CRIED["harmless"])
    def test_its_harmless_twins_stop_nothing(self, text: str) -> None:
        """No hazard is read into words that are only like those of danger."""
        assert stops(text) == set()

    def test_sentences_held_back_are_mostly_understood(self) -> None:
        """Those that no phrase was written for: the shares are those reached when they were first looked at."""
        told = [each["finding"] in stops(each["text"]) for each in HELD_BACK["told"]]
        harmless = [not stops(text) for text in HELD_BACK["harmless"]]
        assert sum(told) >= LEAST_TOLD * len(told)
        assert sum(harmless) >= LEAST_HARMLESS * len(harmless)

    def test_what_strangers_told_still_stops_and_their_harmless_twins_do_not(self) -> None:
        """The shares reached after they were mended by; on the last batch, before that, 46 of 60 and 49 of 60."""
        told = [bool(stops(text)) for text in STRANGERS["dangerous"]]
        harmless = [not stops(text) for text in STRANGERS["harmless"]]
        assert sum(told) >= LEAST_TOLD * len(told)
        assert sum(harmless) >= LEAST_TOLD * len(harmless)

    def test_a_danger_that_is_only_asked_about_stops(self) -> None:
        """Unless the writer answers with no."""
        assert stops("is there smoke coming out of the transmitter?")
        assert not stops("is there smoke coming out of the transmitter? no, not any more.")

    def test_every_hazard_is_told_somewhere(self) -> None:
        """Sixty of each, a third of them held back, and none for a hazard that the rule book does not have."""
        told = [each["finding"] for each in (*PARTS["told"], *HELD_BACK["told"])]
        assert set(told) == set(HAZARDS)
        assert len(told) >= 60
        assert len(PARTS["harmless"]) + len(HELD_BACK["harmless"]) >= 60

    @pytest.mark.parametrize(
        "text",
        [
            "was burnt out in 2015 and replaced then, now it reads 4 % high",
            "two years ago there was smoke from the transmitter, the board was replaced",
            "last winter the pit was flooded, reads low since Monday",
            "the pit was flooded last week, the zero is off",
            "chamber flooded. pumped out yesterday. zero is off",
        ],
    )
    def test_what_is_past_and_over_stops_nothing(self, text: str) -> None:
        """A hazard of last year, or one that is told to be over, is none now."""
        assert stops(text) == set()

    @pytest.mark.parametrize(
        "text",
        [
            "since last winter the pit is flooded",
            "last year the pit was flooded, and it is flooded again now",
            "I think I smell gas in the chamber",
            "pit was flooded this morning",
        ],
    )
    def test_what_lasts_or_is_believed_stops(self, text: str) -> None:
        """A hazard that goes on, came back, or is only believed in is one."""
        assert stops(text)


class TestRules:
    """What the rule book says of hazards."""

    @pytest.mark.parametrize("name", sorted(HAZARDS))
    def test_it_says_what_to_do_in_order(self, name: str) -> None:
        """Three to five short sentences, and who must come; local rules decide."""
        away = HAZARDS[name].keep_away
        assert away is not None
        assert 3 <= len(away.do) <= 5
        assert all(len(each.split()) <= 30 for each in away.do)
        assert away.who.endswith("local rules decide.")

    @pytest.mark.parametrize(
        "said", ["in a pit", "live parts", "emergency stop", "after a fall", "bleeds", "breathing"]
    )
    def test_whoever_is_hurt_is_helped_whatever_hurt_them(self, said: str) -> None:
        """Bad air, current, a machine or a fall: the first call is the same, the next step is not."""
        away = HAZARDS["person-unwell"].keep_away
        assert away is not None
        assert away.do[0].startswith("Call the emergency number now")
        assert said in " ".join(away.do).lower()

    def test_a_shock_is_told_of_in_one_way(self) -> None:
        """Two texts that differ leave it open which of them holds."""
        away = [each.keep_away for each in HAZARDS.values() if each.keep_away]
        told = {line for each in away for line in each.do if "got a shock" in line}
        assert len(told) == 1
        assert "see a doctor" in told.pop()

    @pytest.mark.parametrize("name", sorted(HAZARDS))
    def test_people_may_say_it_in_many_ways(self, name: str) -> None:
        """At least a dozen phrases, and words that deny it."""
        assert len(HAZARDS[name].phrases) >= 12
        assert HAZARDS[name].denied_by
        assert HAZARDS[name].question


REPORTS = {
    "tingle-felt": "FT-204 reads low and my hand tingles when I touch the pipe",
    "burning-now": "display dead, smoke coming out of the transmitter",
    "liquid-sprays-out": "caustic sprays from the flange at the meter, reads zero",
    "gas-smelt": "I smell gas in the meter pit",
    "water-over-live-meter": "chamber full of water, output stuck at 4 mA",
}


@pytest.fixture(scope="module")
def triaged() -> dict[str, TriageResult]:
    """Return each report as the helpdesk gets it."""
    return {name: triage(ENGINE, text, {}) for name, text in REPORTS.items()}


class TestTriage:
    """One pasted report with a hazard in it."""

    @pytest.mark.parametrize("name", REPORTS)
    def test_it_stops_and_proposes_nothing(self, name: str, triaged: dict[str, TriageResult]) -> None:
        """Nobody is sent nearer, and nobody who stands there is asked anything."""
        result = triaged[name]
        assert result.stop is not None
        assert name in result.stop.findings
        assert result.stop.quotes[name]
        proposals = result.diagnosis.proposals
        assert proposals.next.kind == "escalate"
        assert (proposals.questions, proposals.checks, proposals.remedies) == ((), (), ())

    @pytest.mark.parametrize("text", ["no smoke, no sparks, it simply does not turn on", "hot water meter reads low"])
    def test_a_report_without_one_goes_its_way(self, text: str) -> None:
        """There is a next step that somebody can do."""
        result = triage(ENGINE, text, {})
        assert result.stop is None
        assert result.diagnosis.proposals.next.kind in ("check", "remedy")

    @pytest.mark.parametrize("name", REPORTS)
    def test_documents_show_it_first(self, name: str, triaged: dict[str, TriageResult]) -> None:
        """Before anything understood; and no caution, question or step follows that sends anybody anywhere."""
        result = triaged[name]
        assert result.stop is not None
        book = ENGINE.rule_book
        stop = hazard_documents(book, result.stop.findings, result.stop.quotes)
        document = diagnosis_document(book, result.diagnosis, result.report.understanding, 3, (), stop)
        away = HAZARDS[name].keep_away
        assert away is not None
        text = markdown(document).replace("\\", "")
        heads = [line.lstrip("# ") for line in text.splitlines() if line.startswith("#")]
        assert heads[:2] == ["Diagnosis", "Stop"]
        assert not {"Questions to ask", "Next step"} & set(heads)
        assert not [head for head in heads if head.startswith("Cautions")]
        assert all(each in text for each in away.do)
        assert diagnosis_page(document)[0].text == "Stop"  # type: ignore[union-attr]


class Talk:
    """An interview with the rule book that comes along, reply by reply."""

    def __init__(self, words: str) -> None:
        self.case = Case(name="talk")
        self.say(replies.Words(text=words))

    @property
    def prompt(self) -> Prompt:
        """The prompt that is on."""
        return prompt_of(ENGINE, self.case)

    def say(self, reply: replies.Reply) -> None:
        """Give one reply."""
        self.case = self.case.after(*respond(ENGINE, self.case, self.prompt, reply).events)


class TestInterview:
    """A hazard told at any prompt comes before anything else."""

    def test_nothing_else_until_it_is_over(self) -> None:
        """Whatever is typed, the stop stays; once it is over, the interview goes on with what was told."""
        talk = Talk("display is dark and smoke is coming out of the transmitter")
        assert isinstance(talk.prompt, StopPrompt)
        assert talk.prompt.findings == ("burning-now",)
        for reply in (replies.Skip(), replies.Unknown(), replies.OtherSteps(), replies.Words(text="fuse is fine")):
            talk.say(reply)
            assert isinstance(talk.prompt, StopPrompt)
        talk.say(replies.HazardOver(findings=("burning-now",)))
        assert isinstance(talk.prompt, QuestionPrompt)
        assert talk.prompt.about == "plant"
        talk.say(replies.PlantSaid(state="supply", value="live"))
        talk.say(replies.PlantAsShown())
        assert isinstance(talk.prompt, QuestionPrompt)
        assert talk.prompt.about == "competence"

    def test_then_it_is_asked_how_the_plant_stands(self) -> None:
        """Somebody switched off at the board meanwhile: the supply is asked for by value, before anything else."""
        talk = Talk("display is dark and smoke is coming out of the transmitter")
        talk.say(replies.HazardOver(findings=("burning-now",)))
        for reply in (replies.Skip(), replies.Unknown()):
            talk.say(reply)
            assert isinstance(talk.prompt, QuestionPrompt)
            assert talk.prompt.about == "plant"
        asked = talk.prompt
        values = [each.reply.value for each in asked.options if isinstance(each.reply, replies.PlantSaid)]
        assert values == ["live", "switched off"]  # an ordinary person makes nothing safe
        talk.say(replies.CompetenceReply(competence="skilled"))
        asked = talk.prompt
        assert isinstance(asked, QuestionPrompt)
        off = next(each.reply for each in asked.options if each.text.startswith("isolated"))
        talk.say(off)
        assert isinstance(talk.prompt, QuestionPrompt)
        assert talk.prompt.options[0].text.startswith("like this: supply isolated, ")
        talk.say(talk.prompt.options[0].reply)
        assert Situation(ENGINE, talk.case).plant["supply"] == "isolated"
        talk.say(replies.Back())
        assert talk.prompt.about == "plant"  # type: ignore[union-attr]

    def test_a_hazard_of_the_place_is_no_complaint(self) -> None:
        """Gas in the pit says nothing about the meter: once it is over, it is asked what is wrong."""
        talk = Talk("my gas detector went off at the manhole")
        assert isinstance(talk.prompt, StopPrompt)
        talk.say(replies.HazardOver(findings=talk.prompt.findings))
        talk.say(replies.PlantSaid(state="supply", value="live"))
        talk.say(replies.PlantAsShown())
        assert isinstance(talk.prompt, ComplaintPrompt)

    def test_only_who_says_that_it_is_over_lifts_it(self) -> None:
        """Neither a later denial nor going back does: a nose gets used to gas."""
        talk = Talk("gas alarm went off in the pit")
        for reply in (replies.Words(text="no gas smell"), replies.Back(), replies.Back()):
            talk.say(reply)
            assert isinstance(talk.prompt, StopPrompt)

    def test_each_hazard_is_declared_over_by_itself(self) -> None:
        """What was misread is said so; for the other, it is then asked how the plant stands."""
        talk = Talk("smell of gas in the pit and it tickles at the housing")
        assert isinstance(talk.prompt, StopPrompt)
        assert len(talk.prompt.options) == 2 * len(talk.prompt.findings) == 4
        talk.say(talk.prompt.options[0].reply)
        assert isinstance(talk.prompt, StopPrompt)
        assert len(talk.prompt.findings) == 1
        talk.say(talk.prompt.options[-1].reply)
        assert not isinstance(talk.prompt, StopPrompt)
        assert getattr(talk.prompt, "about", "") == "plant"

    def test_what_may_tell_of_danger_is_asked_first(self) -> None:
        """One answer stops all work, the other goes on with what else was told."""
        for answer, stops_work in ((0, True), (-1, False)):
            talk = Talk("display is dark, and something inside is sizzling away")
            assert isinstance(talk.prompt, QuestionPrompt)
            assert talk.prompt.about == "danger"
            talk.say(talk.prompt.options[answer].reply)
            assert isinstance(talk.prompt, StopPrompt) == stops_work
            assert getattr(talk.prompt, "about", "") == ("" if stops_work else "competence")

    def test_another_hazard_stops_again(self) -> None:
        """That one is over does not mean that the next is."""
        talk = Talk("smell of gas in the pit")
        talk.say(replies.HazardOver(findings=("gas-smelt",)))
        talk.say(replies.Words(text="and now there are sparks at the terminals"))
        assert isinstance(talk.prompt, StopPrompt)
        assert talk.prompt.findings == ("burning-now",)


class TestAnotherDanger:
    """No list names all that endangers people."""

    def test_a_plain_yes_stops_all_work(self) -> None:
        """Where several dangers could be meant, and none of them is."""
        case = Case(name="x").after(*_told("somebody cut the lock and the display is dark"))
        prompt = prompt_of(ENGINE, case)
        assert isinstance(prompt, QuestionPrompt)
        assert prompt.about == "danger"
        meant = reply_to(ENGINE, {}, prompt, "yes")
        case = case.after(*respond(ENGINE, case, prompt, meant).events)  # type: ignore[arg-type]
        stopped = prompt_of(ENGINE, case)
        assert isinstance(stopped, StopPrompt)
        assert stopped.findings == ("another-danger",)

    def test_a_case_is_not_closed_before_its_hazard_is_over(self) -> None:
        """Nor while nobody has said whether words tell of a danger."""
        for words in ("my colleague fainted in the pit, display dark", "somebody cut the lock and the display is dark"):
            case = Case(name="x").after(*_told(words))
            with pytest.raises(BadInput, match="say so first: diagnose interview --resume x"):
                closing(ENGINE, case, Closed(outcome="not found"))


def _told(words: str) -> tuple[Event, ...]:
    case = Case(name="x")
    return respond(ENGINE, case, prompt_of(ENGINE, case), replies.Words(text=words)).events
