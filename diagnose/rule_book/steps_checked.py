"""Validations of what people do at the plant: checks, remedies, cautions and states."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.place import did_you_mean
from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.competence import COMPETENCES
from diagnose.rule_book.plant import Caution, PlantState, StateChange
from diagnose.rule_book.referring import Entries, Found, data_sheet_fits, hazards_known, on_data_sheet, reference
from diagnose.rule_book.work import Check, Disturbance, Step, Work
from diagnose.yaml_places import Document


def steps_refer(book: RuleBook, entries: Entries) -> Found:
    """States, hazards and data-sheet fields that checks and remedies name exist."""
    steps: list[tuple[str, Step]] = [("checks", item) for item in book.checks.values()]
    steps += [("remedies", item) for item in book.remedies.values()]
    steps += [("disturbances", item) for item in book.disturbances.values()]
    for part, step in steps:
        authored = entries[part].get(step.id)
        if authored is None:
            continue
        yield from _states_exist(book, authored, step)
        if isinstance(step, Disturbance):
            yield from _values_exist(book, authored, "holds", step.holds)
            if step.waits and not step.needs:
                text = f"nothing says what `{step.id}` waits for"
                yield authored.problem(
                    ("waits",), "missing-field", text, "add `needs:`, how the plant must stand first"
                )
        yield from hazards_known(book, authored, (), step.meets)
        if step.minutes < 0:
            yield authored.problem(("minutes",), "bad-figure", "minutes must not be less than zero")
        for key in ("applies", "not-when"):
            yield from data_sheet_fits(book, authored, key, step.applies if key == "applies" else step.not_when)


def works_say_who(book: RuleBook, entries: Entries) -> Found:
    """Every check and remedy says whom it takes: a step that says nothing would be put to anybody."""
    for part, work in _works(book):
        authored = entries[part].get(work.id)
        if authored is not None and "competence" not in authored.data:
            text = f"nothing says whom `{work.id}` takes"
            help = f"write `competence:` and one of {', '.join(COMPETENCES)}"
            yield authored.problem((), "unsaid-competence", text, help)


_NAME_VALUE = "name a value, or leave the state out"


def _values_exist(book: RuleBook, authored: Authored, key: str, wanted: Mapping[str, tuple[str, ...]]) -> Found:
    for state, values in wanted.items():
        if state not in book.states:
            help = did_you_mean(state, book.states, f"the states are: {', '.join(book.states)}")
            yield authored.problem((key, state), "unknown-state", f"no state is called `{state}`", help, True)
            continue
        known = book.states[state].values
        if not values:
            yield authored.problem((key, state), "missing-field", f"nothing says how `{state}` must stand", _NAME_VALUE)
        for number, value in enumerate(values):
            if value not in known:
                help = did_you_mean(value, known, f"it is one of: {', '.join(known)}")
                yield authored.problem((key, state, number), "unknown-state", f"`{state}` is never `{value}`", help)


def standing_exists(book: RuleBook, authored: Authored, key: str, standing: Mapping[str, str]) -> Found:
    """Each state under ``key`` exists, and has the value that is said of it."""
    for state, value in standing.items():
        if state not in book.states:
            help = did_you_mean(state, book.states, f"the states are: {', '.join(book.states)}")
            yield authored.problem((key, state), "unknown-state", f"no state is called `{state}`", help, True)
        elif value not in book.states[state].values:
            help = did_you_mean(value, book.states[state].values)
            yield authored.problem((key, state), "unknown-state", f"`{state}` is never `{value}`", help)


def _states_exist(book: RuleBook, authored: Authored, step: Step) -> Found:
    yield from standing_exists(book, authored, "leaves", step.leaves)
    yield from _values_exist(book, authored, "needs", step.needs)
    for state, values in step.needs.items():
        for number, value in enumerate(values if state in book.states else ()):
            for other, wanted in book.states[state].goes_with.get(value, {}).items():
                if set(step.needs.get(other, wanted)).isdisjoint(wanted):
                    text = f"`{state}` is `{value}` only with `{other}` {' or '.join(wanted)}"
                    yield authored.problem(("needs", state, number), "contradiction", text, "change one of them")


def disturbances_are_put_back(book: RuleBook, entries: Entries) -> Found:
    """What steps disturb is known, and whoever may do the step may put it back; each disturbance is some step's."""
    used: set[str] = set()
    for part, work in _works(book):
        authored = entries[part].get(work.id)
        used |= set(work.disturbs)
        for number, name in enumerate(work.disturbs):
            at = ("disturbs", number)
            yield from reference(book, entries, (part, work.id), at, name, "disturbances")
            disturbance = book.disturbances.get(name)
            if authored and disturbance and not _may_undo(work, disturbance):
                text = f"putting back `{name}` takes a {disturbance.competence} person, the step only {work.competence}"
                help = "raise the competence of the step, or lower that of putting back"
                yield authored.problem(at, "beyond-competence", text, help)
    for check in book.checks.values():
        for number, outcome in enumerate(check.outcomes):
            used |= set(outcome.disturbs)
            for place, name in enumerate(outcome.disturbs):
                there = ("outcomes", number, "disturbs", place)
                yield from reference(book, entries, ("checks", check.id), there, name, "disturbances")
    for state in book.states.values():
        for number, change in enumerate(state.changes):
            used |= set(change.disturbs)
            yield from _change_is_put_back(book, entries, state.id, number)
    for disturbance in book.disturbances.values():
        authored = entries["disturbances"].get(disturbance.id)
        if authored and disturbance.id not in used and not disturbance.told_as:
            text = f"no check and no remedy disturbs `{disturbance.id}`, and nobody can tell of it"
            yield authored.problem((), "idle-disturbance", text, "name it under `disturbs:`, or delete it")
        if authored and not disturbance.steps:
            yield authored.problem(("steps",), "missing-field", "nothing says how it is put back", "add `steps:`")


