# ruff: noqa: D103 - the names of tests are sentences
"""What sentences say about findings, read as a specification: text → {finding: present}."""

from __future__ import annotations

import pytest

from diagnose.language.understanding import understand
from tests.language.book import LEXICON

ROWS: list[tuple[str, dict[str, bool]]] = [
    # phrases, word forms, order, words between
    ("The display is dark.", {"display-dark": True}),
    ("dark display since monday", {"display-dark": True}),
    ("the screen went completely blank", {"display-dark": True}),
    ("Nothing at all on the display", {"display-dark": True}),
    ("Fuse has blown", {"fuse-blown": True}),
    ("it blows fuses", {"fuse-blown": True}),
    ("fuse in the box was gone", {"fuse-blown": True}),
    ("wires are swapped", {"wiring-wrong": True}),
    ("the reading keeps jumping all about", {"reading-erratic": True}),
    ("meter keeps restarting", {"restarts": True}),
    ("It restarted by itself twice", {"restarts": True}),
    ("worse whenever it rains", {"when-wet": True}),
    ("It comes and it goes", {"comes-and-goes": True}),
    ("shows zero although water is flowing", {"zero-while-flowing": True}),
    ("display shows zero but we have flow", {"zero-while-flowing": True}),
    ("sits at zero", {"zero-while-flowing": True}),
    ("adjusted the zero today", {}),
    ("it sits at 0.0 all day", {"zero-while-flowing": True}),
    ("[red]display dark[/red]", {"display-dark": True}),
    ("Display: dark\nFuse: ok", {"display-dark": True, "fuse-blown": False, "fuse-loose": False}),
    # typos, but never from one word to another
    ("dispaly is drak", {"display-dark": True}),
    ("disply blnak", {"display-dark": True}),
    ("garbeld charcters", {"display-garbled": True}),
    ("no rply, dosn't move", {"bus-silent": True, "value-frozen": True}),
    ("negatve flow", {"flow-negative": True}),
    ("the flow of goods, a low look", {}),
    ("fused spur is blown over", {}),
    ("now reply was sent", {}),
    # a negation inside the phrase
    ("it does not move", {"value-frozen": True}),
    ("value doesn't move any more", {"value-frozen": True}),
    ("value never moves", {"value-frozen": True}),
    ("refuses to move", {"value-frozen": True}),
    ("isnt responding", {"bus-silent": True}),
    ("the node never responds", {"bus-silent": True}),
    ("fails to respond", {"bus-silent": True}),
    ("no reply, display dark", {"bus-silent": True, "display-dark": True}),
    # a negation outside the phrase
    ("no error", {"error-indicated": False}),
    ("display is not dark", {"display-dark": False}),
    ("not blank, the display", {}),
    ("display isn't blank", {"display-dark": False}),
    ("never negative", {"flow-negative": False}),
    ("runs without alarm", {"error-indicated": False}),
    ("it isn't frozen", {"value-frozen": False}),
    ("no longer dark", {"display-dark": False}),
    ("no signs of moisture", {"moisture-seen": False}),
    ("we cannot see any error", {"error-indicated": False}),
    ("neither dark nor garbled", {"display-dark": False, "display-garbled": False}),
    ("no error, no moisture", {"error-indicated": False, "moisture-seen": False}),
    ("no error or moisture", {"error-indicated": False, "moisture-seen": False}),
    ("no errors, moisture or condensation", {"error-indicated": False, "moisture-seen": False}),
    ("not without alarm", {"error-indicated": True}),
    ("errors: none", {"error-indicated": False}),
    ("moisture not seen", {"moisture-seen": False}),
    ("not only dark but frozen", {"display-dark": True, "value-frozen": True}),
    ("no idea why the display is dark", {"display-dark": True}),
    ("we did not touch it since it is dark", {"display-dark": True}),
    ("no error but display dark", {"error-indicated": False, "display-dark": True}),
    ("Alarm no. 5 shown", {"error-indicated": True}),
    # denied by its own phrases, or its subject with an ok-word
    ("fuse OK", {"fuse-blown": False, "fuse-loose": False}),
    ("the fuse is fine", {"fuse-blown": False, "fuse-loose": False}),
    ("fuses look intact", {"fuse-blown": False, "fuse-loose": False}),
    ("wiring checked, good", {"wiring-wrong": False}),
    ("checked the wiring", {"wiring-wrong": False}),
    ("fuse and wiring are ok", {"fuse-blown": False, "fuse-loose": False, "wiring-wrong": False}),
    ("Fuse has continuity", {"fuse-blown": False}),
    ("fuse checked and found blown", {"fuse-blown": True}),
    ("fuse not ok", {}),
    ("fuse has not been checked", {}),
    ("please have the wiring checked", {}),
    ("wiring must be checked", {}),
    ("display stopped working", {"display-dark": True}),
    ("the node stopped responding", {"bus-silent": True}),
    ("display works", {"display-dark": False}),
    ("display shows nothing works", {}),
    ("other displays are ok, this display is dark", {"display-dark": True}),
    ("the other fuse is ok", {}),
    # no facts
    ("maybe the fuse is blown", {}),
    ("Could be a blown fuse", {}),
    ("I think the fuse is blown", {}),
    ("I think the display is dark", {"display-dark": True}),
    ("not sure if the fuse is blown", {}),
    ("Is the fuse blown?", {}),
    ("Is the fuse blown? No.", {"fuse-blown": False}),
    ("Display dark? Yes", {"display-dark": True}),
    ("Why is the display dark?", {"display-dark": True}),
    ("Display is dark, can you help?", {"display-dark": True}),
    ("if the display is dark, call me", {}),
    ("it looks as if frozen", {"value-frozen": True}),
    ("was dark last week, now fine", {}),
    ("The alarm has cleared", {}),
    ("fuse was ok until Monday", {}),
    # a negation of the same finding's denial still denies; of two equals the denial counts
    ("no message on the screen", {"message": False}),
    ("no message on the screen but a message on screen 2", {"message": False} | {"message": True}),
    # short phrases with `no` stand close, numbers before their units, directions keep their order
    ("no output", {"no-output": True}),
    ("does not follow the output", {}),
    ("mA and 0 m3/h", {}),
    ("0-60 l/s at 4-20 mA", {}),
    ("from top to bottom", {"flows-down": True}),
    ("from bottom to top", {"flows-down": False}),
    ("output shows 5 m3/h with the pump off", {}),
    # idioms, signs, shorthand
    ("now and then it freezes", {"comes-and-goes": True, "value-frozen": True}),
    ("and now, then it was mended", {}),
    ("reads 8% over", {"reads-over": True}),
    ("half of what it should be", {"reads-over": True}),
    ("works w/o alarm", {"error-indicated": False}),
    ("b4 it was negative, now it is ok", {}),
    # what was only tried, and when all was well
    ("swapped wires, no change", {}),
    ("wires swapped - same", {}),
    ("wires swapped, same as in the drawing of the other plant", {"wiring-wrong": True}),
    ("display dark, no change", {"display-dark": True}),
    ("after rain no problem", {"when-wet": False}),
    ("when it rains it is ok", {"when-wet": False}),
    ("when it rains the display is dark", {"when-wet": True, "display-dark": True}),
    # a preposition counts where only one more word carries meaning
    ("at night flow it is frozen", {"only-at-high-flow": True, "value-frozen": True}),
    ("since last night the flow meter is dark", {"display-dark": True}),
    # what is said in so many words outweighs a subject with an ok-word
    ("fuse blown. All the fuses were checked.", {"fuse-blown": True, "fuse-loose": False}),
    # an adjective of another noun
    ("it reads unstable at high flow", {"reading-erratic": True}),
    # rivals, contradictions
    ("reads low at high flow", {"reads-low": True}),
    ("only at high flow it reads too much", {"only-at-high-flow": True, "reads-high": True}),
    # a hedge reaches no farther than it says
    ("display dark maybe ten times a day", {"display-dark": True}),
    ("display is dark perhaps since the storm", {"display-dark": True}),
    ("maybe the display is dark", {}),
    ("it stopped, probably because the fuse is blown", {}),
    # so at times
    ("display not always dark", {"display-dark": True}),
    ("display does not always work", {"display-dark": True}),
    ("the display does not work all the time", {"display-dark": True}),
    # not to do, not to be able to, never
    ("nobody changed the settings", {}),
    ("we could not change the settings", {"settings-locked": True}),
    ("that is not right", {}),
    ("it was never right", {"never-right": True}),
    ("hardly two weeks ago the display went dark", {"display-dark": True}),
    # a negation belongs to what stands beside it, and so do words like `below`
    ("no pulses at flow", {}),
    ("no alarm for the fuse", {"error-indicated": False}),
    ("no output alarm", {"error-indicated": False}),
    ("i am not convinced: the display is dark", {"display-dark": True}),
    ("blown fuse, and nobody has a new one", {"fuse-blown": True}),
    # what is compared stands in its order; `than` may be written `as`
    ("the plc shows more than the display", {"plc-more": True}),
    ("plc shows more as the display", {"plc-more": True}),
    ("the display shows more than the plc", {}),
    ("the plc shows more than when it was new, so we doubt the display", {}),
    ("the plc shows more than the master display", {}),
    # `over` a span of time is no excess
    ("reads percent over some weeks", {}),
    # both at once is a question
    ("one day it reads high, the next day it reads low", {}),
    # all is well then; a mere figure is no trouble
    ("at night flow both agree", {"only-at-high-flow": False}),
    ("at night flow 5 m3/h", {}),
    # a trial with something taken away tells nothing of the meter as it is
    ("we disconnected it and the display works", {}),
    # what happens when somebody tries has been seen to happen
    ("if i touch it the display is dark", {"display-dark": True}),
    ("if we should see a dark display", {}),
    # a particle makes another verb
    ("out last time", {}),
    # another word for the same, and one that only looks alike
    ("the readout is dark", {"display-dark": True}),
    ("the reading is unusable", {}),
    # e-mail
    (
        "From: control room\nSent: Monday\nSubject: RE: display dark\n\nHi all,\n\n> no error so far\n\n"
        "Kind regards\nAlarm Desk\nPhone 0123 456 78 A",
        {"display-dark": True, "error-indicated": False},
    ),
    ("Hello, display blank", {"display-dark": True}),
    ("the display at the meter in the basement of the\npump house is blank", {}),
    ("since yesterday evening we see that the display\nis dark", {"display-dark": True}),
]


