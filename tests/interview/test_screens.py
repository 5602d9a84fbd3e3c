"""What must hold of every screen."""

from __future__ import annotations

import io
import random
import re
from pathlib import Path

import msgspec
import pytest

from diagnose.cases.events import Case, CompetenceSaid
from diagnose.documents.text import make_console, write
from diagnose.interview.endings import hand_over
from diagnose.observations import CheckDone, FindingSeen, Measurement, RemedyTried
from diagnose.protocol.prompts import HandOverPrompt
from diagnose.protocol.situation import Situation
from tests.engines import real_engine
from tests.interview.running import run

COMPLAINTS = [
    "shows negative flow",
    "stuck at zero although the pump runs",
    "alarm on the display",
    "display is dark",
    "reads 8 % higher than the tank",
]


def walk(seed: int, folder: Path, complaint: str) -> str:
    """Return the screens of an interview with the real rule book and random answers."""
    chooser = random.Random(seed)
    answers = [complaint, chooser.choice("123")]
    answers += [chooser.choice(["1", "1", "2", "y", "s", "unknown", "back", "12 mA", "w"]) for _ in range(60)]
    return run(answers, folder, real_engine(), name=f"walk-{seed}")[1]


def test_cautions_come_before_steps(tmp_path: Path) -> None:
    """No screen shows a danger or warning in full beside the steps it is for: it is heeded on a screen before."""
    heeded = 0
    still = re.compile(r"^  Read before, and still applies:$.*?^$", re.MULTILINE | re.DOTALL)
    for seed, complaint in enumerate(COMPLAINTS):
        for screen in walk(seed, tmp_path, complaint).split("-" * 78)[1:]:
            if "will you? >" not in screen:
                screen = still.sub("", screen)
            if not re.search(r"^\s+(?:DANGER|WARNING) ", screen, re.MULTILINE):
                continue
            before = screen.split("will you? >")[0]
            assert not re.search(r"^  1\. ", before, re.MULTILINE), screen
            heeded += "will you? >" in screen
    assert heeded > 3


@pytest.mark.parametrize("seed", range(2))
def test_nothing_is_wider_than_the_screen(seed: int, tmp_path: Path) -> None:
    """No line is longer than 80 columns, except the path of the case."""
    printed = walk(seed, tmp_path, COMPLAINTS[seed]).replace(str(tmp_path), "CASES")
    assert [line for line in printed.splitlines() if len(line) > 80] == []


def test_no_colour_or_control_reaches_a_pipe(tmp_path: Path) -> None:
    """Markup and escape sequences in answers are shown as text or dropped, never interpreted."""
    _, printed = run(["\x1b[31mdark\x1b[0m", "3", "n [red]hot[/red] \x1b]0;title\x07", "l"], tmp_path)
    assert "\x1b" not in printed
    assert "[red]hot[/red]" in printed


def test_a_report_starts_the_interview(tmp_path: Path) -> None:
    """What a report says is understood before the first question."""
    _, printed = run(["l"], tmp_path, report="The lamp is dark. All lamps dark in the house.")
    assert "+  lamp is dark  “lamp is dark”" in printed.replace("The ", "")
    assert "What may you do here?" in printed


def test_what_says_nothing_of_a_fault_is_kept_and_asked_on(tmp_path: Path) -> None:
    """A reading or a date alone is no complaint; who cannot say more goes on all the same."""
    told = ["flow on the display is 34 m3/h", "the screen went dark", "l"]
    _, printed = run(told, tmp_path, real_engine(), name="asked-on")
    assert "That is kept, but it does not say what is wrong." in printed
    assert printed.index("+  display is dark") < printed.index("What may you do here?")
    _, printed = run(["flow on the display is 34 m3/h", "u", "l"], tmp_path, real_engine(), name="nobody-knows")
    assert "What may you do here?" in printed


def test_words_that_name_no_finding_are_kept_and_count(tmp_path: Path) -> None:
    """Nobody can say more; then the words are what there is."""
    said = "the windings have fewer ohms than the tag of the tube says"
    _, printed = run([said, "u", "3"], tmp_path, real_engine())
    assert "That is kept, but it does not say what is wrong." in printed
    assert "Coil with shorted turns" in printed[printed.index("What may you do here?") :]