def _works(book: RuleBook) -> list[tuple[str, Work]]:
    checks: list[tuple[str, Work]] = [("checks", item) for item in book.checks.values()]
    return [*checks, *(("remedies", item) for item in book.remedies.values())]


def _change_is_put_back(book: RuleBook, entries: Entries, state: str, number: int) -> Found:
    change = book.states[state].changes[number]
    for place, name in enumerate(change.disturbs):
        at = ("changes", number, "disturbs", place)
        yield from reference(book, entries, ("states", state), at, name, "disturbances")
        disturbance = book.disturbances.get(name)
        if disturbance and not _may_undo(change, disturbance):
            text = f"putting back `{name}` takes a {disturbance.competence} person, the change only {change.competence}"
            help = "raise the competence of the change, or lower that of putting back"
            yield entries["states"][state].problem(at, "beyond-competence", text, help)


def _may_undo(deed: Work | StateChange, disturbance: Step) -> bool:
    return COMPETENCES.index(disturbance.competence) <= COMPETENCES.index(deed.competence)


def what_is_done_once_refers(book: RuleBook, entries: Entries) -> Found:
    """The checks that allow a second time, and the findings that tell of a first one, exist."""
    for part, work in _works(book):
        if work.once is None:
            continue
        for key, names, other in (("unless", work.once.unless, "checks"), ("told-by", work.once.told_by, "findings")):
            for place, name in enumerate(names):
                yield from reference(book, entries, (part, work.id), ("once", key, place), name, other)


def what_remedies_hide_refers(book: RuleBook, entries: Entries) -> Found:
    """The causes that a remedy hides exist, and it does not cure them."""
    for remedy in book.remedies.values():
        for place, name in enumerate(remedy.hides):
            yield from reference(book, entries, ("remedies", remedy.id), ("hides", place), name, "causes")
            if name in {cause.id for cause in book.helped_by(remedy.id)}:
                text = f"`{remedy.id}` puts `{name}` right, so it does not hide it"
                yield entries["remedies"][remedy.id].problem(("hides", place), "contradiction", text, "take it out")


def big_remedies_refer(book: RuleBook, document: Document) -> Found:
    """What ``book.yaml`` says of big remedies is a state, a hazard or a part of some remedy."""
    big, remedies = book.settings.big_remedies, book.remedies.values()
    for state, values in big.needs.items():
        known = book.states[state].values if state in book.states else ()
        for value in set(values) - set(known):
            help = did_you_mean(value, known) if known else did_you_mean(state, book.states)
            at = ("big-remedies", "needs", state)
            yield document.problem(at, "unknown-state", f"`{state}` is never `{value}`", help)
    hazards = {word for remedy in remedies for word in remedy.meets}
    parts = {part for remedy in remedies for part in remedy.parts}
    for key, code, names, there in (
        ("meets", "unknown-hazard", big.meets, hazards),
        ("small-parts", "unknown-part", big.small_parts or (), parts),
    ):
        for number, name in enumerate(names):
            if name not in there:
                place = ("big-remedies", key, number)
                yield document.problem(place, code, f"no remedy has `{name}`", did_you_mean(name, there))


