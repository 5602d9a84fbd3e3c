"""Somebody who types at random: answers on offer most often, readings, own words, commands and nonsense in between."""

from __future__ import annotations

import random

from diagnose.protocol.prompts import CautionPrompt, HandOverPrompt, Prompt, QuestionPrompt, ReadingPrompt
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Quantity

COMMANDS = ("u", "s", "b", "b", "w", "o", "e", "f", "t", "m", "?", "p", "n looked at it again", "n warm, 20 °C – dusty")
NONSENSE = (
    "x",
    "99",
    "-1",
    "1e999",
    "[red]x[/red] {0} %s",
    "\u202eflickers",
    "4k7",
    "OL",
    "> 20 Mohm",
    "nothing at all",
)
READINGS = ("3.6 mA", "0,3 meg", "230 V", "12", ">20 Mohm", "OL", "0")


class Typist:
    """Types lines for prompts; never leaves, and types nothing empty where that would be leaving."""

    def __init__(self, book: RuleBook, chooser: random.Random) -> None:
        self.book = book
        self.chooser = chooser
        self._phrases = [phrase for each in book.findings.values() for phrase in each.phrases]

    def line(self, prompt: Prompt) -> str:
        """Return what is typed at a prompt, without its end."""
        luck = self.chooser.random()
        if luck < 0.1:
            return self.chooser.choice(COMMANDS)
        if luck < 0.14:
            return self.chooser.choice(NONSENSE)
        if luck < 0.2 and self._phrases:
            return self.chooser.choice(self._phrases)
        if isinstance(prompt, CautionPrompt):
            return "y"
        if isinstance(prompt, QuestionPrompt) and prompt.fields:
            return self._fields(prompt.fields)
        if isinstance(prompt, ReadingPrompt) and (luck < 0.6 or not prompt.options):
            return self._reading(self.book.quantities[prompt.quantity])
        if prompt.options:
            return self.chooser.choice(prompt.options).key
        return "go on" if isinstance(prompt, HandOverPrompt) else "u"

    def _fields(self, fields: tuple[str, ...]) -> str:
        known = [
            f"{number} {self.chooser.choice(self.book.quantities[name].choices)}"
            for number, name in enumerate(fields, 1)
            if self.book.quantities[name].choices and self.chooser.random() < 0.6
        ]
        return "; ".join(known) or "u"

    def _reading(self, quantity: Quantity) -> str:
        low, high = quantity.plausible or (0.0, 1.0)
        if quantity.choices or self.chooser.random() < 0.3:
            return self.chooser.choice(READINGS)
        return f"{self.chooser.uniform(low, high):.6g} {quantity.unit}"
