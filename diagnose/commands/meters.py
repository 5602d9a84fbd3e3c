"""The meter that a command is told of: what was found on it before, counted and told."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from diagnose.reasoning.engine import Engine


def on_meter(engine: Engine, meter: str, without: str = "") -> tuple[Engine, str]:
    """Return the engine for a meter, by its tag, and what was found on it before, in words; ``without`` a case of it.

    Raises BadInput when the kept cases cannot be read.
    """
    if not meter:
        return engine, ""
    from diagnose.cases.journal import case_folder
    from diagnose.learning.meter_history import in_words, meter_history

    history = meter_history(engine, case_folder(), meter, without)
    if not history.cases:
        return engine, ""
    return engine.with_history(history.found), in_words(engine.rule_book, history)
