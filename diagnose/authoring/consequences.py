"""What follows from findings where nothing is measured: the inference rules that no reading is needed for.

Simulated people answer with findings, never with figures, so that all other rules stay silent anyway; leaving them out
makes a simulation several times faster.
"""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.reasoning.inference import Conclusions, Inference
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.types import DataSheet, RuleBook


class Consequences:
    """The rules of one rule book that rest on findings and the data sheet alone."""

    def __init__(self, rule_book: RuleBook) -> None:
        self.rule_book = rule_book
        fields = rule_book.data_sheet_fields().keys()
        rules = {name: rule for name, rule in rule_book.inference.items() if names_in(rule.when)[1] <= fields}
        self._inference = Inference(rules)
        asked = (names_in(rule.when)[0] for rule in rules.values())
        concluded = ((*rule.present, *rule.absent) for rule in rules.values())
        self._asked = frozenset().union(*asked)
        self._touched = self._asked.union(*concluded)

    def matter(self, findings: Mapping[str, bool]) -> bool:
        """Tell whether anything may follow from some of these findings."""
        return not self._asked.isdisjoint(findings)

    def of(self, seen: Mapping[str, bool], sheet: DataSheet) -> Conclusions:
        """Return what is seen together with what follows from it."""
        touched = {name: present for name, present in seen.items() if name in self._touched}
        inferred = self._inference.run(touched, sheet)
        return Conclusions(
            findings={**seen, **inferred.findings}, because=inferred.because, conflicts=inferred.conflicts
        )


_kept: list[Consequences] = []


def consequences(rule_book: RuleBook) -> Consequences:
    """Return the consequences of a rule book, worked out once per process."""
    for each in _kept:
        if each.rule_book is rule_book:
            return each
    fresh = Consequences(rule_book)
    _kept.append(fresh)
    del _kept[:-4]
    return fresh