def test_words_told_first_still_count_when_more_is_told(tmp_path: Path) -> None:
    """What "is kept" is kept: the second message adds to the first, whichever of them names a finding."""
    first, second = "the windings have fewer ohms than the tag of the tube says", "it reads lower than the tank"
    _, both = run([first, second, "3"], tmp_path, real_engine(), name="both")
    _, alone = run([second, "3"], tmp_path, real_engine(), name="alone")
    ranking = [printed[printed.index("What may you do here?") :] for printed in (both, alone)]
    assert "Coil with shorted turns" in ranking[0]
    assert "Coil with shorted turns" not in ranking[1]


def test_fields_are_asked_together_and_once(tmp_path: Path) -> None:
    """What a step hangs on is asked on one screen; Enter alone leaves the rest open, and it is not asked again."""
    start = ["control system shows something different from the display", "3"]
    _, printed = run([*start, "l"], tmp_path, real_engine(), name="asked")
    (screen,) = re.findall(r"^Before (?:“|you go).*", printed, re.MULTILINE)
    fields = re.findall(r"^  \d  (.*?)(?: \(several.*?)?:", printed.split(screen)[1], re.MULTILINE)
    assert len(fields) >= 2
    answers = [*start, "", *("s" for _ in range(6)), "l"]
    _, printed = run(answers, tmp_path, real_engine(), name="once")
    for field in fields:
        assert len(re.findall(rf"^  \d  {re.escape(field)}", printed, re.MULTILINE)) <= 1


def test_facts_told_are_not_asked_again(tmp_path: Path) -> None:
    """An output that was told in passing is no field of any screen."""
    told = "control system shows something different from the display, 4-20 mA output, remote version, in a pit"
    _, printed = run([told, "3", "", *("s" for _ in range(8)), "l"], tmp_path, real_engine(), name="told")
    assert "outputs that are used: 4-20 mA" in printed
    assert not re.search(
        r"^ +\d  (outputs that are used|how the meter is built|where the meter sits)", printed, re.MULTILINE
    )


PAIRS = "0 20.1; 24.8 39.7; 50.3 60.4; 74.9 80 m3/h"
"""Invented: a receiver that takes 4 to 20 mA for 0 to 20 mA."""


SHEET = {
    "output": ("4-20 mA",),
    "location": "building",
    "hazardous-area": "no",
    "signal-duty": ("indication only",),
    "lower-range-value": 0.0,
    "upper-range-value": 100 / 3600,
}


def to_the_pairs(folder: Path, *more: str) -> str:
    """Return the screens of an interview that is led to the check that takes pairs of readings, from there on."""
    start = ["control system shows something different from the display", "3", "o"]
    _, printed = run([*start, "l"], folder, real_engine(), name="way", data_sheet=SHEET)
    title = "How does the control system's number follow the display?"
    number = re.search(rf"^ +(\d+)  {re.escape(title)}", printed, re.MULTILINE)
    assert number is not None, printed
    _, printed = run([*start, number[1], *more, "l"], folder, real_engine(), name="pairs", data_sheet=SHEET)
    return printed[printed.index("Which step instead?") :].split("or give pairs, display first")[1]


def test_pairs_may_be_typed_in_place_of_an_answer(tmp_path: Path) -> None:
    """What they say is shown, counts, and the check is done; a file of them does as well."""
    printed = to_the_pairs(tmp_path, PAIRS)
    assert "From the 4 pairs of readings" in printed
    assert "control system shows something different from the display" in " ".join(printed.split())
    assert "Receiver takes the signal for 0–20 mA  up" in printed
    table = "display [m3/h];plc [m3/h]\n" + PAIRS.removesuffix(" m3/h").replace("; ", "\n").replace(" ", ";") + "\n"
    (tmp_path / "pairs.csv").write_text(table, encoding="utf-8")
    by_file = tmp_path / "file"
    assert "From the 4 pairs of readings, pairs.csv" in to_the_pairs(by_file, str(tmp_path / "pairs.csv"))


def test_pairs_that_cannot_be_read_are_asked_again(tmp_path: Path) -> None:
    """No unit, half a pair, a file that is not there: told, and the question stays."""
    printed = to_the_pairs(tmp_path, "10 12; 20 24", "10 12; 20 m3/h", "nothere.csv", "perhaps")
    assert printed.count("? ") >= 4
    assert "the unit of the reference readings is missing" in " ".join(printed.split())
    assert "From the" not in printed


