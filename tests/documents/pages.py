"""A page of HTML looked at as a reader, a printer and a screen reader meet it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise
from xml.etree.ElementTree import Element

import html5lib

HEADINGS = ("h1", "h2", "h3", "h4", "h5", "h6")
RUNS_OR_LOADS = {"script", "iframe", "object", "embed", "link", "base", "form", "input", "audio", "video", "source"}
LOADING = {"src", "href", "xlink:href", "data", "poster", "srcset", "action", "background"}


def parsed(page: str) -> Element:
    """Return the root of a page; what breaks a rule of HTML raises an error."""
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(page)  # type: ignore[no-any-return]


def text_of(root: Element) -> str:
    """Return all that can be read on a page."""
    return "".join(root.find("body").itertext())  # type: ignore[union-attr]


def elements(root: Element) -> Iterator[tuple[str, Element]]:
    """Go through the elements with their names, those of SVG without its namespace."""
    for each in root.iter():
        if isinstance(each.tag, str):
            yield each.tag.rpartition("}")[2], each


def faults(page: str) -> list[str]:
    """Return what is wrong with a page that must need nothing from outside and be readable to everybody."""
    root = parsed(page)
    named = list(elements(root))
    ids = [each.get("id") for _, each in named if each.get("id")]
    found = [f"<{name}> runs or loads something" for name, _ in named if name in RUNS_OR_LOADS]
    found += [f"id {name} twice" for name in set(ids) if ids.count(name) > 1]
    if not root.get("lang"):
        found.append("no language")
    if [name for name, _ in named].count("h1") != 1 or not (root.findtext("head/title") or "").strip():
        found.append("not one title and one heading of the first level")
    levels = [HEADINGS.index(name) for name, _ in named if name in HEADINGS]
    found += ["a level of headings is left out" for one, other in pairwise(levels) if other > one + 1]
    for name, each in named:
        found += _faults_of(name, each, set(ids))
    return [*found, *(["a style loads something"] if re.search(r"url\(|@import", page.split("</style>")[0]) else [])]


def _faults_of(name: str, each: Element, ids: set[str | None]) -> Iterator[str]:
    for attribute, value in each.attrib.items():
        if attribute.startswith("on"):
            yield f"{attribute} of <{name}> runs something"
        if attribute in LOADING and not value.startswith("data:image/"):
            yield f"{attribute} of <{name}> loads {value[:40]}"
    if name == "img" and not each.get("alt"):
        yield "a picture without words"
    if name == "th" and each.get("scope") not in ("col", "row"):
        yield "a heading of a table without its scope"
    if name == "svg" and each.get("aria-hidden") != "true":
        labels = (each.get("aria-labelledby") or "").split()
        if each.get("role") != "img" or not labels or not set(labels) <= ids:
            yield "a drawing without words"
    if name in (*HEADINGS, "td", "th", "li") and name != "td" and not "".join(each.itertext()).strip():
        yield f"an empty <{name}>"
