"""YAML in which every value knows its place, read strictly.

Built on PyYAML's nodes rather than its loader, which would turn ``no`` into False and ``12:30`` into 750, take the
last of two equal keys, and lose the places. What is accepted is read alike by both parsers of PyYAML, the one in C and
the one in Python: not every machine has both. Accepted are mappings, sequences, plain decimal numbers, ``true`` and
``false``, and strings; anchors, aliases and tags are refused, so nothing can expand without end or be executed.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, TypeAlias

import yaml

from diagnose.bounded import LARGEST_FIGURE, RULE_FILE, YAML_LEVELS, Limit, TooLong, bytes_of
from diagnose.place import Place, Problem

KeyPath: TypeAlias = tuple[str | int, ...]
"""The way to a value in a document: ``("shows", "no-supply")``."""

_NUMBER = re.compile(r"[-+]?(?:0|[1-9]\d*)(?:\.\d+)?(?:e[-+]?\d+|E[-+]\d+)?")
"""A plain number. `8E1` is none: it is how the trade writes a character format."""
_UNSEEN = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""Characters that control a terminal or turn the direction of what follows, and halves of characters."""

_READ_DIFFERENTLY = re.compile("\t|\ufeff|[|>][-+0-9]*#")
"""Where the two parsers of PyYAML may differ: tabs, marks of byte order, comments that touch what they follow.

What has any of it is read with both. (A bare question mark inside brackets is another such place.)
"""

_NOT_ALIKE = "not every YAML reader reads this alike", "leave out tabs and characters that cannot be seen"

_LOADER: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass
class Document:
    """One YAML document: plain data, the place of every value and key, and the lines for messages."""

    file: str
    data: Any = None
    values: dict[KeyPath, Place] = field(default_factory=dict)
    keys: dict[KeyPath, Place] = field(default_factory=dict)
    lines: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def place(self, path: KeyPath, *, of_key: bool = False) -> Place:
        """Return the place of the value (or key) at ``path``, or of the nearest thing around it."""
        for end in range(len(path), -1, -1):
            here = path[:end]
            if of_key and here in self.keys:
                return self.keys[here]
            if here in self.values:
                return self.values[here]
        return Place(self.file)

    def problem(
        self, path: KeyPath, code: str, text: str, help: str = "", *, note: str = "", of_key: bool = False
    ) -> Problem:
        """Return a problem at ``path`` with its source line."""
        return self.problem_at(self.place(path, of_key=of_key), code, text, help, note=note)

    def problem_at(self, place: Place, code: str, text: str, help: str = "", *, note: str = "") -> Problem:
        """Return a problem at ``place`` with its source line."""
        line = self.lines[place.line - 1] if 0 < place.line <= len(self.lines) else ""
        return Problem(place, code, text, help, note, line)


def read_document(path: Path, shown_as: str, limit: Limit = RULE_FILE) -> Document:
    """Read a YAML file of at most so many bytes; what is wrong stands in the document's ``problems``."""
    where = Place(shown_as)
    try:
        text = io.StringIO(bytes_of(path, limit).decode(), newline=None).read()
    except UnicodeDecodeError:
        problem = Problem(where, "not-text", "the file is not UTF-8 text", "save it as UTF-8")
    except TooLong:
        problem = Problem(where, "too-large", f"the file is longer than {limit}", limit.instead)
    except OSError as error:
        reason = error.strerror or str(error)
        problem = Problem(where, "cannot-read", f"the file cannot be read: {reason}", "check name and rights")
    else:
        return parse_document(text, shown_as)
    return Document(shown_as, problems=[problem])


