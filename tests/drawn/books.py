"""Whole drawn rule books: entries of every kind that refer to each other, most of them as they must."""

from __future__ import annotations

from typing import Any, get_args

from hypothesis import strategies as st

from diagnose.rule_book.analysis_names import CURVES, DETECTORS, MODELS
from diagnose.rule_book.patterns import HeadingMeaning
from tests.drawn import plant, texts
from tests.drawn.conditions import condition
from tests.drawn.pen import Pen
from tests.drawn.plant import Drawn, Entry

STRENGTHS = {"sometimes": 0.2, "usually": 0.8, "nearly always": 0.985, "50%": 0.5, "no": 0.025}
KINDS = ("standard", "handbook", "report", "common practice", "estimate", "from memory")
SIGNALS = ("failure", "function check", "out of specification", "maintenance required", "good")


@st.composite
def rule_books(draw: st.DrawFn) -> dict[str, Any]:
    """Draw a rule book as its files: name → data."""
    return draw_book(Pen(draw))


def draw_book(pen: Pen) -> dict[str, Any]:
    """Return a drawn rule book as its files: name → data."""
    book = Drawn()
    _sources(pen, book)
    plant.draw_hazards(pen, book)
    plant.draw_quantities(pen, book)
    plant.draw_states(pen, book)
    plant.draw_cautions(pen, book)
    plant.draw_disturbances(pen, book)
    book.findings = pen.ids(6, 1, [each["id"] for each in book.entries.get("quantities", [])])
    _checks(pen, book)
    _remedies_and_causes(pen, book)
    _rules(pen, book)
    _findings(pen, book)
    _patterns(pen, book)
    _nothing_idle(pen, book)
    return {"book.yaml": _settings(pen, book), **_files(pen, book)}


def _sources(pen: Pen, book: Drawn) -> None:
    for number in range(pen.whole(1, 3)):
        name = pen.one(("estimate", "common practice", "IEC [1] {0}", "日本"))
        if name in book.sources:
            continue
        book.sources.append(name)
        slug = name.lower().replace(" ", "-")
        slug = slug if all(word.isalnum() for word in slug.split("-")) else f"s-{number}"
        book.sources[-1] = name if slug == name.lower().replace(" ", "-") else slug
        book.add("sources", {"id": slug, "citation": pen.text(), "kind": pen.one(KINDS)})
    for name in pen.ids(2):
        book.areas.append(name)
        book.add("areas", {"id": name, "title": pen.text(), "source": book.sources[0]})


def _settings(pen: Pen, book: Drawn) -> Entry:
    entry: Entry = {
        "title": pen.text(),
        "several-at-once": pen.one((0.08, 0.5, 0.999, 0.0001)),
        "strengths": STRENGTHS,
        "frequencies": {"rare": pen.one((0.3, 1e-9)), "common": pen.one((3, 1e9))},
        "leaks": {"seldom": 0.01, "almost never": 0.002},
        "exposure-minutes": pen.one(({"danger": 20, "warning": 6, "caution": 2, "notice": 0}, {})),
        "call-out-minutes": pen.one((180, 0, 100_000)),
        "question-minutes": pen.one((1, 0)),
        "remedy-works": pen.one((0.95, 0.01, 0.999)),
        "word-sets": texts.WORD_SETS,
    }
    for key, values in _FIGURES.items():
        pen.put(entry, key, pen.one(values), 3)
    for key in (
        "about-meters",
        "about-plants",
        "about-others",
        "about-instruments",
        "about-several",
        "things",
        "other-things",
        "other-owners",
    ):
        pen.put(entry, key, pen.phrases(3), 4)
    pen.put(entry, "same-words", {"lamp": ["bulb", "light"], "dark": ["dim"]}, 5)
    pen.put(entry, "persons", {pen.one(plant.COMPETENCES): pen.phrases(2, 1)}, 4)
    pen.put(entry, "misread", pen.one(({"affirmed": 0.02, "denied": 0.2}, {"affirmed": 0.5}, {"denied": 0.999})), 2)
    pen.put(entry, "intermittent", pen.one(book.findings), 4)
    _comparisons(pen, book, entry)
    if book.on_sheet and pen.seldom(2):
        groups = {pen.text(): book.on_sheet[:2], pen.text() + " too": book.on_sheet[2:]}
        entry["data-sheet"] = {group: names for group, names in groups.items() if names}
        fields = [name for name in book.on_sheet if name in book.choices]
        if fields:
            group, name = pen.one(list(entry["data-sheet"])), pen.one(fields)
            pen.put(entry, "data-sheet-applies", {group: {name: pen.some(book.choices[name], 2, 1)}}, 3)
    pen.put(entry, "big-remedies", pen.one(({"minutes": 60}, {"small-parts": []}, {"minutes": 0})), 4)
    return entry


