"""Engines from the cache, with and without the optional extra."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.language import meaning
from diagnose.reasoning.ready import EXTRA, SWITCH, load_engine
from diagnose.rule_book.cache import READ_ANEW
from diagnose.shipped import shipped_folder


def test_without_the_extra_somebody_is_told_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And everything else works."""
    monkeypatch.setenv("DIAGNOSE_CACHE", str(tmp_path))
    monkeypatch.delenv(SWITCH, raising=False)
    monkeypatch.setattr(meaning, "is_installed", lambda: False)
    told: list[str] = []
    for _ in range(2):
        engine = load_engine(shipped_folder("rules"), add=told.append)
        assert engine.meaning is None
        assert engine.lexicon.cause_words is not None
    assert told == [EXTRA]


def test_meaning_can_be_switched_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """By the environment; then nothing is loaded and nobody is told."""
    monkeypatch.setenv(SWITCH, "off")
    told: list[str] = []
    assert load_engine(shipped_folder("rules"), told.append, told.append).meaning is None
    assert set(told) <= {READ_ANEW}
