"""One entry of the rule book in words, with everything that refers to it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import msgspec

from diagnose.rule_book.book import RuleBook
from diagnose.rule_book.conditions import names_in
from diagnose.rule_book.work import Work

PARTS = (
    "causes",
    "findings",
    "checks",
    "remedies",
    "inference",
    "quantities",
    "cautions",
    "states",
    "disturbances",
    "safeguards",
    "sources",
)


def described(rule_book: RuleBook, name: str) -> tuple[str, list[str]]:
    """Return every entry called ``name`` in words (empty when there is none), and all names there are."""
    known: list[str] = []
    found: list[str] = []
    for part in PARTS:
        items: Mapping[str, msgspec.Struct] = getattr(rule_book, part)
        known += items
        if name in items:
            found.append("\n".join([f"{part}: {name}", *_fields(items[name])]))
    if found:
        found.append("\n".join(["used by:", *(f"  {line}" for line in _uses(rule_book, name))]))
    return "\n\n".join(found), known


def _fields(item: msgspec.Struct) -> Iterator[str]:
    for field in msgspec.structs.fields(item):
        value = getattr(item, field.name)
        if value in ("", (), {}, None):
            continue
        plain = msgspec.to_builtins(value)
        if isinstance(plain, dict):
            yield f"  {field.encode_name}:"
            yield from (f"    {key}: {each}" for key, each in plain.items())
        elif isinstance(plain, list | tuple):
            yield f"  {field.encode_name}:"
            yield from (f"    - {each}" for each in plain)
        else:
            yield f"  {field.encode_name}: {str(plain).strip()}"


def _uses(rule_book: RuleBook, name: str) -> list[str]:
    lines = []
    for cause in rule_book.causes.values():
        if name in cause.shows:
            lines.append(f"cause {cause.id} shows it with {cause.shows[name]:g}")
        if name in (cause.remedy, *cause.looks_like):
            lines.append(f"cause {cause.id}")
    for check in rule_book.checks.values():
        settled = {each for outcome in check.outcomes for each in (*outcome.present, *outcome.absent)}
        if name in {*settled, check.measures, check.expect}:
            lines.append(f"check {check.id}")
    works: tuple[Work, ...] = (*rule_book.checks.values(), *rule_book.remedies.values())
    lines += [f"{type(each).__name__.lower()} {each.id} disturbs it" for each in works if name in each.disturbs]
    for state in rule_book.states.values():
        lines += [f"bringing {state.id} to {each.to} disturbs it" for each in state.changes if name in each.disturbs]
    for rule in rule_book.inference.values():
        if name in {*rule.present, *rule.absent}:
            lines.append(f"rule {rule.id} concludes it")
        elif name in names_in(rule.when)[0] | names_in(rule.when)[1]:
            lines.append(f"rule {rule.id} asks for it")
    lines += [f"remedy {each.id} can wait for it" for each in rule_book.lasting(name)]
    lines += [f"remedy {each.id} is proved by it" for each in rule_book.remedies.values() if each.proved_by == name]
    return lines or ["nothing"]