def test_a_y_typed_ahead_heeds_nothing(tmp_path: Path) -> None:
    """Cautions over several pages are heeded after the last of them has been shown, not before."""
    start = ["no light", "3", "o", "3", "1 wet; 2 230 V"]
    _, printed = run([*start, "y", "y", "l"], tmp_path, person=True, height=12)
    assert "That counts only once" in printed
    said = printed.index("That counts only once")
    assert "Put the tester into the socket." not in printed[:said]
    assert "Put the tester into the socket." in printed[said:]


def test_a_stop_that_was_not_read_is_not_lifted(tmp_path: Path) -> None:
    """What is typed while it is still being shown counts for nothing."""
    told = "smoke is coming out of the transmitter and I got a shock from the pipe"
    _, printed = run([told, "1", "l"], tmp_path, real_engine(), person=True, height=12)
    assert "That counts only once" in printed
    assert "What may you do here?" not in printed


def test_a_danger_told_in_a_form_or_a_note_stops(tmp_path: Path) -> None:
    """Wherever it is written."""
    for number, words in enumerate(("1 pit; the pipe tingles when touched", "n there is smoke coming out of it")):
        typed = ["reading jumps about", "skilled", words, "l"]
        _, printed = run(typed, tmp_path, real_engine(), name=f"case{number}")
        assert "STOP" in printed, words


def handed_over(case: Case, width: int = 200) -> str:
    """Return the hand-over of a case about a meter to somebody skilled."""
    situation = Situation(real_engine(), case)
    proposal = msgspec.structs.replace(situation.diagnosis.proposals.next, kind="escalate", competence="skilled")
    out = io.StringIO()
    prompt = HandOverPrompt(ending="hand-over", proposal=proposal)
    write(make_console(file=out, width=width), hand_over(situation, prompt))
    return out.getvalue()


def test_a_hand_over_is_one_page_however_much_was_done() -> None:
    """What is not named is counted; readings stand beside what was expected."""
    book = real_engine().rule_book
    checks = [each for each in book.checks.values() if any(one.absent for one in each.outcomes)][:30]
    answers = [next(one.answer for one in each.outcomes if one.absent) for each in checks]
    done = [CheckDone(check=each.id, answer=answer) for each, answer in zip(checks, answers, strict=True)]
    names = [each.measures for each in book.checks.values() if each.measures and book.quantities[each.measures].unit]
    read = [Measurement(quantity=name, value=0.01) for name in dict.fromkeys(names)]
    case = Case(name="x").after(FindingSeen(finding="reading-erratic", present=True), *done, *read)
    told = handed_over(case, 80)
    assert len(told.splitlines()) <= 70
    assert f"Done so far: (the last 8; {len(done) - 8} more in the report of the case)" in told
    read_last = handed_over(case.after(Measurement(quantity="earth-continuity", value=3.0)))
    assert "earth" in read_last
    assert "3 ohm (expected: below 0.5 ohm)" in read_last


def test_a_hand_over_says_who_should_come_with_what() -> None:
    """For the likeliest remedies, with the dangers on the way."""
    told = handed_over(Case(name="x").after(FindingSeen(finding="display-dark", present=True)))
    assert re.search(r"To be ready for:\n  • .*likely to be needed; about \d+ min, for an? ", told)
    assert re.search(r"person\); bring: \w", " ".join(told.split()))
    assert re.search(r"Beware there: (?:DANGER|WARNING) ", told)


def test_a_hand_over_says_what_was_done_line_by_line() -> None:
    """Checks with their answers, readings, remedies; not every finding that an answer rules out."""
    engine = real_engine()
    look = next(one for one in engine.rule_book.checks["read-the-error"].outcomes if len(one.absent) > 2)
    case = Case(name="x", data_sheet={"build": "remote"}).after(
        FindingSeen(finding="reading-erratic", present=True),
        FindingSeen(finding="display-dark", present=False, quote="the display is fine"),
        CompetenceSaid(competence="skilled"),
        CheckDone(check="read-the-error", answer=look.answer),
        Measurement(quantity="loop-current", value=0.012),
        RemedyTried(remedy="damping-too-short", verdict="not cured"),
    )
    told = handed_over(case)
    assert "Done so far:" in told
    assert f"• {engine.rule_book.checks['read-the-error'].title}: {look.answer}" in told
    assert "current in the loop: 12 mA" in told
    assert f"{engine.rule_book.remedies['damping-too-short'].title}: not cured" in told
    assert "Said not to be so: display is dark" in told
    assert engine.rule_book.findings[look.absent[0]].title not in told
    assert "once here, type" not in told  # somebody skilled is there already
