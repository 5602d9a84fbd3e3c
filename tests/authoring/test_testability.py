"""Detection and isolation by IEEE 1522, on a table worked by hand."""

from __future__ import annotations

import pytest

from diagnose.authoring.testability import connected, groups_of, isolated, mean_size, share

SIGNATURES = {"f1": "110", "f2": "100", "f3": "100", "f4": "011", "f5": "001", "f6": "000"}
"""What three tests show of six faults."""

RATES = {"f1": 5.0, "f2": 3.0, "f3": 2.0, "f4": 4.0, "f5": 4.0, "f6": 2.0}
DETECTED = [name for name, signature in SIGNATURES.items() if "1" in signature]
GROUPS = groups_of({name: SIGNATURES[name] for name in DETECTED})


class TestWorkedExample:
    """Six faults, three tests."""

    def test_detected(self) -> None:
        """Five of six by count, 18 of 20 by rate."""
        assert share(DETECTED, dict.fromkeys(SIGNATURES, 1.0)) == pytest.approx(5 / 6)
        assert share(DETECTED, RATES) == pytest.approx(0.90)

    def test_ambiguity_groups(self) -> None:
        """The two faults with one signature stand together."""
        assert GROUPS == [("f1",), ("f2", "f3"), ("f4",), ("f5",)]

    def test_isolated(self) -> None:
        """13 of 18 to one, all to two."""
        assert isolated(GROUPS, RATES, 1) == pytest.approx(0.7222, abs=5e-5)
        assert isolated(GROUPS, RATES, 2) == 1.0

    def test_size_of_a_group(self) -> None:
        """1.25 by count, 1.2778 where a fault finds itself."""
        assert mean_size(GROUPS) == 1.25
        assert mean_size(GROUPS, RATES) == pytest.approx(1.2778, abs=5e-5)


class TestConnected:
    """Groups where "not told apart" is a matter of degree."""

    def test_chains_make_one_group(self) -> None:
        """The first and the last of a chain stand together, though they can be told apart."""
        close = {("a", "b"), ("b", "c"), ("d", "e")}
        assert connected("edcba", lambda *pair: tuple(sorted(pair)) in close) == [("a", "b", "c"), ("d", "e")]

    def test_equal_signatures_give_the_same_groups_either_way(self) -> None:
        """On a table of zeros and ones both ways of grouping agree."""
        assert connected(DETECTED, lambda one, other: SIGNATURES[one] == SIGNATURES[other]) == GROUPS


def test_nothing_at_all() -> None:
    """Without faults every figure is zero and no division fails."""
    assert (share([], {}), isolated([], {}, 1), mean_size([]), mean_size([], {})) == (0.0, 0.0, 0.0, 0.0)
