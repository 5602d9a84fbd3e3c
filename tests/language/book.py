"""A small rule book for tests of language, so that they do not change with the real one."""

from __future__ import annotations

from diagnose.language.lexicon import Lexicon
from diagnose.rule_book.book import RuleBook, Settings
from diagnose.rule_book.faults import Finding
from diagnose.rule_book.quantities import Quantity

FINDINGS = (
    Finding(
        id="display-dark",
        title="display is dark",
        kind="symptom",
        phrases=("display dark", "display blank", "blank screen", "dark", "nothing on the display"),
        denied_by=("display works",),
        subject=("display", "screen"),
    ),
    Finding(
        id="display-garbled", title="display is garbled", kind="symptom", phrases=("garbled", "strange characters")
    ),
    Finding(
        id="error-indicated", title="indicates an error", kind="symptom", phrases=("error", "alarm", "fault shown")
    ),
    Finding(
        id="fuse-blown",
        title="the fuse is blown",
        phrases=("fuse blown", "blew the fuse", "fuse gone"),
        denied_by=("fuse has continuity",),
        subject=("fuse",),
    ),
    Finding(id="fuse-loose", title="the fuse is loose", phrases=("fuse loose",), subject=("fuse",)),
    Finding(
        id="wiring-wrong",
        title="wiring is wrong",
        phrases=("wires swapped", "wired wrongly"),
        subject=("wiring", "cable"),
    ),
    Finding(id="flow-negative", title="shows a negative flow", kind="symptom", phrases=("negative", "flow reversed")),
    Finding(
        id="value-frozen",
        title="the value never moves",
        kind="symptom",
        phrases=("frozen", "does not move", "value stuck", "stuck"),
    ),
    Finding(
        id="bus-silent",
        title="no reply on the bus",
        kind="symptom",
        phrases=("no reply", "not responding", "bus silent", "times out"),
    ),
    Finding(
        id="zero-while-flowing",
        title="stays at zero while liquid flows",
        kind="symptom",
        phrases=("shows zero while flowing", "at zero"),
    ),
    Finding(
        id="reads-high",
        title="reads high",
        kind="symptom",
        alternatives="deviation",
        phrases=("reads high", "reads too much"),
    ),
    Finding(id="reads-low", title="reads low", kind="symptom", alternatives="deviation", phrases=("reads low",)),
    Finding(
        id="only-at-high-flow",
        title="only at high flow",
        kind="history",
        alternatives="region",
        phrases=("only at high flow", "at night flow"),
    ),
    Finding(
        id="moisture-seen", title="moisture seen", kind="symptom", phrases=("moisture", "water inside", "condensation")
    ),
    Finding(id="comes-and-goes", title="comes and goes", kind="history", phrases=("comes and goes", "now and then")),
    Finding(
        id="reads-over", title="reads over", kind="symptom", phrases=("reads percent over", "half of what it should")
    ),
    Finding(
        id="no-output",
        title="no output",
        kind="symptom",
        phrases=("no output", "0 mA", "output off"),
        subject=("output",),
    ),
    Finding(id="flows-down", title="flows down", phrases=("top to bottom",), denied_by=("bottom to top",)),
    Finding(
        id="message", title="shows a message", kind="symptom", phrases=("message on screen",), denied_by=("no message",)
    ),
    Finding(id="when-wet", title="worse in rain", kind="history", phrases=("when it rains", "after rain")),
    Finding(
        id="reading-erratic",
        title="jumps about",
        kind="symptom",
        phrases=("jumps about", "erratic", "reading unstable"),
    ),
    Finding(
        id="restarts", title="restarts by itself", kind="symptom", phrases=("keeps restarting", "restarts by itself")
    ),
    Finding(id="settings-locked", title="settings are locked", kind="symptom", phrases=("cannot change settings",)),
    Finding(id="never-right", title="never right", kind="history", phrases=("never right",)),
    Finding(
        id="danger",
        title="there is danger",
        word_for_word=("acid on me",),
        said_alone=("fire", "it tickles", "gas!"),
        phrases=("passed out",),
        sounds_like=("passed out the",),
    ),
    Finding(id="plc-more", title="the plc shows more", kind="symptom", phrases=("plc shows more than display",)),
)


