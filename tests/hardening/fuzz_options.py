"""Command lines: options in any combination, narrow screens, and the ends of pipes."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path
from unittest.mock import patch

import click

from diagnose.commands.main import READER_GONE, cli
from tests.commands.running import Done, environment
from tests.hardening.calling import call
from tests.hardening.judging import LONGEST, Input, judged
from tests.hardening.mutations import ODD, reading
from tests.protocol.lamps import LAMP

SLOW = {("rules", "simulate"), ("rules", "coverage"), ("cases", "replay"), ("rules", "check")}
"""They work through whole rule books; they get the lamp's."""

FILES = {
    "ticket.txt": b"no light, 230 V, measured 3 V\n",
    "pairs.csv": b"reference m3/h,indicated m3/h\n10,11\n50,55\n90,99\n",
    "log.csv": b"time,flow m3/h\n2026-03-01 10:00,50\n2026-03-01 10:01,51\n2026-03-01 10:02,50\n",
    "sheet.yaml": b"room: dry\n",
    "empty.txt": b"",
    "zeros.bin": bytes(2000),
}


def commands() -> list[tuple[tuple[str, ...], click.Command]]:
    """Return every command with the words that call it."""

    def below(command: click.Command, words: tuple[str, ...]) -> list[tuple[tuple[str, ...], click.Command]]:
        if not isinstance(command, click.Group):
            return [(words, command)]
        context = click.Context(command)
        named = [(name, command.get_command(context, name)) for name in command.list_commands(context)]
        return [found for name, each in named if each for found in below(each, (*words, name))]

    return below(cli, ())


def options(folder: Path, chooser: random.Random) -> Input:
    """Return a command with options drawn at random, on a screen of 1 to 40 columns or a usual one."""
    for name, content in FILES.items():
        (folder / name).write_bytes(content)
    words, chosen = chooser.choice(commands())
    arguments = [*([] if chooser.random() < 0.3 and words not in SLOW else ["--rules", str(LAMP)]), *words]
    for parameter in chooser.sample(chosen.params, min(len(chosen.params), chooser.randint(0, 4))):
        arguments += _given(parameter, chooser)
    if words == ("rules", "simulate"):
        arguments += [f"--{kind}=1" for kind in ("single", "double", "less-skilled", "intermittent", "outside")]
    if chooser.random() < 0.1:
        arguments.insert(
            chooser.randint(0, len(arguments)), chooser.choice(["--no-such", "-x", "--", "", "-h", "nothing"])
        )
    columns = str(chooser.choice([80, chooser.randint(1, 40)]))
    typed = chooser.choice(["", "no light\n", "1\n1\n", "l\n", "\0\n"])

    def tried() -> str:
        with patch.dict(os.environ, COLUMNS=columns):
            return judged(call(arguments, typed), arguments)

    return Input(f"COLUMNS={columns} {arguments}", tried)


def _given(parameter: click.Parameter, chooser: random.Random) -> list[str]:
    kind = parameter.type
    values = [reading(chooser), chooser.choice(ODD).replace("\0", "").replace("\udc80", ""), "", "1", "-1"]
    if isinstance(kind, click.Choice):
        values += [str(each) for each in kind.choices] * 3
    elif isinstance(kind, click.Path):
        values = [*FILES, *FILES, "nowhere/x", ".", "/dev/null", "-", "x" * 300, "picture.svg"]
    elif isinstance(kind, click.IntRange | click.FloatRange) or kind in (click.INT, click.FLOAT):
        values += ["0", "2", "1e9", "nan", "inf", "3"]
    value = chooser.choice(values)
    if isinstance(parameter, click.Argument):
        return [value]
    name = chooser.choice(parameter.opts)
    if getattr(parameter, "is_flag", False):
        return [name]
    return [f"{name}={value}"] if chooser.random() < 0.5 else [name, value]


ENDS = (
    "<&-",
    ">/dev/full",
    "| true",
    "2>&-",
    ">&-",
    "<&- >&- 2>&-",
    "</dev/null",
    ">/dev/full 2>/dev/full",
    "| head -c 1",
)
"""What may be at the ends of a command: nothing, a full device, a reader that has gone."""


def ends(folder: Path, chooser: random.Random) -> Input:
    """Return a command in a process of its own whose input or output is not as usual."""
    for name, content in FILES.items():
        (folder / name).write_bytes(content)
    given = chooser.choice(
        [
            *(("triage", "-"), ("triage", "--format", "json", "ticket.txt"), ("triage", "ticket.txt"), ("interview",)),
            *(("compare", "pairs.csv"), ("compare", "-"), ("trend", "log.csv"), ("trend", "-"), ("rules", "check")),
            *(("data-sheet", "new", "new.yaml"), ("cases", "list"), ("calc", "loop", "--flow=1 m3/h", "--urv=2 m3/h")),
            *(("schema", "diagnosis"), ("--help",), ("completion", "bash"), ("nothing",), ("rules", "ids", "causes")),
        ]
    )
    end = chooser.choice(ENDS)

    def tried() -> str:
        line = f'set -o pipefail; "$@" {end}'
        done = subprocess.run(
            ["bash", "-c", line, "-", sys.executable, "-m", "diagnose", "--rules", str(LAMP), *given],
            input=b"no light\n",
            capture_output=True,
            env=environment(DIAGNOSE_CASES=str(folder / "cases")),
            cwd=folder,
            timeout=LONGEST,
            check=False,
        )
        said = done.stderr.decode(errors="replace")
        if "Traceback" in said or "Exception ignored" in said:
            return f"traceback: {said[-300:]}"
        # Nobody hears what is said of errors there; a reader that has gone is left quietly, and reads half a document.
        told = "said elsewhere" if "2>" in end or done.returncode == READER_GONE else said
        out = "" if "head" in end else done.stdout.decode(errors="replace")
        return judged(Done(done.returncode, out, told), given)

    return Input(f"{' '.join(given)} {end}", tried)
