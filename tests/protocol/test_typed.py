"""What people type, and the reply that it means."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.bounded import REPLY_LETTERS
from diagnose.cases.events import Case, CompetenceSaid, SheetFilled
from diagnose.observations import FindingSeen, RemedyTried
from diagnose.protocol import replies
from diagnose.protocol.commands import Command
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.prompts import (
    CautionPrompt,
    Prompt,
    ProofPrompt,
    QuestionPrompt,
    ReadingPrompt,
    StepsPrompt,
    StopPrompt,
)
from diagnose.protocol.responding import respond
from diagnose.protocol.typed import Unclear, reply_to
from tests.engines import real_engine
from tests.protocol.lamps import lamp_book_engine

ENGINE = lamp_book_engine()
DARK = FindingSeen(finding="dark", present=True)


def case_at(*typed: str, competence: str = "skilled") -> tuple[Case, Prompt]:
    """Return a dark lamp's case and its prompt after these lines were typed."""
    case = Case(name="lamp").after(DARK).after(CompetenceSaid(competence=competence))  # type: ignore[arg-type]
    for line in typed:
        prompt = prompt_of(ENGINE, case)
        meaning = reply_to(ENGINE, case.data_sheet, prompt, line)
        if meaning == Command("other checks"):
            meaning = replies.OtherSteps()
        assert not isinstance(meaning, Unclear | Command), (line, meaning)
        case = case.after(*respond(ENGINE, case, prompt, meaning).events)
    return case, prompt_of(ENGINE, case)


def meant(prompt: Prompt, text: str) -> object:
    """Return what a text means at a prompt."""
    return reply_to(ENGINE, {}, prompt, text)


@pytest.mark.parametrize("text", ["ordinary", "ordinary person", "an Ordinary person.", "instructed person"])
def test_who_names_what_they_may_do_is_taken_at_their_word(text: str) -> None:
    """As the person is called on the screen, with or without *person*."""
    competence = "instructed" if "instructed" in text else "ordinary"
    for typed in ((), ("o", "3", "1 dry; 2 230 V")):
        assert meant(case_at(*typed)[1], text) == replies.CompetenceReply(competence=competence)  # type: ignore[arg-type]


AT_SOCKET = ("o", "3", "1 dry; 2 230 V", "y")


class TestReadings:
    """Where a reading is wanted, a number is one."""

    PROMPT = case_at(*AT_SOCKET)[1]

    @pytest.mark.parametrize(
        ("text", "value"), [("3", 3.0), ("229,5", 229.5), ("0.2 kV", 200.0), ("230 V", 230.0), ("−0 V", 0.0)]
    )
    def test_a_bare_number_has_the_plain_unit(self, text: str, value: float) -> None:
        """3 is three volts, not the third answer."""
        assert isinstance(self.PROMPT, ReadingPrompt)
        reply = meant(self.PROMPT, text)
        assert reply == replies.Figure(value=pytest.approx(value))

    @pytest.mark.parametrize("text", ["400 kV", "5 mA", "1,250 V", "3 V 4", "> 900 V"])
    def test_what_is_no_such_reading_is_refused(self, text: str) -> None:
        """Absurd, of another dimension, or readable in two ways: asked again, and never taken for words."""
        reply = meant(self.PROMPT, text)
        assert isinstance(reply, Unclear)
        assert reply.help

    def test_a_limit_is_a_reading(self) -> None:
        """Below a voltage is what some testers say."""
        reply = meant(self.PROMPT, "< 50 V")
        assert isinstance(reply, replies.Figure)

    def test_it_is_repeated_back(self) -> None:
        """What was taken is said at once."""
        case, prompt = case_at(*AT_SOCKET)
        turn = respond(ENGINE, case, prompt, replies.Figure(value=3.0))
        assert turn.remarks[0].text == "voltage at the socket: 3 V"
        assert turn.remarks[1].text == "the socket has less than half of its voltage"


