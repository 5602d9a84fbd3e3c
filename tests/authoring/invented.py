"""Small invented faults at an invented lamp for tests of the simulation."""

from __future__ import annotations

from typing import Any

from diagnose.authoring.faults import Fault
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.work import Outcome
from tests.reasoning.books import book, cause, caution, check, finding, remedy, state, yes_or_no

PLACE = Quantity(id="place", title="place", choices=("inside", "outside"), where_to_find="look at it")
GAS = Quantity(id="gas", title="gas", choices=("yes", "no"), where_to_find="sign at the door")


def fault(*causes: str, complaint: tuple[str, ...] = ("dark",), key: str = "1", **more: Any) -> Fault:
    """Return a fault at a meter of which nothing is known."""
    return Fault(**{"key": key, "causes": causes, "sheet": {}, "known": {}, "complaint": complaint, **more})


def lamp(*parts: Any) -> RuleBook:
    """Return a rule book about a lamp: bulb or feed, each with a proof that is looked at with the cover open."""
    return book(
        GAS,
        state("supply", 1, "live", "isolated", minutes=5.0),
        state("cover", 2, "closed", "open", minutes=1.0),
        caution("shock", {"supply": ("live",), "cover": ("open",)}, {"meets": ("wires",)}, signal="danger"),
        caution(
            "spark",
            {"gas": ("yes",), "cover": ("open",)},
            forbids=({"gas": ("yes",), "cover": ("open",), "supply": ("live",)},),
        ),
        finding("dark", kind="symptom", complaint="common", leak=0.001),
        finding("hum", kind="symptom", complaint="common", leak=0.001),
        finding("filament-broken", leak=0.001),
        finding("feed-dead", leak=0.001),
        cause("bulb", {"dark": 0.99, "filament-broken": 0.99}, frequency=3.0),
        cause("feed", {"dark": 0.99, "feed-dead": 0.99}),
        cause("ballast", {"hum": 0.99}),
        remedy("bulb", needs={"supply": ("isolated",)}, works=1.0),
        remedy("feed", works=1.0),
        remedy("ballast", works=1.0),
        yes_or_no("look-at-bulb", "filament-broken", needs={"cover": ("open",), "supply": ("isolated",)}),
        yes_or_no("feel-feed", "feed-dead"),
        check(
            "ask", Outcome(answer="dark", present=("dark",), absent=("hum",)), Outcome(answer="hum", present=("hum",))
        ),
        *parts,
    )
