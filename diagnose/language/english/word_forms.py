"""Irregular forms, spellings, shorthand and idioms, by the word that they stand for."""

from __future__ import annotations

from diagnose.language.english.lists import forms, words

CONTRACTIONS = {"i am": ("i'm", "im"), "we are": ("we're",)}
"""How people write these at the beginning of a phrase that is read word for word."""

IRREGULAR_FORMS = forms("""
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

UNSTEMMED_FORMS = words("""
    housing housings fused cleaned evening setting building tailing string lined lining pipework zeroed zeroing
    thundering bite fainted screened invoiced mains clearly shocking
""")
"""Forms that are not stemmed, since they mean something else: a *fused* spur is not a *fuse*, *thundering* is no storm
that is over, what *bites* is not a *bit*, and whoever has *fainted* is not *faint*, and a *screened* cable no
*screen*; what is *invoiced* by a meter is more than an *invoice*, and the *mains* are no water *main*;
*shocking* may be a price."""

SHORTHAND = {"b4": "before", "w/o": "without", "w/": "with", "%": "percent"}
"""Signs and abbreviations by the word that they stand for."""

IDIOMS = {
    ("now", "and", "then"): "occasionally",
    ("now", "and", "again"): "occasionally",
    ("from", "time", "to", "time"): "occasionally",
    ("once", "in", "a", "while"): "occasionally",
    ("every", "so", "often"): "occasionally",
    ("as", "soon", "as"): "when",
    ("as", "far", "as"): "as",
    ("nothing", "to", "do", "with"): "unrelated",
    ("next", "to", "nothing"): "little",
    ("near", "nothing"): "little",
    ("almost", "nothing"): "little",
    ("at", "fault"): "then",
    ("what", "it", "should", "be"): "expected",
    ("what", "it", "should"): "expected",
}
"""Idioms by the word that they stand for."""