def _comparisons(pen: Pen, book: Drawn, entry: Entry) -> None:
    mechanisms = [each["id"] for each in book.entries.get("mechanisms", [])]
    if not mechanisms:
        return
    said: Entry = {"nothing": pen.one(mechanisms), "another": pen.one(mechanisms)}
    pen.put(said, "several", {pen.one(mechanisms): pen.one((1, 0.3))}, 2)
    pen.put(said, "curves", {pen.one(CURVES): pen.text()}, 2)
    pen.put(said, "mistaken", pen.one((0, 0.02, 0.999)), 2)
    pen.put(said, "unlisted", pen.one((0, 0.05, 0.999)), 2)
    pen.put(said, "speak-of", {pen.one(_AGAINST): pen.some(book.findings, 3)}, 1)
    said |= {"lists": {"figures": [1, 1.5, 2, 2.5]}, "unknown-upper-range": {"between": [0.95, 4], "by-factor": True}}
    entry["comparisons"] = said


_FIGURES: dict[str, tuple[float, ...]] = {
    "result-misread": (0.05, 0.999),
    "needless-remedy-minutes": (30, 100_000),
    "seen-while-it-shows": (0.3, 0.001, 1),
    "exposed-counts": (0.3, 0.001, 1),
    "act-from": (0.5, 0.999),
    "outside-after-answers": (1, 3, 25),
    "outside-below": (0.3, 0.999),
    "outside-in-vain-counts": (2, 0.5),
    "outside-passed-over-counts": (1, 0.1),
    "wording-weight": (1.6, 100),
    "wording-off-the-point": (0.15, 0.999),
}


def _outcomes(pen: Pen, book: Drawn, competence: str) -> list[Entry]:
    found = []
    for number in range(pen.whole(2, 4)):
        chosen = pen.some(book.findings, 3)
        cut = pen.whole(0, len(chosen))
        outcome: Entry = {"answer": pen.one((f"answer {number}", f"{pen.text()} {number}"))}
        pen.put(outcome, "present", chosen[:cut], 1)
        pen.put(outcome, "absent", chosen[cut:], 1)
        pen.put(outcome, "means", pen.text(), 3)
        pen.put(outcome, "standing-only", True, 6)
        pen.put(outcome, "disturbs", pen.some(list(book.disturbances), 1), 6)
        found.append(outcome)
    if not any(each.get("present") or each.get("absent") for each in found):
        found[0]["present"] = pen.some(book.findings, 1, 1)
    return found


def _checks(pen: Pen, book: Drawn) -> None:
    book.checks = pen.ids(4)
    for name in book.checks:
        entry = plant.step(pen, book, {"id": name, "ask": pen.text(), "source": pen.one(book.sources)})
        measured = [*book.figures, *book.choices]
        if measured and pen.seldom(3):
            entry["measures"] = pen.one(measured)
            pen.put(entry, "expect", pen.one(measured), 3)
        if "measures" not in entry or pen.seldom(3):
            entry["outcomes"] = _outcomes(pen, book, entry["competence"])
        pen.put(entry, "disturbs", plant.disturbs(pen, book, entry["competence"]), 2)
        pen.put(entry, "only-proves", True, 6)
        pen.put(entry, "provokes", pen.one(("at once", "in time")), 6)
        pen.put(entry, "takes", pen.one(("reference", "control-system", "counter", "log")), 6)
        _once(pen, book, entry)
        book.add("checks", entry)


