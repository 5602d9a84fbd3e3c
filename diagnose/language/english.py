"""Plain English: the only words that this room knows by itself. Words of the trade come from the rule book.

Every list is small on purpose: a word belongs here only if leaving it out makes ordinary sentences misread.
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


STOP = _words("""
    a an the is are was were be been being am has have had having do does did it its it's this that these
    those there here i we you he she they me us him her them my our your his their who which whom of in at to from
    for by as into onto upon about so then than too as just i'm we've it'll that's there's he's i've we're
    any some one will would can could shall should may might must very really quite rather please
    please let let's what's hi hello ok'd etc e g eg ie per such
""")
"""Words that never carry meaning in a phrase, and cost nothing between two words of one."""

PREPOSITIONS = _words("at in to from of by for into as")
"""Stop words that are kept when without them a phrase would shrink to a single word (``at zero``)."""

LEADING = PREPOSITIONS | _words("after before since during until till every each with without under over near")
"""Words that stand before what they belong to, in whatever order a phrase may come."""

LIGHT = _words("""
    on off up down out over under with within through across along around near after before since during until till
    again still now always ever often constantly continuously permanently sometimes occasionally suddenly currently
    already almost nearly completely totally entirely fully only even actually simply basically slightly somewhat
    much far bit little lot way today yesterday morning night week weeks day days month months hour hours
    get gets getting got become becomes became becoming seem seems seemed appear appears appeared look looks looked
    looking stay stays stayed staying remain remains remained keep keeps kept keeping go goes going went gone come
    comes coming came start starts started begin begins began sit sits sitting like mostly partly roughly about when
    while whenever whilst all every each back left itself think believe guess found find checked tested verified
    inspected also both against themselves himself
""")
"""Words that count when a phrase has them, and cost nothing between two words of one when it has not."""

COPULA = _words("is are was were")

REASONS = _words("( because as since for")
REPLACED = _words("replaced changed exchanged swapped renewed repaired rebuilt relined")
"""Before a reason that lies in the past they say that it is gone: ``sensor replaced because the liner was torn``."""

ROUGHLY = _words("about around roughly some say approx the a :")
"""They may stand before a number without saying anything else."""

COMPARATIVES = frozenset({"less", "more", "lower", "higher"})
"""Words by which the thing before them is compared with the one behind."""

BEFORE_NOUNS = frozenset({"below", "under", "above", "beyond"})
"""Words that belong to the one behind them, in whatever order the others come."""

PARTICLES = _words("out up down away over on off")
"""Behind a verb they make another one of it."""

TIME_LINKS = _words("while whilst whenever when although though but despite with")
"""Words that join two statements; a phrase that has one may reach over such a word in the text."""

WHEN_LINKS = TIME_LINKS - {"with", "but", "despite"}
"""Those that no phrase without one reaches over in another order than its own."""

BREAKS = _words("but however although though whereas while whilst yet except because therefore hence despite plus")
"""Words at which a new statement starts."""

LINKS = _words("and or nor & vs versus compared than")
"""Words that put two things side by side."""

NEGATIONS = _words("""
    not no never without none nothing neither nor nobody cannot hardly barely scarcely cant wont dont nowhere
    ain't aint neither nil
""")

NOT_FORMS = re.compile(
    r"(?:do|does|dos|doe|did|is|are|was|were|has|have|had|ca|can|could|wo|would|should|need)n['’]?t|doesn|didn|isn"
)
"""Verbs with ``not`` grown on, with or without the apostrophe, and the usual misspellings."""

NOT_PAIRS = _pairs("fail to, unable to, refus to, free of, free from, lack of, absenc of, instead of")
"""Two words (a stem and a word) that together say ``not``."""

ABILITY = re.compile(r"\b(?:cannot|can['’]?t|can not|couldn['’]?t|could not|unable|not possible|not able|won['’]?t)\b")
"""Says that something cannot be done, which *nobody does it* does not say."""

ABLE = _words("can could will would able possible allowed let allow cannot can't cant couldn't unable won't wont")
"""Beside a negation they say the same."""

EVER = _words("never ever once yet")
"""One of these is, or stands beside, a negation that holds for good; *not good* is not *never good*."""

NOTHING = _words("nothing none anything nil")
"""Likewise; *nothing on it* is not *not on it*."""

GIVING_UP = _words("stop quit ceas")
"""Stems that say ``not`` before a word with -ing: ``stopped responding``."""

NOT_REALLY = _words("only just merely necessarily doubt matter until sooner sure idea clue wonder surprise")
"""After ``not`` or ``no``, these take the negation onto themselves: ``not only dark``, ``no idea why it is dark``."""

SCOPE_ENDS = _words("why because since when after before until if unless so which where how what who while whether")
"""A negation does not reach beyond these."""

DENYING_TAIL = _words("""
    seen present there found observed visible shown noticed detected reported recorded active any so case true
    apparent evident at all known
