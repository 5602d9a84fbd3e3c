"""What a step says that somebody does is what it is warned of: every check and remedy, read word by word."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pytest

from diagnose.rule_book.work import Check, Step
from tests.reasoning.books import real_rule_book
from tests.rules.step_texts import says_disconnect, tells_first

BOOK = real_rule_book()
CHECKS: dict[str, Step] = {f"check {each.id}": each for each in BOOK.checks.values()}
REMEDIES: dict[str, Step] = {f"remedy {each.id}": each for each in BOOK.remedies.values()}
STEPS = {**CHECKS, **REMEDIES}


def text(step: Step) -> str:
    """Return all that a step says is to be done."""
    return " | ".join([step.title, *step.steps])


@dataclass(frozen=True)
class Words:
    """Words by which a deed is known, and the hazards of which the step must then meet one."""

    deed: str
    pattern: str
    hazards: tuple[str, ...]
    harmless: str = r"(?!)"

    def __str__(self) -> str:
        """Return the deed as a sayable id."""
        return self.deed

    def said_in(self, step: Step) -> list[str]:
        """Return the sentences of a step that say the deed."""
        return [
            each
            for each in (step.title, *step.steps)
            if re.search(self.pattern, each, re.IGNORECASE) and not re.search(self.harmless, each, re.IGNORECASE)
        ]


DEEDS = [
    Words("insulation is tested", r"megger|insulation tester|(test|measure)[^.]*\binsulation", ("insulation-tester",)),
    Words("a sample is taken", r"\b(take|let) a (second )?sample|sampling point", ("sample-taken",)),
    Words("a vent is opened", r"\bvent (the|at|and)|open the (vent|bleed)|\bbleed", ("vent-opened", "line-opened")),
    Words(
        "a valve is closed",
        r"\bthrottle|\bshut (the|one|all|it|two|and)\b|\b(close|open) (the valve|it slowly)",
        ("valve-throttled", "process-stopped", "line-opened", "vent-opened"),
    ),
    Words("a pump is stopped", r"stop the pump|lock(ed)? off", ("process-stopped", "automatic-start")),
    Words("an output is forced", r"let the meter send|send \d|forcing off|end (test|the simul)", ("signal-forced",)),
    Words("chemicals are used", r"isopropanol|dissolve|contact cleaner", ("chemicals-used",)),
    Words("metal is ground", r"\bgrind", ("hot-work",)),
    Words("something is dried with hot air", r"warm(, not hot,)? air", ("warm-air",)),
    Words("somebody looks at a running shaft", r"\bshaft|coupling|moving parts", ("rotating-plant",)),
    Words(
        "a fuse is handled",
        r"\b(fit|take|replace|test|new)\b[^.]* fuse\b",
        ("fuse-replacement",),
        harmless=r"been replaced|has its fuse",
    ),
    Words("a surge arrester is handled", r"arrester", ("lightning",)),
    Words("a battery is changed", r"(replace|change) (the )?battery", ("battery-handled",)),
    Words(
        "a bond is opened or made",
        r"(loosen|clean|replace|bridge)[^.]*\b(bonds?|straps?)\b|earthing rings?\b.*\bon\b",
        ("bond-opened", "earth-in-doubt"),
        harmless="loosen nothing",
    ),
    Words(
        "something is switched on",
        r"\bswitch(ed|ing)? on\b|switch(ed)? off and on|switch off for",
        ("re-energising", "reclosing"),
        harmless=r"do not switch on|bias|protection|meter (connected and )?switched on|detection",
    ),
    Words("a total is changed", r"total right|start the total|totaliser's unit", ("total-changed",)),
    Words("dosing is stopped", r"dosing (stopped|off\b)|move the dosing", ("dosing-stopped",)),
    Words("there is water in a pit", r"pit is flooded|touches water", ("flooded-pit",)),
    Words(
        "another circuit may be there",
        r"relay contact|is extra-low",
        ("foreign-circuit", "cabinet-open"),
    ),
    Words(
        "a cabinet is opened",
        r"(receiver|counter)'s (terminals|input\b)|off the input|in the cabinet|field cores",
        ("cabinet-open",),
        harmless="settings|plan|linear|filter|The same for",
    ),
    Words("a tank is dipped", r"\bdip\b", ("work-at-height",)),
    Words("the pipe is touched", r"\bat the pipe\b|girth|tap top|on the pipe,", ("touches-pipe",)),
    Words("a strong magnet is used", r"strong magnet", ("strong-field",)),
    Words("gas under pressure", r"pulsation damper", ("compressed-gas",)),
    Words("a seal or password is opened", r"legal seal|password lost", ("seal-opened",)),
    Words("a settled reading is forced away", r"tap with the hand|wiggle each", ("signal-lost",)),
    Words("water is sprayed", r"hand sprayer", ("water-sprayed",)),
    Words("a line is filled", r"\bfill slowly|^fill\b", ("line-filled",)),
]


@pytest.mark.parametrize("words", DEEDS, ids=str)
def test_deeds_meet_their_hazard(words: Words) -> None:
    """Wherever these words stand in a check or remedy, it meets the hazard; and they do stand somewhere."""
    found = {name: said for name, step in STEPS.items() if step.steps and (said := words.said_in(step))}
    assert found
    assert {name: said for name, said in found.items() if not set(STEPS[name].meets) & set(words.hazards)} == {}


OPENS_PIPE = re.compile(
    r"\b(loosen|take|open|turn|fit|change|replace)\b[^.;|]*\b(flange|flow tube|electrode out|sensor until|basket|"
    r"(larger|smaller) meter|meter out|pipe beside|gaskets? centred|earthing rings or)",
    re.IGNORECASE,
)


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if OPENS_PIPE.search(text(step))])
def test_an_opened_pipe_is_drained(name: str) -> None:
    """Flanges, electrodes, the meter itself: line drained, by skilled people, with the caution about opened lines."""
    step = STEPS[name]
    assert step.needs.get("line") == ("drained",)
    assert "line-opened" in step.meets
    assert step.competence == "skilled"


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if "line-opened" in step.meets])
def test_what_meets_an_opened_line_has_it_drained(name: str) -> None:
    """And the other way round: nothing is opened that still stands full."""
    assert STEPS[name].needs.get("line") == ("drained",)


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if "lifting gear" in step.tools])
def test_a_lifted_meter(name: str) -> None:
    """A meter that leaves the pipe is heavy, carries bonds, and has its supply isolated and its line drained."""
    step = STEPS[name]
    assert {"heavy-lift", "bond-opened", "line-opened"} <= set(step.meets)
    assert step.needs["line"] == ("drained",)
    assert step.needs["supply"] == ("isolated",)


def uses_insulation_tester(step: Step) -> bool:
    """Tell whether a step takes an insulation tester, by its tools or its words."""
    return "insulation tester" in step.tools or "insulation-tester" in step.meets or "megger" in text(step).lower()


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if uses_insulation_tester(step)])
def test_an_insulation_test(name: str) -> None:
    """Never on connected electronics, never live, never in a hazardous area, never by who is not skilled."""
    step = STEPS[name]
    assert "insulation-tester" in step.meets
    assert "insulation tester" in step.tools
    assert (step.needs["supply"], step.needs["enclosure"]) == (("isolated",), ("open",))
    assert says_disconnect(step.steps)
    assert step.not_when.get("hazardous-area") == ("yes",)
    assert step.competence == "skilled"


LIVE = {"live-terminals", "live-parts"}


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if LIVE & set(step.meets)])
def test_live_work_is_for_skilled_people(name: str) -> None:
    """Dangerous voltage at open terminals: a skilled person."""
    assert STEPS[name].competence == "skilled"


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if step.needs.get("enclosure") == ("open",)])
def test_an_open_enclosure_is_not_for_ordinary_people(name: str) -> None:
    """No covers for an ordinary person, also where somebody else has opened it already."""
    assert STEPS[name].competence != "ordinary"


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if "sensor-leads" in step.meets])
def test_sensor_leads_are_dead(name: str) -> None:
    """Coil and electrode leads are touched with the supply isolated, at the latest by the step itself."""
    step = STEPS[name]
    assert step.needs["supply"] == ("isolated",) or "isolation" in step.meets


SIGNALS = {"loop-interrupted", "signal-forced", "signal-lost", "process-stopped", "dosing-stopped", "valve-throttled"}


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if set(step.meets) & SIGNALS])
def test_the_control_room_is_told_first(name: str) -> None:
    """A step that disturbs a signal or the flow begins with whoever uses or runs it, and takes an instructed person."""
    assert tells_first(STEPS[name].steps)


HARMLESS_TOOLS = {
    *("torch", "lamp", "thermometer", "compass", "tape measure", "tape", "clear vessel", "hand tools"),
}
NOT_ELECTRIC = {
    *("screwdriver", "spanners", "mirror", "caliper", "jumper wire", "tape", "tape measure", "clear vessel", "magnet"),
    *("compass", "hand tools", "wire brush", "soft cloth", "torque wrench", "lifting gear", "crimping tool", "pump"),
    *("terminal plan", "contact cleaner", "spare display module", "spare signal cable", "spare transmitter"),
    *("temporary bonding lead", "hand sprayer"),
}


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if step.competence == "ordinary"])
def test_ordinary_people_look_read_and_ask(name: str) -> None:
    """No instrument, no valve, no setting that matters, no terminal."""
    step = STEPS[name]
    assert set(step.tools) <= HARMLESS_TOOLS
    hands = {"settings-changed", "signal-forced", "loop-interrupted", "valve-throttled", "vent-opened", "cabinet-open"}
    assert not hands & set(step.meets)


WARNED_OF_ZONE = {
    "instrument-in-area",
    "cabinet-open",
    "live-terminals",
    "live-parts",
    "loop-interrupted",
    "bond-opened",
}


@pytest.mark.parametrize("name", [name for name, step in STEPS.items() if set(step.tools) - NOT_ELECTRIC])
def test_instruments_in_a_hazardous_area(name: str) -> None:
    """Whoever carries something electric to the meter is warned of the zone, by the open enclosure or by itself."""
    step = STEPS[name]
    assert step.needs.get("enclosure") == ("open",) or set(step.meets) & WARNED_OF_ZONE


@pytest.mark.parametrize(
    ("state", "start", "end", "hazards", "words"),
    [
        ("supply", "live", "isolated", {"isolation", "signal-lost"}, ("control room", "every feed", "lock", "notice")),
        ("enclosure", "closed", "open", set(), ("as live", "touch nothing", "loosen")),
        (
            *("conductors", "not proved dead", "proved dead", {"isolation"}),
            ("wait", "prove the two-pole tester", "every pair", "prove the tester again", "earth and short-circuit"),
        ),
        ("supply", "isolated", "live", {"re-energising"}, ("covers", "locks removed", "watch the start")),
        ("line", "flowing", "drained", {"process-stopped", "line-drained"}, ("control room", "lock", "drain", "zero")),
        ("line", "flowing", "stopped full", {"process-stopped"}, ("control room",)),
        ("line", "drained", "flowing", {"automatic-start", "line-filled"}, ("close drains", "slowly", "control room")),
    ],
)
def test_states_are_changed_by_the_rules_of_the_trade(
    state: str, start: str, end: str, hazards: set[str], words: tuple[str, ...]
) -> None:
    """Isolating, switching on, draining, stopping and filling say what keeps people whole, in this order."""
    change = next(each for each in BOOK.states[state].changes if (each.from_, each.to) == (start, end))
    assert hazards <= set(change.meets)
    said = " ".join(change.steps).lower()
    places = [said.find(each) for each in words]
    assert -1 not in places
    assert places == sorted(places)


def test_every_check_is_read() -> None:
    """The real rule book is at hand, with its checks and remedies."""
    assert sum(isinstance(each, Check) for each in STEPS.values()) >= 110
    assert len(STEPS) >= 220
