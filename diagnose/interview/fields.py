"""The screen on which fields of the data sheet are asked for together, what is dangerous among them marked."""

from __future__ import annotations

from diagnose.documents.blocks import Block, Heading, Span, line
from diagnose.protocol.prompts import QuestionPrompt
from diagnose.protocol.situation import Situation
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Quantity


def fields(situation: Situation, prompt: QuestionPrompt) -> list[Block]:
    """Return the fields that are asked for, with their words or limits, where to find them, and how to type them."""
    blocks: list[Block] = [Heading(prompt.text)]
    for number, name in enumerate(prompt.fields, 1):
        quantity = situation.rule_book.quantities[name]
        several = " (several: separate them with commas)" if quantity.several else ""
        text = f"  {quantity.title}{several}: {_wanted(situation.rule_book, quantity)}"
        where = Span(f"  [{quantity.where_to_find}]", "quiet")
        blocks.append(line(Span(f"{number:>3}", "head"), text, where, indent=0, hang=5))
    if prompt.told:
        words = "; ".join(f"“{each}”" for each in prompt.told)
        blocks.append(line(f"Not understood so far: {words}. If it answers one of these, fill it in."))
    example = _example(situation, prompt)
    return [
        *blocks,
        *_none(situation.rule_book, prompt),
        line(f"Type for example  {example}  or just press Enter if the rest is not known here.", indent=0),
    ]


def _wanted(rule_book: RuleBook, quantity: Quantity) -> str:
    """Return the words of a field, the dangerous ones marked, or what figure it takes."""
    if quantity.choices:
        dangerous = rule_book.dangerous_words(quantity.id)
        return " / ".join(f"{word}*" if word in dangerous else word for word in quantity.choices)
    return f"a figure, {quantity.plausible_range()}" if quantity.plausible else "a figure"


def _none(rule_book: RuleBook, prompt: QuestionPrompt) -> list[Block]:
    """Say how to answer for all fields at once that nothing dangerous is so, and for which that does not do."""
    numbered = [(str(number), name) for number, name in enumerate(prompt.fields, 1) if rule_book.dangerous_words(name)]
    themselves = [number for number, name in numbered if not rule_book.none_dangerous(name)]
    if len(themselves) == len(numbered):
        return []
    but = f"; say {' and '.join(themselves)} in any case" if themselves else ""
    return [line(f"Type  none  if nothing marked * is so{but}.", indent=0)]


def _example(situation: Situation, prompt: QuestionPrompt) -> str:
    """Return how the first fields may be filled in."""
    said = []
    for number, name in list(enumerate(prompt.fields, 1))[:2]:
        quantity = situation.rule_book.quantities[name]
        value = quantity.choices[0] if quantity.choices else f"10 {quantity.unit}".strip()
        said.append(f"{number} {value}")
    return f"`{'; '.join(said)}`"