def parse_document(text: str, shown_as: str) -> Document:
    """Parse one YAML document.

    >>> document = parse_document("a: 1\\nb: [no, 2.5]\\n", "x.yaml")
    >>> document.data, str(document.place(("b", 1)))
    ({'a': 1, 'b': ['no', 2.5]}, 'x.yaml:2:9')
    >>> parse_document("a: 1\\na: 2\\n", "x.yaml").problems[0].in_one_line()
    'x.yaml:2:1: error[duplicate-key] `a` is there twice (the first is on line 1; keep one of them)'
    """
    document = Document(shown_as, lines=text.splitlines())
    try:
        node = yaml.compose(_without_aliases(text), Loader=_LOADER)
        if _READ_DIFFERENTLY.search(text) and list(_events(text, _LOADER)) != list(_events(text, yaml.SafeLoader)):
            document.problems.append(Problem(Place(shown_as), "yaml", *_NOT_ALIKE))
            return document
    except _AliasFound as found:
        document.problems.append(
            document.problem_at(
                found.place(shown_as), "anchor", "anchors and aliases are not accepted", "write the value out"
            )
        )
        return document
    except yaml.MarkedYAMLError as error:
        document.problems.append(_syntax_problem(document, error))
        return document
    except (yaml.YAMLError, RecursionError) as error:
        reason = "it is nested too deeply" if isinstance(error, RecursionError) else _first_line(error)
        document.problems.append(
            Problem(Place(shown_as), "yaml", f"not readable as YAML: {reason}", "write it more simply")
        )
        return document
    if node is None:
        document.problems.append(Problem(Place(shown_as), "empty-file", "the file holds nothing", "fill or delete it"))
        return document
    document.data = _build(document, node, (), in_flow=False)
    return document


class _AliasFound(Exception):
    """An anchor or alias stands in the text; raised before anything expands."""

    def __init__(self, mark: Any) -> None:
        self.mark = mark
        super().__init__()

    def place(self, file: str) -> Place:
        return Place(file, self.mark.line + 1, self.mark.column + 1)


def _without_aliases(text: str) -> str:
    """Return ``text`` unchanged, or raise when it holds an anchor, an alias, or nests too deeply."""
    depth = 0
    for event in yaml.parse(text, Loader=_LOADER):
        if isinstance(event, yaml.AliasEvent) or getattr(event, "anchor", None):
            raise _AliasFound(event.start_mark)
        if isinstance(event, yaml.CollectionStartEvent):
            depth += 1
            if depth > YAML_LEVELS:
                raise RecursionError
        elif isinstance(event, yaml.CollectionEndEvent):
            depth -= 1
    return text


def _events(text: str, loader: Any) -> Iterator[tuple[str, object]]:
    """Yield what a parser makes of a text, without places."""
    for event in yaml.parse(text, Loader=loader):
        yield type(event).__name__, getattr(event, "value", None)


def _first_line(error: Exception) -> str:
    return (str(error).splitlines() or ["unknown reason"])[0]


def _syntax_problem(document: Document, error: yaml.MarkedYAMLError) -> Problem:
    mark = error.problem_mark or error.context_mark
    place = Place(document.file, mark.line + 1, mark.column + 1) if mark else Place(document.file)
    line = document.lines[place.line - 1] if 0 < place.line <= len(document.lines) else ""
    text = f"not readable as YAML: {error.problem or error.context or 'unknown reason'}"
    help = "check indentation, colons and quotes in this line and the one before"
    if "\t" in line:
        text, help = (
            "there is a tab where YAML needs spaces",
            "put spaces there; at the end of a line, delete it",
        )
    return document.problem_at(place, "yaml", text, help)


def _build(document: Document, node: Any, path: KeyPath, in_flow: bool) -> Any:
    in_flow = in_flow or bool(getattr(node, "flow_style", False))
    mark = node.start_mark
    one_line = isinstance(node, yaml.ScalarNode) and node.end_mark.line == mark.line
    length = max(1, node.end_mark.column - mark.column) if one_line else 1
    document.values[path] = Place(document.file, mark.line + 1, mark.column + 1, length)
    if isinstance(node, yaml.MappingNode):
        if not _usual_tag(document, node, path, "map"):
            return None
        return _build_mapping(document, node, path, in_flow)
    if isinstance(node, yaml.SequenceNode):
        if not _usual_tag(document, node, path, "seq"):
            return None
        return [_build(document, item, (*path, number), in_flow) for number, item in enumerate(node.value)]
    if in_flow:
        _no_bare_question_mark(document, node, document.values[path])
    return _scalar(document, node, path)


