"""Nothing big on words alone; what is done once is done again only after a look at what is behind it."""

from __future__ import annotations

from msgspec.structs import replace

from diagnose.observations import CheckDone, FindingSeen, Observation, RemedyTried, State
from diagnose.reasoning.diagnosis import diagnose
from diagnose.reasoning.engine import Engine
from diagnose.reasoning.proposals import Proposals
from diagnose.rule_book.book import BigRemedies
from diagnose.rule_book.faults import Cause
from diagnose.rule_book.work import Once, Remedy
from tests.reasoning.books import SETTINGS, book, cause, check, finding, remedy, state, yes_or_no

TOLD = FindingSeen(finding="dim", present=True)
BIG = replace(SETTINGS, big_remedies=BigRemedies(minutes=60, small_parts=("screw",)))


def proposed(
    *seen: Observation,
    big: Remedy | None = None,
    small: Remedy | None = None,
    glass: Cause | None = None,
    **more: object,
) -> Proposals:
    """Return what is proposed about a lamp that is dim: its wiring is old (likely), or its glass is dirty."""
    parts = (
        finding("dim", kind="symptom", question="Is it dim?"),
        finding("cracked", leak=0.01),
        finding("old-house", kind="history"),
        finding("blew-again"),
        cause("wiring-old", {"dim": 0.9, "cracked": 0.9, "old-house": 0.9}, frequency=10.0),
        glass or cause("glass-dirty", {"dim": 0.9}, frequency=1.0),
        big or remedy("wiring-old", minutes=240.0),
        small or remedy("glass-dirty", minutes=200.0, big=False),
        yes_or_no("look-at-wires", "cracked", minutes=500.0),
        yes_or_no("ask-about-house", "old-house", minutes=500.0),
        check("look-behind", *yes_or_no("x", "blew-again").outcomes, minutes=5.0),
    )
    made = Engine(book(*parts, settings=BIG))
    return diagnose(made, {}, seen, State(**more)).proposals  # type: ignore[arg-type]


class TestBigRemedies:
    """What takes hours, drains or replaces."""

    def test_on_words_alone_a_look_comes_first(self) -> None:
        """However dear the look is: it is the one that the cause would show."""
        proposals = proposed(TOLD)
        assert (proposals.next.kind, proposals.next.id) == ("check", "look-at-wires")
        assert "nothing that was looked at or measured points to" in proposals.next.because

    def test_a_look_that_exposes_nobody_comes_before_one_that_does(self) -> None:
        """Even where the other would save more minutes."""
        opened = yes_or_no("look-at-wires", "cracked", minutes=1.0, needs={"cover": ("open",)})
        cover = state("cover", 1, "closed", "open")
        mere = yes_or_no("feel-for-draught", "draughty", minutes=400.0)
        draught = finding("draughty", leak=0.01)
        wiring = cause("wiring-old", {"dim": 0.9, "cracked": 0.9, "draughty": 0.9}, frequency=10.0)
        glass = cause("glass-dirty", {"dim": 0.9}, frequency=1.0)
        dim = finding("dim", kind="symptom", question="Is it dim?")
        remedies = (remedy("wiring-old", minutes=240.0), remedy("glass-dirty", minutes=200.0, big=False))
        parts = (dim, finding("cracked", leak=0.01), draught, wiring, glass, *remedies, opened, mere, cover)
        proposals = diagnose(Engine(book(*parts, settings=BIG)), {}, [TOLD], State(competence="skilled")).proposals
        assert proposals.next.id == "feel-for-draught"

    def test_a_look_that_says_little_does_not_come_before_one_that_decides(self) -> None:
        """However quick it is, and though the other exposes somebody: what many causes show points to none."""
        opened = yes_or_no("look-at-wires", "cracked", minutes=15.0, needs={"cover": ("open",)})
        quick = yes_or_no("sniff", "musty", minutes=1.0)
        wiring = cause("wiring-old", {"dim": 0.9, "cracked": 0.9, "musty": 0.3}, frequency=10.0)
        glass = cause("glass-dirty", {"dim": 0.9, "musty": 0.25}, frequency=1.0)
        known = (finding("dim", kind="symptom", question="Is it dim?"), finding("cracked", leak=0.01))
        remedies = (remedy("wiring-old", minutes=240.0), remedy("glass-dirty", minutes=200.0, big=False))
        cover = state("cover", 1, "closed", "open")
        parts = (*known, finding("musty", leak=0.01), wiring, glass, *remedies, opened, quick, cover)
        proposals = diagnose(Engine(book(*parts, settings=BIG)), {}, [TOLD], State(competence="skilled")).proposals
        assert proposals.next.id == "look-at-wires"

    def test_words_of_a_report_and_memory_are_no_look(self) -> None:
        """Neither said nor remembered."""
        said = FindingSeen(finding="cracked", present=True, quote="cracked wires")
        remembered = CheckDone(check="ask-about-house", answer="yes")
        assert proposed(TOLD, said, remembered).next.id != "wiring-old"

    def test_after_a_look_it_is_proposed(self) -> None:
        """One outcome that the cause shows is enough."""
        proposals = proposed(TOLD, CheckDone(check="look-at-wires", answer="yes"))
        assert (proposals.next.kind, proposals.next.id) == ("remedy", "wiring-old")

    def test_where_nobody_can_look_somebody_is_fetched(self) -> None:
        """And told why; the person may still choose it, knowing that nothing speaks for it."""
        proposals = proposed(TOLD, set_aside=("look-at-wires", "glass-dirty"))
        assert proposals.next.kind == "escalate"
        assert "points to" in proposals.next.because
        chosen = next(each for each in proposals.remedies if each.id == "wiring-old")
        assert "nothing that was looked at" in chosen.because

    def test_a_gentle_one_that_is_nearly_as_likely_comes_before_it(self) -> None:
        """Cheap and reversible before dear and lasting."""
        dirty = cause("glass-dirty", {"dim": 0.9, "cracked": 0.9}, frequency=9.0)
        cleaned = remedy("glass-dirty", minutes=230.0, big=False)
        seen = (TOLD, CheckDone(check="look-at-wires", answer="yes"))
        assert proposed(*seen, small=cleaned, glass=dirty).next.id == "glass-dirty"
        assert proposed(*seen, small=remedy("glass-dirty", minutes=230.0), glass=dirty).next.id == "wiring-old"

    def test_what_makes_one_big(self) -> None:
        """Its minutes, a part that is not small, what it needs or meets; what it says of itself goes before that."""
        rule = BigRemedies(minutes=60, needs={"line": ("drained",)}, meets=("opened",), small_parts=("screw",))
        assert rule.has(remedy("x", minutes=60.0))
        assert rule.has(remedy("x", parts=("screw", "motor")))
        assert rule.has(remedy("x", needs={"line": ("drained",)}))
        assert rule.has(remedy("x", meets=("opened",)))
        assert not rule.has(remedy("x", parts=("screw",)))
        assert not rule.has(remedy("x", minutes=90.0, big=False))
        assert not BigRemedies().has(remedy("x", minutes=900.0, parts=("motor",)))