def checks_lead_somewhere(book: RuleBook, entries: Entries) -> Found:
    """A check measures a known quantity or has outcomes, and its outcomes set known findings."""
    for check in book.checks.values():
        authored = entries["checks"].get(check.id)
        if authored is None:
            continue
        for key, name in (("measures", check.measures), ("expect", check.expect)):
            if name:
                yield from reference(book, entries, ("checks", check.id), (key,), name, "quantities")
        if not check.measures and len(check.outcomes) < 2:
            text = "a check needs two outcomes, or a quantity that it measures"
            yield authored.problem((), "dead-check", text, "add `outcomes:` or `measures:`")
        if check.outcomes and not any(outcome.present or outcome.absent for outcome in check.outcomes):
            text = "no outcome of this check says anything of a finding"
            yield authored.problem(("outcomes",), "dead-check", text, "add `present:` or `absent:`")
        answers = [outcome.answer for outcome in check.outcomes]
        for number, outcome in enumerate(check.outcomes):
            at = ("outcomes", number)
            if answers.index(outcome.answer) != number:
                yield authored.problem((*at, "answer"), "duplicate-answer", f"`{outcome.answer}` is there twice")
            for key, names in (("present", outcome.present), ("absent", outcome.absent)):
                for place, name in enumerate(names):
                    yield from reference(book, entries, ("checks", check.id), (*at, key, place), name, "findings")
            for name in set(outcome.present) & set(outcome.absent):
                yield authored.problem(at, "contradiction", f"`{name}` cannot be present and absent", "keep one")


def interim_remedies_fit(book: RuleBook, entries: Entries) -> Found:
    """An interim remedy exists, is not big and not put off itself; every remedy is named by a cause or a remedy."""
    named = {cause.remedy for cause in book.causes.values()} | {each.interim for each in book.remedies.values()}
    for remedy in book.remedies.values():
        authored = entries["remedies"][remedy.id]
        if remedy.id not in named:
            text = f"no cause and no remedy names the remedy `{remedy.id}`"
            yield authored.problem(
                (), "idle-remedy", text, "name it under `remedy` of a cause, or `interim` of a remedy"
            )
        if not remedy.interim:
            continue
        yield from reference(book, entries, ("remedies", remedy.id), ("interim",), remedy.interim, "remedies")
        interim = book.remedies.get(remedy.interim)
        if interim is not None and (book.settings.big_remedies.has(interim) or interim.interim or interim.escalates):
            text = f"`{interim.id}` is no interim remedy: it takes as much as a lasting one, waits for one, or fetches"
            help = "name a remedy that is quick and can be undone, or write `big: false` there"
            yield authored.problem(("interim",), "bad-interim", text, help)


def remedies_are_proved(book: RuleBook, entries: Entries) -> Found:
    """Every remedy names the check that proves it, one that may be done on every meter."""
    for remedy in book.remedies.values():
        yield from reference(book, entries, ("remedies", remedy.id), ("proved-by",), remedy.proved_by, "checks")
        check = book.checks.get(remedy.proved_by)
        for caution in book.cautions.values() if check else ():
            if check and any(_may_forbid(item, check, book) for item in caution.forbids):
                text = f"`{caution.id}` forbids the proof `{check.id}` on some meters"
                help = "name a check that may be done on every meter"
                yield entries["remedies"][remedy.id].problem(("proved-by",), "forbidden-proof", text, help)


def _may_forbid(item: Mapping[str, tuple[str, ...]], check: Check, book: RuleBook) -> bool:
    """Tell whether what a caution forbids is part of a check on some meter, as far as the check itself says."""
    for key, words in item.items():
        if key == "meets":
            if not set(words) & set(check.meets):
                return False
        elif key in book.states:
            if not set(words) & set(check.needs.get(key, ())):
                return False
        elif key not in book.quantities or set(words) <= set(check.not_when.get(key, ())):
            return False
    return True


def cautions_and_states_refer(book: RuleBook, entries: Entries) -> Found:
    """What brings a caution up exists; every change of a state that a step may need is described."""
    for caution in book.cautions.values():
        yield from _caution_refers(book, entries["cautions"][caution.id], caution)
    for state in book.states.values():
        yield from _changes_are_whole(book, entries["states"][state.id], state.id)
        yield from _goes_with_what_is_there(book, entries["states"][state.id], state)
        yield from _told_values_exist(entries["states"][state.id], state)


_Item = tuple[tuple[str | int, ...], Mapping[str, tuple[str, ...]]]


