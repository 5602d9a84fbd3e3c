"""What mechanisms and signs name exists, and the forms that a cause takes are shares of a whole."""

from __future__ import annotations

from diagnose.place import did_you_mean
from diagnose.rule_book.analysis_names import CURVES, DETECTORS, MODELS
from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.limits import ROUNDING
from diagnose.rule_book.referring import Entries, Found, reference
from diagnose.yaml_places import Document


def analyses_refer(book: RuleBook, entries: Entries) -> Found:
    """Mechanisms and signs name what can be reckoned and show known findings; the shares of a cause are at most one."""
    said = book.settings.comparisons
    for mechanism in book.mechanisms.values():
        authored = entries["mechanisms"][mechanism.id]
        if mechanism.causes and not (said.nothing and said.another):
            text = "book.yaml does not say which mechanism stands for no difference, and which for any other"
            yield authored.problem(
                ("causes",), "missing-field", text, "add `comparisons:` with `nothing` and `another`"
            )
        for against, shares in mechanism.causes.items():
            for name, share in shares.items():
                at = ("causes", against, name)
                yield from reference(book, entries, ("mechanisms", mechanism.id), at, name, "causes")
                together = sum(each.causes.get(against, {}).get(name, 0.0) for each in book.mechanisms.values())
                if not 0 < share <= 1 or together > 1 + ROUNDING:
                    text = f"the forms of `{name}` have shares of {together:g} together, this one {share:g}"
                    help = "each is more than zero, and all of a cause at most 1; what is left is another difference"
                    yield authored.problem(at, "bad-figure", text, help)
        if mechanism.model not in MODELS:
            help = did_you_mean(mechanism.model, MODELS, f"the models are: {', '.join(MODELS)}")
            text = f"no model is called `{mechanism.model}`"
            yield authored.problem(("model",), "unknown-model", text, help)
    yield from _signs_refer(book, entries)


def _signs_refer(book: RuleBook, entries: Entries) -> Found:
    """Signs name detectors and findings that there are; their figures are possible."""
    for sign in book.signs.values():
        for key, names in (("shows", sign.shows), ("denies", sign.denies)):
            for number, name in enumerate(names):
                yield from reference(book, entries, ("signs", sign.id), (key, number), name, "findings")
        if not 0 < sign.sensitivity < 1:
            text = f"{sign.sensitivity:g} is no share of the faults that a detector sees; none sees all of them"
            help = "write a figure between 0 and 1, from `python -m tests.benchmarks false-alarms`"
            yield entries["signs"][sign.id].problem(("sensitivity",), "bad-figure", text, help)
        if sign.now_and_then < 1:
            text = "a sign is seen once at least"
            yield entries["signs"][sign.id].problem(("now-and-then",), "bad-figure", text, "write 1 or more")
        if sign.detector not in DETECTORS:
            help = did_you_mean(sign.detector, DETECTORS, f"the detectors are: {', '.join(DETECTORS)}")
            text = f"no detector is called `{sign.detector}`"
            yield entries["signs"][sign.id].problem(("detector",), "unknown-detector", text, help)


def comparisons_refer(book: RuleBook, document: Document) -> Found:
    """What ``book.yaml`` says of comparisons names mechanisms and findings that there are, and shares of a whole."""
    said = book.settings.comparisons
    several = ((("several", each), each) for each in said.several)
    named = [(("nothing",), said.nothing), (("another",), said.another), *several]
    for at, name in named:
        if name and name not in book.mechanisms:
            help = did_you_mean(name, book.mechanisms, "name a mechanism, one each for `nothing` and `another`")
            yield document.problem(("comparisons", *at), "unknown-mechanism", f"no mechanism is called `{name}`", help)
    for against, names in said.speak_of.items():
        for number, name in enumerate(names):
            if name not in book.findings:
                help = did_you_mean(name, book.findings, "name a finding of which such a comparison speaks")
                yield document.problem(
                    ("comparisons", "speak-of", against, number),
                    "unknown-finding",
                    f"no finding is called `{name}`",
                    help,
                )
    for name in said.curves:
        if name not in CURVES:
            help = did_you_mean(name, CURVES, f"the curves of several mechanisms are: {', '.join(CURVES)}")
            text = f"no mechanisms share a curve `{name}`"
            yield document.problem(("comparisons", "curves", name), "unknown-name", text, help, of_key=True)
    for name, share in (("mistaken", said.mistaken), ("unlisted", said.unlisted)):
        if not 0 <= share < 1:
            text = f"`{name}` is a share, and {share:g} is none"
            yield document.problem(("comparisons", name), "bad-figure", text, "write a share such as 0.002")
