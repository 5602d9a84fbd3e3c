"""Families of input by size: what a careless reader would choke on.

A family is a function from a size in characters to a text; to add one, put a line into the table of the reader that
it is for. :mod:`tests.growth.readers` says what reads each table.
"""

from __future__ import annotations

import base64
import random
from collections.abc import Callable, Mapping
from typing import TypeAlias

Family: TypeAlias = Callable[[int], str]
"""Characters (about) → a text."""


def over(piece: str, first: str = "") -> Family:
    """Return the family of texts that say the same thing over and over, below a first line."""
    return lambda size: first + piece * max(1, size // len(piece))


def counted(piece: str, first: str = "") -> Family:
    """Return the family of texts whose pieces are numbered: ``{0}`` stands for the number."""
    each = len(piece.format(1000))
    return lambda size: first + "".join(piece.format(number) for number in range(max(1, size // each)))


def nested(opening: str, closing: str, inside: str = "") -> Family:
    """Return the family of texts in brackets in brackets."""
    each = len(opening + closing)
    return lambda size: opening * (size // each) + inside + closing * (size // each)


def deeper(mark: str, line: str) -> Family:
    """Return the family of texts in which each line is one mark deeper than the one before."""
    return lambda size: "".join(mark * depth + line for depth in range(int((2 * size) ** 0.5)))


def _random_letters(letters: str) -> Family:
    return lambda size: "".join(random.Random(1).choices(letters, k=size))


def _base64(size: int) -> str:
    raw = random.Random(1).randbytes(size * 3 // 4)
    text = base64.b64encode(raw).decode()
    return "\n".join(text[at : at + 76] for at in range(0, len(text), 76))


def _one_row(size: int) -> str:
    return "reference [m3/h]\tmeter [m3/h]\n" + "\t".join(str(number) for number in range(size // 5)) + "\n1\t2\n"


def _below_many_lines(size: int) -> str:
    return "noted on site\n" * (size // 14) + "reference [m3/h];meter [m3/h]\n10;10.5\n"


def _below_a_long_heading(size: int) -> str:
    return "reference [m3/h]\tmeter " + "(_ " * min(size // 3, 6_000) + "\n10\t10.5\n"


REPORTS: Mapping[str, Family] = {
    "words repeated": over("display dark no error flow 38 m3/h xqzwv "),
    "sentences repeated": over("The display is dark. The fuse is ok. Loop current is 3.6 mA. "),
    "one phrase": over("display dark "),
    "one phrase, a line each": over("display dark\n"),
    "findings, comma after comma": over("display dark, fuse blown, reads zero, reads high, no pulses, "),
    "no line ends": over("It reads too high since Monday and nobody knows why. "),
    "only line ends": over("\n", "display dark"),
    "only carriage returns": over("\r", "display dark"),
    "blank lines between": over("a\n\n\n"),
    "only spaces": over(" ", "display dark"),
    "tabs": over("\t", "display dark"),
    "spaces and line ends": over(" \n", "display dark"),
    "figures without units": over("1 2 3 4 5 "),
    "one figure without end": over("1"),
    "figures with units": over("3.6 mA 24 V 38 m3/h "),
    "figures, different": counted("{0} m3/h, "),
    "figures in words of readings": over("display 50, recorder 62; "),
    "pairs below their names": counted("tank vs display: {0} vs 50, {0} vs 52. "),
    "names without pairs": over("tank vs display: "),
    "pairs in prose": counted("the display says {0} and the tank says 50. "),
    "figures asked for": over("is it 12 or 13 "),
    "groups of three digits": over("123 "),
    "decimal commas": over("1,250 "),
    "dots and digits": over("1."),
    "commas and digits": over("1,"),
    "exponents": over("1e5 "),
    "exponents without end": over("1e5e"),
    "ranges": over("4-20 mA "),
    "ranges without end": over("4-"),
    "ranges in words": over("from 3 to 4 mA "),
    "limits": over("above 20 Mohm, below 5 ohm, "),
    "telephone numbers": over("+49 711 123456 "),
    "digits and hyphens": over("0711-"),
    "dates": over("2026-03-01 10:00 "),
    "serial numbers": over("serial no 12345678 "),
    "serial without end": over("serial "),
    "unit-like runs": over("m3/h/"),
    "units in a row": over("mA V ohm m3/h "),
    "a figure with letters without end": lambda size: "5 " + "m" * size,
    "over range": over("OL "),
    "control characters": over("dark \x01"),
    "control characters only": over("ok\x01\x02 "),
    "bells": over("display\x07dark "),
    "terminal colours": over("\x1b[31mdark\x1b[0m "),
    "terminal titles, never closed": over("\x1b]"),
    "terminal sequences, never closed": over("\x1b["),
    "terminal figures": over("\x1b[0;", "dark "),
    "terminal spaces": over("\x1b[ ", "dark "),
    "quoted deeper and deeper": deeper(">", " dark\n"),
    "quote marks": over(">", "display dark\n"),
    "quote marks and spaces": over("> ", "display dark\n"),
    "quoted lines": over("> display dark\n"),
    "round brackets": nested("(", ")", "dark"),
    "round brackets, never closed": over("("),
    "square brackets": nested("[", "]", "dark"),
    "boxes": over("[ ] display dark [x] fuse ok "),
    "boxes, no more": over("[ ]"),
    "quotation marks": over('"'),
    "apostrophes": over("it's "),
    "hyphens": over("-", "display dark "),
    "hyphenated words": over("display-dark-"),
    "dashes": over("– "),
    "dots": over(".", "display dark "),
    "dots and spaces": over(". "),
    "commas": over(",", "display dark "),
    "colons": over("a: "),
    "question marks": over("is the display dark? "),
    "exclamation marks": over("!", "display dark"),
    "bars": over("|"),
    "bars in a line": over("a | "),
    "equal signs": over("a = "),
    "slashes": over("and/or/"),
    "underscores": over("_"),
    "numbered list": over("7. display dark\n"),
    "bullets": over("- display dark\n* fuse ok\n"),
    "bullets in a line": over("- ", "\n"),
    "list marks in a line": over("1. "),
    "chat stamps": counted("[10:{0}] Jim: display dark\n"),
    "chat names": counted("Jim {0}: display dark\n"),
    "mail headers": over("From: a@example.org\nSubject: dark\n"),
    "mail subjects": over("Re: "),
    "mail answered": over("On Monday Jim wrote:\n> display dark\n"),
    "greetings": over("Hi Jim, "),
    "greetings, a line each": over("Hello Jim,\n"),
    "signatures": over("Regards,\nJim\n"),
    "addresses": over("a@example.org "),
    "addresses without end": over("a."),
    "addresses without end, with @": over("a@b."),
    "web addresses": over("http://example.org/a?b=c "),
    "web address without end": over("a/b", "http://"),
    "base64": _base64,
    "hexadecimal": _random_letters("0123456789abcdef"),
    "letters and digits at random": _random_letters("abcdefghij0123456789 .,-\n"),
    "signs at random": _random_letters("-.,:;!?()[]<>|/'\" \n0a"),
    "table of readings": counted("{0}\t{0}.5\n", "reference [m3/h]\tmeter [m3/h]\n"),
    "table of readings, in bars": counted("| {0} | {0}.5 |\n", "| reference [m3/h] | meter [m3/h] |\n|---|---|\n"),
    "table of totals": counted(
        "{0}\t{0}.5\t{0}\t{0}.6\t08:00\t08:{0:02}\n",
        "start tank [m3]\tstop tank [m3]\tstart meter [m3]\tstop meter [m3]\tstart time\tstop time\n",
    ),
    "table of totals that run on": counted("{0}\t{0}.5\n", "total tank [m3]\ttotal meter [m3]\n"),
    "table with uncertainties": counted("{0} ±0.1 (k=2)\t{0}.5 ± 1 %\n", "reference [m3/h]\tmeter [m3/h]\n"),
    "table of pairs with marks": counted("{0} / {0}.5\n", "reference / meter [m3/h]\n"),
    "table as found and as left": counted(
        "as found\n{0}\t{0}.5\nas left\n{0}\t{0}.1\n", "reference [m3/h]\tmeter [m3/h]\n"
    ),
    "table of labels": counted("as left\t{0}\t{0}.5\n", "state\treference [m3/h]\tmeter [m3/h]\n"),
    "table below many lines": lambda size: (
        "noted on site\n" * (size // 14) + "reference [m3/h];meter [m3/h]\n10;10.5\n"
    ),
    "table below a long heading": lambda size: (
        "reference [m3/h]\tmeter " + "(_ " * min(size // 3, 6000) + "\n10\t10.5\n"
    ),
    "table of something else": counted("FT-{0}\t12.5\tok\n", "tag\tvalue\tstate\n"),
    "table of figures without heading": counted("{0}\t12.5\t13.5\n"),
    "table of words": counted("pump {0} | on | valve open | 50 % |\n"),
    "table of one row": _one_row,
    "table of many columns": over("1\t" * 100 + "2\n", "reference [m3/h]\tmeter [m3/h]" + "\tx" * 99 + "\n"),
    "small tables": over("reference [m3/h]\tmeter [m3/h]\n10\t12\n50\t52\n\n"),
    "small tables that are none": over("tag\tvalue\n10\t12\n50\t52\n\n"),
    "headings without tables": over("reference [m3/h]\tmeter [m3/h]\n"),
    "forms of yes and no": counted("Alarm {0}: no\n"),
    "forms in bars": over("| Empty pipe alarm | no |\n"),
    "forms left open": over("Alarm: n/a\n"),
    "forms, the label without end": lambda size: "a " * (size // 2) + "x",
    "forms, marks without end": over(" -"),
    "negations": over("not "),
    "negations and findings": over("it is not dark, not stuck, never blown, "),
    "not and nor": over("neither dark nor stuck nor "),
    "hedges": over("maybe it could be dark, "),
    "questions and answers": over("Is the display dark? Yes. Is the fuse blown? No. "),
    "conditions": over("if the pump is off it shows zero, "),
    "tags": counted("FT-{0} "),
    "tags with findings": counted("FT-{0} reads high. "),
    "tags with items": counted("- FT-{0}: display dark\n"),
    "dangers": over("I smell gas. There are sparks. "),
    "dangers in doubt": over("it tickles, something smells, "),
    "dangers over": over("the fire is out, nobody is hurt. "),
    "unknown words": counted("w{0:x} dispxay{0:x} "),
    "unknown long words": counted("abcdefghijklmnop{0:x} "),
    "unknown words, all letters": lambda size: _random_letters("abcdefgh ")(size),
    "misspelt words": over("dispaly drak fues blwon "),
    "one very long word": over("a"),
    "one very long word, mixed": over("aB1"),
    "joined words": over("displaydark"),
    "letters in a row": over("a "),
    "small words": over("the of in at on "),
    "and": over("and "),
    "foreign": over("die Anzeige ist dunkel und niemand weiss warum "),
    "accents": over("é "),
    "emoji": over("\N{FIRE}\N{WARNING SIGN} "),
    "emoji joined": over("\U0001f468\u200d\U0001f469\u200d"),
    "combining marks": over("\u0301", "a"),
    "combining marks of two classes": over("\u0323\u0301", "a"),
    "right to left": over("\u05d0\u05d1 \u202eabc\u202c "),
    "ligatures": over("\ufdfa"),
    "superscripts": over("m³ "),
    "fractions": over("½ "),
    "full-width": over("\uff15 \uff4d\uff21 "),
    "zero-width": over("d\u200bark "),
    "chinese": over("显示屏是黑的。"),
    "words of the plant": over("the pump is off, the valve is closed, supply isolated, "),
    "words of persons": over("I am an electrician, I may open it, "),
    "times": over("at 10:00, at 11 pm, since 3 days, "),
    "over and solved": over("it was dark but it is fine now. "),
    "quantities named": over("loop current coil resistance flow "),
    "quantities and figures": over("loop current 3.6, coil resistance 4k7, "),
}
"""What may stand in a report."""

RAW: Mapping[str, Family] = {
    name: REPORTS[name]
    for name in (
        "words repeated",
        "only line ends",
        "only carriage returns",
        "only spaces",
        "spaces and line ends",
        "bells",
        "terminal colours",
        "terminal titles, never closed",
        "terminal sequences, never closed",
        "terminal figures",
        "terminal spaces",
        "quoted deeper and deeper",
        "quote marks and spaces",
        "dashes",
        "combining marks",
        "combining marks of two classes",
        "ligatures",
        "superscripts",
        "zero-width",
    )
}
"""What may have to be cleaned of, before anything is read."""

SKIMMED: Mapping[str, Family] = {
    name: REPORTS[name]
    for name in (
        "words repeated",
        "only spaces",
        "figures without units",
        "figures in words of readings",
        "pairs in prose",
        "pairs below their names",
        "names without pairs",
        "figures asked for",
        "groups of three digits",
        "decimal commas",
        "ranges",
        "telephone numbers",
        "serial numbers",
        "unit-like runs",
        "list marks in a line",
        "addresses",
        "web address without end",
        "base64",
        "signs at random",
        "table of figures without heading",
        "headings without tables",
        "forms, the label without end",
        "forms, marks without end",
        "tags",
        "foreign",
    )
}
"""What is searched for tables, figures, forms and names before its words are looked at."""

TYPED: Mapping[str, Family] = {
    "typed words": over("display dark no error "),
    "typed figures": over("1 2 3 "),
    "typed figure without end": over("9"),
    "typed fields": over("1 pit; 2 control, dosing; "),
    "typed fields by number": counted("{0} yes; "),
    "typed semicolons": over(";"),
    "typed commas": over(", "),
    "typed and": over("a and "),
    "typed spaces": over(" ", "3"),
    "typed inside spaces": over("3 "),
    "typed units": over("m3/h/"),
    "typed pairs": over("10 12.1; 50 52.2; "),
    "typed pairs with marks": over("10 / 12.1; 50 -> 52.2; "),
    "typed pairs with names": over("tank 10 meter 12.1; "),
    "typed marks": over("/ vs -> "),
    "typed uncertainties": over("10 ±0.1 (k=2) "),
    "typed brackets": over("(("),
    "typed limits": over(">"),
    "typed range": over("4k7"),
    "typed path": over("/a"),
    "typed dots": over("."),
    "typed over range": over("OL"),
    "typed yes": over("yes "),
    "typed note": over("n it tickles "),
    "typed hyphens": over("-"),
}
"""What may be typed at a prompt."""

TABLES: Mapping[str, Family] = {
    "CSV, semicolons": counted("{0},5;{0},7\n", "reference [m3/h];indicated [m3/h]\n"),
    "CSV, commas": counted("{0}.5,{0}.7\n", "reference [m3/h],indicated [m3/h]\n"),
    "CSV, tabs": counted("{0}.5\t{0}.7\n", "reference [m3/h]\tindicated [m3/h]\n"),
    "CSV, bars": counted("|{0}.5|{0}.7|\n", "|reference [m3/h]|indicated [m3/h]|\n"),
    "CSV, spaces": counted("{0}.5 {0}.7\n", "reference indicated\n"),
    "CSV, wide spaces": counted("{0}.5   {0}.7\n", "reference   indicated\n"),
    "CSV, quoted": counted('"{0}.5","{0}.7"\n', '"reference [m3/h]","indicated [m3/h]"\n'),
    "CSV, uncertainties": counted("{0}.5;{0}.7;0.3\n", "reference [m3/h];indicated [m3/h];u_ref [%]\n"),
    "CSV, comments": over("# nothing\n", "reference [m3/h];indicated [m3/h]\n1;2\n2;3\n"),
    "CSV, nothing but words": over("a;b\n"),
    "CSV, bad cells": over("x;y\n", "reference [m3/h];indicated [m3/h]\n"),
    "CSV, many columns": lambda size: "".join(f"c{n};" for n in range(size // 8)) + "\n" + "1;" * (size // 8),
    "CSV, quotation marks": over('"', "reference;indicated\n"),
    "CSV, doubled quotation marks": over('"";', "reference;indicated\n"),
    "CSV, one cell": over("1", "reference [m3/h];indicated [m3/h]\n1;"),
    "CSV, rules": over("|---|---\n", "reference;indicated\n"),
    "CSV, brackets": over("[(", "reference;indicated\n"),
    "CSV, the same pair": over("10;12\n", "reference [m3/h];indicated [m3/h]\n"),
}
"""Tables of readings to compare."""

LOGS: Mapping[str, Family] = {
    "log, seconds": counted("{0};5.3\n", "t [s];flow [m3/h]\n"),
    "log, elapsed, commas": counted("{0},5.3\n", "t [s],flow [m3/h]\n"),
    "log, tabs": counted("{0}\t5.3\n", "t [s]\tflow [m3/h]\n"),
    "log, spaces": counted("{0} 5.3\n", "t flow\n"),
    "log, bars": counted("{0}|5.3\n", "t [s]|flow [m3/h]\n"),
    "log, bad cells": counted("{0};bad\n", "t [s];flow [m3/h]\n0;5.3\n1;5.4\n"),
    "log, different bad cells": counted("{0};bad{0}\n", "t [s];flow [m3/h]\n0;5.3\n1;5.4\n"),
    "log, times that repeat": over("12:00:00;5.3\n", "time;flow [m3/h]\n"),
    "log, quotation marks": over('1;"5.3\n', "t [s];flow [m3/h]\n"),
    "log, blanks": over("1; 5.3 \n", "t [s];flow [m3/h]\n"),
    "log, one line": over("1;", "t [s];flow [m3/h]\n"),
    "log, one line of quotation marks": over('"', "1;5\n1;"),
    "log, steps": lambda size: "t [s];flow [m3/h]\n" + "".join(f"{n};{n // 20 % 3}\n" for n in range(size // 7)),
    "log, noise": lambda size: (
        "t [s];flow [m3/h]\n" + "".join(f"{n};{random.Random(n).random():.3f}\n" for n in range(size // 11))
    ),
}
"""Logs of readings."""

YAML: Mapping[str, Family] = {
    "YAML, nested lists": nested("[", "]"),
    "YAML, nested mappings": nested("{a: ", "}", "1"),
    "YAML, nested by indentation": deeper(" ", "a:\n"),
    "YAML, wide list": over("- a\n"),
    "YAML, wide list in a line": lambda size: "[" + "a, " * (size // 3) + "a]",
    "YAML, wide mapping": counted("k{0}: 1\n"),
    "YAML, the same key": over("a: 1\n"),
    "YAML, long word": over("a"),
    "YAML, long line": over("a "),
    "YAML, long block": over("  word\n", "a: |\n"),
    "YAML, long folded": over("  word\n", "a: >\n"),
    "YAML, long quoted": lambda size: 'a: "' + "\\n" * (size // 2) + '"',
    "YAML, anchors": counted("k{0}: &a{0} 1\n"),
    "YAML, anchors in anchors": lambda size: (
        "a0: &a0 x\n" + "".join(f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]\n" for n in range(1, size // 26 + 2))
    ),
    "YAML, tags": over("- !!python/name:os.system x\n"),
    "YAML, merge keys": over("<<: {a: 1}\n"),
    "YAML, comments": over("# nothing\n", "a: 1\n"),
    "YAML, dashes": over("- "),
    "YAML, colons": over(": "),
    "YAML, question marks": over("? "),
    "YAML, documents": over("---\na: 1\n"),
    "YAML, figures": over("9", "a: "),
    "YAML, exponents": over("- 1e5\n"),
    "YAML, question marks in lists": lambda size: "[" + "?a, " * (size // 4) + "a]",
    "YAML, tabs": over("\t", "a:\n"),
}
"""Rule files, recorded cases and data sheets, as YAML."""

SHEETS: Mapping[str, Family] = {
    "data sheet, unknown fields": counted("field-{0}: 1 mm\n"),
    "data sheet, one field": over("bore: 100 mm\n"),
    "data sheet, a long value": over("m", "bore: 100 "),
    "data sheet, a long figure": over("1", "bore: "),
    "data sheet, a long list": over("- control\n", "signal-duty:\n"),
    "data sheet, a long list of others": counted("- x{0}\n", "signal-duty:\n"),
    "data sheet, a limit": over(">", "bore: '"),
    "data sheet, a long note": over("note ", "note: "),
}
"""Data sheets."""

ENTRIES: Mapping[str, Family] = {
    "entry, digits": over("1"),
    "entry, groups of three": over("123 "),
    "entry, groups of three, then not": lambda size: "123 " * (size // 4) + "x",
    "entry, decimal points": over("1."),
    "entry, commas": over("1,"),
    "entry, spaces": over(" ", "1"),
    "entry, spaces then a letter": lambda size: "1" + " " * size + "x",
    "entry, inside spaces": lambda size: "1 " + "m " * (size // 2),
    "entry, plus-minus": over("+-"),
    "entry, plus-minus spaced": over(" +- "),
    "entry, unit": over("m3/h/", "5 "),
    "entry, unit powers": over("m^2", "5 "),
    "entry, unit dots": over("m.", "5 "),
    "entry, unit AC": over(" ac", "5 V"),
    "entry, list": over("1; "),
    "entry, list of spaces": over("1 "),
    "entry, list of spaces, then not": lambda size: "1 " * (size // 2) + ".",
    "entry, list of groups of three, then not": lambda size: "123 " * (size // 4) + "x\ny",
    "entry, exponents": over("1e5"),
    "entry, limits": over("> 5 "),
    "entry, over range": over("over range "),
    "entry, multipliers": over("4k7 "),
    "entry, hyphens": over("-"),
    "entry, bytes": over("0x01 "),
}
"""What may be entered for a figure: of a calculation, a data sheet, or a reading."""

JOURNALS: Mapping[str, Family] = {
    "journal, notes": over('{"turn":1,"at":"2026-03-01T10:00:00+00:00","event":{"kind":"note","text":"x"}}\n'),
    "journal, turns": counted('{{"turn":{0},"at":"","event":{{"kind":"note","text":"x"}}}}\n'),
    "journal, answers": counted(
        '{{"turn":{0},"at":"","event":{{"kind":"finding","finding":"display-dark","present":true}}}}\n'
    ),
    "journal, taken back": counted('{{"turn":{0},"at":"","event":{{"kind":"undone","turn":{0}}}}}\n'),
    "journal, a long note": over("x", '{"turn":1,"at":"","event":{"kind":"note","text":"'),
    "journal, blank lines": over("\n"),
    "journal, brackets": over("["),
}
"""Lines of a journal below its first."""
