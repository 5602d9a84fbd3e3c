"""Every command on one rule book, inside this process, and what was wrong with what it did."""

from __future__ import annotations

import io
import json
import os
import signal
import sys
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import click
import jsonschema

from diagnose.commands.main import cli
from diagnose.errors import DiagnoseError
from tests.patience import Hangs, patience

PATIENCE = 60
"""Seconds after which a command on a small rule book is taken to hang."""


class Done(NamedTuple):
    """How a command ended: its status, what it printed, and the traceback of an error of its own."""

    status: int
    out: str
    err: str
    error: str = ""


def call(*arguments: str, stdin: str = "") -> Done:
    """Call ``diagnose`` in this process, as its ``main`` does, but for telling errors of its own."""
    streams = sys.stdin, sys.stdout, sys.stderr
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    sys.stdin = io.TextIOWrapper(io.BytesIO(stdin.encode()), encoding="utf-8")
    sys.stdout, sys.stderr = out, err
    status, error = 0, ""
    handler = signal.getsignal(signal.SIGTERM)
    try:
        with patience(PATIENCE):
            status = _status(cli.main(list(arguments), standalone_mode=False))
    except click.exceptions.Exit as leaving:
        status = leaving.exit_code
    except click.ClickException as wrong:
        status = wrong.exit_code
        err.write(wrong.format_message())
    except DiagnoseError as wrong:
        status = wrong.exit_status
        err.write(str(wrong))
    except (Exception, Hangs):
        status, error = 70, traceback.format_exc()
    finally:
        signal.signal(signal.SIGTERM, handler)
        sys.stdin, sys.stdout, sys.stderr = streams
    return Done(status, *(_written(stream) for stream in (out, err)), error)


def _status(returned: object) -> int:
    return returned if isinstance(returned, int) else 0


def _written(stream: io.TextIOWrapper) -> str:
    try:
        stream.flush()
    except UnicodeEncodeError:
        return "\ud800 cannot be written"
    raw = stream.detach()
    assert isinstance(raw, io.BytesIO)
    return raw.getvalue().decode()


@cache
def validator(name: str) -> Any:
    """Return what holds a document to the schema that is promised for it."""
    return jsonschema.Draft202012Validator(json.loads(call("schema", name).out))


def wrong_with_json(text: str, name: str) -> str:
    """Return what is wrong with a document that was printed as JSON, "" where nothing is."""
    try:
        printed = json.loads(text, parse_constant=_refuse)
    except ValueError as error:
        return f"no JSON: {error}"
    errors = [f"{list(each.absolute_path)}: {each.message[:200]}" for each in validator(name).iter_errors(printed)]
    return f"not as `diagnose schema {name}` says: {errors[0]}" if errors else ""


def _refuse(constant: str) -> None:
    raise ValueError(f"{constant} is no JSON")


@contextmanager
def home(folder: Path) -> Iterator[None]:
    """Keep cache and cases in a folder of its own, and read reports without their meaning."""
    wanted = {"DIAGNOSE_CACHE": f"{folder}/cache", "DIAGNOSE_CASES": f"{folder}/cases", "DIAGNOSE_MEANING": "off"}
    before = {name: os.environ.get(name) for name in wanted}
    os.environ.update(wanted)
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value
