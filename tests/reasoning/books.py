"""Rule books for tests of reasoning: the real one, and small invented ones made in memory."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from diagnose.entry import Entry
from diagnose.rule_book.book import RuleBook, Settings
from diagnose.rule_book.entries import Area, Source
from diagnose.rule_book.faults import Cause, Finding
from diagnose.rule_book.plant import Caution, PlantState, StateChange
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.rules import InferenceRule
from diagnose.rule_book.work import Check, Outcome, Remedy
from tests.engines import real_engine

RULES = Path(__file__).parents[2] / "rules"


def real_rule_book() -> RuleBook:
    """Return the rule book of this repository."""
    return real_engine().rule_book


SETTINGS = Settings(
    title="Invented",
    several_at_once=0.08,
    strengths={},
    frequencies={},
    leaks={},
    exposure_minutes={"danger": 20, "warning": 6, "caution": 2, "notice": 0},
    call_out_minutes=180,
    question_minutes=1,
    remedy_works=0.95,
)


def finding(name: str, **more: Any) -> Finding:
    """Return an invented finding."""
    return Finding(**{"id": name, "title": f"title of {name}", "source": "judgement", **more})


def cause(name: str, shows: dict[str, float], **more: Any) -> Cause:
    """Return an invented cause, put right by the remedy of the same name unless another is named."""
    given = {
        "id": name,
        "title": f"title of {name}",
        "source": "judgement",
        "area": "somewhere",
        "explanation": "Invented.",
        "frequency": 1.0,
        "shows": shows,
        "remedy": name,
        "signal": "failure",
    }
    return Cause(**{**given, **more})


def remedy(name: str, **more: Any) -> Remedy:
    """Return an invented remedy of ten minutes, proved by the check `proof`."""
    given = {"id": name, "title": f"put {name} right", "steps": ("Do it.",), "minutes": 10.0, "proved_by": "proof"}
    return Remedy(**{**given, **more})


def check(name: str, *outcomes: Outcome, **more: Any) -> Check:
    """Return an invented check of two minutes."""
    given = {"id": name, "title": name, "ask": f"{name}?", "steps": ("Look.",), "minutes": 2.0, "outcomes": outcomes}
    return Check(**{**given, **more})


def yes_or_no(name: str, about: str, **more: Any) -> Check:
    """Return a check that finds one finding present or absent."""
    return check(name, Outcome(answer="yes", present=(about,)), Outcome(answer="no", absent=(about,)), **more)


def state(name: str, order: int, initial: str, other: str, minutes: float = 10.0, **more: Any) -> PlantState:
    """Return a way of standing with two values; leaving the initial one takes ``minutes``, coming back half of it."""
    there = StateChange(from_=initial, to=other, minutes=minutes, steps=("Change.",), competence="instructed")
    back = StateChange(from_=other, to=initial, minutes=minutes / 2, steps=("Back.",), competence="instructed")
    given = {"id": name, "title": name, "order": order, "values": (initial, other), "initial": initial}
    return PlantState(**{**given, "changes": (there, back), **more})


def caution(name: str, *comes_up: dict[str, tuple[str, ...]], **more: Any) -> Caution:
    """Return an invented caution."""
    given = {"id": name, "title": name, "signal": "warning", "hazard": "h", "consequence": "c", "avoid": ("Mind.",)}
    return Caution(**{**given, "comes_up": comes_up, **more})


def book(*parts: Entry, settings: Settings = SETTINGS) -> RuleBook:
    """Return a rule book of these parts, with a source, an area, a proof and the remedies that causes want."""
    folders: dict[type[Entry], str] = {
        Quantity: "quantities",
        Finding: "findings",
        Check: "checks",
        InferenceRule: "inference",
        Cause: "causes",
        Remedy: "remedies",
        Caution: "cautions",
        PlantState: "states",
    }
    made: dict[str, dict[str, Any]] = {folder: {} for folder in folders.values()}
    made["checks"]["proof"] = check("proof", minutes=3.0)
    for part in parts:
        made[folders[type(part)]][part.id] = part
    for each in made["causes"].values():
        made["remedies"].setdefault(each.remedy, remedy(each.remedy))
    return RuleBook(
        settings=settings,
        sources={"judgement": Source(id="judgement", citation="somebody's judgement", kind="estimate")},
        areas={"somewhere": Area(id="somewhere", title="Somewhere")},
        **{folder: dict(sorted(entries.items())) for folder, entries in made.items()},
    )
