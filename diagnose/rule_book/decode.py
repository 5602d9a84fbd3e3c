"""From plain data with places to frozen types, with every problem told at its place.

msgspec says what a value must be; this module walks the fields so that all problems come at once, unknown keys get a
"did you mean", and one word may stand where a list of words is wanted.
"""

from __future__ import annotations

import re
import types
import typing
from functools import cache
from typing import Any, TypeVar

import msgspec

from diagnose.place import Problem, did_you_mean
from diagnose.yaml_places import Document, KeyPath

T = TypeVar("T", bound=msgspec.Struct)

_TYPE_NAMES = {
    "dict": "a mapping",
    "object": "a mapping",
    "array": "a list",
    "str": "text",
    "float": "a number",
    "int": "a whole number",
    "bool": "true or false",
    "null": "nothing",
}


def decode(struct: type[T], data: Any, document: Document, path: KeyPath) -> tuple[T | None, list[Problem]]:
    """Return ``data`` as ``struct`` with no problems, or None with all of them."""
    if not isinstance(data, dict):
        return None, [document.problem(path, "wrong-type", f"expected a mapping, got {name_of(data)}")]
    problems: list[Problem] = []
    values: dict[str, Any] = {}
    hints = _hints(struct)
    fields = _fields(struct)
    for key, value in data.items():
        if key not in fields:
            known = ", ".join(sorted(fields))
            problems.append(
                document.problem(
                    (*path, key),
                    "unknown-field",
                    f"there is no field `{key}` here",
                    did_you_mean(key, fields, f"the fields are: {known}"),
                    of_key=True,
                )
            )
            continue
        name = fields[key].name
        values[name], found = _value(hints[name], value, document, (*path, key))
        problems += found
    for key, item in fields.items():
        if item.required and key not in data:
            problems.append(document.problem(path, "missing-field", f"`{key}` is missing", f"add `{key}:`"))
        elif item.required and _is_blank(values.get(item.name)):
            problems.append(_empty(document, (*path, key)))
    if problems:
        return None, problems
    return struct(**values), []


def salvage(struct: type[T], data: dict[str, Any], document: Document, path: KeyPath) -> T:
    """Return what is readable of an entry with problems, and placeholders for the rest.

    Only for looking at what else is wrong: the names that it refers to.
    """
    hints = _hints(struct)
    values: dict[str, Any] = {}
    for item in _fields(struct).values():
        raw = data.get(item.encode_name)
        if isinstance(raw, dict) and typing.get_origin(hints[item.name]) is dict:
            inner = typing.get_args(hints[item.name])[1]
            read = {key: _value(inner, each, document, (*path, item.encode_name, key)) for key, each in raw.items()}
            values[item.name] = {key: pair[0] for key, pair in read.items() if not pair[1]}
        elif item.encode_name in data:
            value, problems = _value(hints[item.name], raw, document, (*path, item.encode_name))
            if not problems:
                values[item.name] = value
        if item.required and item.name not in values:
            values[item.name] = _placeholder(hints[item.name])
    return struct(**values)


def _placeholder(hint: Any) -> Any:
    origin = typing.get_origin(hint)
    if origin is typing.Literal:
        return typing.get_args(hint)[0]
    if isinstance(hint, type) and issubclass(hint, msgspec.Struct):
        required = [item.name for item in _fields(hint).values() if item.required]
        return hint(**{name: _placeholder(_hints(hint)[name]) for name in required})
    return {str: "", float: 1.0, tuple: (), dict: {}}.get(origin or hint, ())


def name_of(value: Any) -> str:
    """Return what kind of value this is, in an author's words."""
    if value is None:
        return "nothing"
    kinds = {bool: "true or false", int: "a number", float: "a number", str: "text", list: "a list"}
    return kinds.get(type(value), "a mapping")


@cache
def _fields(struct: type[msgspec.Struct]) -> dict[str, msgspec.structs.FieldInfo]:
    return {item.encode_name: item for item in msgspec.structs.fields(struct)}


@cache
def _hints(struct: type) -> dict[str, Any]:
    return typing.get_type_hints(struct)


def _value(hint: Any, value: Any, document: Document, path: KeyPath) -> tuple[Any, list[Problem]]:
    """Return ``value`` as ``hint`` wants it, and the problems."""
    if isinstance(value, msgspec.Struct):  # prepared already (a condition)
        return value, []
    if isinstance(hint, type) and issubclass(hint, msgspec.Struct):
        return decode(hint, value, document, path)
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if origin is types.UnionType and value is not None and types.NoneType in inner:
        return _value(next(each for each in inner if each is not types.NoneType), value, document, path)
    if origin is tuple and len(inner) == 2 and inner[1] is Ellipsis:
        return _sequence(inner[0], value, document, path)
    if origin is dict and isinstance(value, dict):
        pairs = {key: _value(inner[1], item, document, (*path, key)) for key, item in value.items()}
        problems = [problem for key in value for problem in _key(inner[0], key, document, (*path, key))]
        problems += [problem for pair in pairs.values() for problem in pair[1]]
        return {key: pair[0] for key, pair in pairs.items()}, problems
    return _leaf(hint, value, document, path)


def _is_blank(value: Any) -> bool:
    return isinstance(value, str) and not value.strip()


def _empty(document: Document, path: KeyPath) -> Problem:
    return document.problem(path, "empty-text", "there is nothing in this text", "write something, or leave it out")


def _key(hint: Any, key: str, document: Document, path: KeyPath) -> list[Problem]:
    """Return a problem where only certain words may stand before the colon, and this is none of them."""
    words = [str(each) for each in typing.get_args(hint)]
    if not words or key in words:
        return []
    text = f"`{key}` is not one of: {', '.join(words)}"
    return [document.problem(path, "wrong-type", text, did_you_mean(key, words), of_key=True)]


def _sequence(inner: Any, value: Any, document: Document, path: KeyPath) -> tuple[Any, list[Problem]]:
    if isinstance(value, str | int | float) and inner is str:
        value = [value]
    if not isinstance(value, list):
        return None, [document.problem(path, "wrong-type", f"expected a list, got {name_of(value)}")]
    decoded, problems = [], []
    for number, item in enumerate(value):
        if inner is str and isinstance(item, int | float) and not isinstance(item, bool):
            item = str(item)
        one, found = _value(inner, item, document, (*path, number))
        decoded.append(one)
        problems += [_empty(document, (*path, number))] if inner is str and _is_blank(one) else found
    return tuple(decoded), problems


def _leaf(hint: Any, value: Any, document: Document, path: KeyPath) -> tuple[Any, list[Problem]]:
    try:
        return msgspec.convert(value, hint), []
    except msgspec.ValidationError as error:
        return None, [document.problem(path, "wrong-type", *_in_plain_words(str(error), hint, value))]


def _in_plain_words(message: str, hint: Any, value: Any) -> tuple[str, str]:
    choices = typing.get_args(hint) if typing.get_origin(hint) is typing.Literal else ()
    if choices:
        words = [str(each) for each in choices if each != ""]
        shown = str(value).lower() if isinstance(value, bool) else value
        return f"`{shown}` is not one of: {', '.join(words)}", did_you_mean(str(value), words)
    match = re.match(r"Expected `([^`]+)`, got `([^`]+)`", message)
    if match:
        wanted = " or ".join(_TYPE_NAMES.get(part.strip(), part.strip()) for part in match[1].split("|"))
        return f"expected {wanted}, got {name_of(value)}", "put it in quotes" if "text" in wanted else ""
    return message[0].lower() + message[1:], ""