""")
"""What may follow ``not`` or ``none`` behind a statement that it denies: ``moisture not seen``, ``errors: none``."""

OTHERS = _words("other others another else elsewhere neighbouring adjacent")
"""A little before a statement they say that it is about something else (``the other nodes work``)."""

ANOTHER = OTHERS | _words("another second third master neighbour neighbor")
"""Right before a noun of a statement they say that it is not the thing that was reported."""

NO_OTHERS = _words("hand words side end day time")
"""After one of these it is still the same thing that is spoken of (``on the other hand``)."""

OK_WORDS = _words("""
    ok okay okey fine good intact healthy normal alright correct sound perfect checked tested verified
    inspected confirmed proper working works oké satisfactory undamaged unaffected
""")
"""Beside the subject of a finding they mean that it is absent."""

AGREEING = _words("agre match fit same equal identical coincid tally right")
"""Stems; behind a circumstance they say that all was well then (``at full flow both agree``)."""

OK_CHECKS = _words("checked tested verified inspected confirmed")
"""Of these, the ones that only say that somebody looked."""

VAIN = _words("change changes changed difference improvement effect success luck better help helps helped use avail")
"""After ``not`` or ``no`` they say that something was only tried: ``swapped A and B, no change``."""

TROUBLE = _words(
    "problem problems issue issues trouble troubles fault faults error errors alarm alarms complaint complaints"
)
"""After ``no`` they say that all was well."""

WHEN = _words("in at when after since during while whenever on")
"""Before what a history tells they say at which time something is so: ``in summer no problem``."""

CURED = _words("cleared disappeared vanished resolved solved fixed cured recovered rectified repaired")
"""Behind a statement they say that it is over."""

NOW_WORDS = _words("now again since currently meanwhile")
WELL_WORDS = OK_WORDS - OK_CHECKS | _words("back ran running runs stable")
PAST = _words("was were had used wasn")
LAPSED = _words("until till before previously formerly originally earlier")
"""Beside an ok-word in the past tense they say that it is ok no more: ``was fine until Monday``."""

UNCERTAIN = _words("""
    maybe perhaps possibly probably presumably might suspect suspected suspects suspecting wonder wondering assume
    assuming potentially suspicion likely unsure supposedly allegedly theory whether
""")
"""Nothing beside these is taken as a fact."""

UNCERTAIN_PAIRS = _pairs(
    "could be, could have, may be, may have, can be, not sure, not certain, not know, in case, not necessarily"
)

OPINION = _words("think believe guess reckon feel thinks believes")
"""Beside these, what is plain to see counts (a symptom); a conclusion (a result) does not."""

HEDGES_WHAT_FOLLOWS = _words(
    "with from since because due for by in at after before on when as during under around through"
)
"""Behind ``perhaps`` they say that only the circumstance is not certain that follows."""

BECAUSE = _words("because hence therefore")

GUESSING = _words("guess reckon")
"""Of these, those before which no figure counts."""

CONDITION = _words("if unless assuming provided")
MODALS = _words("should would could can may might must will please call tell had want wish were i'd we'd i'll we'll")
"""With these, ``if I`` tells of no attempt."""

ASKING = _words("""
    is are was were does do did has have had can could should would will isn't aren't doesn't don't hasn't am may