class TestOnce:
    """A fuse, a breaker."""

    FUSE = remedy("wiring-old", once=Once(unless=("look-behind",), told_by=("blew-again",)))

    def test_the_first_time_is_free(self) -> None:
        """Once it was asked whether it was done before, and it was not."""
        assert proposed(TOLD, big=self.FUSE).next.id == "look-behind"
        assert "done but once" in proposed(TOLD, big=self.FUSE).next.because
        never = FindingSeen(finding="blew-again", present=False)
        assert proposed(TOLD, never, big=self.FUSE).next.id == "wiring-old"

    def test_a_second_time_waits_for_the_look(self) -> None:
        """Done here, or told of: it is not even among what may be chosen."""
        for before in (
            RemedyTried(remedy="wiring-old", verdict="not cured"),
            FindingSeen(finding="blew-again", present=True),
        ):
            proposals = proposed(TOLD, before, big=self.FUSE, set_aside=("glass-dirty",))
            assert proposals.next.id != "wiring-old"
            assert "wiring-old" not in [each.id for each in proposals.remedies]

    def test_after_the_look_it_may_be_done_again(self) -> None:
        """Whatever was found."""
        seen = (RemedyTried(remedy="wiring-old", verdict="not cured"), CheckDone(check="look-behind", answer="no"))
        assert "wiring-old" in [each.id for each in proposed(TOLD, *seen, big=self.FUSE).remedies]


class TestHides:
    """What takes the complaint away and leaves another cause as it is: a threshold moved for the sake of a coating."""

    MOVED = remedy("wiring-old", hides=("glass-dirty",))

    def settled(self, *seen: Observation, few: float = 2.0, dust: float = 0.97, **more: object) -> Proposals:
        """Return what is proposed where the wiring is likelier and quickly renewed, which would hide a dirty glass."""
        parts = (
            finding("dim", kind="symptom", question="Is it dim?"),
            finding("dusty", leak=0.01),
            cause("wiring-old", {"dim": 0.9}, frequency=10.0),
            cause("glass-dirty", {"dim": 0.9, "dusty": dust}, frequency=few),
            self.MOVED,
            remedy("glass-dirty", minutes=200.0),
            yes_or_no("look-at-glass", "dusty", minutes=500.0),
        )
        return diagnose(Engine(book(*parts)), {}, (TOLD, *seen), State(**more)).proposals  # type: ignore[arg-type]

    def test_what_it_would_hide_is_ruled_out_first(self) -> None:
        """However dear the look, and although the remedy is needed with more than even odds."""
        proposals = self.settled()
        assert (proposals.next.kind, proposals.next.id) == ("check", "look-at-glass")
        assert "would only hide" in proposals.next.because

    def test_once_it_is_ruled_out_the_remedy_is_free(self) -> None:
        """The look found nothing."""
        assert self.settled(CheckDone(check="look-at-glass", answer="no")).next.id == "wiring-old"

    def test_what_nobody_can_look_at_holds_nothing_up(self) -> None:
        """A doubt that no check can settle is no reason to do nothing."""
        assert self.settled(set_aside=("look-at-glass",)).next.id == "wiring-old"

    def test_what_was_found_is_put_right_before_it(self) -> None:
        """It cannot be ruled out any more, and is the likelier of the two."""
        proposals = self.settled(CheckDone(check="look-at-glass", answer="yes"))
        assert (proposals.next.kind, proposals.next.id) == ("remedy", "glass-dirty")

    def test_an_improbable_cause_holds_nothing_up(self) -> None:
        """Below the probability at which its own remedy would be proposed."""
        assert self.settled(few=0.01).next.id == "wiring-old"

    def test_a_look_that_would_often_miss_it_is_none(self) -> None:
        """Only the absence of what the cause usually shows rules it out."""
        assert self.settled(dust=0.4).next.id == "wiring-old"
