"""Ids, words and texts as an author may write them: legal, and awkward."""

from __future__ import annotations

PLAIN_IDS = (
    "lamp-dark", "bulb-out", "no-light", "filament", "flickers", "hum", "cover-open", "loop", "feed", "socket",
    "fuse-open", "wet", "tester", "plug", "room", "shock", "glare", "a", "b2", "swap",
)  # fmt: skip
AWKWARD_IDS = (
    "1", "007", "no", "null", "yes", "true", "on", "überspannung", "日本", "ß", "naïve-maß", "x" * 60, "4-20", "e3",
    "1e3", "ٱ", "ask-lamp-dark", "not-listed", "present", "absent", "0x1f", "nan", "inf", "tolerance",
)  # fmt: skip
IDS = (*PLAIN_IDS, *AWKWARD_IDS)

PLAIN_TEXTS = (
    "The lamp stays dark", "Unscrew the bulb", "Look at the socket", "It hums", "Is it warm?", "Switch it off",
    "no light", "bulb loose", "stays dark", "lamp works", "glass black inside", "cover open", "rattles when touched",
)  # fmt: skip
AWKWARD_TEXTS = (
    "[red]dark[/red]", "[/]", "[bold", "{0}", "{", "}{", "{name!r:>10}", "%s %d 100%", "%(x)s", "$HOME `ls`", "a: b",
    "# no comment", "- a hyphen", "“quoted” ‘quotes’", "it's \"so\"", "\\n \\u0041", "é", "e\u0301", "日本語の文",
    "שלום עולם", "مرحبا 3 بار", "🔥💡 hot", "👩‍🔧", "w" * 200, " leading and trailing ", "two\nlines", "tab\there",
    "zero\u200bwidth", "<b>html</b> & <script>", "| a | b |", "* star *",
    "_under_ `code` ~~~", "[link](http://x.y)", "no", "null", "~", "true", "1", "3.5 V", "-", "...", "?", "!",
    ":smile:",
    "\ufeffbom", "İstanbul", "ﬀ ligature", "½ ², 10⁻³", "a" * 30 + " " + "b" * 30,
    "<word>", "<", "a <<b>> c", "* / #", "( [ {", "a|b", "N/A", "1/2", "50 %", "0", "\U0001f468\u200d\U0001f469",
)  # fmt: skip
UNSEEN = ("\x1b[31mred\x1b[0m", "\u202eright to left", "\u2028line\u2029paragraph", "\x85next", "\x7f", "\0", "\ud800")
"""Texts that no rule book may hold."""
TEXTS = (*PLAIN_TEXTS, *AWKWARD_TEXTS)

PHRASES = (
    "lamp dark", "no light", "stays dark", "hums loudly", "bulb loose", "glass black", "not warm", "flickers", "dark",
    "smell of burning", "3 V at the socket", "100% dark", "socket [x] broken", "it's dead", "[red] light",
    "dünkles Licht",
    "電気 dark", "🔥 fire", "won't start", "no", "not", "never ever", "out of", "a", "the lamp", "<dark> lamp",
    "{0} <dark>",
    "lamp <dark> {", "he said: dark", "dark, then light", "DARK!", "dark and cold", "gas!", "too hot to touch",
    "dark/dim",
    "w" * 80, "zero at standstill", "1", "4-20 mA dead", "±5 %", "x\u0301y", "lamp is <very> dark",
)  # fmt: skip
WORD_SETS = {"dark": ["dark", "dim", "{0}", "un lit"], "very": ["very", "[so]", "100%"]}
"""Sets of words that phrases may name; braces in them are braces."""
