"""Dangers in what is typed for something else: beside an answer, a reading, a command or a field of a form.

``yes and it tickles``, ``12 mA, cover is very hot``, ``p supply isolated, it sparks``: whatever else was meant can
be typed again once nobody is in danger.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from diagnose.errors import BadInput
from diagnose.language.cleaning import clean
from diagnose.language.understanding import understand
from diagnose.protocol import replies
from diagnose.protocol.commands import COMMANDS, Command
from diagnose.protocol.prompts import Prompt

if TYPE_CHECKING:
    from diagnose.protocol.typed import Unclear
    from diagnose.reasoning.engine import Engine

_FIELDS = re.compile(r"\s*[;,]\s+")


def with_dangers(
    engine: Engine, prompt: Prompt, typed: str, meant: replies.Reply | Command | Unclear
) -> replies.Reply | Command | Unclear:
    """Return what was meant, or the words themselves where they tell, or may tell, of a danger beside it."""
    if _is_all_meant(engine, prompt, typed, meant):
        return meant
    if isinstance(meant, replies.FieldsFilled):
        rest = _FIELDS.sub(".\n", typed)
        return msgspec.structs.replace(meant, rest=rest) if tells_of_danger(engine, rest) else meant
    apart = _answer_apart(prompt, typed)
    if not isinstance(meant, replies.Words) and tells_of_danger(engine, typed):
        return replies.Words(text=typed)
    if apart != typed and tells_of_danger(engine, apart) and not tells_of_danger(engine, typed):
        return replies.Words(text=apart)
    return meant


def tells_of_danger(engine: Engine, words: str) -> bool:
    """Tell whether words tell of a danger, or have one in them that may."""
    try:
        read = understand(clean(words), engine.lexicon)
    except BadInput:
        return False
    findings = engine.rule_book.findings
    said = {each.finding: each.present for each in read.understood if each.finding}
    return bool(read.dangers) or any(present and findings[name].heard_as_danger for name, present in said.items())


def _is_all_meant(engine: Engine, prompt: Prompt, typed: str, meant: replies.Reply | Command | Unclear) -> bool:
    """Tell whether what was typed holds nothing but what it was taken for."""
    lowered = " ".join(typed.split()).casefold()
    if any(lowered == each.key or each.text.casefold().startswith(lowered) for each in prompt.options):
        return True
    if isinstance(meant, Command):
        return meant.word == "note" or not meant.rest  # the words of a note are read where it is kept
    if isinstance(meant, replies.FieldsFilled):
        quantities = engine.rule_book.quantities
        return not (meant.unclear or meant.rest or any(quantities[name].text for name in meant.values))
    if isinstance(meant, replies.Analysed):
        return Path(typed.strip().strip("'\"")).suffix != "" and " " not in lowered
    return isinstance(meant, replies.Figure | replies.CompetenceReply)


def _answer_apart(prompt: Prompt, typed: str) -> str:
    """Return what was typed with an answer on offer, or a command, at its beginning as a sentence of its own."""
    known = [each.text for each in prompt.options] + [each.key for each in prompt.options]
    known += [each for word, (letter, _) in COMMANDS.items() for each in (word, letter)]
    for lead in sorted(known, key=len, reverse=True):
        if lead and typed.casefold().startswith(lead.casefold()) and not typed[len(lead) : len(lead) + 1].isalnum():
            rest = typed[len(lead) :].strip(" ,;:.-\n\t")
            return f"{typed[: len(lead)]}.\n{rest}" if rest else typed
    return typed
