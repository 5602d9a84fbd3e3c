"""How people say that all is well, or that something had no effect."""

from __future__ import annotations

from diagnose.language.english.lists import words

OK_WORDS = words("""
    ok okay okey fine good intact healthy normal alright correct sound perfect checked tested verified
    inspected confirmed proper working works oké satisfactory undamaged unaffected
""")
"""Next to the subject of a finding: the finding is absent."""

WHOLE = words("it all everything that this")
"""Before *was ok*: all was well then."""

AGREEMENT_STEMS = words("agre match fit same equal identical coincid tally right")
"""Stems; after a circumstance: all was well then (``at full flow both agree``)."""

OK_CHECKS = words("checked tested verified inspected confirmed")
"""Those that only say that somebody looked."""

EFFECT_WORDS = words(
    "change changes changed difference improvement effect success luck better help helps helped use avail"
)
"""After ``not`` or ``no``: a trial without effect (``swapped A and B, no change``)."""

TROUBLE_NOUNS = words(
    "problem problems issue issues trouble troubles fault faults error errors alarm alarms complaint complaints"
)
"""After ``no``: all was well."""

WELL_WORDS = OK_WORDS - OK_CHECKS | words("back ran running runs stable")

STAND_INS = words("spare old borrowed simulator calibrator another other temporary")
"""After *with*: what was tried in place of what is there (``with the spare converter it was exact``)."""

REMOVAL_STEMS = words("disconnect unplug bypas")
"""Stems; if all is well after one of them, that was a trial."""
