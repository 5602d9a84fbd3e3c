"""One input to a command, and what counts as a failure of the program."""

from __future__ import annotations

import json
import re
import sys
import traceback
from collections.abc import Callable, Sequence
from typing import NamedTuple

from tests.commands.running import Done
from tests.hardening.calling import call
from tests.patience import Hangs, patience

LONGEST = 60
"""Seconds. Whatever takes longer hangs; the machine may be busy with other things."""

STATUSES = (0, 1, 2, 130, 141)
"""Exit statuses that ``diagnose --help`` names, without that of its own mistakes."""


class Input(NamedTuple):
    """What is tried: how it is shown, and the call; it returns what is wrong, or nothing."""

    shown: str
    tried: Callable[[], str]


def outcome(one: Input) -> str:
    """Return what is wrong with the program at this input; nothing where all is well."""
    try:
        with patience(LONGEST):
            return one.tried()
    except Hangs:
        return "hangs"
    except Exception as error:
        last = traceback.extract_tb(sys.exc_info()[2])[-1]
        return f"traceback: {type(error).__name__}: {error} ({last.filename.rsplit('/', 2)[-1]}:{last.lineno})"


def command(
    arguments: Sequence[str], typed: str | bytes = "", check: Callable[[Done], str] = lambda _: ""
) -> Callable[[], str]:
    """Return a try of a command; ``check`` looks at more than what is looked at always."""

    def tried() -> str:
        done = call(arguments, typed)
        return judged(done, arguments) or check(done)

    return tried


def judged(done: Done, arguments: Sequence[str]) -> str:
    """Return what is wrong with how a command ended."""
    if done.status not in STATUSES:
        return f"status {done.status}: {done.err.strip()[:300]}"
    if "Traceback" in done.out + done.err:
        return "traceback on the screen"
    if done.status and not (done.out + done.err).strip():
        return f"status {done.status} without a word"
    if "\x1b" in done.out + done.err or "\0" in done.out + done.err:
        return "control characters on the screen"
    if done.status == 0 and "json" in arguments and done.out.lstrip().startswith("{"):
        return _no_json(done.out)
    return ""


def _no_json(text: str) -> str:
    def refuse(constant: str) -> None:
        raise ValueError(f"{constant} in JSON")

    try:
        json.loads(text, parse_constant=refuse)
    except ValueError as error:
        return f"JSON: {error}"
    return "Infinity in JSON" if re.search(r":\s*-?\d+(\.\d+)?[eE]\+?[3-9]\d\d", text) else ""
