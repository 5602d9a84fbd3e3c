"""Likeness of meaning, with the optional encoder and with an invented one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest

from diagnose.language import text_vectors
from diagnose.language.meaning import CauseMeaning, Encode, Vectors, encoder, is_installed, texts_of
from diagnose.language.text_vectors import vectors_of
from diagnose.language.word_scores import Weighing, WordScores, taken_together
from diagnose.observations import State
from diagnose.reading import read_report
from diagnose.reasoning.diagnosis import diagnose
from tests.engines import reading_engine, real_engine
from tests.protocol.lamps import lamp_book_engine


def by_letters(texts: Any) -> Vectors:
    """Encode a text by how often each letter stands in it: enough to see which texts are alike."""
    counts = np.array([[text.casefold().count(letter) for letter in "abcdefghijklmnopqrstuvwxyz"] for text in texts])
    return (counts / np.maximum(np.linalg.norm(counts, axis=1, keepdims=True), 1e-9)).astype(np.float32)


def meaning_of(settings: dict[str, float], encode: Encode = by_letters) -> CauseMeaning:
    """Return what the lamp book says of its causes, with these settings."""
    book = lamp_book_engine().rule_book
    book = msgspec.structs.replace(book, settings=msgspec.structs.replace(book.settings, **settings))
    return CauseMeaning(book, encode([text for _, text in texts_of(book)]), encode)


class TestWeighing:
    """Likeness to evidence."""

    def test_the_cause_whose_text_it_is_gains_most(self) -> None:
        """And the text that it is nearest to is told."""
        meaning = meaning_of({"meaning_of_report": 20.0})
        name, text = texts_of(lamp_book_engine().rule_book)[0]
        scores = meaning.weigh([text])
        assert scores is not None
        evidence = scores.evidence()
        assert max(evidence.decibans, key=lambda each: evidence.decibans[each]) == name
        assert evidence.like[name] == text

    def test_weight_zero_says_nothing(self) -> None:
        """Nor does a report without words."""
        scores = meaning_of({}).weigh(["the bulb is dark"])
        assert scores is not None
        assert set(scores.evidence().decibans.values()) == {0.0}
        assert meaning_of({"meaning_of_report": 20.0}).weigh(["12.5", "…"]) is None

    def test_no_cause_falls_below_the_floor(self) -> None:
        """A report may talk of anything but its cause."""
        scores = meaning_of({"meaning_of_report": 500.0, "wording_off_the_point": 0.1}).weigh(["the bulb is dark"])
        assert scores is not None
        assert min(scores.evidence().decibans.values()) >= -10.0

    def test_words_and_meaning_add_up_before_they_are_weighed(self) -> None:
        """They are read from the same report: where one is off the point, so is the other."""
        weighing = Weighing(("a", "b", "c"), np.array([0.5, 0.3, 0.2]), 0.1)
        words = WordScores(weighing=weighing, scores=(2.0, -1.0, 0.0), words={"a": ("wire",)})
        meaning = WordScores(weighing=weighing, scores=(1.5, 0.0, -9.0), like={"a": "text"})
        both = taken_together(words, meaning)
        assert both is not None
        assert both == WordScores(
            weighing=weighing, scores=(3.5, -1.0, -9.0), words={"a": ("wire",)}, like={"a": "text"}
        )
        likely = np.exp([3.5, -1.0, -9.0]) / (np.array([0.5, 0.3, 0.2]) @ np.exp([3.5, -1.0, -9.0]))
        assert list(both.evidence().decibans.values()) == pytest.approx(10 * np.log10(0.1 + 0.9 * likely), abs=0.051)
        assert taken_together(None, words) == taken_together(words, None) == words

    def test_together_they_never_say_more_than_that_it_is_one_cause(self) -> None:
        """Of a cause that one complaint in five has: 0.9 that it is this, and one in ten for all causes as before."""
        weighing = Weighing(("a", "b"), np.array([0.2, 0.8]), 0.1)
        sure = WordScores(weighing=weighing, scores=(900.0, -900.0))
        both = taken_together(sure, sure)
        assert both is not None
        assert both.evidence().decibans == {"a": round(10 * np.log10(0.1 + 0.9 / 0.2), 1), "b": -10.0}


class TestVectors:
    """Kept in the cache, text by text."""

    def test_only_new_texts_are_encoded(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """A changed rule book costs what changed."""
        monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path))
        asked: list[str] = []

        def encode(texts: Any) -> Vectors:
            asked.extend(texts)
            return by_letters(texts)

        first = vectors_of(["one", "two"], encode)
        second = vectors_of(["two", "three", "one"], encode)
        assert asked == ["one", "two", "three"]
        assert second[[2, 0]] == pytest.approx(first)

    @pytest.mark.parametrize("torn", [b"", b"nonsense", b"rule book 1\n" + bytes(40)])
    def test_a_torn_file_is_made_anew(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, torn: bytes) -> None:
        """And nobody is told of it."""
        monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path))
        wanted = vectors_of(["one"], by_letters)
        (file,) = tmp_path.iterdir()
        file.write_bytes(torn)
        assert vectors_of(["one"], by_letters) == pytest.approx(wanted)

    def test_many_are_announced(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """For they take a while."""
        monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path))
        monkeypatch.setattr(text_vectors, "_MANY", 3)
        told: list[str] = []
        vectors_of(["a", "b", "c"], by_letters, told.append)
        vectors_of(["a", "b", "c"], by_letters, told.append)
        assert len(told) == 1


class TestTheEncoder:
    """The extra, which the test command installs."""

    def test_what_means_alike_lies_near(self) -> None:
        """In other words, and in another language."""
        assert is_installed()
        said, alike, german, other = encoder()(
            [
                "the screen stays black",
                "nothing to see on the display",
                "die Anzeige bleibt dunkel",
                "the pump was painted on Monday",
            ]
        )
        assert said @ alike > said @ other
        assert said @ german > said @ other

    def test_a_report_in_german_is_ranked_by_its_meaning(self) -> None:
        """Roughly: what it means comes well before the middle of the list, of more than two hundred."""
        text = "Der Wert springt wild hin und her, sobald der Frequenzumrichter der Pumpe läuft"
        report = read_report(reading_engine(), text, {})
        assert report.foreign
        found = diagnose(reading_engine(), {}, report.observations, State())
        assert [each.id for each in found.causes].index("drive-interference") < 20
        assert any("means much the same" in why.title for each in found.causes[:3] for why in each.supporting)

    def test_without_it_nothing_else_changes(self) -> None:
        """The same statements are understood."""
        text = "Display is dark, fuse is ok"
        with_it, without = (read_report(engine, text, {}).understanding for engine in (reading_engine(), real_engine()))
        assert with_it.understood == without.understood
