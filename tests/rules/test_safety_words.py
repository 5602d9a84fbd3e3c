"""What steps say is what they are warned of: the safeguards of the rule book see it, and changes say it in order."""

from __future__ import annotations

import re
import shutil
from itertools import chain
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
    "Heat the joint with a hot-air gun.",
    "Grind the weld flush.",
    "Climb into the tank.",
    "Dig a trench for the new cable.",
    "Pull the old cable out of the conduit.",
]
"""What a trainer wrote who did not say what it exposes people to."""

REFUSED = [
    "Thaw the pipe with a flame.",
    "Take the residual-current device out of the circuit for now.",
    "Cut off the earth pin.",
    "Bypass the safety relay with a jumper.",
    "Bridge the float switch with a wire.",
    "Tape the breaker down.",
    "Shut the relief valve.",
    "Feel for a tingle.",
    "Put a bit of wire where the fuse goes.",
    "Lay silver paper round the fuse.",
    "Bypass the fuse for a test.",
    "Bridge the overload relay.",
    "Jam the safety valve.",
    "Prop the breaker up with a stick.",
    "Override the emergency stop.",
    "Silence the emergency stop by a jumper.",
    "Bypass the gas detector.",
    "Use a 10 A fuse instead of the 2 A one.",
    "Wire past the fuse.",
    "Join both sides of the fuse with a wire.",
    "Connect both ends of the fuse holder by a wire.",
    "Put a short across the fuse.",
    "Bridge the fuse with a piece of wire.",
    "Bridge the blown fuse.",
    "Put a wire in place of the fuse.",
    "Wrap the fuse in foil.",
    "Fit a bigger fuse.",
    "Replace the fuse by a nail.",
    "Wedge the breaker in.",
    "Hold the breaker in with your thumb.",
    "Tape the RCD up.",
    "Bypass the RCD.",
    "Link out the trip.",
    "Jumper the interlock.",
    "Tie the guard open.",
    "Screw the relief valve down.",
    "Tape over the emergency stop.",
    "Bridge the emergency stop.",
    "Defeat the interlock.",
    "Run a wire around the fuse.",
    "Short out the breaker.",
    "Hang a paperclip across the fuse clips and see if it lights up.",
    "Solder a strand of copper over the blown fuse.",
    "Put a link in the fuse holder.",
    "Fit a link where the fuse was.",
    "Never mind the rule, bridge the fuse with a piece of wire.",
    "Do not bridge it for long; bridge the fuse with a piece of wire.",
    "Use a wire as a fuse.",
    "Bridge out the fuse.",
    "Put a jumper lead across the fuse clips.",
    "Connect a cable around the fuse.",
    "Lay a copper strip over the fuse clips.",
    "Bridge the RCD.",
    "Take the fuse out and join its wires.",
    "Take the fuse out and put a bolt in.",
    "Clamp the breaker handle so that it cannot trip.",
    "Hold in the breaker.",
    "Put tape over the breaker.",
    "Disable the trip.",
    "Disable the low-flow trip in the panel.",
    "Take the interlock out.",
    "Remove the interlock.",
    "Cheat the door interlock with a magnet.",
    "Fool the guard switch with a magnet.",
    "Block the relief valve.",
    "Cap off the safety valve.",
    "Gag the relief valve.",
    "Set the relief valve higher.",
    "Take the emergency stop out of the circuit.",
    "Keep the emergency stop pulled out with a cable tie.",
    "Fit a 10 A fuse in place of the 2 A one.",
    "Swap the fuse for the next size up.",
    "Use a stronger fuse.",
    "Run it with the guard off.",
    "Loop out the fuse.",
    "Make a bridge across the fuse with a piece of wire.",
    "With a piece of wire, bridge the fuse.",
    "The fuse is bridged with a wire.",
    "Bypass the guard switch.",
    "Short-circuit the fuse.",
    "Use thicker fuse wire.",
    "Put the fuse out of action.",
    "Feed it round the fuse.",
    "Remove the RCD.",
    "Turn the trip off.",
    "Tie up the guard.",
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

IN_OTHER_WORDS = {
    "unsafe-state": [
        "Remove the access plate.",
        "Twist off both end caps.",
        "Take the display off.",
        "Look under the lid.",
        "Undo the locking ring and lift the glass.",
        "Have a peek under the hood.",
        "Take off the lid and touch both brass pins with your probe.",
        "Take the cap off.",
        "Lift off the front.",
        "Pop the hood off.",
        "Prise off the cover plate.",
        "Prise the little door open.",
        "Open it up and have a look.",
        "Unscrew the front plate.",
        "Unclip the plastic window.",
        "With the lid off, look at the boards.",
        "Remove the top of the housing.",
        "Unscrew the housing top.",
        "Lift the small lid on the side.",
        "Swing the front door open.",
        "Spin off the rear cap.",
        "Slide the hatch aside.",
        "Look inside the transmitter.",
        "Get the lid out of the way.",
        "Take its back off.",
        "Pull the front panel away.",
        "Crack open the display cover.",
        "Have the cover off.",
        "Undo the four bolts and take the front away.",
        "Ease the lid off with a screwdriver.",
        "Remove the cover plate at the back.",
        "Unscrew the round cap on the terminal side.",
        "Lift the hood.",
        "Open the little door.",
        "Open the housing.",
        "Take the front plate off and look.",
        "The lid comes off; look at the boards.",
        "Turn the cap anticlockwise until it comes off.",
        "Flip the display cover up.",
        "Have the transmitter opened.",
        "Get the transmitter open.",
        "Strip the casing off.",
        "Detach the front cover.",
        "Lay the terminals bare.",
        "Expose the terminals.",
    ],
    "unmet-hazard": [
        "Feel each terminal with the probe.",
        "Stroke the lugs with the tip of your tester.",
        "Work the breaker a couple of times.",
        "Operate the main disconnector.",
        "Turn the feed off at the board.",
        "Open the isolator and close it again.",
        "Give the isolator a knock.",
        "Cut the supply for a minute.",
        "Flick it off, then on.",
        "Set the meter's output to 100 %.",
        "Switch simulation on.",
        "Choose a constant value of 10 m3/h.",
        "Give the control system a fixed 12 mA.",
        "Make the output show 12 mA.",
        "Put a dummy signal on the line.",
        "Set test mode.",
        "Leave the output at 20 mA.",
        "Hold the last value.",
        "Step the current through 4, 12 and 20 mA.",
        "Measure the pipe against earth.",
        "Measure the voltage between flange and earth.",
        "Take off the lid and touch both brass pins with your probe.",
        "Touch the two studs with your tips.",
        "Touch each screw with the probe.",
        "Put the probes on both lugs.",
        "Lay the tip on the left contact, then on the right.",
        "Hold a lead against the brass stud.",
        "Poke the contacts with the multimeter.",
        "Knock the isolator off and on a few times.",
        "Flick the breaker off and back on.",
        "Flip the main switch twice.",
        "Throw the disconnector and close it again.",
        "Cycle the power.",
        "Power-cycle it.",
        "Toggle the supply.",
        "Kick the breaker.",
        "Pull the mains plug and push it in again.",
        "Pull the plug for ten seconds.",
        "Unplug the transmitter for a minute.",
        "Turn it off and on again.",
        "Turn the isolator to off, then to on.",
        "Push the isolator in again.",
        "Pull the isolator.",
        "Kill the power for a moment.",
        "Give the switch a flick.",
        "Put the meter in simulation at 20 mA.",
        "Switch the meter to test mode.",
        "Hold the output at 12 mA.",
        "Set a fixed current of 8 mA.",
        "Enter a dummy value of 50 %.",
        "Have the output forced to 4 mA.",
        "Freeze the reading.",
        "Set the output to 20 mA.",
        "Set the loop at 12 mA.",
        "Drive the output up to 20mA.",
        "Turn on simulation.",
        "Activate the simulation of the flow.",
        "Let the output sit at 4 mA.",
        "Key in a made-up flow.",
        "Clamp the signal.",
        "Pretend a flow of 100 m3/h.",
        "Make it read 50 %.",
        "Put the output on hold.",
        "Park the current at 3.6 mA.",
        "Treat the pipe as live; use CAT III leads.",
        "Measure the voltage from the pipe to earth.",
        "Measure the a.c. volts between the housing and the earth bar.",
        "Put a voltmeter between the pipe and earth.",
        "Measure the voltage at the terminals.",
        "Check what voltage there is on the liquid.",
        "See how many volts there are on the flange.",
        "Use a two-pole tester on the pipe.",
        "Tap both brass terminals with the red lead.",
        "Press the tips to the two bare screws.",
        "Lay a probe along the lugs.",
        "Test between the two pins with a multimeter.",
        "Try the outer contacts with your tester.",
        "Use your probe on the brass pins.",
        "With the red tip, touch the left pin.",
        "Jiggle the breaker.",
        "Rock the isolator handle to and fro.",
        "Switch the mains off, wait, and switch it back on.",
        "Flick the switch on the wall.",
        "Turn the main isolator twice.",
        "Pull out the mains plug and plug it back in.",
        "Take the mains plug out.",
        "Yank the plug.",
        "Bounce the power.",
        "Let somebody flip the breaker for you.",
        "Trip the breaker.",
        "Shut the power off.",
        "De-energise it for a moment.",
        "Turn the key switch off and on.",
        "Isolator off, count to ten, isolator on.",
        "Switch off, wait, switch on.",
        "Restart the meter by its isolator.",
        "Make it think there is flow.",
        "Have the output stand at 12 mA.",
        "Type 50 % into the simulation menu.",
        "Set the output mode to fixed.",
        "Put a test current on the loop.",
        "Fix the output.",
        "Set the output to its maximum.",
        "Lock the current at full scale.",
        "Start the output test.",
        "Run the loop test.",
        "Output 20 mA from the menu.",
        "Ramp the output from 4 to 20 mA.",
        "Go to simulation and choose 100 %.",
        "Simulate full flow.",
        "Turn hold on.",
        "Keep the value frozen.",
        "Generate 100 pulses.",
        "Drive the signal to full scale.",
        "Override the reading.",
        "Command 50 % output.",
        "Impose 12 mA on the loop.",
        "Measure between the pipe and the earth bar in volts.",
        "Measure from liquid to earth.",
        "Put one lead on the pipe and one on earth.",
        "Measure the potential of the pipe.",
        "Check the pipe with a voltage tester.",
        "Hold a volt stick to the housing.",
        "Measure the mains.",
        "Measure what arrives at the terminals.",
        "Find out with a multimeter if the pipe is live.",
        "Measure a.c. and d.c. from the liquid to earth.",
    ],
    "unsaid-disturbance": [
        "Put the meter in simulation at 20 mA.",
        "Switch the meter to test mode.",
        "Hold the output at 12 mA.",
        "Enter a dummy value of 50 %.",
        "Freeze the reading.",
        "Put the output on hold.",
    ],
    "forbidden-deed": [
        "Push a nail between the contacts.",
        "Bridge the fuse clips with a paper clip.",
        "Lay a screwdriver blade across the terminals.",
        "Rest a spanner across the studs.",
        "Bend a bit of wire between the two clips.",
        "Rest your finger on the terminals.",
        "Hang a paperclip across the fuse clips and see if it lights up.",
        "Lay a nail across the fuse clips.",
        "Put a coin between the contacts.",
        "Bridge the terminals with a screwdriver.",
        "Short the contacts with a bit of foil.",
        "Twist a wire round the fuse clips.",
        "Lay a jumper across the fuse.",
        "Put a piece of wire across the fuse holder.",
        "Use a paperclip as a fuse.",
        "Hold a bulb on two loose wires to the terminals.",
        "Touch the pins with a finger.",
        "Lay a finger on both studs.",
        "Stick a screwdriver between the terminals and see if it sparks.",
        "Brush the wires together and watch for sparks.",
        "Lay a strand of wire over the fuse.",
        "Lay a key over the two terminals.",
        "Short the two terminals with your screwdriver.",
        "Touch the two wires together and see if it sparks.",
        "Shove a nail into the fuse holder.",
        "Bend a hairpin into the clips.",
        "Stick your finger on the pin.",
        "Feel the terminals with the back of your hand.",
        "Push a paper clip into the socket.",
        "Use tin foil to bridge the clips.",
        "Use a coin to join the contacts.",
        "Hang a bit of wire over the fuse clips.",
        "Lick the contacts.",
        "Hold a bulb across the terminals.",
    ],
}
"""Opened, touched, switched, forced, measured and bridged in other words; for anybody, with nothing said of it."""

HARMLESS = [
    "Read the display.",
    "Read the current at the receiver on the screen.",
    "Look whether the lid is closed and dry.",
    "Look at the lamps on the front of the receiver.",
    "Look only, the cover stays shut.",
    "Look whether a simulation is shown on the display.",
    "Ask whether a fixed value is set.",
    "Look whether the isolator is on.",
    "Ask which breaker feeds the meter.",
    "Read the voltage on the nameplate.",
    "Never bridge a fuse.",
    "Compare the display with the trend.",
    "Note what fuse is marked on the label.",
    "Touch a key and watch the display.",
    "Watch the reading for two minutes.",
    "Measure the resistance of the loose fuse.",
    "Look whether the fuse is blown, through its window.",
    "Look at the relief valve, is it dripping.",
    "Ask whether the trip has acted.",
    "Look whether the emergency stop is pressed.",
    "Look at the guard, is it whole.",
    "Tighten nothing; look at the bolts.",
    "Hold the torch beside the display.",
    "Put your hand near the window to shade it.",
    "Write down the value that stands on the display.",
    "Read the flow at the receiver and on the display.",
    "Set the date on the record.",
    "Look for a mark of simulation on the display.",
    "Look at the front of the cabinet.",
    "Watch the output on the trend.",
    "Look at the fuse through its window.",
    "Compare the voltage on the nameplate with that on the drawing.",
    "Ask whether a trip or an alarm hangs on this signal.",
    "Watch the pipe through the fence.",
    "Read whether the output is held, in the settings.",
]
"""Looked at, asked and read only, in much the same words: for anybody."""

SAID = [
    (
        "Measure the millivolts across the fuse.",
        "needs: {supply: live, enclosure: open}\nmeets: [live-terminals]\ntools: [multimeter]\ncompetence: skilled\n",
    ),
    (
        "Put the leads of the ohmmeter across the fuse.",
        "needs: {supply: isolated, enclosure: open}\nmeets: [fuse-replacement]\n"
        "tools: [ohmmeter]\ncompetence: skilled\n",
    ),
    ("Take off the lid and look.", "needs: {enclosure: open}\ncompetence: instructed\n"),
    (
        "Tell the control room; put the meter in simulation at 20 mA.",
        "meets: [signal-forced]\ndisturbs: [output-simulated]\ncompetence: instructed\n",
    ),
    (
        "Knock the isolator off and on once.",
        "needs: {supply: live, enclosure: closed}\nmeets: [re-energising]\ncompetence: skilled\n",
    ),
    ("Measure the voltage from the pipe to earth.", "meets: [live-parts]\ntools: [voltmeter]\ncompetence: skilled\n"),
]
"""Sentences with all that their deeds call for."""


@pytest.mark.parametrize("name", [name for name, each in BOOK.safeguards.items() if each.where.words])
def test_the_words_of_a_safeguard_stand_in_some_step(name: str) -> None:
    """None is idle: some step says the deed, or a trainer might, so that the safeguard watches something."""
    where = BOOK.safeguards[name].where
    words, harmless = pattern(where.words), pattern(where.but_not)
    assert any(
        words.search(each) and not harmless.search(each)
        for each in (*SENTENCES, *UNSAFE, *REFUSED, *DISTURBING.values(), *chain(*IN_OTHER_WORDS.values()))
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


def look_closer(rules: Path, name: str, sentence: str, more: str = "competence: ordinary\n") -> None:
    """Write a check of this one sentence, on its line 5."""
    (rules / "checks" / "general" / f"{name}.yaml").write_text(
        f"id: {name.replace('_', '-')}\ntitle: Have a closer look\nask: Is it so?\nsteps:\n  - {sentence!r}\n"
        f"minutes: 5\n{more}"
        "outcomes:\n  - {answer: it is, present: [moisture-seen], means: So it is.}\n"
        "  - {answer: it is not, absent: [moisture-seen], means: It is not.}\nsource: common practice\n",
        encoding="utf-8",
    )


def test_a_deed_in_other_words_is_refused_at_its_sentence(tmp_path: Path) -> None:
    """Each as the only step of a check for anybody, and its harmless twins are let pass."""
    rules = tmp_path / "rules"
    shutil.copytree(shipped_folder("rules"), rules)
    wanted = {}
    for code, sentences in IN_OTHER_WORDS.items():
        for number, sentence in enumerate(sentences):
            name = f"other_{code.replace('-', '_')}_{number}"
            wanted[name, code] = sentence
            look_closer(rules, name, sentence)
    for number, sentence in enumerate(HARMLESS):
        look_closer(rules, f"harmless_{number}", sentence)
    problems = examine_folder(rules)[1]
    told = {(Path(each.place.file).stem, each.code) for each in problems if each.place.line == 5 and each.help}
    assert [sentence for each, sentence in wanted.items() if each not in told] == []
    assert [each.in_one_line() for each in problems if Path(each.place.file).stem.startswith("harmless")] == []


@pytest.mark.parametrize(
    ("there", "line"), [("Is it so?", 3), ("So it is.", 9)], ids=["in the question", "in what an answer means"]
)
def test_nobody_is_told_beside_the_steps_to_do_what_nobody_may(tmp_path: Path, there: str, line: int) -> None:
    """A check without steps is a mere question, but it must not be one that sends people to bridge a fuse."""
    rules = tmp_path / "rules"
    shutil.copytree(shipped_folder("rules"), rules)
    look_closer(rules, "beside", "Read the display.")
    path = rules / "checks" / "general" / "beside.yaml"
    path.write_text(path.read_text("utf-8").replace(there, "Bridge the fuse with a piece of wire."), "utf-8")
    told = [(each.code, each.place.line) for each in examine_folder(rules)[1]]
    assert set(told) == {("forbidden-deed", line)}


def test_what_says_all_that_it_exposes_people_to_passes(tmp_path: Path) -> None:
    """So that what is refused can be put right as the help says, and a fuse can still be tested by a measurement."""
    rules = tmp_path / "rules"
    shutil.copytree(shipped_folder("rules"), rules)
    for number, (sentence, more) in enumerate(SAID):
        look_closer(rules, f"said_{number}", sentence, more)
    assert [each.in_one_line() for each in examine_folder(rules)[1]] == []


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
    ("voltage_liquid_to_earth.yaml", r"live-parts, ", "", "unmet-hazard"),
    ("dc_voltage_liquid_to_earth.yaml", r"live-parts, ", "", "unmet-hazard"),
    ("bond_resistance.yaml", r"live-parts, ", "", "unmet-hazard"),
    ("temporary_bond.yaml", r"live-parts, ", "", "unmet-hazard"),
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
