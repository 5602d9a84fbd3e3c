"""What can only be seen in the whole rule book: names that lead nowhere, and knowledge that nothing can reach.

Each validation is one function that returns problems; it never prints or raises. Their codes name the bad thing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.errors import UnitError
from diagnose.place import Problem, did_you_mean
from diagnose.rule_book.amounts_checked import amounts_fit, upper_range_fits
from diagnose.rule_book.analyses_checked import analyses_refer, comparisons_refer
from diagnose.rule_book.authored import Authored
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.conditions import names_in, truth
from diagnose.rule_book.data_sheet import read_value
from diagnose.rule_book.fields_checked import (
    complaints_say_what_is_wrong,
    names_are_unambiguous,
    quantities_are_of_one_kind,
    shares_are_shares,
)
from diagnose.rule_book.headings_checked import headings_say_one_thing
from diagnose.rule_book.phrases_checked import phrases_say_something
from diagnose.rule_book.quantities_checked import (
    data_sheet_is_in_order,
    quantities_can_be_calculated,
    terms_mean_what_they_mean,
)
from diagnose.rule_book.referring import Entries, Found, data_sheet_fits, reference
from diagnose.rule_book.safeguards_checked import safeguards_refer, steps_are_safeguarded
from diagnose.rule_book.steps_checked import (
    big_remedies_refer,
    cautions_and_states_refer,
    checks_lead_somewhere,
    disturbances_are_put_back,
    interim_remedies_fit,
    remedies_are_proved,
    standing_exists,
    steps_refer,
    what_is_done_once_refers,
    what_remedies_hide_refers,
    works_say_who,
)
from diagnose.rule_book.units_checked import spellings_lead_to_units
from diagnose.yaml_places import Document


def cross_check(book: RuleBook, entries: Entries) -> list[Problem]:
    """Return every problem of the whole rule book."""
    return [problem for validation in VALIDATIONS for problem in validation(book, entries)]


def settings_refer(book: RuleBook, document: Document) -> Found:
    """The findings that ``book.yaml`` names (a fault that comes and goes, another danger) and its sources exist."""
    named = {
        ("signals-source",): (book.settings.signals_source, "name the source of the status signals"),
        ("comes-back", "source"): (book.settings.comes_back.source, "name where the figure comes from"),
    }
    for at, (source, wanted) in named.items():
        if source and source not in book.sources:
            help = did_you_mean(source, book.sources, wanted)
            yield document.problem(at, "unknown-source", f"no source is called `{source}`", help)
    findings = {
        "intermittent": (book.settings.intermittent, "name the finding for a fault that comes and goes"),
        "another-danger": (book.settings.another_danger, "name the finding for a danger of another kind"),
    }
    for key, (name, wanted) in findings.items():
        if name and name not in book.findings:
            help = did_you_mean(name, book.findings, wanted)
            yield document.problem((key,), "unknown-finding", f"no finding is called `{name}`", help)
    danger = book.findings.get(book.settings.another_danger)
    if danger and danger.keep_away is None:
        what = f"`{danger.id}` does not say what to do: it has no `keep-away`"
        yield document.problem(("another-danger",), "unknown-finding", what, "name a finding that stops all work")
    yield from big_remedies_refer(book, document)
    yield from comparisons_refer(book, document)
    yield from upper_range_fits(book, document)


def sources_exist(book: RuleBook, entries: Entries) -> Found:
    """Every entry says where it comes from, itself or through its file."""
    for part, items in entries.items():
        if part == "sources":
            continue
        for entry_id, authored in items.items():
            name = str(authored.data.get("source") or "").lower().replace(" ", "-")
            if not name:
                text = f"`{entry_id}` has no source"
                yield authored.problem((), "missing-source", text, "write `source: common practice`, or a better one")
            else:
                yield from reference(book, entries, (part, entry_id), ("source",), name, "sources")


def causes_refer(book: RuleBook, entries: Entries) -> Found:
    """Areas, findings, look-alikes and remedies of causes exist."""
    for cause in book.causes.values():
        owner = ("causes", cause.id)
        yield from reference(book, entries, owner, ("area",), cause.area, "areas")
        for name in cause.shows:
            yield from reference(book, entries, owner, ("shows", name), name, "findings")
        for number, name in enumerate(cause.looks_like):
            yield from reference(book, entries, owner, ("looks-like", number), name, "causes")
        yield from reference(book, entries, owner, ("remedy",), cause.remedy, "remedies")


def hazards_lead_to_checks(book: RuleBook, entries: Entries) -> Found:
    """What comes first after a hazard is a check, and what it has changed is a state that can be asked for."""
    for finding in book.findings.values():
        for number, name in enumerate(finding.holds_off):
            yield from reference(book, entries, ("findings", finding.id), ("holds-off", number), name, "disturbances")
        for number, name in enumerate(finding.keep_away.changes if finding.keep_away else ()):
            authored, at = entries["findings"][finding.id], ("keep-away", "changes", number)
            if name not in book.states:
                help = did_you_mean(name, book.states, f"the states are: {', '.join(book.states)}")
                yield authored.problem(at, "unknown-state", f"no state is called `{name}`", help)
            elif not book.states[name].ask:
                yield authored.problem(at, "missing-field", f"`{name}` has no question", "add `ask:` to the state")
        for number, name in enumerate(finding.keep_away.afterwards if finding.keep_away else ()):
            at = ("keep-away", "afterwards", number)
            yield from reference(book, entries, ("findings", finding.id), at, name, "checks")


def parts_of_dangers_have_a_rule(book: RuleBook, entries: Entries) -> Found:
    """What is heard as part of a danger is one by some rule that concludes what stops all work; its states exist."""
    whole: set[str] = set()
    for rule in book.inference.values():
        if any(book.findings[name].keep_away for name in rule.present if name in book.findings):
            whole |= set(names_in(rule.when)[0])
    for finding in book.findings.values():
        yield from standing_exists(book, entries["findings"][finding.id], "with-states", finding.with_states)
        if finding.part_of_danger and finding.id not in whole:
            text = f"`{finding.id}` is part of a danger, and no rule says of which"
            help = "write a rule that concludes a finding with `keep-away:` from it, or leave out `part-of-danger`"
            yield entries["findings"][finding.id].problem(("part-of-danger",), "idle-finding", text, help)


LEAST_SHARE = 1e-9
"""The least probability that is told from none: no work at any plant shows that something is rarer still."""


def strengths_are_probabilities(book: RuleBook, entries: Entries) -> Found:
    """A strength or a leak lies above zero and below one."""
    for cause in book.causes.values():
        for name, strength in cause.shows.items():
            if not LEAST_SHARE <= strength <= 1 - LEAST_SHARE:
                text = f"a strength of {strength:g} is not a probability that anybody can know"
                yield entries["causes"][cause.id].problem(("shows", name), "bad-figure", text, "0.985 is nearly always")
    for finding in book.findings.values():
        if not LEAST_SHARE <= finding.leak <= 1 - LEAST_SHARE:
            text = f"a leak of {finding.leak:g} is not a probability that anybody can know"
            yield entries["findings"][finding.id].problem(("leak",), "bad-figure", text, "0.01 is usual")


def causes_and_findings_apply(book: RuleBook, entries: Entries) -> Found:
    """What causes and findings say of the data sheet can be said of it."""
    for cause in book.causes.values():
        yield from data_sheet_fits(book, entries["causes"][cause.id], "applies", cause.applies)
        for number, row in enumerate(cause.frequency_where):
            at = ("frequency-where", number, "where")
            yield from data_sheet_fits(book, entries["causes"][cause.id], at, row.where)
            yield from _has_shares(book, entries["causes"][cause.id], at, row.where)
    for finding in book.findings.values():
        yield from data_sheet_fits(book, entries["findings"][finding.id], "applies", finding.applies)


def _has_shares(
    book: RuleBook, authored: Authored, at: tuple[str | int, ...], where: Mapping[str, tuple[str, ...]]
) -> Found:
    """Where nobody has told a field, a frequency that hangs on it is averaged over its shares: there must be some."""
    if not where:
        text = "this row says of no field of the data sheet where it holds"
        yield authored.problem(at, "missing-field", text, "for example `where: {supply-kind: battery}`")
    for name in where:
        if name in book.quantities and book.quantities[name].choices and not book.quantities[name].shares:
            text = f"nobody knows of how many meters `{name}` is so, so this cannot count where nobody has told"
            yield authored.problem((*at, name), "missing-field", text, f"give `{name}` its `shares`", True)


def reviews_refer(book: RuleBook, entries: Entries) -> Found:
    """Reviews show known quantities and judge by known findings; contradictions are told at a data-sheet field."""
    for review in book.reviews.values():
        owner = ("reviews", review.id)
        yield from data_sheet_fits(book, entries["reviews"][review.id], "applies", review.applies)
        for key, part, names in (
            ("shows", "quantities", review.shows),
            ("wrong", "findings", review.wrong),
            ("doubtful", "findings", review.doubtful),
        ):
            for number, name in enumerate(names):
                yield from reference(book, entries, owner, (key, number), name, part)
        if not (review.wrong or review.doubtful):
            text = "a review judges by findings"
            yield entries["reviews"][review.id].problem((), "dead-review", text, "add `wrong:` or `doubtful:`")
    fields = book.data_sheet_fields()
    for item in book.contradictions.values():
        if item.field not in fields:
            text = f"a data sheet has no field `{item.field}`"
            yield entries["contradictions"][item.id].problem(
                ("field",), "unknown-field", text, did_you_mean(item.field, fields)
            )
            continue
        for key, word in (("adds", item.adds), ("overrules", item.overrules)):
            if word and word not in fields[item.field].choices:
                text = f"`{item.field}` never holds `{word}`"
                help = did_you_mean(word, fields[item.field].choices, "name a word of a field with `choices`")
                yield entries["contradictions"][item.id].problem((key,), "unknown-choice", text, help)


def rules_refer(book: RuleBook, entries: Entries) -> Found:
    """Rules conclude known findings and nothing that contradicts itself."""
    for rule in book.inference.values():
        for key, names in (("present", rule.present), ("absent", rule.absent)):
            for number, name in enumerate(names):
                yield from reference(book, entries, ("inference", rule.id), ("then", key, number), name, "findings")
        for name in set(rule.present) & set(rule.absent):
            text = f"`{name}` cannot be present and absent"
            yield entries["inference"][rule.id].problem(("then",), "contradiction", text, "keep one")


def rules_do_as_their_examples(book: RuleBook, entries: Entries) -> Found:
    """Every rule has an example that fires and one that does not, and does as they say."""
    for rule in book.inference.values():
        authored = entries["inference"][rule.id]
        for wanted in {True, False} - {example.fires for example in rule.examples}:
            text = f"there is no example with `fires: {str(wanted).lower()}`"
            yield authored.problem(("examples",), "missing-example", text, "give one that fires and one that does not")
        for number, example in enumerate(rule.examples):
            given = _given(book, example.given)
            at = ("examples", number)
            if isinstance(given, str):
                yield authored.problem((*at, "given"), "bad-example", given, "write names and figures as in `when`")
            elif (truth(rule.when, *given) is True) != example.fires:
                does = "does not fire" if example.fires else "fires"
                yield authored.problem(
                    at, "wrong-example", f"the rule {does} on this example", "correct the rule or the example"
                )


def _given(book: RuleBook, given: Mapping[str, object]) -> tuple[dict[str, bool], dict[str, object]] | str:
    findings: dict[str, bool] = {}
    values: dict[str, object] = {}
    for name, raw in given.items():
        if name in book.findings and raw in ("present", "absent"):
            findings[name] = raw == "present"
        elif name in book.quantities:
            try:
                values[name] = read_value(book.quantities[name], raw)
            except UnitError as error:
                return str(error)
        else:
            return f"no finding or quantity is called `{name}`, or it is not `present` or `absent`"
    return findings, values


def findings_can_be_learnt(book: RuleBook, entries: Entries) -> Found:
    """Every finding that a cause shows can be asked, checked or inferred; every finding serves something."""
    learnt: set[str] = set()
    for check in book.checks.values():
        for outcome in check.outcomes:
            learnt |= {*outcome.present, *outcome.absent}
    used: set[str] = set()
    for rule in book.inference.values():
        learnt |= {*rule.present, *rule.absent}
        used |= names_in(rule.when)[0]
    for cause in book.causes.values():
        used |= set(cause.shows)
    for review in book.reviews.values():
        used |= {*review.wrong, *review.doubtful}
    for finding in book.findings.values():
        authored = entries["findings"][finding.id]
        if finding.id not in used and finding.keep_away is None:
            text = f"no cause shows `{finding.id}`, and no rule and no review uses it"
            yield authored.problem((), "idle-finding", text, "let a cause show it, or delete it")
        if finding.id not in learnt and not finding.phrases:
            text = f"nothing can find out whether `{finding.id}` is present"
            yield authored.problem((), "unreachable-finding", text, "give it a question, or a check that sets it")


def hazards_say_what_to_do(book: RuleBook, entries: Entries) -> Found:
    """A finding that stops all work can be asked for, says what to do, and who must come."""
    for finding in book.findings.values():
        away, authored = finding.keep_away, entries["findings"][finding.id]
        if away is None:
            continue
        if not finding.question:
            text = f"`{finding.id}` stops all work and has no question"
            yield authored.problem((), "missing-field", text, "add `question:`, so that it can be asked for")
        if not away.do:
            text = "`do` of `keep-away` says nothing"
            yield authored.problem(("keep-away", "do"), "missing-field", text, "write what to do at once, in order")


VALIDATIONS: tuple[Callable[[RuleBook, Entries], Found], ...] = (
    sources_exist,
    causes_refer,
    complaints_say_what_is_wrong,
    shares_are_shares,
    quantities_are_of_one_kind,
    names_are_unambiguous,
    hazards_lead_to_checks,
    parts_of_dangers_have_a_rule,
    strengths_are_probabilities,
    steps_refer,
    works_say_who,
    causes_and_findings_apply,
    checks_lead_somewhere,
    interim_remedies_fit,
    remedies_are_proved,
    quantities_can_be_calculated,
    terms_mean_what_they_mean,
    reviews_refer,
    analyses_refer,
    amounts_fit,
    headings_say_one_thing,
    spellings_lead_to_units,
    data_sheet_is_in_order,
    rules_refer,
    rules_do_as_their_examples,
    findings_can_be_learnt,
    phrases_say_something,
    hazards_say_what_to_do,
    cautions_and_states_refer,
    disturbances_are_put_back,
    what_is_done_once_refers,
    what_remedies_hide_refers,
    safeguards_refer,
    steps_are_safeguarded,
)