def _quantity(name: str, title: str, unit: str, factor: float, limits: tuple[float, float], **rest: object) -> Quantity:
    return Quantity(id=name, title=title, unit=unit, si_factor=factor, plausible=limits, **rest)  # type: ignore[arg-type]


_HOUR = 1 / 3600
QUANTITIES = (
    _quantity(
        "displayed-flow",
        "flow on the meter's display",
        "m3/h",
        _HOUR,
        (-28.0, 28.0),
        words=("display", "shows", "reads", "flow", "meter"),
    ),
    _quantity(
        "receiver-flow",
        "flow that the control system shows",
        "m3/h",
        _HOUR,
        (-28.0, 28.0),
        words=("plc", "control system"),
    ),
    _quantity(
        "reference-flow", "flow by the reference", "m3/h", _HOUR, (-28.0, 28.0), words=("tank", "clamp-on", "should be")
    ),
    _quantity(
        "upper-range-value",
        "flow at 20 mA",
        "m3/h",
        _HOUR,
        (-28.0, 28.0),
        words=("urv", "range", "full scale", "meter range"),
        where_to_find="settings",
    ),
    _quantity(
        "lower-range-value",
        "flow at 4 mA",
        "m3/h",
        _HOUR,
        (-28.0, 28.0),
        words=("lrv",),
        where_to_find="settings",
        lower_end_of="upper-range-value",
    ),
    _quantity(
        "loop-current", "current in the loop", "mA", 0.001, (-0.03, 0.06), words=("loop", "output", "current", "mA")
    ),
    _quantity("receiver-current", "current at the receiver", "mA", 0.001, (-0.03, 0.06), words=("input card",)),
    _quantity("supply-current", "current that the meter draws", "A", 1.0, (0.0, 20.0), words=("draws",)),
    _quantity("supply-voltage", "supply voltage", "V", 1.0, (0.0, 600.0), words=("supply", "terminals", "mains")),
    _quantity("loop-voltage", "voltage across the output", "V", 1.0, (-60.0, 60.0), words=("output terminals",)),
    _quantity("coil-resistance", "resistance of the coils", "ohm", 1.0, (0.0, 1e9), words=("coil",)),
    _quantity("bore", "inner diameter", "mm", 0.001, (0.001, 4.0), where_to_find="nameplate"),
    _quantity("pulse-frequency", "frequency of the pulses", "Hz", 1.0, (0.0, 1e5), words=("pulses",)),
    Quantity(
        id="output",
        title="outputs in use",
        choices=("4-20 mA", "pulse", "bus"),
        several=True,
        choice_words={"pulse": ("pulse output",), "4-20 mA": ("analogue output",), "bus": ("bus output",)},
    ),
    Quantity(
        id="build",
        title="how it is built",
        choices=("compact", "remote"),
        choice_words={"compact": ("compact unit",), "remote": ("remote version", "supply box on the wall")},
        where_to_find="look at it",
    ),
    Quantity(
        id="hazardous-area",
        title="explosive atmosphere",
        choices=("yes", "no"),
        choice_words={"yes": ("ex area",), "no": ("not in an ex area", "safe area")},
        where_to_find="zone plan",
    ),
    Quantity(
        id="liquid", title="what is in the pipe", choices=("water", "sewage", "slurry"), words=("liquid", "medium")
    ),
)

BOOK = RuleBook(
    settings=Settings(
        title="small",
        several_at_once=0.08,
        strengths={},
        frequencies={},
        leaks={},
        exposure_minutes={},
        call_out_minutes=0,
        question_minutes=1,
        remedy_works=0.95,
        same_words={"display": ("readout",)},
    ),
    sources={},
    areas={},
    quantities={item.id: item for item in QUANTITIES},
    findings={item.id: item for item in FINDINGS},
    checks={},
    inference={},
    causes={},
    remedies={},
    cautions={},
    states={},
)
LEXICON = Lexicon(BOOK)
