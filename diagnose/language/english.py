"""Word lists of general English. Words of the trade come from the rule book.

The lists are short on purpose: a word belongs here only if ordinary sentences are misread without it.
"""

from __future__ import annotations

import re


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


def _forms(text: str) -> dict[str, str]:
    entries = (entry.split(":") for entry in text.split(";"))
    return {form: base.strip() for base, forms in entries for form in forms.split()}


def _pairs(text: str) -> frozenset[tuple[str, str]]:
    return frozenset((first, second) for first, second in (pair.split() for pair in text.split(",")))


STOP_WORDS = _words("""
    a an the is are was were be been being am has have had having do does did it its it's this that these
    those there here i we you he she they me us him her them my our your his their who which whom of in at to from
    for as into onto upon about so then than as just i'm we've it'll that's there's he's i've we're
    any some one will would can could shall should may might must very really quite rather please
    please let let's what's hi hello ok'd etc e g eg ie per such
""")
"""Stop words: never content of a phrase, and not counted in its gaps."""

PREPOSITIONS = _words("at in to from of by for into as")
"""Stop words that are kept if a phrase would otherwise be a single word (``at zero``)."""

LEADING_WORDS = PREPOSITIONS | _words(
    "all after before since during until till every each with without under over near"
)
"""Words that stay before what they govern, so that a phrase beginning with one keeps its order."""

PLACE_WORDS = _words("on over via in at under by inside near")
"""A phrase that begins with one says where something is: what is denied before it is that thing, not the place."""

LIGHT_WORDS = _words("""
    on off up down out over under with within through across along around near after before since during until till
    again still now always ever often constantly continuously permanently sometimes occasionally suddenly currently
    already almost nearly completely totally entirely fully only even actually simply basically slightly somewhat
    much too far bit little lot way by today yesterday morning night week weeks day days month months hour hours
    get gets getting got become becomes became becoming seem seems seemed appear appears appeared look looks looked
    looking stay stays stayed staying remain remains remained keep keeps kept keeping go goes going went gone come
    comes coming came start starts started begin begins began sit sits sitting like mostly partly roughly about when
    while whenever whilst all every each back left itself think believe guess found find checked tested verified
    inspected also both against themselves himself
""")
"""Light words: content if a phrase contains them, otherwise not counted in its gaps."""

COPULA = _words("is are was were")

REASON_WORDS = _words("( because as since for")
REPLACEMENT_VERBS = _words("replaced changed exchanged swapped renewed repaired rebuilt relined")
"""Before a reason in the past: that condition is over (``sensor replaced because the liner was torn``)."""

BEFORE_NUMBERS = _words("about around roughly some say approx the a :")
"""Words that may precede a number without changing its meaning."""

COMPARATIVES = frozenset({"less", "more", "lower", "higher"})
"""Comparatives."""

BEFORE_NOUNS = frozenset({"below", "under", "above", "beyond"})
"""Words that stay directly before the word they govern, in any order of the others."""

PARTICLES = _words("out up down away over on off")
"""Particles: they change the meaning of the verb before them."""

TIME_LINKS = _words("while whilst whenever when although though but despite with")
"""Words that join two clauses; a phrase that has one may match across such a word in the text."""

WHEN_LINKS = TIME_LINKS - {"with", "but", "despite"}
"""Those that a phrase without one never crosses when it is reordered."""

CLAUSE_BREAKS = _words(
    "but however although though whereas while whilst yet except because therefore hence despite plus"
)
"""Words that begin a new clause."""

COORDINATORS = _words("and or nor & vs versus compared than")
"""Coordinators: words that join two things of the same kind."""

NEGATIONS = _words("""
    not no never without none nothing neither nor nobody cannot hardly barely scarcely cant wont dont nowhere
    ain't aint neither nil
""")

NEGATED_VERBS = re.compile(
    r"(?:do|does|dos|doe|did|is|are|was|were|has|have|had|ca|can|could|wo|would|should|need)n['’]?t|doesn|didn|isn"
)
"""Verbs contracted with ``not``, with or without the apostrophe, and the usual misspellings."""

NEGATION_PAIRS = _pairs("fail to, unable to, refus to, free of, free from, lack of, absenc of, instead of")
"""A stem and a word that together are a negation."""

