"""Words that show that two others near them do not belong together."""

from __future__ import annotations

from diagnose.language.english.lists import words

HEADS = words("""
    meter meters terminal terminals cable cables box cover housing cabinet room hall loop fuse supply settings setting
    screw plug routine calibration parameter parameters
""")
"""Right behind a noun: they are what is spoken of, and the noun only tells whose (``the meter terminals``)."""

NAMES_OF_THE_METER = words("flow flowmeter mag mid water new spare old the")
"""Before *meter* these only name it."""

QUALITIES = words("new old low high bad wrong loose poor weak empty full open short long")
"""Before a noun they tell of what is right behind them (``low on the raw water main`` is no *low mains*)."""

BETWEEN_THINGS = words("and or nor in on at of for from to by with into via inside")
"""Behind such a word another thing is spoken of."""

ELECTRICIANS_METERS = words("ma milliamp milliampere clamp volt ohm multi insulation amp current ph electricity")
"""Before *meter*: what an electrician carries, or what is no flow meter."""

NEAR = words("around about near")
"""Before a zero in a denial: it is not quite zero."""

LASTING = words("still")
"""Inside a denial: it goes on, so nothing is denied (``valve closed it still breathes around zero``)."""

INSTRUMENT_STEMS = words("meter switch sensor transmitter comput")
"""Behind *flow*: the flow only tells what the instrument is for."""

SETTING_WORDS = words("switch switched switching turn turned turning put puts putting keep kept leave left")
"""Before *on*: it belongs to the verb, and says that something is on (``switched on the pump``)."""

TIMES_OF_DAY = words("midday noon midnight lunchtime night")
"""Right behind a figure they only say when it was read (``10.4 at dawn, 12.9 at midday``)."""

DEED_STEMS = words("swap exchang replac chang renew cleaned open remov refit repair tighten fit")
"""Stems of what people do to a thing: right behind them stands the thing that they do it to."""

BY_MEANS_OF = words("with using by")
"""Behind what was done: with what (``wiped with hot water``)."""

TREATED = words("""
    clean cleaned cleaning washed wash flushed flush rinsed rinse wiped wipe scrubbed soaked dissolved treated removed
    neutralised descaled disinfected purged off
""")
"""What is done to a thing with a liquid that is not the one measured."""

KEPT_ELSEWHERE = words("skid barrel barrels drum drums bottle bottles lorry truck store cupboard smell stain canister")
"""Right behind a liquid: it is kept there, or only smells so, and need not be in the pipe."""

GOING_ON_STEMS = words("work weld walk run driv drill grind paint paus dig")
"""Before *in* or *on*: that is where this goes on, not where the meter is (``welders work on the platform``)."""

CHECK_STEMS = words("repeat measur check test verify try prov")
"""Stems of what people do to find something out."""

SWAP_STEMS = words("swap exchang replac chang try")
"""Stems of what is done with a spare part."""

TURNED_STEMS = words("swap interchang revers cross")
"""Stems of what is done with two that are put in each other's place."""

TRIED_PARTS = words("spare spares borrowed workshop store stores shelf loan lab test")
"""What is put in place of something for a trial; what is bought for good is *new*."""

FOR_GOOD = words("since after before ago last yesterday now until last week month months year years new")
"""Beside a swap they say that it was one for good, and when."""

SHORT_TIMES = words("yr yrs wk wks mth mths min mins sec secs h hrs")
"""Spans of time as they are scribbled."""

AND_A = ("and", "a")
FRACTIONS = words("half third quarter")
"""Behind *and a* they are part of a number (``one and a half times``)."""
