"""An interview on disk: the engine, the journal, and the case that it holds."""

from __future__ import annotations

from contextlib import suppress
from datetime import timedelta
from functools import cached_property
from typing import TYPE_CHECKING

from diagnose.cases.events import Case, Event, Resumed, RuleBookChanged
from diagnose.cases.fitting import Misfit, fitting, misfits
from diagnose.cases.journal import Journal
from diagnose.cases.standing import standing_of
from diagnose.errors import BadInput
from diagnose.protocol.leaving import left_as
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
    def kept(self) -> Case:
        """The case as its journal holds it."""
        return self.journal.case

    @property
    def case(self) -> Case:
        """The case without what the rule book does not know."""
        return fitting(self.engine.rule_book, self.kept) if self.misfits else self.kept

    @cached_property
    def misfits(self) -> tuple[Misfit, ...]:
        """Answers that were there at the start and do not hold under this rule book; none is added later."""
        return misfits(self.engine.rule_book, self.kept)

    @cached_property
    def fingerprint(self) -> str:
        """The fingerprint of the rule book."""
        return self.engine.fingerprint

    @property
    def goes_by_this_rule_book(self) -> bool:
        """Whether the case was begun with this rule book, or has changed to it; an old case does not say."""
        return self._last_rule_book in ("", self.fingerprint)

    @property
    def misfits_were_told(self) -> bool:
        """Whether somebody went on with this rule book although some answers do not hold under it."""
        changes = [each.event for each in self.journal.entries if isinstance(each.event, RuleBookChanged)]
        return bool(changes) and changes[-1].fingerprint == self.fingerprint

    def go_by_this_rule_book(self) -> None:
        """Note that the case goes by this rule book from here on."""
        if not self.misfits_were_told:
            self.journal.add(self.journal.new_turn(), RuleBookChanged(fingerprint=self.fingerprint))

    @property
    def _last_rule_book(self) -> str:
        changes = [each.event for each in self.journal.entries if isinstance(each.event, RuleBookChanged)]
        return changes[-1].fingerprint if changes else self.journal.head.rule_book

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
        from diagnose.protocol.responding import respond  # reads words, which the first question need not wait for

        turn = respond(self.engine, self.case, prompt, reply)
        if turn.events:
            self.journal.add(self.journal.new_turn(), *turn.events, *self._figures(reply))
        return turn

    def _figures(self, reply: Reply) -> list[Event]:
        """Keep what was analysed in place of an answer, before the case says that it is there."""
        from diagnose.protocol.replies import Analysed

        if not isinstance(reply, Analysed) or not reply.analysis.kind:
            return []
        from diagnose.analyses.figures import in_words
        from diagnose.cases.attached_files import keep_figures

        note = in_words(reply.analysis.about, reply.analysis.says)
        return [keep_figures(self.journal, reply.analysis.figures, reply.analysis.kind, note)]

    def leave(self) -> None:
        """Keep how the case stands and what is likely, for whoever looks for it; once for the same answers.

        Without it nothing of the case is lost, so a full disk is no reason to complain here.
        """
        kept = standing_of(self.case).kept
        if self.journal.entries and not kept.closed and (kept.left is None or kept.went_on):
            with suppress(BadInput):
                self.journal.add(self.journal.new_turn(), left_as(self.situation()))