INABILITY = re.compile(
    r"\b(?:cannot|can['’]?t|can not|couldn['’]?t|could not|unable|not possible|not able|won['’]?t)\b"
)
"""Something cannot be done; *nobody does it* does not mean that."""

ABILITY_WORDS = _words(
    "can could will would able possible allowed let allow cannot can't cant couldn't unable won't wont"
)
"""Next to a negation these mean the same."""

EMPTY_CHOICES = _words("yes no none other normal open")
"""Names of values that say nothing without what they are about."""

UNUSED_WORDS = _words(
    "unused spare free unwired unconnected disconnected idle forgotten forgot missing omitted absent lacking"
)
USED_STEMS = _words("us wir connect fit")
"""After a thing that a meter may have, these say that it is not in use; the latter after a negation."""

NEVER_WORDS = _words("never ever once yet")
"""One of these is, or is next to, a negation for all time; *not good* is not *never good*."""

NOTHING_WORDS = _words("nothing none anything nil")
"""Likewise: *nothing on it* is not *not on it*."""

CESSATION_STEMS = _words("stop quit ceas")
"""Stems that are a negation before a word ending in -ing: ``stopped responding``."""

PSEUDO_NEGATIONS = _words("only just merely necessarily doubt matter until sooner sure idea clue wonder surprise")
"""Pseudo-negations: after ``not`` or ``no`` the negation ends with them (``not only dark``, ``no idea why``)."""

SCOPE_TERMINATORS = _words(
    "why because since when after before until if unless so which where how what who while whether"
)
"""Words that end the scope of a negation."""

POST_NEGATION_TAIL = _words("""
    seen present there found observed visible shown noticed detected reported recorded active any so case true
    apparent evident at all known
""")
"""What may follow a negation placed after the mention that it negates: ``moisture not seen``, ``errors: none``."""

OTHER_EXPERIENCERS = _words("other others another else elsewhere neighbouring adjacent")
"""Shortly before a mention: it is about another device (``the other nodes work``)."""

OTHER_EXPERIENCER_MODIFIERS = OTHER_EXPERIENCERS | _words("another second third master neighbour neighbor")
"""Directly before a noun of a mention: that noun is not the device that was reported."""

PSEUDO_EXPERIENCERS = _words("hand words side end day time")
"""After ``other``: it is still about the same device (``on the other hand``)."""

OTHER_INSTRUMENTS = _words("gauge gauges manometer thermometer multimeter voltmeter ammeter")
"""Before a reading verb: what is read is not the device that was reported."""

UNITS_OF_OTHERS = _words("bar mbar psi kpa mpa v mv volt volts ma ohm ohms kohm mohm a amp amps hz khz degrees")
"""Behind a zero: it is no flow that is zero."""

FARAWAY_THINGS = _words("""
    toner intranet vpn payroll canteen printer price prices cost costs photo photos email certificate office calendar
    brochure quotation
""")
"""A clause with one of these is not about a device in a plant, whatever else it says."""

OK_WORDS = _words("""
    ok okay okey fine good intact healthy normal alright correct sound perfect checked tested verified
    inspected confirmed proper working works oké satisfactory undamaged unaffected
""")
"""Next to the subject of a finding: the finding is absent."""

AGREEMENT_STEMS = _words("agre match fit same equal identical coincid tally right")
"""Stems; after a circumstance: all was well then (``at full flow both agree``)."""

OK_CHECKS = _words("checked tested verified inspected confirmed")
"""Those that only say that somebody looked."""

EFFECT_WORDS = _words(
    "change changes changed difference improvement effect success luck better help helps helped use avail"
)
"""After ``not`` or ``no``: a trial without effect (``swapped A and B, no change``)."""

TROUBLE_NOUNS = _words(
    "problem problems issue issues trouble troubles fault faults error errors alarm alarms complaint complaints"
)
"""After ``no``: all was well."""

TIME_PREPOSITIONS = _words("in at when after since during while whenever on")
"""Before a history phrase: the time at which something is so (``in summer no problem``)."""

RESOLUTION_WORDS = _words("cleared disappeared vanished resolved solved fixed cured recovered rectified repaired")
"""After a mention: it is over."""

LASTING_WORDS = _words("since still again ever until always")
"""With a time in the past: it may be so to this day (``since last summer``)."""