""")
"""A sentence that starts with one of these and ends with a question mark asks; so does one with a bare statement."""

PRESUPPOSING = _words("why what how who where which when")
"""``Why is it dark?`` takes for granted that it is dark."""

YES = _words("yes yep yeah y correct indeed affirmative")
NO = _words("no nope n negative not")

OPPOSITES = {
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
"""Stems; between two words of a phrase, the opposite of one of them says that another thing is spoken of."""

TELLING = _words("show read display giv measur report see get")
"""Stems of verbs by which any instrument speaks; they tell little about which one it is."""

VALUE_STEMS = _words("flow valu show number figur rate total percent compar relativ against sinc")
"""Stems of nouns for what is read, and of words that go on about how it is read."""

ZERO_NOUNS = _words("point offset check adjust calibrat trim drift stability error shift set line")
"""Stems of nouns that *zero* may stand before without being what is read."""

SAYING = _words("show report")
"""Of these, those that make what follows a message (``the line says empty``)."""

FURTHER_NOUNS = _words("direct direction meter switch profil sensor")
"""Stems of nouns that make another thing of the noun before them (``shows the flow direction``)."""

MEASURED = re.compile(r"\b(?:measur\w*|actual\w*|in fact|really)\b", re.IGNORECASE)
"""Beside one of two values of the same thing they say that it is the one that was read."""

REQUIRED = _words("""
    should must shall ought required require requires requirement requirements need needs needed have has expected
    expect expects supposed normal normally usual usually typical typically spec specs specification specified
    specifies minimum maximum min max want wants wanted allowed permitted permissible admissible acceptable accepted
    recommended recommends demanded demands according manual standard target criterion criteria rated designed
    would limit limits guideline threshold set setting setpoint until
""")
"""In the clause of a limit they say that it is asked for and not read (``should be below 1 ohm``)."""

CIRCUMSTANCE = CONDITION | _words("when whenever while whilst once until till as than")
"""Before a limit they say when something happens (``when the current is above 21 mA``)."""

ACROSS = _words("between against across")
"""Behind a limit they say where it was measured."""

MOVING = _words("drop fall go ris jump climb increas decreas run reach get sink creep swing vary drift come")
"""Stems of verbs that tell of a change and not of a reading (``drops below 18 V``)."""

IRREGULAR = _forms("""
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
"""Word forms that no suffix rule reaches, and other words for the same; British and American spelling among them."""

KEPT_FORMS = _words("""
    housing housings fused cleaned evening setting building tailing string lined lining pipework zeroed zeroing
""")
"""Forms that mean something else than their stem: a *fused* spur is no *fuse*, *evening* is not *even*."""

READERS = _words("i we you they he she one can cannot can't could couldn't to be")
"""Before *read* they say that a person does it; else an instrument does, and *reads* is another word for *shows*."""

COMPARED = _words("more less higher lower bigger smaller greater faster slower other another different")
"""Before *as* they say that *than* was meant."""

NUMBERS = _words("""
    two three four five six seven eight nine ten eleven twelve fifteen twenty thirty forty fifty sixty hundred
    thousand half couple few several dozen
""")
"""Amounts in words; they cost nothing between two words of a phrase."""

TIME_UNITS = _words("""
    second seconds minute minutes hour hours day days night nights week weeks weekend month months year years season
    summer winter time shift
""")
SPANS = _words("the a an last past next some several many few couple of whole long course this that these those first")
"""Between *over* and a unit of time; then *over* means *during*."""

TAKEN_AWAY = _words("disconnect unplug bypas")
"""Stems; what is well behind them in a sentence was a trial."""

HARDLY = _words("hardly barely scarcely")
"""Before an amount they deny nothing (``hardly two weeks ago``)."""

ALWAYS = _words("always constantly permanently continuously consistently continually")
"""After ``not`` they say that it is so at times."""

ALL_THE_TIME = (
    ("all", "the", "time"),
    ("all", "time"),
    ("every", "time"),
    ("the", "whole", "time"),
    ("at", "all", "times"),
)

ENDINGS = _words("led age ages ful less ton its ore red ted ated ised ising ands raining")
"""No second words of a compound: nobody in *controlled* speaks of an *LED*."""

SHORTHAND = {"b4": "before", "w/o": "without", "w/": "with", "%": "percent"}
"""Signs and abbreviations that are read as words."""

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
"""Words that mean something as a whole only."""

ABBREVIATIONS = _words(
    "e.g i.e approx ca no nr tel temp max min vs a.c d.c resp incl dept ref pos fig st mr mrs ms dr abt"
)

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
HEADER = re.compile(
    r"(?:from|to|cc|bcc|sent|date|received|reply-to|attachments?|importance|priority|tel|phone|fax|mobile|e-?mail|web"
    r"|message-id|content-type|mime-version|time|reported by|requester|caller|ticket(?: (?:no|number|id))?)\.?\s*:.*"
    r"|.*\bwrote:|-+\s*original message\s*-+|sent from my .*|begin forwarded message:?|--+",
    re.IGNORECASE,
)
LABEL = re.compile(r"(?:(?:subject|re|fw|fwd|aw|wg)\s*:\s*)+|[-*•·]+\s+|\d{1,2}[.)]\s+", re.IGNORECASE)
"""What is cut off the front of a line: labels of a subject, list marks."""
