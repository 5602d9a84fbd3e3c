"""Fields that make sense only beside others: what would be fine alone, and is of no use where it stands."""

from __future__ import annotations

from pathlib import Path

from tests.rule_book.lamps import lamp_book, problems_of

COLOUR = "{id: colour, title: colour of the light, choices: [white, yellow], source: estimate}"
ON_SHEET = COLOUR.replace("choices", "on-data-sheet: true, choices")
GLARE = """
id: glare
title: Glare
signal: caution
hazard: Bright light.
consequence: It dazzles.
avoid: [Look away.]
comes-up: [{meets: glare}]
forbids: [{meets: glare, colour: white}]
falls-away: {colour: yellow}
source: estimate
"""


def test_what_hangs_on_the_data_sheet_names_what_can_stand_there(tmp_path: Path) -> None:
    """Else it would be asked for in a form, and then be unknown to the case that holds it."""
    rules = lamp_book(tmp_path, cautions__glare=GLARE, quantities__colour=COLOUR)
    found = [(each.code, each.place.line, each.text) for each in problems_of(rules)]
    text = "a data sheet has no field `colour`, so it decides nothing here"
    assert found == [("unknown-field", 9, text), ("unknown-field", 10, text)]


def test_what_can_stand_there_is_fine(tmp_path: Path) -> None:
    """Whether it is asked for or only may stand there."""
    settings = (Path(__file__).parent / "minimal" / "book.yaml").read_text(encoding="utf-8")
    ordered = settings.replace("[place, power]", "[place, power, colour]")
    assert problems_of(lamp_book(tmp_path, cautions__glare=GLARE, quantities__colour=ON_SHEET, book=ordered)) == []