class TestFields:
    """Several fields in one line."""

    PROMPT = case_at("o", "3")[1]

    @pytest.mark.parametrize(
        ("text", "values"),
        [
            ("1 dry; 2 230 V", {"room": "dry", "nominal-voltage": 230.0}),
            ("1 dry, 2 230 V", {"room": "dry", "nominal-voltage": 230.0}),
            ("wet", {"room": "wet"}),
            ("230 V", {"nominal-voltage": 230.0}),
            ("1: we", {"room": "wet"}),
            ("2 115 V; 1 2", {"nominal-voltage": 115.0, "room": "wet"}),
            ("1 dry; 2 ?", {"room": "dry"}),
            ("1 dry; 2 230", {"room": "dry", "nominal-voltage": 230.0}),
        ],
    )
    def test_numbers_words_and_figures(self, text: str, values: dict[str, object]) -> None:
        """By the number of the field, or by a value that only one field can have."""
        assert isinstance(self.PROMPT, QuestionPrompt)
        assert meant(self.PROMPT, text) == replies.FieldsFilled(values=values)  # type: ignore[arg-type]

    def test_enter_means_that_the_rest_is_not_known(self) -> None:
        """The default is: don't know."""
        assert meant(self.PROMPT, "") == replies.FieldsFilled(complete=True)

    @pytest.mark.parametrize("text", ["1 damp", "2 wet", "2 400 kV"])
    def test_what_a_field_cannot_have_is_refused(self, text: str) -> None:
        """With what it could be."""
        assert isinstance(meant(self.PROMPT, text), Unclear)

    def test_what_can_be_read_is_kept_beside_what_cannot(self) -> None:
        """One bad part does not take the line with it."""
        reply = meant(self.PROMPT, "1 dry; 2 nonsense")
        assert isinstance(reply, replies.FieldsFilled)
        assert reply.values == {"room": "dry"}
        assert "nonsense" in reply.unclear

    def test_a_number_alone_fills_in_no_word(self) -> None:
        """It may be the number of the field."""
        case, _ = case_at("o", "3")
        case = case.after(SheetFilled(field="nominal-voltage", value=230.0))
        prompt = prompt_of(ENGINE, case)
        assert isinstance(prompt, QuestionPrompt)
        assert prompt.fields == ("room",)
        assert isinstance(meant(prompt, "1"), Unclear)
        assert meant(prompt, "1 dry") == replies.FieldsFilled(values={"room": "dry"})

    @pytest.mark.parametrize(("said", "helped"), [("it flickers as well", False), ("the cat sat on it", True)])
    def test_what_fits_no_field_but_was_read_needs_no_help(self, said: str, helped: bool) -> None:
        """Nobody is told that it fits no field and, one line later, that it was understood."""
        case, prompt = case_at("o", "3")
        reply = meant(prompt, f"1 dry; 2 {said}")
        assert isinstance(reply, replies.FieldsFilled)
        turn = respond(ENGINE, case, prompt, reply)
        assert any(each.text == reply.unclear for each in turn.remarks) == helped

    def test_a_sentence_is_read_as_words(self) -> None:
        """Somebody who tells more at this prompt is heard."""
        assert isinstance(meant(self.PROMPT, "it flickers as well"), replies.Words)


class TestCautions:
    """Nothing but y or yes heeds a caution."""

    PROMPT = case_at(*AT_SOCKET[:3])[1]

    @pytest.mark.parametrize("text", ["y", "Y", "yes", "YES"])
    def test_y_heeds(self, text: str) -> None:
        """In so many letters."""
        assert isinstance(self.PROMPT, CautionPrompt)
        assert meant(self.PROMPT, text) == replies.Heed()

    @pytest.mark.parametrize("text", ["1", "ok", "yep", "", "3 V", "yes, I have"])
    def test_nothing_else_does(self, text: str) -> None:
        """A number typed too early leaves the steps unshown."""
        assert meant(self.PROMPT, text) != replies.Heed()


