"""Several fields of a data sheet typed in one line: ``1 pit; 2 control, dosing; 3 230 V``."""

from __future__ import annotations

import re
from collections.abc import Sequence

from diagnose.errors import UnitError
from diagnose.protocol.replies import FieldsFilled
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.data_sheet import read_value
from diagnose.rule_book.quantities import Quantity, Value
from diagnose.rule_book.readings import read_reading

_PARTS = re.compile(r"\s*;\s*|\s*,\s+(?=\d{1,2}\s+\S)")
_NUMBERED = re.compile(r"(\d{1,2})(?:\s*[:.)=]\s*|\s+)(.+)")
_WORDS = re.compile(r"\s*[,+/]\s*|\s+and\s+")

NONE = ("none", "none of them", "none of these", "nothing", "nothing of that")
"""Nothing that is dangerous is so: said of all the fields that are asked for and were not told by themselves."""

NOT_KNOWN = ("?", "-", "u", "unknown", "don't know", "dont know")


def fields_typed(rule_book: RuleBook, names: Sequence[str], typed: str) -> FieldsFilled | str | None:
    """Return the fields that were filled in, help where nothing makes sense, None where it is not a list of fields.

    A part is the number of a field and its value, or a word that only one of the fields can have, or
    *none* for all that is dangerous in the rest. Words beside them that are not a field are read as words: somebody
    may be reporting a danger there.
    """
    if typed.casefold().strip(" .") in NOT_KNOWN:
        return FieldsFilled(complete=True)
    quantities = [rule_book.quantities[name] for name in names]
    parts, filled = _without_none(rule_book, names, _PARTS.split(typed.strip(" ;,")))
    unclear: list[str] = []
    rest: list[str] = []
    any_numbered = False
    for part in parts:
        numbered = _NUMBERED.fullmatch(part)
        if numbered and 1 <= int(numbered[1]) <= len(quantities):
            quantity, text, any_numbered = quantities[int(numbered[1]) - 1], numbered[2], True
        elif len(quantities) == 1 and part.isdecimal() and quantities[0].choices:
            return (
                f"write the answer after the number, for example `1 {quantities[0].choices[0]}`; Enter leaves it open"
            )
        elif len(quantities) == 1:
            quantity, text = quantities[0], part
        else:
            fitting = [each for each in quantities if _may_be(each, part)]
            if len(fitting) != 1:
                if not (numbered or any_numbered or filled):
                    return None
                _put_aside(part, rest, unclear)
                continue
            quantity, text = fitting[0], part
        if text.casefold() in NOT_KNOWN:
            continue
        try:
            filled[quantity.id] = _value(quantity, text)
        except UnitError as error:
            if len(quantities) == 1 and not numbered and _is_sentence(text):
                return None
            unclear.append(str(error))
            if _are_words(text):
                rest.append(text)
    said = "; ".join(unclear)
    return FieldsFilled(values=filled, unclear=said, rest=". ".join(rest)) if filled or rest else said or None


def _without_none(rule_book: RuleBook, names: Sequence[str], parts: list[str]) -> tuple[list[str], dict[str, Value]]:
    """Return the other parts where *none* is one of them, and the fields that it settles unless one of those does."""
    harmless: dict[str, Value] = {name: value for name in names if (value := rule_book.none_dangerous(name))}
    others = [part for part in parts if part.casefold() not in NONE]
    return (others, harmless) if harmless and len(others) < len(parts) else (parts, {})


def _put_aside(part: str, words: list[str], unclear: list[str]) -> None:
    if _are_words(part):
        words.append(part)
    else:
        unclear.append(f"`{part}` is not one of the fields asked for here, with its value")


def _are_words(text: str) -> bool:
    return len(text.split()) > 1 and text[:1].isalpha()


def _may_be(quantity: Quantity, text: str) -> bool:
    """Tell whether a text is a value of a quantity without its number: one of its words, or a figure in its unit."""
    if quantity.choices:
        return bool(_chosen(quantity, text))
    try:
        read_value(quantity, text)
    except UnitError:
        return False
    return True


def _is_sentence(text: str) -> bool:
    return len(text.split()) > 3 or not text[:1].isdigit()


def _value(quantity: Quantity, text: str) -> Value:
    if not quantity.choices:
        return read_value(quantity, text) if quantity.text else read_reading(text, quantity)
    chosen = _chosen(quantity, text)
    if not chosen:
        raise UnitError(f"`{text}` is none of: {', '.join(quantity.choices)}")
    return read_value(quantity, list(chosen) if quantity.several else chosen[0])


def _chosen(quantity: Quantity, text: str) -> tuple[str, ...]:
    """Return the words of a quantity that a text names, each whole, begun, or by its number; nothing if one is none."""
    whole = _one(quantity, text)
    if whole:
        return (whole,)
    found = [_one(quantity, part) for part in _WORDS.split(text)] if quantity.several else []
    return tuple(dict.fromkeys(word for word in found if word)) if found and all(found) else ()


def _one(quantity: Quantity, text: str) -> str:
    lowered = text.strip().casefold()
    exact = [word for word in quantity.choices if word.casefold() == lowered]
    begun = [word for word in quantity.choices if len(lowered) >= 2 and word.casefold().startswith(lowered)]
    if exact or len(begun) == 1:
        return (exact or begun)[0]
    if lowered.isdecimal() and len(lowered) < 4 and 1 <= int(lowered) <= len(quantity.choices):
        return quantity.choices[int(lowered) - 1]
    return ""
