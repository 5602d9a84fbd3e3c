"""An interview on disk: the engine, the journal, and the case that it holds."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from diagnose.cases.events import Case, Resumed
from diagnose.cases.journal import Journal
from diagnose.protocol.responding import respond
from diagnose.protocol.situation import Situation

if TYPE_CHECKING:
    from diagnose.protocol.prompts import Prompt
    from diagnose.protocol.replies import Reply
    from diagnose.protocol.turn import Turn
    from diagnose.reasoning.engine import Engine

SHIFT = timedelta(hours=8)


class Session:
    """One interview; every reply is on disk before the next prompt is shown."""

    def __init__(self, engine: Engine, journal: Journal) -> None:
        self.engine = engine
        self.journal = journal

    @property
    def case(self) -> Case:
        """The case as its journal holds it."""
        head = self.journal.head
        return Case(name=head.case, data_sheet=head.data_sheet, entries=tuple(self.journal.entries))

    def situation(self) -> Situation:
        """Return where the case stands."""
        return Situation(self.engine, self.case)

    def come_back(self) -> None:
        """Record that somebody came back after a shift or more: whoever is there now reads the cautions anew.

        A shorter break changes nothing. After a shift somebody else may sit here, and weather, permits and what the
        plant is doing may have changed; midnight as such changes nothing for whoever works at night.
        """
        if self.journal.entries and self.journal.idle() >= SHIFT:
            self.journal.add(self.journal.new_turn(), Resumed())

    def reply(self, prompt: Prompt, reply: Reply) -> Turn:
        """Respond to a reply and keep its events.

        Raises BadInput when they cannot be written to disk.
        """
        turn = respond(self.engine, self.case, prompt, reply)
        if turn.events:
            self.journal.add(self.journal.new_turn(), *turn.events)
        return turn