class TestWordsAndCommands:
    """At any prompt."""

    PROMPT = case_at()[1]

    def test_the_letters_of_answers_are_no_commands(self) -> None:
        """Where a reading is wanted, answers have letters that no command has."""
        from diagnose.protocol.commands import COMMANDS
        from diagnose.protocol.steps import LETTERS

        assert not set(LETTERS) & {letter for letter, _ in COMMANDS.values()}

    def test_a_slip_of_the_finger_is_asked_about(self) -> None:
        """It is not read as a report."""
        assert meant(self.PROMPT, "bakc") == Unclear("did you mean `back`?")

    @pytest.mark.parametrize("text", ["7", "x", "--", "…"])
    def test_what_is_too_short_for_words_is_no_report(self, text: str) -> None:
        """A number that is not on offer, a stray letter."""
        assert isinstance(self.PROMPT, StepsPrompt)
        assert isinstance(meant(self.PROMPT, text), Unclear)

    @pytest.mark.parametrize(
        ("text", "answer", "words"),
        [
            ("proved, but the other lamp flickers", "partly", "the other lamp flickers"),
            ("2, the other lamp flickers", "partly", "the other lamp flickers"),
            ("proved and the complaint is gone but it hums", "cured", "but it hums"),
            ("not cured: it only glows", "not cured", "it only glows"),
            ("no, it still glows dimly", "not cured", "it still glows dimly"),
            ("yes, but it hums a little", "cured", "but it hums a little"),
            ("still wrong", "not cured", "still wrong"),
        ],
    )
    def test_an_answer_and_words_beside_it_are_both_taken(self, text: str, answer: str, words: str) -> None:
        """Neither the verdict nor what is said with it is lost."""
        case, proof = case_at("done")
        assert isinstance(proof, ProofPrompt)
        reply = replies.AnswerAndWords(answer=replies.Verdict(verdict=answer), words=words)
        assert meant(proof, text) == reply
        tried, text_read = respond(ENGINE, case, proof, reply).events[-2:]
        assert (tried, text_read.text) == (RemedyTried(remedy="bulb-burnt", verdict=answer), words)  # type: ignore

    @pytest.mark.parametrize(("text", "answer"), [("yes", "cured"), ("no", "not cured"), ("fixed", "cured")])
    def test_a_proof_may_be_answered_in_short(self, text: str, answer: str) -> None:
        """The question is whether it cured the fault."""
        assert meant(case_at("done")[1], text) == replies.Verdict(verdict=answer)

    @pytest.mark.parametrize("text", ["proved", "2 lamps flicker", "not a thing changed", "proved by nobody at all"])
    def test_what_only_begins_like_an_answer_is_none(self, text: str) -> None:
        """It is read as words."""
        assert not isinstance(meant(case_at("done")[1], text), replies.AnswerAndWords)

    def test_a_very_long_line_is_refused(self) -> None:
        """A megabyte pasted by mistake belongs into a file."""
        reply = meant(self.PROMPT, "it flickers " * 100_000)
        assert isinstance(reply, Unclear)
        assert f"{REPLY_LETTERS:,}" in reply.help

    @given(text=st.text(max_size=200))
    @settings(max_examples=150, deadline=None)
    def test_any_text_means_something_at_any_prompt(self, text: str) -> None:
        """A reply, a command, or help: never an error."""
        for prompt in (self.PROMPT, TestReadings.PROMPT, TestFields.PROMPT, TestCautions.PROMPT):
            meaning = meant(prompt, text)
            if not isinstance(meaning, Unclear | Command):
                case, at = case_at()
                respond(ENGINE, case, at, meaning)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def prompts() -> list[Prompt]:
    """Return the prompts of a dark meter, passed over one by one, one of each kind."""
    case = Case(name="dark").after(FindingSeen(finding="display-dark", present=True))
    found: dict[str, Prompt] = {}
    for _ in range(40):
        prompt = prompt_of(real_engine(), case)
        found.setdefault(f"{type(prompt).__name__} {getattr(prompt, 'about', '')}", prompt)
        reply: replies.Reply = replies.Skip()
        if getattr(prompt, "about", "") == "competence":
            reply = replies.CompetenceReply(competence="skilled")
        elif isinstance(prompt, CautionPrompt):
            reply = replies.Heed()
        case = case.after(*respond(real_engine(), case, prompt, reply).events)
    return list(found.values())


class TestDangers:
    """Whatever is typed for something else at any prompt has its dangers read."""

    ENGINE = real_engine()

    @pytest.mark.parametrize(
        "text",
        [
            "yes and it tickles",
            "yes, it tickles",
            "1 and it tickles",
            "done, but it bites",
            "12 mA, cover is very hot",
            "230 V, it sparks",
            "u no idea, it tickles",
            "s because it tickles",
            "t it tickles",
            "m no way, it burns",
            "p supply isolated, it sparks",
            "1 pit, stinks of eggs",
            "2 it tickles",
            "tickles",
            "12 mA, it is zone 1, shall I open the cover live",
            "no, opened it under power in the ex zone",
        ],
    )
    def test_a_danger_beside_an_answer_is_heard_at_every_prompt(self, prompts: list[Prompt], text: str) -> None:
        """Work stops, or somebody is asked whether anybody is in danger."""
        assert {CautionPrompt, ReadingPrompt, QuestionPrompt} <= {type(each) for each in prompts}
        for prompt in prompts:
            case = Case(name="dark").after(FindingSeen(finding="display-dark", present=True))
            reply = reply_to(self.ENGINE, {}, prompt, text)
            assert not isinstance(reply, Unclear | Command), (prompt, reply)
            case = case.after(*respond(self.ENGINE, case, prompt, reply).events)
            after = prompt_of(self.ENGINE, case)
            assert isinstance(after, StopPrompt) or getattr(after, "about", "") == "danger", (prompt, reply)

    def test_every_answer_on_offer_is_still_that_answer(self, prompts: list[Prompt]) -> None:
        """Even where its words are those of a danger."""
        for prompt in prompts:
            for option in prompt.options:
                assert reply_to(self.ENGINE, {}, prompt, option.key) == option.reply
                assert not isinstance(reply_to(self.ENGINE, {}, prompt, option.text), replies.Words)


def test_a_sentence_with_two_figures_is_no_table_and_no_file() -> None:
    """Where readings or a log may be typed, words are still read as words."""
    from diagnose.analyses.answering import may_be_readings

    for sentence in (
        "it jumps between 30 and 50 m3/h all morning",
        "steam from the flange 3,5 bar, somebody scalded, 12 / 3",
    ):
        assert not may_be_readings(sentence, "log")
        assert not may_be_readings(sentence, "reference")
    assert may_be_readings("10 12.1; 50 52.2 m3/h", "reference")
    assert may_be_readings("last week.csv", "log")
