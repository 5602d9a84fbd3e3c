"""Turns whatever was pasted or piped in into plain text that is safe to show and search.

Removed: terminal escape sequences, control characters, zero-width characters, bidirectional overrides, quote marks of
e-mail. Kept: letters of all languages, ``m³/h``, ``µ``, ``Ω``, and markup of any kind, as plain text.
"""

from __future__ import annotations

import re
import unicodedata

from diagnose.errors import BadInput

_ESCAPES = re.compile(
    r"(?:\x1b[\]PX^_]|[\x9d\x90\x98\x9e\x9f])[^\x07\x1b\x9c]{0,4000}(?:\x07|\x1b\\|\x9c|(?=\x1b)|$)"  # OSC, DCS, …
    r"|(?:\x1b\[|\x9b)[0-?]*[ -/]*[@-~]?"  # CSI
    r"|\x1b[ -/]*[0-~]?"  # two-character sequences
)
_INVISIBLE = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180e\u200b-\u200f"
    "\u202a-\u202e\u2060-\u206f\u3164\ufe00-\ufe0f\ufeff\uffa0\ufff0-\ufffb\ufffe\uffff\ud800-\udfff"
    "\U000e0000-\U000e0fff]"
)
# NFKC would take these apart: superscripts, micro sign, fractions, accents that stand alone, trade marks.
_KEPT = re.compile("([²³¹µ½¼¾¨¯´¸…™℠№ª]+)")
_ALIKE = str.maketrans(
    {"μ": "µ", "’": "'", "‘": "'", "´": "'", "`": "'", "‛": "'", "“": '"', "”": '"', "„": '"', "º": "°", "˚": "°",
     "‐": "-", "‑": "-", "‒": "–", "℃": "°C", "℉": "°F", "\u2028": "\n", "\u2029": "\n", "\x85": "\n", "\x0b": "\n",
     "\x0c": "\n"}
)  # fmt: skip
_MOST_STACKED = 30
"""Combining marks on one letter (as in Unicode's stream-safe text, UAX 15)."""

_MARKS = re.compile(rf"[^\w\s\x00-\x7f]{{{_MOST_STACKED + 1},}}")
_LINE_ENDS = re.compile(r"\r\n?")
_SPACES = re.compile(r"[^\S\n]+")
_QUOTE_MARKS = re.compile(r"^ ?(?:> ?)+(?![\s\d.,=+-]*\d)", re.MULTILINE)
_BLANK_LINES = re.compile(r"\n{3,}")
_MOSTLY = 0.3


def clean(raw: str | bytes) -> str:
    r"""Return the text of a report, safe to show and search.

    Raises BadInput if it is not text, or if nothing is left.

    >>> clean(b"\x1b[31mflow\x1b[0m is 38 m\xb3/h\r\n")
    'flow is 38 m³/h'
    """
    raw = decoded(raw)
    if "\x00" in raw or _mostly_control(raw):
        raise BadInput(
            "this is not plain text (it contains control characters); save the report as plain text, "
            "for example UTF-8, and try again"
        )
    text = tidy(raw)
    if not text:
        raise BadInput("the report is empty: paste or pipe in what was reported, for example `display dark, fuse ok`")
    return text


def tidy(text: str) -> str:
    """Strip invisible characters and normalise line ends and spaces; never fails.

    >>> tidy("[red]dark[/red]  \\u202edisplay\\u200b ")
    '[red]dark[/red] display'
    """
    text = _ESCAPES.sub("", text).translate(_ALIKE)
    text = _INVISIBLE.sub("", _LINE_ENDS.sub("\n", text))
    text = _MARKS.sub(_unstacked, text)
    pieces = _KEPT.split(text)
    pieces[::2] = [unicodedata.normalize("NFKC", piece) for piece in pieces[::2]]
    text = _INVISIBLE.sub("", "".join(pieces).translate(_ALIKE))
    text = _SPACES.sub(" ", text)
    text = _QUOTE_MARKS.sub("", text)
    text = re.sub(r" ?\n ?", "\n", text)
    return _BLANK_LINES.sub("\n\n", text).strip()


def _unstacked(run: re.Match[str]) -> str:
    """Return marks of which no more stand on one letter than any language has: sorting them takes their square."""
    kept: list[str] = []
    stacked = 0
    for mark in run[0]:
        stacked = stacked + 1 if unicodedata.combining(mark) else 0
        if stacked <= _MOST_STACKED:
            kept.append(mark)
    return "".join(kept)


def decoded(raw: str | bytes) -> str:
    """Decode bytes by their byte-order mark, as UTF-8, or failing that as Windows-1252."""
    if isinstance(raw, str):
        return raw
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        # Windows-1252 is Latin-1 with quotation marks and dashes where Latin-1 has controls.
        return raw.decode("cp1252", errors="replace")


def _mostly_control(text: str) -> bool:
    shown = _ESCAPES.sub("", text)
    control = sum(1 for letter in shown if (letter < " " and letter not in "\t\n\r\x0b\x0c\x1b") or letter == "\ufffd")
    return control > _MOSTLY * len(shown)
