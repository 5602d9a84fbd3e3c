"""What somebody may type at a question, and what it means."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.errors import UnitError
from diagnose.place import did_you_mean
from diagnose.rule_book.readings import read_reading
from diagnose.rule_book.types import Quantity, Reading

COMMANDS: dict[str, tuple[str, str]] = {
    "unknown": ("u", "cannot tell; go on without it"),
    "skip": ("s", "not now; propose something else"),
    "back": ("b", "take the last answer back"),
    "why": ("w", "the reasons behind ranking and proposal"),
    "other checks": ("o", "choose another check or remedy"),
    "note": ("n", "keep your own words: note TEXT"),
    "full ranking": ("f", "all causes"),
    "no such tool": ("t", "take out all steps that need a tool"),
    "may not do that": ("m", "take out all steps beyond what you may do"),
    "plant": ("p", "say how the plant stands: plant supply isolated"),
    "help": ("?", "what these words do"),
    "save and leave": ("l", "everything is saved already; go on later with --resume"),
}
"""Word → its letter and what it does."""


@dataclass(frozen=True)
class Command:
    """One of the words that are always there, with what was typed behind it."""

    word: str
    rest: str = ""


@dataclass(frozen=True)
class Choice:
    """The number of an offered answer, counted from 0."""

    number: int


@dataclass(frozen=True)
class Figure:
    """A reading in SI units."""

    value: Reading


@dataclass(frozen=True)
class Unclear:
    """Nothing that can be meant; ``help`` says what could be typed."""

    help: str


Meaning = Command | Choice | Figure | Unclear


def command_in(text: str) -> Command | None:
    """Return the command that ``text`` is, by word or letter; only a note has words behind it.

    >>> command_in("WHY"), command_in("n door was open"), command_in("note"), command_in("nonsense")
    (Command(word='why', rest=''), Command(word='note', rest='door was open'), Command(word='note', rest=''), None)
    """
    typed = " ".join(text.split())
    lowered = typed.lower()
    for word, (letter, _) in COMMANDS.items():
        if lowered in (word, letter, word.replace(" ", "-")):
            return Command(word)
    first, _, rest = typed.partition(" ")
    for word in ("note", "plant"):
        if rest and first.lower() in (word, COMMANDS[word][0]):
            return Command(word, rest)
    if len(lowered) >= 3:
        begun = [word for word in COMMANDS if word.startswith(lowered)]
        if len(begun) == 1:
            return Command(begun[0])
    return None


def read_answer(text: str, choices: Sequence[str], quantity: Quantity | None = None) -> Meaning:
    """Return what ``text`` means where ``choices`` are offered, a reading is asked for, or both.

    A bare number is a choice where there are choices, else a reading in the quantity's own unit.

    >>> read_answer("2", ["yes", "no"]), read_answer("NO", ["yes", "no"])
    (Choice(number=1), Choice(number=1))
    """
    typed = " ".join(text.split())
    if not typed:
        return Unclear("type the number of an answer" if choices else "type a reading")
    lowered = typed.lower()
    exact = [number for number, choice in enumerate(choices) if choice.lower() == lowered]
    if exact:
        return Choice(exact[0])
    if choices and typed.isdigit():
        number = int(typed)
        if 1 <= number <= len(choices):
            return Choice(number - 1)
        if quantity is None or len(choices) > 1:
            return Unclear(f"type a number from 1 to {len(choices)}")
    command = command_in(typed)
    if command:
        return command
    begun = [number for number, choice in enumerate(choices) if choice.lower().startswith(lowered)]
    if len(begun) == 1:
        return Choice(begun[0])
    if quantity is not None:
        return read_figure(typed, quantity)
    near = did_you_mean(lowered, [*(choice.lower() for choice in choices), *COMMANDS])
    return Unclear(near or "type the number of an answer, or ? for what else can be typed")


def read_figure(text: str, quantity: Quantity) -> Figure | Unclear:
    """Return a reading of ``quantity``; one that is absurd is asked about again, not believed."""
    try:
        return Figure(read_reading(text, quantity))
    except UnitError as error:
        return Unclear(str(error))
