"""What an author writes in ``rules/``, as frozen types: the whole rule book, and its settings.

The parts are in modules of their own. Field names are those of the YAML with underscores for hyphens. Words of a scale
("usually", "occasional") are numbers here, and every figure with a unit is in SI units; :mod:`diagnose.rule_book.load`
puts them so.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, TypeAlias

import msgspec

from diagnose.rule_book.competence import Competence
from diagnose.rule_book.entries import Area, Source
from diagnose.rule_book.faults import Cause, Finding
from diagnose.rule_book.patterns import Comparisons, Heading, Mechanism, Sign
from diagnose.rule_book.plant import Caution, PlantState
from diagnose.rule_book.quantities import Quantity
from diagnose.rule_book.rules import Contradiction, InferenceRule, Review
from diagnose.rule_book.safeguards import Safeguard
from diagnose.rule_book.work import Check, Disturbance, Remedy
from diagnose.unit_spellings import UnitSpellings


class BigRemedies(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """Which remedies take so much that more than words must speak for their cause.

    Those of so many minutes or more (0: none by their minutes), those with a part that is not among ``small_parts``,
    those that need the plant or meet a hazard as said here.
    """

    minutes: float = 0.0
    needs: dict[str, tuple[str, ...]] = {}
    meets: tuple[str, ...] = ()
    small_parts: tuple[str, ...] | None = None

    def has(self, remedy: Remedy) -> bool:
        """Tell whether a remedy is one of them; what the remedy says of itself holds."""
        if remedy.big is not None or remedy.escalates:
            return bool(remedy.big)
        needs = any(set(words) & set(remedy.needs.get(state, ())) for state, words in self.needs.items())
        parts = self.small_parts is not None and bool(set(remedy.parts) - set(self.small_parts))
        long = 0 < self.minutes <= remedy.minutes
        return long or needs or parts or bool(set(self.meets) & set(remedy.meets))


class ComesBack(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """How many times as frequent a cause is on a meter on which it was found once before; 1: no more than elsewhere."""

    times: float = 1.0
    source: str = ""


WayOfReading: TypeAlias = Literal["affirmed", "denied"]
"""How a finding was read from words."""


class Settings(msgspec.Struct, frozen=True, kw_only=True, rename="kebab", forbid_unknown_fields=True):
    """Figures, scales and sets of words that hold for the whole rule book (``rules/book.yaml``).

    A phrase may name a set of words in angle brackets; it then stands for one phrase with each of them. ``same_words``
    are single words that are read as another one wherever they stand, in phrases and in reports; ``things``
    are words, and sets of them, that only name something, ``other_things`` name what is not the meter: a clause
    about one of them says nothing of it, nor is a figure of one a reading. ``other_owners`` have figures of their own
    too, though a fault may lie in them (a housing, a ring). What is said of one of ``without_bodies`` (a reading, a
    price) is told of no danger to people. ``data_sheet``
    lists the fields of a data sheet by group, in the order in which they are asked; ``data_sheet_applies`` says which
    groups concern only some meters. ``signals_source`` names where the status signals of causes come from,
    ``intermittent`` the finding that a fault comes and goes, ``another_danger`` the one of a danger to people that no
    other finding is about, ``on_a_phone`` what is told before anything else to whoever is interviewed on a phone;
    ``seen_while_it_shows`` is then the share of the time in which a look finds what the fault shows. A check
    that exposes somebody counts with ``exposed_counts`` of what it saves where it is compared with mere looks. No
    remedy comes before a telling check while it is needed with less than ``act_from``. After
    ``outside_after_answers`` answers without a cause at ``outside_below`` or more, the fault is said to be outside the
    rule book (0: never); a remedy in vain counts as so many of them, a step that was passed over with such a share.
    ``wording_weight`` says how much the single words of a report count beside the
    findings in it; at 0 they do not. ``wording_off_the_point`` is the share of reports that talk
    of something else than their cause. ``meaning_of_sentences`` and ``meaning_of_report`` say how much it counts, as
    log odds, how near a report comes in meaning to what the rule book says of a cause (0: not).
    ``about_meters`` are words by which a report is known to be about a flow meter, ``about_several`` about more than
    one, ``about_plants`` words that it shares with reports about other things, ``about_others`` the words of those,
    ``about_instruments`` other instruments: one that is named before any flow meter is what the report is about.
    ``misread`` says by way of reading how much less likely words are where what they were taken for is not so.
    ``big_remedies`` says which remedies are not proposed on words alone. ``persons`` are the phrases in which people
    say of themselves what they may do: less counts at once, more is asked back. ``comparisons`` says what readings that
    were compared say of causes. ``comes_back`` says how much it counts that a cause was found on a meter before.
    """

    title: str
    several_at_once: float
    strengths: dict[str, float]
    frequencies: dict[str, float]
    leaks: dict[str, float]
    exposure_minutes: dict[str, float]
    call_out_minutes: float
    question_minutes: float
    remedy_works: float
    result_misread: float = 0.0
    needless_remedy_minutes: float = 0.0
    intermittent: str = ""
    another_danger: str = ""
    on_a_phone: str = ""
    signals_source: str = ""
    seen_while_it_shows: float = 1.0
    exposed_counts: float = 1.0
    act_from: float = 0.0
    outside_after_answers: int = 0
    outside_below: float = 0.0
    outside_in_vain_counts: float = 1.0
    outside_passed_over_counts: float = 0.0
    wording_weight: float = 0.0
    wording_off_the_point: float = 0.0
    meaning_of_sentences: float = 0.0
    meaning_of_report: float = 0.0
    misread: dict[WayOfReading, float] = {}
    about_meters: tuple[str, ...] = ()
    about_plants: tuple[str, ...] = ()
    about_others: tuple[str, ...] = ()
    about_instruments: tuple[str, ...] = ()
    about_several: tuple[str, ...] = ()
    word_sets: dict[str, tuple[str, ...]] = {}
    same_words: dict[str, tuple[str, ...]] = {}
    persons: dict[Competence, tuple[str, ...]] = {}
    things: tuple[str, ...] = ()
    other_things: tuple[str, ...] = ()
    other_owners: tuple[str, ...] = ()
    without_bodies: tuple[str, ...] = ()
    data_sheet: dict[str, tuple[str, ...]] = {}
    data_sheet_applies: dict[str, dict[str, tuple[str, ...]]] = {}
    big_remedies: BigRemedies = BigRemedies()
    comparisons: Comparisons = Comparisons()
    comes_back: ComesBack = ComesBack()


class RuleBook(msgspec.Struct, frozen=True, kw_only=True):
    """All of ``rules/``, loaded, cross-checked, and with words turned into numbers. Ids are in sorted order."""

    settings: Settings
    sources: dict[str, Source]
    areas: dict[str, Area]
    quantities: dict[str, Quantity]
    findings: dict[str, Finding]
    checks: dict[str, Check]
    inference: dict[str, InferenceRule]
    causes: dict[str, Cause]
    remedies: dict[str, Remedy]
    cautions: dict[str, Caution]
    states: dict[str, PlantState]
    reviews: dict[str, Review] = {}
    contradictions: dict[str, Contradiction] = {}
    mechanisms: dict[str, Mechanism] = {}
    signs: dict[str, Sign] = {}
    headings: dict[str, Heading] = {}
    units: dict[str, UnitSpellings] = {}
    disturbances: dict[str, Disturbance] = {}
    safeguards: dict[str, Safeguard] = {}

    def data_sheet_fields(self) -> dict[str, Quantity]:
        """Return the quantities that belong to the data sheet."""
        fields = {name: item for name, item in self.quantities.items() if item.where_to_find or item.on_data_sheet}
        order = [name for names in self.settings.data_sheet.values() for name in names if name in fields]
        return {name: fields[name] for name in [*order, *(name for name in fields if name not in order)]}

    def told_quantities(self) -> dict[str, Quantity]:
        """Return the quantities that somebody may tell of a meter; others are worked out, or terms of calculations."""
        measured = {name for check in self.checks.values() for name in (check.measures, check.expect)}
        return {
            name: item
            for name, item in self.quantities.items()
            if item.words or item.of_data_sheet or name in measured or any(item.choice_words.values())
        }

    def helped_by(self, remedy: str) -> tuple[Cause, ...]:
        """Return the causes that a remedy puts right, for good or for now."""
        return tuple(
            each for each in self.causes.values() if remedy in (each.remedy, self.remedies[each.remedy].interim)
        )

    def lasting(self, interim: str) -> tuple[Remedy, ...]:
        """Return the remedies for which one does for now; none for one that lasts."""
        return tuple(each for each in self.remedies.values() if interim and each.interim == interim)

    def shares_behind(self, interim: str, shares: Mapping[str, float]) -> dict[str, float]:
        """Return for each remedy behind an interim one the share of the likeliest cause that it puts right."""
        found: dict[str, float] = {}
        for cause in self.helped_by(interim):
            found[cause.remedy] = max(found.get(cause.remedy, 0.0), shares.get(cause.id, 0.0))
        return found

    def forbidding_fields(self) -> frozenset[str]:
        """Return the data-sheet fields of which some word forbids a check or a remedy."""
        banned = (item for each in self.cautions.values() for item in each.forbids)
        ruled_out = (each.not_when for each in (*self.checks.values(), *self.remedies.values()))
        names = {name for item in (*banned, *ruled_out) for name in item}
        return frozenset(names - self.states.keys() - {"meets"})

    def fields_of_steps(self) -> frozenset[str]:
        """Return the data-sheet fields on which a step hangs: what is dangerous, applies or is disturbed there."""
        items: list[Mapping[str, object]] = []
        for caution in self.cautions.values():
            only_for = (item for some in caution.least_competence.values() for item in some)
            items += [*caution.comes_up, *caution.forbids, *only_for, caution.falls_away]
        for step in (*self.checks.values(), *self.remedies.values(), *self.disturbances.values()):
            items += [step.applies, step.not_when]
        return frozenset().union(*items) - self.states.keys() - {"meets"}

    def dangerous_words(self, field: str) -> tuple[str, ...]:
        """Return the words of a data-sheet field that bring a caution up or forbid a step.

        What rules single steps out says so only where no caution hangs on the field: to be outdoors is no danger.
        """
        items = [item for each in self.cautions.values() for item in (*each.comes_up, *each.forbids)]
        named = {word for item in items for word in item.get(field, ())}
        if not named:
            works = (*self.checks.values(), *self.remedies.values())
            named = {word for each in works for word in each.not_when.get(field, ())}
        return tuple(word for word in self.quantities[field].choices if word in named)

    def none_dangerous(self, field: str) -> str:
        """Return what a field is known to be once somebody said that none of its dangerous words is so; "" if nothing.

        Where several harmless words are left it is all but the dangerous ones. Nothing follows where every word is
        dangerous, nor where it decides who may do the work: that has to be told by itself.
        """
        dangerous = self.dangerous_words(field)
        harmless = [word for word in self.quantities[field].choices if word not in dangerous]
        reserved = [item for each in self.cautions.values() for item in each.least_competence.values()]
        if not dangerous or not harmless or any(field in item for items in reserved for item in items):
            return ""
        return harmless[0] if len(harmless) == 1 else ", ".join(f"not {word}" for word in dangerous)