@pytest.mark.parametrize(("text", "expected"), ROWS, ids=[row[0][:50] for row in ROWS])
def test_a_sentence_says_of_findings(text: str, expected: dict[str, bool]) -> None:
    understood = understand(text, LEXICON).understood
    assert {item.finding: item.present for item in understood if item.finding} == expected


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Is the fuse blown?", "is only a question"),
        ("maybe the fuse is blown", "only a guess"),
        ("I think the fuse is blown", "opinion"),
        ("if the display is dark, call", "condition"),
        ("was dark last week, now fine", "seems to be over"),
        ("fuse has continuity, it was, until Monday", "past"),
        ("it reads high. Later it reads low.", "contradict each other"),
    ],
)
def test_what_is_no_fact_becomes_a_doubt(text: str, words: str) -> None:
    assert any(words in doubt for doubt in understand(text, LEXICON).doubts)


def test_of_contradictory_statements_both_are_kept_in_order() -> None:
    said = understand("Display is dark. An hour later: display not dark.", LEXICON).understood
    assert [(item.finding, item.present) for item in said] == [("display-dark", True), ("display-dark", False)]


def test_the_same_said_twice_counts_once() -> None:
    assert len(understand("Display dark. Display dark!", LEXICON).understood) == 1


def test_clauses_without_anything_understood_are_listed() -> None:
    said = understand("Display is dark but the cat likes fish. Our canteen is closed.\nThanks,\nThe Team", LEXICON)
    assert said.not_understood == ("the cat likes fish", "Our canteen is closed.")


def test_quotes_are_words_of_the_text() -> None:
    said = understand("Hi, the DISPLAY  is\tdark.", LEXICON).understood
    assert [item.quote for item in said] == ["the DISPLAY is dark"]