def _no_bare_question_mark(document: Document, node: Any, place: Place) -> None:
    if not node.style and "?" in node.value:
        text = "inside [ ] or { } not every YAML reader takes a bare `?`"
        document.problems.append(document.problem_at(place, "bare-question-mark", text, "put it in quotes"))


def _build_mapping(document: Document, node: Any, path: KeyPath, in_flow: bool) -> dict[str, Any]:
    mapping: dict[str, Any] = {}
    for key_node, value_node in node.value:
        mark = key_node.start_mark
        key_place = Place(document.file, mark.line + 1, mark.column + 1, max(1, len(str(key_node.value))))
        if not isinstance(key_node, yaml.ScalarNode) or key_node.value == "<<":
            document.problems.append(
                document.problem_at(key_place, "bad-key", "a key must be one word", "write a plain name")
            )
            continue
        key = str(key_node.value)
        if in_flow:
            _no_bare_question_mark(document, key_node, key_place)
        if not _all_seen(document, key_place, key):
            continue
        here = (*path, key)
        if key in mapping:
            first = document.keys[here].line
            document.problems.append(
                document.problem_at(
                    key_place,
                    "duplicate-key",
                    f"`{key}` is there twice",
                    f"the first is on line {first}; keep one of them",
                )
            )
            continue
        document.keys[here] = key_place
        mapping[key] = _build(document, value_node, here, in_flow)
    return mapping


def _usual_tag(document: Document, node: Any, path: KeyPath, kind: str) -> bool:
    if node.tag == f"tag:yaml.org,2002:{kind}":
        return True
    document.problems.append(
        document.problem(path, "tag", f"the tag `{_short_tag(node.tag)}` is not accepted", "leave it off")
    )
    return False


def _short_tag(tag: str) -> str:
    return tag.replace("tag:yaml.org,2002:", "!!")


_SCALAR_TAGS = frozenset(
    f"tag:yaml.org,2002:{kind}" for kind in ("str", "int", "float", "bool", "null", "timestamp", "value", "merge")
)


def _scalar(document: Document, node: Any, path: KeyPath) -> Any:
    if node.tag not in _SCALAR_TAGS:
        document.problems.append(
            document.problem(path, "tag", f"the tag `{_short_tag(node.tag)}` is not accepted", "leave it off")
        )
        return None
    text = str(node.value)
    if not _all_seen(document, document.values[path], text):
        return None
    if node.style:  # quoted, literal or folded: a string whatever it looks like
        return text
    if text in ("true", "false"):
        return text == "true"
    if text in ("", "~", "null"):
        return None
    if _NUMBER.fullmatch(text):
        return _number(document, path, text)
    return text


def _all_seen(document: Document, place: Place, text: str) -> bool:
    """Tell whether a text can be shown as it is; if not, that is told.

    Written out, YAML takes hardly any of these characters; an escape in double quotes brings in every one.
    """
    found = _UNSEEN.search(text)
    if found is None:
        return True
    told = f"the character U+{ord(found.group()):04X} cannot be seen: it controls a terminal, or hides what is written"
    document.problems.append(document.problem_at(place, "unseen-character", told, "leave it out"))
    return False


def _number(document: Document, path: KeyPath, text: str) -> float | int | None:
    value = float(text)
    if abs(value) <= LARGEST_FIGURE:
        return value if re.search(r"[.eE]", text) else int(text)
    document.problems.append(document.problem(path, "bad-figure", "the number is too large", "write a smaller one"))
    return None
