"""What steps say is what they are warned of: the safeguards of the rule book see it, and changes say it in order."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from diagnose.rule_book.load import examine_folder
from diagnose.rule_book.safeguards import pattern
from diagnose.rule_book.work import Step
from diagnose.shipped import shipped_folder
from tests.engines import real_engine

BOOK = real_engine().rule_book
STEPS: list[Step] = [*BOOK.checks.values(), *BOOK.remedies.values()]
SENTENCES = [each for step in STEPS if step.steps for each in (step.title, *step.steps)]
SENTENCES += [said for state in BOOK.states.values() for change in state.changes for said in change.steps]


UNSAFE = [
    "Undo the four screws and lift the lid of the transmitter.",
    "Unscrew the cap and look at the boards.",
    "Poke a finger at the mains leads.",
    "Open the electronics compartment and pull the board.",
    "Undo the bolts at the meter and swing it out of the line.",
    "Short the fuse with foil and see if it starts.",
    "Go down into the pit and hold the breaker in.",
    "Climb the ladder and read the display.",
    "Put your meter leads across L and N.",
    "Short out the electrode terminals with a wire link.",
    "Inject 12 mA with a loop calibrator.",
    "Reset the breaker and see if it holds.",
    "Empty the pipe.",
    "Set up a stepladder.",
    "Get into the manhole.",
    "Bypass the safety relay with a jumper.",
    "Measure 230 V between L and N in the junction box.",
    "Lay a hand on the pipe and feel for a tingle.",
    "Restart the pump.",
    "Jog the pump.",
    "Heat the flange with a gas torch.",
    "Climb onto the tank and open the manway.",
    "Remove the surge protector.",
    "Put a resistor across the electrode terminals.",
    "Switch it off, remove the fuse and switch it on again.",
    "Pull the green-yellow conductor out of its clamp.",
    "Push the tripped breaker up again.",
    "Slacken the four nuts on the sensor.",
    "Apply 500 V between core and shield.",
    "Stop the fan and hold the fan belt.",
    "Unplug the arrester for now.",
    "Take the devices off the bus for now.",
    "Go down into the pit; nobody needs to know.",
    "Inhibit the low-flow trip.",
    "Take the residual-current device out of the circuit for now.",
    "Cut off the earth pin.",
    "Wiggle the supply cable at its gland.",
    "Bump the motor.",
    "Wedge the interlock.",
    "Undo the protective earth conductor.",
    "Replace the supply cable.",
    "Replace the transmitter.",
    "Tighten the flange bolts.",
    "Weld a patch over it.",
    "Cut the pipe behind the elbow.",
    "Lift the sensor out with a sling.",
    "Drill a hole for the new gland.",
    "Enter the chamber.",
    "Purge it with nitrogen.",
    "Take the guard off.",
]
"""What a trainer wrote who did not say what it exposes people to."""

REFUSED = [
    "Take the residual-current device out of the circuit for now.",
    "Cut off the earth pin.",
    "Bypass the safety relay with a jumper.",
    "Bridge the float switch with a wire.",
    "Tape the breaker down.",
    "Shut the relief valve.",
    "Feel for a tingle.",
]
"""What nobody may do, however well it is warned of."""

DISTURBING = {
    "loop-in-manual": "Tell the control room and have the loop put in manual.",
    "loop-cores-off": "Take both cores off the output.",
    "loop-cable-off": "Interrupt the loop for a moment.",
    "input-cores-off": "Lift one core at the receiver.",
    "electrode-inputs-bridged": "Put a jumper across the inputs.",
    "loop-feed-off": "Have the loop's feed switched off.",
    "milliammeter-in-the-loop": "Put a milliammeter in series with the receiver.",
    "output-simulated": "Make the meter send 12 mA.",
    "total-not-true": "Have the totaliser stopped for an hour.",
    "bus-polling-stopped": "Ask the control room to stop polling.",
    "bus-cable-off": "Take this meter off the bus.",
    "sensor-leads-off": "Take the coil leads off at the transmitter.",
    "supply-wires-off": "Disconnect the meter's supply wires.",
    "fuse-out": "Take the fuse out.",
    "protective-earth-off": "Take the earth wire off.",
    "temporary-bond-on": "Bridge the flanges with a lead.",
    "arrester-bridged": "Unplug the arrester.",
    "dosing-stopped": "Have the dosing stopped.",
    "vent-open": "Open the vent.",
    "valves-not-as-before": "Shut the hand valve.",
    "flow-not-as-before": "Stop the pump.",
}
"""What a trainer wrote who did not say what is then to be put back."""


@pytest.mark.parametrize("name", [name for name, each in BOOK.safeguards.items() if each.where.words])
def test_the_words_of_a_safeguard_stand_in_some_step(name: str) -> None:
    """None is idle: some step says the deed, or a trainer might, so that the safeguard watches something."""
    where = BOOK.safeguards[name].where
    words, harmless = pattern(where.words), pattern(where.but_not)
    assert any(
        words.search(each) and not harmless.search(each)
        for each in (*SENTENCES, *UNSAFE, *REFUSED, *DISTURBING.values())
    )


def test_what_a_trainer_wrote_without_saying_what_it_exposes_to_is_refused(tmp_path: Path) -> None:
    """Each as the only step of a check for anybody, with nothing said of states, hazards and persons."""
    rules = tmp_path / "rules"
    shutil.copytree(shipped_folder("rules"), rules)
    for number, sentence in enumerate([*UNSAFE, "Read the display."]):
        text = (
            f"id: unsafe-{number}\ntitle: Have a closer look\nask: Is it so?\nsteps: [{sentence!r}]\nminutes: 5\n"
            "competence: ordinary\n"
            "outcomes:\n  - {answer: it is, present: [moisture-seen], means: So it is.}\n"
            "  - {answer: it is not, absent: [moisture-seen], means: It is not.}\nsource: common practice\n"
        )
        (rules / "checks" / "general" / f"unsafe_{number}.yaml").write_text(text, encoding="utf-8")
    told = {Path(problem.place.file).stem for problem in examine_folder(rules)[1]}
    assert {each for each in told if each.startswith("unsafe")} == {f"unsafe_{number}" for number in range(len(UNSAFE))}


def test_what_nobody_may_do_is_refused_whatever_else_is_said(tmp_path: Path) -> None:
    """Also as an interim remedy for skilled persons that meets every hazard."""
    rules = tmp_path / "rules"
    shutil.copytree(shipped_folder("rules"), rules)
    met = ", ".join(
        sorted({"isolation", "fuse-replacement", "re-energising", "reclosing", "earth-in-doubt", "lightning"})
    )
    for number, sentence in enumerate(REFUSED):
        text = (
            f"source: common practice\nentries:\n  - id: refused-{number}\n    title: Run on for now\n    steps:\n"
            f"      - {sentence!r}\n    minutes: 5\n    needs: {{supply: isolated, enclosure: open}}\n"
            f"    leaves: {{supply: live, enclosure: closed}}\n    competence: skilled\n    meets: [{met}]\n"
            "    proved-by: watch-the-meter\n"
        )
        (rules / "remedies" / f"refused_{number}.yaml").write_text(text, encoding="utf-8")
    told = [each for each in examine_folder(rules)[1] if each.code == "forbidden-deed"]
    assert {(Path(each.place.file).stem, each.place.line) for each in told} == {
        (f"refused_{number}", 6) for number in range(len(REFUSED))
    }


@pytest.mark.parametrize("words", ["for now", "nobody", "temporarily"])
def test_no_safeguard_is_lifted_by_a_word_that_anybody_can_add(words: str) -> None:
    """What is let off is let off by name or by what it has."""
    assert [each.id for each in BOOK.safeguards.values() if words in each.where.but_not] == []


def test_a_step_that_takes_something_apart_says_under_disturbs_what(tmp_path: Path) -> None:
    """It is refused at its sentence, with what to write, whatever sentence says that it is put back."""
    rules = tmp_path / "rules"
    shutil.copytree(shipped_folder("rules"), rules)
    for name, sentence in DISTURBING.items():
        text = (
            f"id: disturbing-{name}\ntitle: Have a closer look\nask: Is it so?\n"
            f"steps:\n  - {sentence!r}\n  - Put it back as it was.\nminutes: 5\ncompetence: ordinary\n"
            "outcomes:\n  - {answer: it is, present: [moisture-seen], means: So it is.}\n"
            "  - {answer: it is not, absent: [moisture-seen], means: It is not.}\nsource: common practice\n"
        )
        (rules / "checks" / "general" / f"disturbing_{name.replace('-', '_')}.yaml").write_text(text, encoding="utf-8")
    told = [each for each in examine_folder(rules)[1] if each.code == "unsaid-disturbance"]
    for name in DISTURBING:
        here = [each for each in told if Path(each.place.file).stem == f"disturbing_{name.replace('-', '_')}"]
        assert any(each.place.line == 5 and name in each.text and f"[{name}]" in each.help for each in here), (
            name,
            here,
        )


MISTAKES = [
    ("loop_current.yaml", r"^meets:.*$", "meets: []", "unmet-hazard"),
    ("loop_load.yaml", r"^competence:.*$", "", "unsaid-competence"),
    ("look_at_liner.yaml", r"^competence:.*$", "competence: instructed", "too-little-competence"),
    ("look_into_bore.yaml", r"line: drained, ", "", "unsafe-state"),
    ("receiver_current.yaml", r"Tell the control room; have", "Have", "nobody-told"),
    ("shunt_resistance.yaml", r"^disturbs:.*\n", "", "unsaid-disturbance"),
    ("states.yaml", r"^        disturbs: \[loop-in-manual\]\n", "", "nothing-restored"),
    ("loop_cable_insulation.yaml", r"^.*Disconnect.*\n", "", "missing-precaution"),
    ("supply_terminal_loose.yaml", r"^  leaves:.*\n", "", "unsafe-state"),
    ("settings_survive_restart.yaml", r"^needs:.*\n", "", "unsafe-state"),
    ("supply_off_upstream.yaml", r"^  competence: skilled", "  competence: instructed", "too-little-competence"),
    ("reseat_display.yaml", r"^competence: skilled", "competence: instructed", "too-little-competence"),
    ("loop_cable_insulation.yaml", r"^not-when:.*$", "", "not-ruled-out"),
]


def test_a_trainer_who_leaves_one_out_is_told(tmp_path: Path) -> None:
    """Each mistake in a copy of the shipped rules is told in its file, with what to write."""
    rules = tmp_path / "rules"
    shutil.copytree(shipped_folder("rules"), rules)
    for name, there, instead, _ in MISTAKES:
        path = next(rules.rglob(Path(name).name))
        changed, count = re.subn(there, instead, path.read_text(encoding="utf-8"), flags=re.MULTILINE)
        assert count, name
        path.write_text(changed, encoding="utf-8")
    found = {(problem.code, Path(problem.place.file).name) for problem in examine_folder(rules)[1]}
    assert {(code, Path(name).name) for name, _, _, code in MISTAKES} <= found


@pytest.mark.parametrize(
    "step", [each for each in STEPS if "insulation-tester" in each.meets], ids=lambda each: each.id
)
def test_an_insulation_test_names_its_instrument(step: Step) -> None:
    """So that nobody is sent off without it, or with another one."""
    assert "insulation tester" in step.tools


@pytest.mark.parametrize(
    ("state", "start", "end", "hazards", "words"),
    [
        ("supply", "live", "isolated", {"isolation", "signal-lost"}, ("control room", "every feed", "lock", "notice")),
        ("enclosure", "closed", "open", set(), ("as live", "touch nothing", "loosen")),
        (
            *("conductors", "not proved dead", "proved dead", {"isolation"}),
            ("wait", "prove the two-pole tester", "every pair", "prove the tester again", "earth and short-circuit"),
        ),
        ("supply", "isolated", "live", {"re-energising"}, ("earths", "covers", "lock removed", "watch it start")),
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