def _once(pen: Pen, book: Drawn, entry: Entry) -> None:
    once: Entry = {"unless": pen.some(book.checks, 2)}
    pen.put(once, "told-by", pen.some(book.findings, 2), 2)
    pen.put(entry, "once", once, 6)


def _remedy(pen: Pen, book: Drawn, entry: Entry) -> Entry:
    plant.step(pen, book, entry)
    entry["proved-by"] = pen.one(book.checks)
    pen.put(entry, "parts", pen.some(("bulb", "[fuse]", "{0}"), 2), 3)
    pen.put(entry, "works", pen.one(("nearly always", "sometimes", 0.999, 0.5)), 2)
    pen.put(entry, "escalates", True, 6)
    pen.put(entry, "big", pen.one((True, False)), 4)
    pen.put(entry, "disturbs", plant.disturbs(pen, book, entry["competence"]), 3)
    _once(pen, book, entry)
    return entry


def _remedies_and_causes(pen: Pen, book: Drawn) -> None:
    book.causes = pen.ids(6, 1, book.checks)
    free = [f"mend-{number}" for number in range(pen.whole(0, min(3, len(book.causes))))]
    for name in free:
        book.add("remedies", _remedy(pen, book, {"id": name, "source": pen.one(book.sources)}))
    for number, name in enumerate(book.causes):
        entry: Entry = {"id": name, "title": pen.text(), "area": pen.one(book.areas), "explanation": pen.text()}
        entry |= {"frequency": pen.one(("common", "rare", 1, 0.001)), "signal": pen.one(SIGNALS)}
        shown = pen.some(book.findings, 4)
        entry["shows"] = {each: pen.one((*STRENGTHS, 0.001, 0.9999)) for each in shown}
        entry["remedy"] = free[number] if number < len(free) else _remedy(pen, book, {})
        if isinstance(entry["remedy"], str):
            later = [each for each in book.entries["remedies"] if each["id"] == entry["remedy"]]
            pen.put(later[0], "interim", "for-now", 3)
        pen.put(entry, "applies", plant.applies(pen, book), 4)
        pen.put(entry, "frequency-where", plant.frequencies(pen, book), 4)
        pen.put(entry, "signal-because", pen.text(), 4)
        pen.put(entry, "looks-like", pen.some(book.causes, 2), 3)
        pen.put(entry, "follow-up", pen.text(), 3)
        pen.put(entry, "described-as", pen.phrases(3), 3)
        pen.put(entry, "shows-others", pen.one((0.1, 0.9, "sometimes")), 5)
        book.add("causes", {**entry, "source": pen.one(book.sources)})
    if any(each.get("interim") for each in book.entries.get("remedies", [])):
        interim = _remedy(pen, book, {"id": "for-now", "source": pen.one(book.sources)})
        book.add("remedies", {**interim, "big": False, "escalates": False})


def _rules(pen: Pen, book: Drawn) -> None:
    for name in pen.ids(4, 0):
        told = condition(pen, book)
        concluded = [each for each in book.findings if told is None or each not in told.true]
        if told is None or not concluded:
            continue
        chosen = pen.some(concluded, 2, 1)
        then = {"present": chosen[:1], "absent": chosen[1:]} if len(chosen) > 1 else {pen.one(_SAYS): chosen[0]}
        examples = [{"given": told.true, "fires": True}, {"given": told.false, "fires": False}]
        entry: Entry = {"id": name, "when": told.raw, "then": then, "because": pen.text(), "examples": examples}
        book.add("inference", {**entry, "source": pen.one(book.sources)})


_SAYS = ("present", "absent")


