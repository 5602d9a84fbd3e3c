"""How the lists of English are written: words in a row, forms by their base, pairs set off by commas."""

from __future__ import annotations


def words(text: str) -> frozenset[str]:
    """Return the words of a text.

    >>> sorted(words("on off"))
    ['off', 'on']
    """
    return frozenset(text.split())


def forms(text: str) -> dict[str, str]:
    """Return the base of each form.

    >>> forms("go: went gone; see: saw")
    {'went': 'go', 'gone': 'go', 'saw': 'see'}
    """
    entries = (entry.split(":") for entry in text.split(";"))
    return {form: base.strip() for base, forms in entries for form in forms.split()}


def pairs(text: str) -> frozenset[tuple[str, str]]:
    """Return the pairs of words.

    >>> sorted(pairs("free of, lack of"))
    [('free', 'of'), ('lack', 'of')]
    """
    return frozenset((first, second) for first, second in (pair.split() for pair in text.split(",")))


def phrases(text: str) -> tuple[str, ...]:
    """Return the phrases of a text, set off by commas.

    >>> phrases("please close, back to normal")
    ('please close', 'back to normal')
    """
    return tuple(" ".join(each.split()) for each in text.split(",") if each.strip())
