"""Text, YAML, tables and bytes, spoilt at random in the ways in which people, programs and disks spoil them."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

ODD = (
    *(
        "\0",
        "\x1b[2J",
        "\x07",
        "\t",
        "\r",
        "\u202e",
        "\u2066",
        "\u200b",
        "\ufeff",
        "\u00a0",
        "\u2028",
        "\x85",
        "\udc80",
    ),
    *("−", "–", "—", "‑", "±", "µ", "μ", "Ω", "Ω", "½", "²", "٣", "３", "é", "ß", "İ", "🙂", "漢", "\u0301"),
    *(
        "{0}",
        "%s",
        "$(id)",
        "`id`",
        "'",
        '"',
        "\\",
        ";",
        ",",
        ":",
        "#",
        "|",
        "&",
        "*",
        "!",
        "<",
        ">",
        "(",
        ")",
        "[red]",
    ),
)
"""Letters and bits that programs stumble over."""

SIGNS = ("", "", "-", "−", "–", "—", "‑", "+", "±", "~", "<", ">", "≤", ">=", "about ")
"""What stands before a figure; the dashes are those that word processors make of a minus."""

SIZES = (
    *(
        "0",
        "1",
        "-1",
        "1e308",
        "1e309",
        "-1e308",
        "1e-308",
        "5e-324",
        "1e31",
        "1e-31",
        "9" * 400,
        "0." + "0" * 400 + "1",
    ),
    *(
        "nan",
        "NaN",
        "inf",
        "-inf",
        "Infinity",
        "",
        " ",
        ".",
        "-",
        "e",
        "1e",
        "1.2.3",
        "1,2,3",
        "1'000",
        "1 000",
        "0x10",
    ),
    *("1_000", "٣", "３.５", "½", "1/0", "1/2", "NULL", "None", "OL", "n/a", "1e400", "1E+5", "4k7", "12:30"),
)
"""Figures that nobody meant."""

UNITS = (
    *(
        "",
        "m3/h",
        "m³/h",
        "l/s",
        "L/min",
        "mA",
        "A",
        "V",
        "kV",
        "ohm",
        "Ω",
        "kohm",
        "Mohm",
        "%",
        "mm",
        "m",
        "degC",
        "°C",
    ),
    *("K", "Hz", "s", "min", "h", "uS/cm", "µS/cm", "bar", "kPa", "m/s", "in", "ft", "gal/min", "kg", "mm2", "m3", "1"),
    *(
        "furlong",
        "m3//h",
        "m^",
        "m**9999",
        "3",
        "()",
        "m3/",
        "/h",
        "m 3 / h",
        "mA mA",
        "mΩ",
        "\u2103",
        "dB",
        "e",
        "..",
        "°",
    ),
)
"""Units that fit, that do not, and that are none."""


def figure(chooser: random.Random) -> str:
    """Return a figure, or what stands in place of one."""
    if chooser.random() < 0.5:
        return chooser.choice(SIZES)
    written = f"{chooser.uniform(0, 10) * 10 ** chooser.randint(-40, 40):.4g}"
    return written.replace(".", chooser.choice([".", ",", "٫", "·"]))


def reading(chooser: random.Random) -> str:
    """Return a figure with signs before and behind it, and a unit.

    >>> reading(random.Random(4))
    '4.789e-29− m3/h'
    """
    gap, behind = chooser.choice(["", " ", "\u00a0", "  "]), chooser.choice(["", "", "", "-", "−", "–", " ±", " ± 1"])
    return f"{chooser.choice(SIGNS)}{figure(chooser)}{behind}{gap}{chooser.choice(UNITS)}"


def spoilt(text: str, chooser: random.Random) -> str:
    """Return a text after one to four mishaps."""
    for _ in range(chooser.randint(1, 4)):
        text = chooser.choice(_MISHAPS)(text, chooser)
    return text


def _at(text: str, chooser: random.Random) -> int:
    return chooser.randint(0, len(text))


def _cut(text: str, chooser: random.Random) -> str:
    start = _at(text, chooser)
    return text[:start] + text[start + chooser.randint(1, 12) :]


def _put_in(text: str, chooser: random.Random) -> str:
    at = _at(text, chooser)
    return text[:at] + chooser.choice(ODD) * chooser.choice([1, 1, 1, 2, 50]) + text[at:]


def _twice(text: str, chooser: random.Random) -> str:
    start = _at(text, chooser)
    part = text[start : start + chooser.randint(1, 40)]
    return text[:start] + part * chooser.choice([2, 2, 3, 30]) + text[start + len(part) :]


def _other_figure(text: str, chooser: random.Random) -> str:
    found = list(re.finditer(r"\d[\d.,]*", text))
    if not found:
        return f"{text} {reading(chooser)}"
    one = chooser.choice(found)
    return text[: one.start()] + chooser.choice([figure(chooser), reading(chooser)]) + text[one.end() :]


def _shuffled(text: str, chooser: random.Random) -> str:
    words = text.split(" ")
    chooser.shuffle(words)
    return " ".join(words)


def _run_together(text: str, chooser: random.Random) -> str:
    return text.replace(chooser.choice([" ", "\n", ",", "."]), chooser.choice(["", " ", "\n", "\t", ";", "|"]))


def _shouted(text: str, chooser: random.Random) -> str:
    return chooser.choice([str.upper, str.lower, str.swapcase, str.title])(text)


_MISHAPS: tuple[Callable[[str, random.Random], str], ...] = (
    *(_cut, _put_in, _twice, _other_figure, _shuffled, _run_together, _shouted),
)


def spoilt_bytes(data: bytes, chooser: random.Random) -> bytes:
    """Return bytes as another encoding, a torn file or a bad disk gives them."""
    kind = chooser.randrange(6)
    at = chooser.randint(0, len(data))
    if kind == 0:
        return data[:at]
    if kind == 1:
        return data[:at] + chooser.randbytes(chooser.randint(1, 30)) + data[at:]
    if kind == 2:
        return data.decode("utf-8", "replace").encode(
            chooser.choice(["utf-16", "utf-32", "latin-1", "cp1252"]), "replace"
        )
    if kind == 3:
        return b"\xef\xbb\xbf" + data.replace(b"\n", chooser.choice([b"\r\n", b"\r", b"\n\n", b"\n\0"]))
    if kind == 4:
        return data[:at] + bytes(chooser.randint(1, 600)) + data[at:]
    return b"".join(bytes([byte ^ (chooser.random() < 0.01)]) for byte in data)


VALUES = (
    *("", "null", "~", "true", "no", "[]", "{}", "[[]]", "{a: {b: c}}", "0", "-1", "1e999", "9" * 400, ".nan", ".inf"),
    *(
        "0x1F",
        "1_000",
        "12:30:45",
        "2026-03-01",
        "'",
        '"',
        "|",
        ">",
        "&x",
        "*x",
        "!!python/name:os.system",
        "!!binary x",
    ),
    *(
        "<<",
        "? x",
        "- - - -",
        "@x",
        "`x`",
        "%x",
        "[" * 500,
        "{" * 300,
        "a: b: c",
        "x #y",
        "'\\0'",
        '"\\ud800"',
        "Ω",
        "−1 V",
    ),
)
"""Values of YAML that are of another type, or none."""


def spoilt_yaml(text: str, chooser: random.Random) -> str:
    """Return a YAML file after one or two mishaps: lines gone, twice, elsewhere, values of other types."""
    for _ in range(chooser.choice([1, 1, 1, 2])):
        lines = text.split("\n")
        at = chooser.randrange(len(lines))
        text = "\n".join(chooser.choice(_LINE_MISHAPS)(lines, at, chooser))
    return text if chooser.random() < 0.9 else spoilt(text, chooser)


def _without(lines: list[str], at: int, chooser: random.Random) -> list[str]:
    return lines[:at] + lines[at + chooser.choice([1, 1, 1, 5]) :]


def _line_twice(lines: list[str], at: int, chooser: random.Random) -> list[str]:
    return [*lines[: at + 1], *lines[at : at + chooser.choice([1, 3])], *lines[at + 1 :]]


def _other_value(lines: list[str], at: int, chooser: random.Random) -> list[str]:
    key, colon, _ = lines[at].partition(": ")
    return [*lines[:at], f"{key}{colon or ' '}{chooser.choice([*VALUES, reading(chooser)])}", *lines[at + 1 :]]


def _other_key(lines: list[str], at: int, chooser: random.Random) -> list[str]:
    key = f"{chooser.choice(VALUES)[:20]}:"
    return [*lines[:at], re.sub(r"[\w-]+:", lambda _: key, lines[at], count=1), *lines[at + 1 :]]


def _swapped(lines: list[str], at: int, chooser: random.Random) -> list[str]:
    """Give two lines each other's values."""
    other = chooser.randrange(len(lines))
    (key, colon, value), (key_2, colon_2, value_2) = lines[at].partition(": "), lines[other].partition(": ")
    changed = list(lines)
    changed[at], changed[other] = f"{key}{colon}{value_2}", f"{key_2}{colon_2}{value}"
    return changed


def _indented(lines: list[str], at: int, chooser: random.Random) -> list[str]:
    return [*lines[:at], chooser.choice(["\t", " ", "   ", "- ", "\u00a0", "? ", "--- "]) + lines[at], *lines[at + 1 :]]


def _moved(lines: list[str], at: int, chooser: random.Random) -> list[str]:
    left = [*lines[:at], *lines[at + 1 :]]
    left.insert(chooser.randint(0, len(left)), lines[at])
    return left


def _anchored(lines: list[str], at: int, chooser: random.Random) -> list[str]:
    changed = list(lines)
    for number, mark in ((at, "&x"), (chooser.randrange(len(lines)), "*x")):
        changed[number] = changed[number].replace(": ", f": {mark} ", 1)
    return changed


_LINE_MISHAPS: tuple[Callable[[list[str], int, random.Random], list[str]], ...] = (
    *(_without, _without, _line_twice, _other_value, _other_value, _other_key, _swapped, _indented, _moved, _anchored),
)