def _caution_refers(book: RuleBook, authored: Authored, caution: Caution) -> Found:
    acting: list[_Item] = [(("forbids", n), item) for n, item in enumerate(caution.forbids)]
    for least, some in caution.least_competence.items():
        acting += [(("least-competence", least, n), item) for n, item in enumerate(some)]
    for at, item in [*((("comes-up", n), item) for n, item in enumerate(caution.comes_up)), *acting]:
        for key, values in item.items():
            known = book.states[key].values if key in book.states else None
            if key in book.quantities:
                known = book.quantities[key].choices
                yield from on_data_sheet(book, authored, (*at, key), key)
            if key != "meets" and known is None:
                help = did_you_mean(key, [*book.states, *book.quantities, "meets"])
                yield authored.problem((*at, key), "unknown-name", f"nothing is called `{key}`", help, True)
            for value in values:
                if known is not None and value not in known:
                    help = did_you_mean(value, known, f"one of: {', '.join(known)}")
                    yield authored.problem((*at, key), "unknown-choice", f"`{key}` is never `{value}`", help)
    yield from data_sheet_fits(book, authored, "falls-away", caution.falls_away)
    for at, item in acting:  # a hazard misspelt here would forbid nothing, or be for anybody
        yield from hazards_known(book, authored, at, item.get("meets", ()))


def _told_values_exist(authored: Authored, state: PlantState) -> Found:
    """What people say of a state is one of its values, and what is only safe by doing is never taken from words."""
    told: list[tuple[tuple[str | int, ...], str, bool]]
    told = [(("told-as", value), value, True) for value in state.told_as]
    told += [(("asked-as", value), value, True) for value in state.asked_as]
    told += [(("taken-at-once", number), value, False) for number, value in enumerate(state.taken_at_once)]
    for at, value, of_key in told:
        if value not in state.values:
            help = did_you_mean(value, state.values, f"it is one of: {', '.join(state.values)}")
            yield authored.problem(at, "unknown-state", f"`{state.id}` is never `{value}`", help, of_key)
        elif at[0] == "taken-at-once" and value in state.goes_with:
            text = f"`{value}` must be reached by a step; nobody is safe by hearsay"
            yield authored.problem(at, "unsafe-state", text, "leave it out: it is then asked back")


def _goes_with_what_is_there(book: RuleBook, authored: Authored, state: PlantState) -> Found:
    """A value goes with values of other states, which are reached before it and given up after it."""
    for value, others in state.goes_with.items():
        at: tuple[str | int, ...] = ("goes-with", value)
        if value not in state.values:
            help = did_you_mean(value, state.values, f"it is one of: {', '.join(state.values)}")
            yield authored.problem(at, "unknown-state", f"`{state.id}` is never `{value}`", help, True)
        elif value == state.initial:
            text = f"`{value}` is where `{state.id}` starts, so it holds whatever else does"
            yield authored.problem(at, "wrong-order", text, "name a value that has to be reached", True)
        for other, values in others.items():
            if other not in book.states or other == state.id:
                help = did_you_mean(other, book.states, "name another state")
                yield authored.problem((*at, other), "unknown-state", f"no other state is called `{other}`", help, True)
                continue
            if not values:
                text = f"nothing says how `{other}` must stand"
                yield authored.problem((*at, other), "missing-field", text, _NAME_VALUE)
            for each in set(values) - set(book.states[other].values):
                help = did_you_mean(each, book.states[other].values)
                yield authored.problem((*at, other), "unknown-state", f"`{other}` is never `{each}`", help)
            if book.states[other].order >= state.order:
                text = f"`{state.id}` goes with `{other}`, but is changed before it"
                yield authored.problem((*at, other), "wrong-order", text, "give it a higher `order`", True)


def _changes_are_whole(book: RuleBook, authored: Authored, state_id: str) -> Found:
    state = book.states[state_id]
    if state.initial not in state.values:
        yield authored.problem(("initial",), "unknown-state", f"`{state.initial}` is not among `values`")
    for number, change in enumerate(state.changes):
        for key, value in (("from", change.from_), ("to", change.to)):
            if value not in state.values:
                help = did_you_mean(value, state.values, f"it is one of: {', '.join(state.values)}")
                at = ("changes", number, key)
                yield authored.problem(at, "unknown-state", f"`{state_id}` is never `{value}`", help)
        yield from hazards_known(book, authored, ("changes", number), change.meets)
        if change.minutes < 0:
            yield authored.problem(("changes", number, "minutes"), "bad-figure", "minutes must not be less than zero")
    there = {(change.from_, change.to) for change in state.changes}
    for start in state.values:
        for end in state.values:
            if start != end and (start, end) not in there:
                text = f"nothing says how `{state_id}` goes from `{start}` to `{end}`"
                yield authored.problem(("changes",), "missing-change", text, "add it with minutes and steps")
