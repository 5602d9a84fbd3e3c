"""The server of the page killed at any moment: what it acknowledged is on the disk, whole, and nothing else is.

An invented phone presses buttons and says words at a server that is a process of its own; while a reply is under way,
or after it, the server is killed, and the journal is held against what the phone was told. Then the next server goes
on with the same case.
"""

from __future__ import annotations

import random
import re
import subprocess
import sys
import tempfile
import threading
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import httpx2

from diagnose.cases.events import Case, Entry, Event, Left
from diagnose.cases.journal import Journal
from diagnose.errors import DiagnoseError
from diagnose.protocol.commanded import reply_of
from diagnose.protocol.commands import Command
from diagnose.protocol.machine import prompt_of
from diagnose.protocol.responding import respond
from diagnose.protocol.typed import Unclear, reply_to
from tests.commands.running import environment
from tests.hardening.tables import table
from tests.protocol.lamps import LAMP, lamp_book_engine

TOKEN = "0123456789abcdef"
SAID = ("it flickers", "no light", "u", "s", "b", "1", "2", "3", "y", "y", "1", "n the plug was warm", "o")
ANSWERS = 4
"""Answers at most before a kill."""

LONGEST_WAIT = 0.15
"""Seconds after a reply is sent within which the server is killed."""


@dataclass
class Counts:
    """What was done, and what was wrong with it."""

    kills: int = 0
    acknowledged: int = 0
    under_way: int = 0
    of_them_kept: int = 0
    cases: int = 0
    lost: int = 0
    invented: int = 0
    unreadable: int = 0
    told: list[str] = field(default_factory=list)

    @property
    def wrong(self) -> int:
        """How much went wrong."""
        return self.lost + self.invented + self.unreadable


class _Server:
    """``diagnose serve`` as a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-m", "diagnose", "--rules", str(LAMP), "serve", "--port", "0", "--token", TOKEN],
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            env=environment(DIAGNOSE_CASES=str(folder)),
        )
        assert self.process.stdout
        found = re.search(rb"(http://[^/]+)/", self.process.stdout.readline())
        assert found, "the server printed no link"
        self.phone = httpx2.Client(base_url=found[1].decode(), follow_redirects=False, timeout=60)
        self.phone.get("/", params={"token": TOKEN})

    def kill(self) -> None:
        """End it as a power switch would."""
        self.process.kill()
        self.process.wait()
        assert self.process.stdout
        self.process.stdout.close()
        self.phone.close()

    def hidden(self, address: str, name: str) -> str:
        """Return a hidden field of a page."""
        found = re.search(rf'name="{name}" value="([^"]*)"', self.phone.get(address).text)
        assert found, f"no {name} at {address}"
        return found[1]

    def begin(self) -> str:
        """Begin a case; return its name."""
        answer = self.phone.post("/cases", data={"form_token": self.hidden("/", "form_token"), "meter": "lamp"})
        return str(answer.headers["location"]).rsplit("/", 1)[1]


def run(kills: int, seed: int = 1) -> Counts:
    """Kill a server so many times."""
    chance, counts = random.Random(seed), Counts()
    with tempfile.TemporaryDirectory() as home:
        folder = Path(home)
        case = ""
        for _ in range(kills):
            server = _Server(folder)
            try:
                if not case or chance.random() < 0.2:
                    case = server.begin()
                    counts.cases += 1
                for _ in range(chance.randrange(ANSWERS)):
                    _acknowledged(server, folder, case, chance.choice(SAID), counts)
                _killed_under_way(server, folder, case, chance, counts)
            finally:
                server.kill()
            counts.kills += 1
    return counts


def _acknowledged(server: _Server, folder: Path, case: str, said: str, counts: Counts) -> None:
    """Give an answer; once the page says where to go on, its events are on the disk."""
    before = Journal.read(folder, case)
    expected = _expected(before, said)
    answer = _send(server, case, said)
    after = Journal.read(folder, case).entries
    counts.acknowledged += answer.status_code == 303
    if answer.status_code != 303 or not _holds(after, before.entries, expected):
        counts.lost += 1
        counts.told.append(f"{case}: {said}: {answer.status_code}")


def _expected(case: Case, said: str) -> tuple[Event, ...]:
    """Return the events that an answer brings, worked out without any server."""
    engine = lamp_book_engine()
    prompt = prompt_of(engine, case)
    meant = reply_to(engine, case.data_sheet, prompt, said)
    reply = reply_of(meant) if isinstance(meant, Command) else meant
    return () if isinstance(meant, Unclear) or reply is None else respond(engine, case, prompt, reply).events


def _holds(after: Sequence[Entry], before: Sequence[Entry], events: Sequence[Event]) -> bool:
    """Tell whether a case has what it had, and these events in one turn after it."""
    new = [each for each in after[len(before) :] if not isinstance(each.event, Left)]
    as_it_was = list(after[: len(before)]) == list(before)
    return as_it_was and [each.event for each in new] == list(events) and len({each.turn for each in new}) <= 1


def _send(server: _Server, case: str, said: str) -> httpx2.Response:
    address = f"/cases/{case}"
    hidden = {name: server.hidden(address, name) for name in ("form_token", "once", "entries")}
    return server.phone.post(address, data={**hidden, "typed": said})


def _killed_under_way(server: _Server, folder: Path, case: str, chance: random.Random, counts: Counts) -> None:
    """Kill the server while an answer is under way: either all of its turn is kept, or nothing of it."""
    before = Journal.read(folder, case)
    said, heard = chance.choice(SAID), threading.Event()
    address = f"/cases/{case}"
    hidden = {name: server.hidden(address, name) for name in ("form_token", "once", "entries")}

    def send() -> None:
        try:
            server.phone.post(address, data={**hidden, "typed": said})
        except httpx2.HTTPError:
            return
        heard.set()

    sending = threading.Thread(target=send)
    sending.start()
    heard.wait(chance.uniform(0, LONGEST_WAIT))
    server.process.kill()
    sending.join()
    counts.under_way += 1
    _judge(folder, before, _expected(before, said), heard.is_set(), counts)


def _judge(folder: Path, before: Case, events: Sequence[Event], heard: bool, counts: Counts) -> None:
    try:
        with Journal.resume(folder, before.name) as journal:  # as whoever goes on opens it: half a turn is dropped
            after = tuple(journal.entries)
    except DiagnoseError as error:
        counts.unreadable += 1
        counts.told.append(f"{before.name}: {error}")
        return
    counts.of_them_kept += len(after) > len(before.entries)
    if _holds(after, before.entries, events):
        return
    if heard or not _holds(after, before.entries, ()):
        kind = "lost" if len(after) <= len(before.entries) else "invented"
        setattr(counts, kind, getattr(counts, kind) + 1)
        counts.told.append(f"{before.name}: {kind}")


def report(size: int = 250, seed: int = 1) -> str:
    """Return what became of so many kills, as a table."""
    counts = run(size, seed)
    rows = [[name.replace("_", " "), value] for name, value in vars(counts).items() if name != "told"]
    return "\n".join([table("The server of the page killed", ["what", "count"], rows), *counts.told[:10]])
