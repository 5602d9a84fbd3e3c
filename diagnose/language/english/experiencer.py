"""Whose statement it is, and about which thing."""

from __future__ import annotations

from diagnose.language.english.lists import words

OTHER_EXPERIENCERS = words("other others another else elsewhere neighbouring adjacent")
"""Shortly before a mention: it is about another device (``the other nodes work``)."""

OTHER_EXPERIENCER_MODIFIERS = OTHER_EXPERIENCERS | words("another second third master neighbour neighbor")
"""Directly before a noun of a mention: that noun is not the device that was reported."""

PSEUDO_EXPERIENCERS = words("""
    hand words side end day time man men person people lad lads guy guys colleague worker workers operator fitter
    technician electrician contractor mate
""")
"""After ``other``: it is still about the same device (``on the other hand``)."""

FORMER = words("old previous former last")
WHOLE_DEVICES = words("meter flowmeter one unit device instrument transmitter converter sensor")
"""One after the other, and *was*: that device is gone (``the old meter was dead``)."""

HELPERS = words("mate helper assistant apprentice trainee boss wife son company firm")
"""After somebody's trade: it is not their own (``the electrician mate``)."""

OTHER_INSTRUMENTS = words(
    "drawing sketch nameplate sticker gauge gauges manometer thermometer multimeter voltmeter ammeter"
)
"""Before a reading verb: what is read is not the device that was reported."""

FARAWAY_THINGS = words("""
    toner intranet vpn payroll canteen printer price prices cost costs photo photos email certificate office calendar
    brochure quotation
""")
"""A clause with one of these is not about a device in a plant, whatever else it says."""

CALLS = words("""
    help hey oh omg god jesus sos emergency alert attention quick quickly hurry urgent mayday someone somebody everybody
    anybody says said say told shouts shouted shouting tell think he she they man guy boy worker colleague colleagues
    mate operator fitter boss people thing what really again
""")
"""Beside a cry they say nothing more: who calls, and for whom (``help, fire``, ``someone said it tickles``)."""

PERSONS_SPEAKING = words("i we you they he she somebody someone nobody everybody")
"""Before a thing: they are the subject (``we stopped the pump``)."""

OWN_NAMES = words("""
    meter meters flowmeter flow display displays screen reading readings value values signal transmitter converter
""")
"""Behind another thing, or in a phrase: the device that was reported (``tank meter``, ``the pump flow``)."""

OWN_DEVICES = words("meter flowmeter sensor transmitter converter")
"""Beside one of two figures: that one is of the device that was reported (``a DN 50 meter in a DN 100 line``)."""

FACES = words("screen display indicator window front face lcd reading readings value values side end part half rest")
"""Before ``of the``: what is said of it is said of the whole."""

MESSAGES = words("error errors alarm alarms message messages diagnostic diagnostics")
"""Before a mention: the device says so of itself (``error list: insulation low``)."""

SPEAKING_DEVICES = words("transmitter meter unit device display flowmeter instrument converter")
SPEAKING_VERBS = words("reports report reporting indicates indicating claims warns complains says")
"""One after the other before a mention: likewise (``transmitter reports: fuse fail``)."""