def _findings(pen: Pen, book: Drawn) -> None:
    for name in book.findings:
        entry: Entry = {"id": name, "title": pen.text(), "source": pen.one(book.sources)}
        pen.put(entry, "kind", pen.one(("symptom", "history", "result", "circumstance")), 2)
        pen.put(entry, "question", pen.text(), 2)
        pen.put(entry, "minutes", pen.minutes(), 5)
        if entry.get("kind") not in ("history", "circumstance") or pen.seldom(20):
            pen.put(entry, "complaint", pen.one(("common", "other")), 2)
        pen.put(entry, "leak", pen.one(("seldom", "almost never", 0.01, 0.999)), 2)
        pen.put(entry, "alternatives", pen.one(("brightness", "[x]")), 4)
        pen.put(entry, "applies", plant.applies(pen, book), 5)
        pen.put(entry, "together", pen.some(("<dark> lamp", "very [red]", "{0} <very>"), 2), 6)
        pen.put(entry, "holds-off", pen.some(list(book.disturbances), 1), 6)
        for key, one_in in _PHRASES.items():
            pen.put(entry, key, pen.phrases(3, 1), one_in)
        if pen.seldom(5):
            entry["keep-away"] = _keep_away(pen, book, name)
            entry.setdefault("question", pen.text())
        book.add("findings", entry)


_PHRASES = {
    "phrases": 2, "denied-by": 4, "sounds-like": 6, "not-with": 6, "said-alone": 6, "word-for-word": 6, "may-tell": 6,
    "subject": 8,
}  # fmt: skip
"""Field of a finding with phrases → one in how many has it."""


def _keep_away(pen: Pen, book: Drawn, name: str) -> Entry:
    entry: Entry = {"do": pen.lines(2), "who": pen.text()}
    pen.put(entry, "afterwards", pen.some(_that_find_no(pen, book, name), 2), 2)
    asked = [each["id"] for each in book.entries.get("states", []) if each.get("ask")]
    pen.put(entry, "changes", pen.some(asked, 2), 2)
    return entry


def _that_find_no(pen: Pen, book: Drawn, hazard: str) -> list[str]:
    """Return the checks that do not find a hazard again once it is over, as a rule: that would never end."""
    return [
        check["id"]
        for check in book.entries["checks"]
        if pen.seldom(20) or not any(hazard in each.get("present", []) for each in check.get("outcomes", []))
    ]


def _patterns(pen: Pen, book: Drawn) -> None:
    for number in range(pen.whole(0, 2)):
        source = pen.one(book.sources)
        review: Entry = {"id": f"point-{number}", "title": pen.text(), "wrong": pen.some(book.findings, 2, 1)}
        pen.put(review, "doubtful", pen.some(book.findings, 2), 2)
        pen.put(review, "shows", pen.some([*book.figures, *book.choices], 3), 2)
        pen.put(review, "advice", pen.text(), 2)
        pen.put(review, "applies", plant.applies(pen, book), 4)
        book.add("reviews", {**review, "source": source})
        _contradiction(pen, book, number)
        mechanism: Entry = {"id": f"m-{number}", "title": pen.text(), "model": pen.one(list(MODELS))}
        mechanism |= {"look": pen.text(), "remedy": pen.text(), **_amounts(pen, mechanism["model"])}
        causes = [each["id"] for each in book.entries.get("causes", [])]
        forms = {name: pen.one((0.3, 1e-9, 0.5)) for name in pen.some(causes, 2)}
        pen.put(mechanism, "causes", {pen.one(_AGAINST): forms}, 2)
        book.add("mechanisms", {**mechanism, "source": source})
        sign: Entry = {"id": f"sign-{number}", "title": pen.text(), "detector": pen.one(DETECTORS), "means": pen.text()}
        sign["sensitivity"] = pen.one((0.5, 0.9, 0.95, "80 %"))
        pen.put(sign, "shows", pen.some(book.findings, 2), 2)
        pen.put(sign, "denies", pen.some(book.findings, 2), 3)
        book.add("signs", {**sign, "source": source})
        heading: Entry = {"id": f"heading-{number}", "title": pen.text(), "means": pen.some(_MEANINGS, 2, 1)}
        book.add("headings", {**heading, "words": [f"head{number}", f"*meter{number}"], "source": source})
    if pen.seldom(3):
        book.add("safeguards", _safeguard(pen, book))