LONG_UNITS = _words("""
    month months year years season winter spring summer autumn january february march april may june july august
    september october november december
""")
"""Units of time and seasons so long that what happened *last* of them, or some *ago*, is not there now."""

WEEKS = _words("week weeks")
"""Those after which it is over if a verb in the past says so."""

NOW_WORDS = _words("now again since currently meanwhile")
WELL_WORDS = OK_WORDS - OK_CHECKS | _words("back ran running runs stable")
PAST_VERBS = _words("was were had used wasn")
PERCEIVED = _words("felt saw heard smelt smelled noticed")
HISTORICAL_WORDS = _words("until till before previously formerly originally earlier")
"""With an ok-word in the past tense: it is no longer ok (``was fine until Monday``)."""

HEDGES = _words("""
    maybe perhaps possibly probably presumably might suspect suspected suspects suspecting wonder wondering assume
    assuming potentially suspicion likely unsure supposedly allegedly theory whether
""")
"""Hedges: nothing within their scope counts as a fact."""

HEDGE_PAIRS = _pairs(
    "could be, could have, may be, may have, can be, not sure, not certain, not know, in case, not necessarily"
)

CALLS = _words("""
    help hey oh omg god jesus sos emergency alert attention quick quickly hurry urgent mayday someone somebody everybody
    anybody says said say told shouts shouted shouting tell think he she they man guy boy worker colleague colleagues
    mate operator fitter boss people thing what really again
""")
"""Beside a cry they say nothing more: who calls, and for whom (``help, fire``, ``someone said it tickles``)."""

OPINION_VERBS = _words("think believe guess reckon feel thinks believes swear swears claim claims insist insists")
"""After these a symptom counts, for it is plain to see; a conclusion does not."""

HEDGE_SCOPE_STARTERS = _words(
    "with from since because due for by in at after before on when as during under around through"
)
"""After ``perhaps``: only the circumstance that follows is uncertain."""

CAUSAL_CONJUNCTIONS = _words("because hence therefore")

GUESS_VERBS = _words("guess reckon")
"""Those after which a figure does not count either."""

CONDITIONAL_CONJUNCTIONS = _words("if unless assuming provided")
MODALS = _words("should would could can may might must will please call tell had want wish were i'd we'd i'll we'll")
"""In a sentence with one of these, ``if I`` does not report an attempt."""

AUXILIARY_VERBS = _words("""
    is are was were does do did has have had can could should would will isn't aren't doesn't don't hasn't am may
""")
"""A sentence that begins with one of these and ends with a question mark is a question about what it mentions."""

QUESTION_WORDS = _words("why what how who where which when")
"""These presuppose what they ask about: ``why is it dark?`` means that it is dark."""

ANSWER_MARKS = _words("a answer ans")
"""Before an answer (``Q: … A: no``)."""

YES_WORDS = _words("yes yep yeah y correct indeed affirmative")
NO_WORDS = _words("no nope n negative not")

EXCEPTIONS = _words("except excepting save besides")
EXCEPTION_PAIRS = _pairs("apart from, aside from, other than")
PERSONS = _words("me him her us them one two i he she myself himself")
"""Behind a denial: it holds for all but somebody (``nobody felt a shock but me``)."""

ANSWERS = (
    YES_WORDS
    | (NO_WORDS - {"not"})
    | _words("ok okay done right true sure idea dont don't know unknown skip note back plant")
)
"""Words that answer a question, with which no sentence about a meter begins: what follows is told beside the answer."""

ANTONYMS = {
    first: second
    for pair in (
        "high low",
        "open clos",
        "ful empty",
        "on off",
        "up down",
        "ris fall",
        "more les",
        "before after",
        "increas decreas",
        "posit negat",
        "fast slow",
        "hot cold",
        "wet dry",
        "ok bad",
        "long short",
        "input output",
        "forward backward",
        "left right",
        "first last",
        "left right",
        "max min",
    )
    for first, second in (pair.split(), reversed(pair.split()))
}
"""Stems; an antonym of a phrase's word inside the match means that something else is meant."""

READING_STEMS = _words("show read display giv measur report see get")
"""Stems of verbs that any instrument may have; they do not say which one it is."""

