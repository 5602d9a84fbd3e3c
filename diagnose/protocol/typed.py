"""What somebody types at a prompt, and the reply that is meant: for terminals, pipes and chats alike.

The same words mean the same everywhere; what makes no sense comes back as help. Reading a file that is named happens
here, at the edge, so that replies are data.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from diagnose.bounded import REPLY_LETTERS
from diagnose.errors import DiagnoseError, UnitError
from diagnose.place import did_you_mean
from diagnose.protocol import replies
from diagnose.protocol.commands import COMMANDS, Command, command_in
from diagnose.protocol.dangers_typed import with_dangers
from diagnose.protocol.fields import fields_typed
from diagnose.protocol.prompts import (
    CautionPrompt,
    ComplaintPrompt,
    Option,
    Prompt,
    ProofPrompt,
    QuestionPrompt,
    ReadingPrompt,
    StopPrompt,
)
from diagnose.rule_book.competence import competence_named
from diagnose.rule_book.quantities import DataSheet
from diagnose.rule_book.readings import read_reading

if TYPE_CHECKING:
    from diagnose.reasoning.engine import Engine

FEWEST_LETTERS = 3
"""How many letters of an answer, at least, stand for all of it."""


HEED = "Type y once you have read this and will act on it; s skips the step, m says you may not do it, b goes back."


HEED_BUTTONS = "Read this, then press what you will do."

PRESS = "That is no answer here: press one of the buttons, or say more in your own words."

NO_FILES = "A file is read where the program runs: have it named at the desk, or choose an answer."


@dataclass(frozen=True)
class Unclear:
    """Nothing that makes sense here: ``help`` says what could be typed, ``buttons`` the same where there are some."""

    help: str
    buttons: str = ""


def reply_to(
    engine: Engine, data_sheet: DataSheet, prompt: Prompt, text: str, files: bool = True
) -> replies.Reply | Command | Unclear:
    """Return what ``text`` means at a prompt: a reply, a word that is always there, or help.

    Without ``files`` none is read that is named: who types does not sit where the program runs.

    An answer on offer goes first, then the words that are always there, then readings; the rest is read as own words.
    Whatever has other words in it than an answer on offer is read for dangers as well, and those go before all else.
    """
    if len(text) > REPLY_LETTERS:
        most = f"that is {len(text):,} letters; {REPLY_LETTERS:,} at most are read here"
        return Unclear(f"{most}; start from a file: --report", f"{most}; say it in fewer")
    meant = _meant(engine, data_sheet, prompt, text, files)
    if meant == Unclear(NO_FILES):  # the words of a file's name tell of nothing
        return meant
    return with_dangers(engine, prompt, text, meant)


def _meant(
    engine: Engine, data_sheet: DataSheet, prompt: Prompt, text: str, files: bool
) -> replies.Reply | Command | Unclear:
    """Return what a text means at a prompt, whatever else it tells."""
    typed = " ".join(text.split())
    if not typed:
        return _nothing(prompt)
    if isinstance(prompt, ComplaintPrompt) and typed.casefold() == "more":
        return Command("more")
    chosen = _options(prompt.options, typed, whole=isinstance(prompt, CautionPrompt))
    if len(chosen) == 1:
        return chosen[0].reply
    if chosen and isinstance(prompt, StopPrompt | QuestionPrompt):
        named = " or ".join(f"“{each.text}”" for each in chosen)
        return Unclear(f"which of them? Type {' or '.join(each.key for each in chosen)}", f"which of them: {named}?")
    command = command_in(typed)
    if command is not None:
        return command
    competence = competence_named(typed)
    if competence is not None:
        return replies.CompetenceReply(competence=competence)
    if isinstance(prompt, CautionPrompt):
        return _at_cautions(prompt, typed)
    if isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet":
        fields = fields_typed(engine.rule_book, prompt.fields, typed)
        if fields is not None:
            return Unclear(fields) if isinstance(fields, str) else fields
    readings = _readings(engine, data_sheet, prompt, typed, files)
    if readings is not None:
        return readings
    return _verdict(prompt, typed) or _answer_and_words(prompt, typed) or _words(prompt, text, typed)


def _nothing(prompt: Prompt) -> replies.Reply | Unclear:
    if isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet":
        return replies.FieldsFilled(complete=True)
    return Unclear("")


def _options(options: Sequence[Option], typed: str, whole: bool) -> Sequence[Option]:
    """Return the option whose key or words were typed, else those whose words begin so unless ``whole`` are wanted."""
    lowered = typed.casefold()
    for option in options:
        if lowered in (option.key, option.text.casefold()):
            return [option]
    if whole or len(lowered) < FEWEST_LETTERS or command_in(typed) is not None:
        return []
    return [option for option in options if option.text.casefold().startswith(lowered)]


_VERDICTS = {"yes": "cured", "cured": "cured", "fixed": "cured", "no": "not cured", "still": "not cured"}
"""First words of an answer to whether a remedy has cured the fault, in short: ``yes``, ``no, still 30``."""


def _verdict(prompt: Prompt, typed: str) -> replies.Reply | None:
    """Return what a short answer to *did it cure the fault?* means, with the words after it, where that is on offer."""
    first, _, rest = typed.partition(" ")
    meant = _VERDICTS.get(first.casefold().rstrip("".join(_MARKS)))
    reply = replies.Verdict(verdict=meant) if meant else None
    if not isinstance(prompt, ProofPrompt) or reply not in [option.reply for option in prompt.options]:
        return None
    if not rest:
        return reply
    words = typed if first.casefold() == "still" else rest
    marked = first.endswith(_MARKS) or first.casefold() == "still"
    return replies.AnswerAndWords(answer=reply, words=words) if marked and _are_words(words) else None


def _answer_and_words(prompt: Prompt, typed: str) -> replies.AnswerAndWords | None:
    """Return an answer with words after it: ``2, the pump is off``; ``proved, but the zero creeps`` for what begins so.

    Anything that only begins like an answer (``no water came``) is no answer.
    """
    if isinstance(prompt, ComplaintPrompt | StopPrompt | CautionPrompt):
        return None
    said = typed.split()
    begun = [(_begins_with(said, option), option) for option in prompt.options]
    most = max((number for number, _ in begun), default=0)
    meant = [option for number, option in begun if number == most]
    rest = " ".join(said[most:]).lstrip(" ,;:.-–—")
    if not most or len(meant) > 1 or not _are_words(rest):
        return None
    return replies.AnswerAndWords(answer=meant[0].reply, words=rest)


_MARKS = tuple(",;:.–—")
_LEADS_ON = ("but", "and", "though", "although", "however")


def _begins_with(said: Sequence[str], option: Option) -> int:
    """Return how many words at the beginning stand for an answer; none where what follows may belong to a sentence.

    The key, the whole answer, or it up to its first mark, each with a mark or *but* after it; or more than up to there.

    >>> proved = Option(key="2", text="proved, but something is still wrong", reply=replies.Verdict(verdict="partly"))
    >>> [_begins_with(text.split(), proved) for text in ("2, it creeps", "2 pumps run", "proved, but it creeps")]
    [1, 0, 2]
    """
    answer = [word.casefold().rstrip("".join(_MARKS)) for word in option.text.split()]
    marked = next((n for n, word in enumerate(option.text.split(), 1) if word.endswith(_MARKS)), len(answer))
    alike = 0
    for word, wanted in zip(said, answer, strict=False):
        if word.casefold().rstrip("".join(_MARKS)) != wanted:
            break
        alike += 1
    if marked < alike < len(answer):
        return alike
    if alike not in (marked, len(answer)):
        alike = int(bool(said) and said[0].casefold().rstrip("".join(_MARKS)) == option.key)
    ends = bool(alike) and (
        said[alike - 1].endswith(_MARKS) or said[alike : alike + 1] in [[each] for each in _LEADS_ON]
    )
    return alike if ends else 0


def _are_words(text: str) -> bool:
    return len(text.split()) > 1 and sum(letter.isalpha() for letter in text) >= FEWEST_LETTERS


def _at_cautions(prompt: Prompt, typed: str) -> replies.Reply | Unclear:
    if typed.casefold() in ("yes", "ok", "okay"):
        return replies.Heed() if typed.casefold() == "yes" else Unclear(HEED, HEED_BUTTONS)
    if " " in typed:
        return replies.Words(text=typed)
    return Unclear(HEED, HEED_BUTTONS)


def _readings(
    engine: Engine, data_sheet: DataSheet, prompt: Prompt, typed: str, files: bool
) -> replies.Reply | Unclear | None:
    """Return a reading, or readings in place of an answer; None where what was typed is neither."""
    step = getattr(prompt, "proposal", None)
    check = engine.rule_book.checks.get(step.id) if step else None
    asks = isinstance(prompt, ReadingPrompt) or (isinstance(prompt, QuestionPrompt) and prompt.about == "check")
    if check is not None and check.takes and asks:
        from diagnose.analyses.answering import analyse_typed, may_be_readings, names_a_file

        if may_be_readings(typed, check.takes):
            if not files and names_a_file(typed):
                return Unclear(NO_FILES)
            try:
                analysis = analyse_typed(engine, data_sheet, check, typed, files)
            except DiagnoseError as error:
                return Unclear(str(error))
            return replies.Analysed(analysis=analysis)
    if not isinstance(prompt, ReadingPrompt):
        return None
    quantity = engine.rule_book.quantities[prompt.quantity]
    try:
        return replies.Figure(value=read_reading(typed, quantity))
    except UnitError as error:
        return Unclear(str(error)) if _looks_like_a_reading(typed) else None


def _looks_like_a_reading(typed: str) -> bool:
    """Tell whether something begins with a figure and holds hardly any words, so that it is not a sentence."""
    return re.match(r"[<>≥≤±~+−–-]?\s*[\d.,]", typed) is not None and len(typed.split()) <= 4


def _words(prompt: Prompt, text: str, typed: str) -> replies.Reply | Unclear:
    """Take what was typed as own words, unless it is too short for that or is one word much like an answer."""
    if sum(letter.isalpha() for letter in typed) < FEWEST_LETTERS:
        return Unclear(_which(prompt.options), PRESS)
    if " " not in typed and not isinstance(prompt, ComplaintPrompt):
        answers = [option.text.casefold() for option in prompt.options]
        near = did_you_mean(typed.casefold(), [*answers, *COMMANDS])
        if near:
            return Unclear(near)
    return replies.Words(text=text)


def _which(options: Sequence[Option]) -> str:
    keys = [option.key for option in options]
    if not keys:
        return "that is not an answer here; type ? to see what can be typed"
    if keys == ["1", "2"]:
        return "type 1 or 2"
    return f"type a number from 1 to {keys[-1]}" if keys[-1].isdecimal() else f"type one of: {', '.join(keys)}"