_OF_RATIOS: tuple[Entry, ...] = (
    {"around": 1, "usually-off": "3 %", "by-factor": True},
    {"ratios-of": "figures", "between": [0.5, 2]},
    {"neighbours-of": "figures", "steps": 2},
    {"one-of": [10, 0.1], "weights": [3, 1]},
    {"mixed-up": {"m3/h": 4}, "own-unit": 2},
    {"between": [0.2, 5], "by-factor": True},
)
_OF_SHARES: tuple[Entry, ...] = ({"usually": "3 %", "at-most": "30 %"}, {"between": ["0.001 %", "100 %"]})
_HELD: dict[str, tuple[Entry, ...]] = {
    "ratio": _OF_RATIOS,
    "share": (*_OF_SHARES, {"one-of": ["5 %", "10 %"]}),
    "flow": (
        *_OF_SHARES,
        {"figures-of": "figures", "between": [0.05, 1.1]},
        {"around": 0, "usually-off": "2 %", "as-velocity": "5 mm/s"},
    ),
    "range": _OF_SHARES,
    "current": ({"around": 0, "usually-off": "0.4 mA", "gained": "33 %"}, {"between": ["-1 mA", "1 mA"]}),
}


def _amounts(pen: Pen, model: str) -> Entry:
    """Return what is held of the open amounts of a curve, now and then in two ways."""

    def held() -> Entry:
        return {name: pen.one(_HELD[kind]) for name, kind in MODELS[model].items()}

    if not MODELS[model]:
        return {}
    if pen.seldom(3):
        return {"either": [{"share": 0.25, "amounts": held()}, {"share": 0.75, "amounts": held()}]}
    return {"amounts": held()}


_MEANINGS = get_args(HeadingMeaning)
_AGAINST = ("reference", "control-system", "counter")


def _contradiction(pen: Pen, book: Drawn, number: int) -> None:
    told = condition(pen, book)
    if told is None or not book.on_sheet:
        return
    entry: Entry = {"id": f"clash-{number}", "when": told.raw, "field": pen.one(book.on_sheet), "because": pen.text()}
    words = book.choices.get(entry["field"])
    if words:
        pen.put(entry, pen.one(("adds", "overrules")), pen.one(words), 2)
    pen.put(entry, "help", pen.text(), 2)
    book.add("contradictions", {**entry, "source": pen.one(book.sources)})


def _safeguard(pen: Pen, book: Drawn) -> Entry:
    where = pen.one(({"words": ["xyzzy ... [red]", "# mA", "over/under* {0}"]}, {"tools": ["hammer"]}))
    must: Entry = {"say": pen.phrases(2, 1)}
    pen.put(must, "competence", pen.one(plant.COMPETENCES), 2)
    pen.put(must, "meet", pen.some(book.hazards, 1), 2)
    return {
        "id": "guard", "title": pen.text(), "where": where, "must": must, "write": pen.text(),
        "source": pen.one(book.sources),
    }  # fmt: skip


def _nothing_idle(pen: Pen, book: Drawn) -> None:
    """Let causes show what nothing uses, ask for what nothing finds out, disturb what nothing disturbs."""
    shown = {name for cause in book.entries["causes"] for name in cause["shows"]}
    learnt = {
        name
        for check in book.entries["checks"]
        for outcome in check.get("outcomes", [])
        for name in (*outcome.get("present", []), *outcome.get("absent", []))
    }
    for finding in book.entries["findings"]:
        if finding["id"] not in shown and "keep-away" not in finding:
            pen.one(book.entries["causes"])["shows"][finding["id"]] = pen.one(tuple(STRENGTHS))
        if finding["id"] not in learnt and not finding.get("phrases"):
            finding.setdefault("question", pen.text())
    for each in book.entries.get("disturbances", []):
        each.setdefault("told-as", ["somebody left it {0} [so]"])


def _files(pen: Pen, book: Drawn) -> dict[str, Any]:
    """Return the entries as files: a file for each, or one for all of a part."""
    files: dict[str, Any] = {}
    for part, entries in book.entries.items():
        if pen.seldom(3):
            named = {entry["id"].replace("-", "_"): entry for entry in entries}
            files |= {f"{part}/{'' if len(stem) < 40 else 'long/'}{stem}.yaml": entry for stem, entry in named.items()}
        else:
            files[f"{part}/all.yaml"] = {"entries": entries}
    return files