VALUE_STEMS = _words("flow valu show number figur rate total percent compar relativ against sinc")
"""Stems of nouns for a reading, and of words that say more about it."""

NOUNS_AFTER_ZERO = _words("point offset check adjust calibrat trim drift stability error shift set line")
"""Stems of nouns before which *zero* is not a reading."""

MESSAGE_STEMS = _words("show report")
"""Those after which a message follows (``the line says empty``)."""

COMPOUND_NOUNS = _words("direct direction meter switch profil sensor")
"""Stems of nouns that form a compound with the noun before them (``shows the flow direction``)."""

MEASURED_VALUE = re.compile(r"\b(?:measur\w*|actual\w*|in fact|really)\b", re.IGNORECASE)
"""Next to one of two values of a quantity: that one is the reading."""

REQUIRED = _words("""
    should must shall ought required require requires requirement requirements need needs needed have has expected
    expect expects supposed normal normally usual usually typical typically spec specs specification specified
    specifies minimum maximum min max want wants wanted allowed permitted permissible admissible acceptable accepted
    recommended recommends demanded demands according manual standard target criterion criteria rated designed
    would limit limits guideline threshold set setting setpoint until
""")
"""In the clause of a limit they say that it is required, not read (``should be below 1 ohm``)."""

CIRCUMSTANCE = CONDITIONAL_CONJUNCTIONS | _words("when whenever while whilst once until till as than")
"""Before a limit they say when something happens (``when the current is above 21 mA``)."""

ACROSS = _words("between against across")
"""After a limit they say where it was measured."""

MOVING = _words("drop fall go ris jump climb increas decreas run reach get sink creep swing vary drift come")
"""Stems of verbs that tell of a change and not of a reading (``drops below 18 V``)."""

IRREGULAR_FORMS = _forms("""
    go: goes went gone going; blow: blew blown; freeze: froze frozen; fall: fell fallen;
    lose: lost; break: broke broken; burn: burnt; run: ran; keep: kept; come: came; hold: held;
    draw: drew drawn; rise: rose risen raised; stick: stuck; feed: fed; die: died dies dying;
    high: higher highest; low: lower lowest; slow: slower; fast: faster; bad: worse worst; swing: swung;
    become: became; begin: began begun; leave: left; find: found; send: sent; take: took taken;
    give: gave given; get: got gotten; see: saw seen; do: done; write: wrote written; jump: jumpy;
    meter: metre metres; analog: analogue; flicker: flickery; moist: moisture; flood: flooded;
    short: shorted shorts shorting; wet: wetted; drive: drove driven; bind: bound; wear: wore worn;
    tear: tore torn; ok: okay okey oké; color: colour; volt: voltage voltages; corrode: corrosion;
    vary: variation; fluctuate: fluctuation fluctuations; oscillate: oscillation oscillations; small: smaller;
    big: bigger biggest; replace: replacement; bus: buses busses; reverse: reversal; close: closed; when: whenever;
    while: whilst; communication: comms comm coms; percent: percentage pct percents;
    close: shut shuts shutting; earth: ground grounds grounded grounding; replace: exchange exchanged exchanges;
    wrong: incorrect incorrectly; rain: rainy rained raining; storm: stormy;
    show: shown indicate indicates indicated indicating indication read reads reading readings say says said saying
        tells displays displayed displaying;
    problem: trouble troubles issue issues complaint complaints difficulty difficulties;
    crazy: mad madly wild wildly haywire berserk insane; reverse: backward backwards
""")
"""Irregular forms and synonyms by their base form, including British and American spellings."""

UNSTEMMED_FORMS = _words("""
    housing housings fused cleaned evening setting building tailing string lined lining pipework zeroed zeroing
    thundering bite fainted screened
""")
"""Forms that are not stemmed, since they mean something else: a *fused* spur is not a *fuse*, *thundering* is no storm
that is over, what *bites* is not a *bit*, and whoever has *fainted* is not *faint*, and a *screened* cable no
*screen*."""

HUMAN_SUBJECTS = _words("i we you they he she one can cannot can't could couldn't to be")
"""Before *read*: a person reads. Otherwise an instrument does, and *reads* is a synonym of *shows*."""

COMPARISON_WORDS = _words("more less higher lower bigger smaller greater faster slower other another different")
"""Before *as*: a slip for *than*."""

