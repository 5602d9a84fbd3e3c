"""Forms and tables of yes and no: ``| Empty pipe alarm | no |``, ``Display lit - no``, ``[x] display dark``.

A *no* in its own cell denies what its label says, a *yes* affirms it; an empty box, or a cell that leaves it open, says
nothing. The rows are rewritten in place, letter for letter, so that they read like any other sentence.
"""

from __future__ import annotations

import re

_YES = r"yes|yep|y|true|x|✓|✔|☑"
_NO = r"no|nope|none|n|false|✗|✘"
_SHORT_NO = ("n", "✗", "✘", "false", "nope")
_OPEN = r"n/?a|\?+|-+|tbd|unknown|not (?:checked|known|sure|tested|applicable)|don't know|dont know|no idea"
_ROW = re.compile(
    rf"^(?P<lead>[ \t]*+(?:\|[ \t]*+)?+)(?P<label>[^|\n]*[^|\n:\s-])(?P<mark>[ \t]*(?:\||:|[-–—]+|=)[ \t]*)"
    rf"(?:(?P<no>{_NO})|(?P<yes>{_YES})|(?P<open>{_OPEN}))(?P<end>[ \t]*+(?:[.|][ \t]*+)?+)$",
    re.IGNORECASE | re.MULTILINE,
)
_UNTICKED = re.compile(r"(?:\[ ?\]|\( \)|☐|□)[^\n|\[☐□☑☒]*")
_TICKED = re.compile(r"\[[xX✓✔]\]|\([xX✓✔]\)|[☑☒]")


def read_forms(text: str) -> str:
    """Return a text of the same length in which rows of forms read like sentences.

    >>> read_forms("| Empty pipe alarm | no |"), read_forms("Display lit - no")
    ('  Empty pipe alarm:  no  ', 'Display lit:  no')
    >>> read_forms("[ ] display dark"), read_forms("[x] display dark"), read_forms("Alarm: n/a")
    ('                ', '    display dark', '          ')
    """
    text = _ROW.sub(_as_sentence, text)
    text = _UNTICKED.sub(lambda match: " " * len(match[0]), text)
    return _TICKED.sub(lambda match: " " * len(match[0]), text)


def _as_sentence(row: re.Match[str]) -> str:
    if row["open"] is not None:
        return " " * len(row[0])
    before, end = " " * len(row["lead"]), " " * len(row["end"])
    answer = row["no"] or row["yes"]
    if answer.lower() in _SHORT_NO and len(row["mark"]) > 1:
        return before + row["label"] + ":" + "no".rjust(len(row["mark"]) + len(answer) - 1) + end
    return before + row["label"] + ":".ljust(len(row["mark"])) + answer + end
