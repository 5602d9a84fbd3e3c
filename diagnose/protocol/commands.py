"""The words that are always there, whatever is asked."""

from __future__ import annotations

from dataclasses import dataclass

COMMANDS: dict[str, tuple[str, str]] = {
    "unknown": ("u", "cannot tell; go on without it"),
    "skip": ("s", "not now; propose something else"),
    "back": ("b", "take the last answer back"),
    "why": ("w", "the reasons behind the ranking and the proposal"),
    "other checks": ("o", "choose another check or remedy"),
    "note": ("n", "keep your own words, not as evidence: n TEXT"),
    "evidence": ("e", "read the last note as evidence after all"),
    "full ranking": ("f", "all causes"),
    "no such tool": ("t", "this step needs a tool that is not here"),
    "may not do that": ("m", "this step goes beyond what you may do"),
    "plant": ("p", "say what state the plant is in: p supply isolated"),
    "help": ("?", "what these words do"),
    "save and leave": ("l", "everything is saved already; go on later with --resume"),
}
"""Word → its letter and what it does."""


@dataclass(frozen=True)
class Command:
    """One of the words that are always there, with what was typed after it."""

    word: str
    rest: str = ""


def command_in(text: str) -> Command | None:
    """Return the command that ``text`` is, by word or letter; only notes and the plant have words after them.

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