NUMBER_WORDS = _words("""
    two three four five six seven eight nine ten eleven twelve fifteen twenty thirty forty fifty sixty hundred
    thousand half couple few several dozen
""")
"""Numbers in words; they are not counted in the gaps of a phrase."""

TIME_UNITS = _words("""
    second seconds minute minutes hour hours day days night nights week weeks weekend month months year years season
    summer winter time shift
""")
TIME_SPAN_WORDS = _words(
    "the a an last past next some several many few couple of whole long course this that these those first"
)
"""Between *over* and a unit of time: then *over* means *during*."""

REMOVAL_STEMS = _words("disconnect unplug bypas")
"""Stems; if all is well after one of them, that was a trial."""

APPROXIMATE_NEGATIONS = _words("hardly barely scarcely")
"""Before a number these are not negations (``hardly two weeks ago``)."""

ALWAYS_WORDS = _words("always constantly permanently continuously consistently continually")
"""After ``not``: partial negation, it is so at times."""

ALL_THE_TIME = (
    ("all", "the", "time"),
    ("all", "time"),
    ("every", "time"),
    ("the", "whole", "time"),
    ("at", "all", "times"),
)

NON_COMPOUND_ENDINGS = _words("led age ages ful less ton its ore red ted ated ised ising ands raining")
"""Never the second part of a compound: *controlled* does not contain an *LED*."""

SHORTHAND = {"b4": "before", "w/o": "without", "w/": "with", "%": "percent"}
"""Signs and abbreviations by the word that they stand for."""

IDIOMS = {
    ("now", "and", "then"): "occasionally",
    ("now", "and", "again"): "occasionally",
    ("from", "time", "to", "time"): "occasionally",
    ("once", "in", "a", "while"): "occasionally",
    ("every", "so", "often"): "occasionally",
    ("as", "soon", "as"): "when",
    ("what", "it", "should", "be"): "expected",
    ("what", "it", "should"): "expected",
}
"""Idioms by the word that they stand for."""

ABBREVIATIONS = _words(
    "e.g i.e approx ca no nr tel temp max min vs a.c d.c resp incl dept ref pos fig st mr mrs ms dr abt"
)

NUMBER_SIGNS = _words("no nr nos")

GREETING = re.compile(
    r"(?:hi|hello|hey|dear|good (?:morning|afternoon|evening|day)|greetings)\b"
    r"(?P<name>[^,.!?:;]{0,40})(?P<end>[,.!:]|$)\s*",
    re.IGNORECASE,
)
CLOSING = re.compile(
    r"(?:(?:many )?thanks (?:and|&) )?(?:(?:with )?(?:kind|best|warm|many)? ?regards|sincerely|yours|br|rgds|cheers)"
    r"\b[^.!?]{0,30}[,.!]*",
    re.IGNORECASE,
)
THANKS = re.compile(r"(?:(?:many |kind )?thanks|thank you|thx)\b[^.!?]{0,30}[,.!]*", re.IGNORECASE)
COURTESIES = _words("""
    regards thanks thank thx cheers greetings sincerely yours rgds br please kind best warm sir madam team all morning
    evening afternoon good dear hello hi hey appreciated welcome
""")
"""Courtesies: alone they say nothing about a meter."""

TAG = re.compile(r"(?:tag|item|meter|loop)?[ :.]*[A-Za-z]{1,5}[ -]?\d{1,6}[A-Za-z]?", re.IGNORECASE)
"""A tag number, as plants give them: it names a meter and says nothing about it."""

HEADER = re.compile(
    r"(?:from|to|cc|bcc|sent|date|received|reply-to|attachments?|importance|priority|tel|phone|fax|mobile|e-?mail|web"
    r"|message-id|content-type|mime-version|time|reported by|requester|caller|ticket(?: (?:no|number|id))?)\.?\s*:.*"
    r"|.*\bwrote:|-+\s*original message\s*-+|sent from my .*|begin forwarded message:?|--+",
    re.IGNORECASE,
)
LABEL = re.compile(r"(?:(?:subject|re|fw|fwd|aw|wg)\s*:\s*)+|[-*•·]+\s+|\d{1,2}[.)]\s+", re.IGNORECASE)
"""Removed from the start of a line: subject labels and list marks."""
