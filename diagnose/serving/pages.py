"""What stands on a page: the parts of a screen as HTML, and fields to fill in where a terminal has them typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from diagnose.documents.blocks import Block, Choice, Heading, percent
from diagnose.documents.html import to_html
from diagnose.interview import screens, views
from diagnose.protocol.prompts import (
    CautionPrompt,
    ComplaintPrompt,
    HandOverPrompt,
    Prompt,
    QuestionPrompt,
    ReadingPrompt,
    StopPrompt,
)
from diagnose.protocol.situation import Situation

BESIDE = ("unknown", "skip", "back", "other checks", "may not do that", "no such tool")
"""Words that are always there and make a button below a step."""

VIEWS = {"why": "Why", "full ranking": "All causes", "help": "All words", "more": "Other complaints"}


class Field(NamedTuple):
    """One field of the data sheet to fill in, with the words on offer and which of them are dangerous."""

    number: int
    title: str
    where: str
    choices: tuple[tuple[str, bool], ...]
    several: bool
    unit: str


def page_of(situation: Situation, prompt: Prompt, said: Sequence[Block], before: Mapping[str, float]) -> dict[str, Any]:
    """Return what the template of a prompt fills in; ``before`` is the ranking that was shown last."""
    parts = screens.in_parts(situation, prompt, before)
    asks_fields = isinstance(prompt, QuestionPrompt) and prompt.about == "data sheet"
    fields = fields_of(situation, prompt) if asks_fields and isinstance(prompt, QuestionPrompt) else []
    below = [Heading(prompt.text)] if asks_fields and isinstance(prompt, QuestionPrompt) else parts.below
    causes = situation.diagnosis.causes if parts.ranking else ()
    return {
        "case": situation.case.name,
        "said": to_html(said),
        "status": to_html(parts.status),
        "first": f"{percent(causes[0].probability)} {_title(situation, causes[0].id)}" if causes else "",
        "ranking": to_html(parts.ranking),
        "above": to_html(parts.above),
        "below": to_html([*below, *_heeding(prompt)]),
        "stop": isinstance(prompt, StopPrompt),
        "fields": fields,
        "dangerous": any(dangerous for field in fields for _, dangerous in field.choices),
        "told": prompt.told if isinstance(prompt, QuestionPrompt) else (),
        "reading": _reading(situation, prompt),
        "beside": () if isinstance(prompt, HandOverPrompt | StopPrompt) else _beside(prompt),
        "views": ("why", "full ranking") if screens.has_ranking(prompt) else (),
    }


def _title(situation: Situation, cause: str) -> str:
    return situation.rule_book.causes[cause].title


def _heeding(prompt: Prompt) -> list[Block]:
    """Return the buttons at cautions, which a terminal has typed."""
    return [Choice(each.key, each.text) for each in prompt.options] if isinstance(prompt, CautionPrompt) else []


def _beside(prompt: Prompt) -> tuple[str, ...]:
    if isinstance(prompt, ComplaintPrompt):
        return ("unknown", "back")
    return BESIDE if getattr(prompt, "proposal", None) else ("unknown", "skip", "back")


def _reading(situation: Situation, prompt: Prompt) -> dict[str, str] | None:
    if not isinstance(prompt, ReadingPrompt):
        return None
    quantity = situation.rule_book.quantities[prompt.quantity]
    return {"title": quantity.title, "unit": quantity.unit}


def fields_of(situation: Situation, prompt: QuestionPrompt) -> list[Field]:
    """Return the fields that are asked for together."""
    book = situation.rule_book
    fields = []
    for number, name in enumerate(prompt.fields, 1):
        quantity = book.quantities[name]
        dangerous = book.dangerous_words(name)
        choices = tuple((word, word in dangerous) for word in quantity.choices)
        fields.append(
            Field(number, quantity.title, quantity.where_to_find, choices, bool(quantity.several), quantity.unit)
        )
    return fields


def fields_typed(form: Mapping[str, Sequence[str]]) -> str:
    """Return the fields of a form as they would be typed in one line; empty where none was filled in.

    >>> fields_typed({"field-1": ["pit or vault"], "field-2": [""], "field-3": ["control", "dosing"]})
    '1 pit or vault; 3 control, dosing'
    """
    filled: list[tuple[int, str]] = []
    for name, values in form.items():
        number = name.removeprefix("field-")
        text = ", ".join(value.strip().replace(";", ",") for value in values if value.strip())
        if number != name and number.isdecimal() and text:
            filled.append((int(number), text))
    return "; ".join(f"{number} {text}" for number, text in sorted(filled))


def view_of(situation: Situation, prompt: Prompt, word: str) -> str:
    """Return what is shown beside a question, as HTML."""
    if word == "more" and isinstance(prompt, ComplaintPrompt):
        return to_html(views.more_complaints(prompt))
    if word == "why" and not isinstance(prompt, ComplaintPrompt | StopPrompt):
        return to_html(views.why(situation, getattr(prompt, "proposal", None)))
    if word == "full ranking" and not isinstance(prompt, ComplaintPrompt | StopPrompt):
        return to_html(views.full_ranking(situation))
    return to_html(views.all_words())
