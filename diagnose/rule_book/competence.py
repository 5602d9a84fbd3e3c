"""How much somebody must know to do what a step asks."""

from __future__ import annotations

from typing import Literal

Competence = Literal["ordinary", "instructed", "skilled"]
"""Ordinary, instructed and skilled person in the sense of IEC 60050-195."""

COMPETENCES: tuple[Competence, ...] = ("ordinary", "instructed", "skilled")


def a_person(competence: Competence) -> str:
    """Return a person of this competence with the article.

    >>> a_person("skilled"), a_person("instructed")
    ('a skilled person', 'an instructed person')
    """
    return f"{'a' if competence == 'skilled' else 'an'} {competence} person"


def competence_named(text: str) -> Competence | None:
    """Return the competence that a text names and says nothing else, as a word or as a person.

    >>> competence_named("ordinary"), competence_named("An ordinary person."), competence_named("ordinary water")
    ('ordinary', 'ordinary', None)
    """
    words = text.casefold().rstrip(" .!")
    return next((each for each in COMPETENCES if words in (each, f"{each} person", a_person(each))), None)
