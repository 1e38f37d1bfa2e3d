"""Links from when keys and options were made of what the pages showed: what each of them is called now.

Nothing is ever taken out. A key that is renamed is added here, and a link that has it to the tests.
"""

from __future__ import annotations

from collections.abc import Mapping

_FIRST = {"what-wire": "wire", "run-right": "run", "will-it-fit": "fit", "sheet-for-a-class": "sheet"}
_KEYS = {
    # One run, and what Show and hear shares with it
    "amplifier-power": "power",
    "rated-into": "rated",
    "load-impedance": "load",
    "amplifier-damping-factor": "damping",
    "least-load-allowed": "least",
    "second-rating-power": "second-power",
    "second-rating-into": "second-ohm",
    "channels": "bridge",
    "average-power": "share",
    "output-impedance": "source",
    "input-impedance": "input",
    "cable-capacitance-per-metre": "capacitance",
    "draw-of-all-devices": "draw",
    "head-unit-s-limit": "limit",
    "turn-on-voltage": "supply",
    "least-turn-on-voltage": "least",
    "coil-resistance": "coil",
    "pull-in-voltage": "pull-in",
    "supply-voltage": "supply",
    "coil-temperature": "hot",
    "drop-out-voltage": "drop-out",
    "strip-length": "strip",
    "strip-current-per-metre": "per-m",
    "fed-from": "both-ends",
    "strip-resistance-per-metre": "strip-ohm",
    "rated-power-all-channels": "power",
    "battery-voltage": "supply",
    "class": "amplifier-class",
    "power-supply": "regulated",
    "rated-at": "full-v",
    "average-output": "share",
    "run-length-one-way": "length",
    "metric-sizes-by": "metric-table",
    "where-it-lies": "zone",
    "conductor-temperature": "temperature",
    "joints-whole-loop": "joints",
    "conductors-in-parallel": "parallel",
    "loaded-wires-together": "loaded",
    "sizes-drawn": "sizes",
    "choice.most-level-loss-db": "choice.loss-db",
    "choice.least-damping-factor": "choice.damping-factor",
    "choice.most-loss-at-20-khz-under-the-middle-db": "choice.treble-loss-db",
    "choice.most-voltage-drop-v": "choice.drop-v",
    "choice.most-voltage-drop": "choice.drop-fraction",
    "choice.side-by-side": "choice.side",
    "response.vas-litres": "response.vas",
    "response.sealed-box-litres": "response.box",
    "response.drivers-in-series": "response.series",
    "response.drivers-in-parallel": "response.parallel",
    "response.semi-inductance-k-ω-sn": "response.semi",
    "response.its-exponent-n": "response.exponent",
    "response.insulation-thickness": "response.wall",
    "response.gap-between-the-two-wires": "response.gap",
    "response.insulation-for-the-capacitance": "response.dielectric",
    "response.ripple-in-a-supply-wire": "response.ripple",
    "response.ripple-frequency": "response.ripple-hz",
    "response.length-alongside": "response.along",
    "response.distance-supply-to-signal": "response.distance",
    "response.signal-conductors-centre-to-centre": "response.spacing",
    "response.length-of-one-full-twist": "response.twist",
    "spread.wire-resistance": "spread.resistance",
    # At the bench
    "wire.strand-diameter": "wire.strand",
    "wire.bare-diameter": "wire.bare",
    "wire.meter-leads": "wire.leads",
    "wire.measured-length": "wire.length",
    "wire.wire-temperature": "wire.temperature",
    "wire.stripped-length": "wire.stripped",
    "wire.outer-diameter": "wire.outer",
    "wire.meter-wires": "wire.way",
    "wire.meter-accuracy": "wire.accuracy",
    "wire.name-of-this-sample": "wire.name",
    "run.run-length-one-way": "run.length",
    "run.conductors-in-parallel": "run.parallel",
    "run.joints-whole-loop": "run.joints",
    "run.wire-temperature": "run.temperature",
    "run.meter-leads": "run.leads",
    "run.meter-accuracy": "run.accuracy",
    "run.meter-s-last-digit": "run.digit",
    "run.your-reading": "run.reading",
    "run.cable-holds": "run.cable",
    "run.re-of-each-coil": "run.re",
    "run.read": "run.through",
    "run.reading-of-the-coils": "run.coil-reading",
    "fit.opening-inner-diameter": "fit.opening",
    **{f"fit.wires-row-{row}": f"fit.count-{row}" for row in range(1, 7)},
    **{f"fit.size-or-diameter-row-{row}": f"fit.size-{row}" for row in range(1, 7)},
    # Practice
    "kind-of-problem": "kind",
    "sheet.number-of-the-sheet": "sheet.number",
    "sheet.problems": "sheet.count",
    "lessons.length-one-way": "lessons.length",
    "lessons.loop-resistance": "lessons.loop",
    "lessons.conductors-side-by-side": "lessons.count",
    "lessons.copper-temperature": "lessons.copper",
    "lessons.amplifier-s-damping-factor": "lessons.factor",
    "lessons.loaded-wires-together": "lessons.loaded",
    "lessons.air-around-them": "lessons.air",
    "lessons.coil-temperature": "lessons.coil",
    "lessons.source-impedance": "lessons.source",
    # Show and hear
    **{f"{letter}-run-length-one-way": f"{letter}-length" for letter in "ab"},
    **{f"{letter}-wires-in-parallel": f"{letter}-parallel" for letter in "ab"},
    **{f"{letter}-price-of-the-pair": f"{letter}-price" for letter in "ab"},
    "what-is-asked": "question",
    "number-of-questions": "questions",
    "sound-in-the-test": "test-sound",
    # Whole vehicle
    "sizes-on-the-shelf": "shelf",
    "conductors-to-keep-spare": "spare",
    "service-loop": "loop",
    "spool-lengths": "spools",
}
_OPTIONS: Mapping[str, Mapping[str, str]] = {
    "circuit": {
        "amplifier-to-speaker": "speaker",
        "amplifier-to-subwoofer": "subwoofer",
        "line-level": "line",
        "remote-turn-on": "turn-on",
        "lamp-strip": "lamp",
        "battery-to-amplifier": "feed",
    },
    "bridge": {"one-channel": "no", "two-bridged": "yes"},
    "both-ends": {"one-end": "no", "both-ends-by-like-runs": "yes"},
    "regulated": {"not-regulated": "no", "regulated": "yes"},
    "return": {"by-a-second-conductor": "conductor", "by-the-vehicle-s-body": "body"},
    "choice.side": {"one-conductor": "1", "one-or-two": "2"},
    "tab": {
        "heat-and-fuse": "heat",
        "sheet-for-a-class": "sheet",
        "my-progress": "progress",
        "currents-and-volts": "currents",
        "decibels-and-heat": "levels",
        "to-buy": "buy",
    },
    "part": _FIRST,
    "run.cable": {
        "four-channels-and-turn-on": "five",
        "four-channels": "four",
        "front-pair": "front",
        "rear-pair": "rear",
    },
    "run.through": {"through-this-run": "yes", "at-the-coils": "no"},
    "run.planned": {
        "one-coil": "1",
        "3-in-series": "s3-1-1-1",
        "in-series-2-in-parallel-one-coil": "s2-p2-1-1-1",
        "in-parallel-2-in-series-one-coil": "p2-s2-1-1-1",
        "in-series-2-in-parallel-one-coil-one-coil": "s3-p2-1-1-1-1",
        "in-series-in-parallel-2-in-series-one-coil-one-coil": "s2-p2-s2-1-1-1-1",
        "in-series-3-in-parallel-one-coil": "s2-p3-1-1-1-1",
        "in-parallel-3-in-series-one-coil": "p2-s3-1-1-1-1",
        "in-parallel-in-series-2-in-parallel-one-coil-one-coil": "p2-s2-p2-1-1-1-1",
        "in-parallel-2-in-series-one-coil-one-coil": "p3-s2-1-1-1-1",
        **{
            f"{n}-in-{way}": "-".join([f"{way[0]}{n}", *"1" * n]) for n in range(2, 9) for way in ("series", "parallel")
        },
        "2-groups-in-series-each-2-in-parallel": "s2-p2-1-1-p2-1-1",
        **{
            f"{groups}-groups-in-parallel-each-{n}-in-series": "-".join([f"p{groups}", *[f"s{n}", *"1" * n] * groups])
            for groups, n in ((2, 2), (2, 3), (3, 2), (2, 4), (4, 2))
        },
    },
    "sheet.kinds": {
        "loop-resistance-of-a-run": "loop",
        "resistance-from-a-diameter": "diameter",
        "conductors-side-by-side": "parallel",
        "two-unlike-pairs-side-by-side": "unlike",
        "a-hot-wire": "temperature",
        "volts-dropped": "drop",
        "decibels-lost": "decibels",
        "watts-at-the-speaker": "power",
        "damping-factor": "damping",
        "coils-in-series-and-parallel": "coils",
        "treble-in-a-line-cable": "treble",
        "smallest-size-for-a-limit": "smallest",
        "reading-the-plot": "plot",
        "fuse-for-a-wire": "fuse",
        "relay-pull-in-when-hot": "relay",
        "turn-on-budget": "budget",
        "volts-lost-on-a-turn-on-lead": "lead",
        "lamp-strip": "strip",
        "wrong-label-by-its-resistance": "label",
        "wrong-label-by-its-strands": "strands",
    },
    "sheet.key": {"with-the-answer-key": "yes", "without": "no"},
    "order": {"worst-first": "worst", "as-listed": "listed", "broken-only": "broken"},
    "state": {
        "engine-off-full-power": "off-full",
        "engine-off-music": "off-music",
        "engine-on-full-power": "on-full",
        "engine-on-music": "on-music",
    },
}
"""By the key as it is now."""


def renewed(values: Mapping[str, str]) -> dict[str, str]:
    """The entries of an address with the keys and options of now.

    Parameters
    ----------
    values : mapping of str to str
        What stands in an address, by key; of now, of then, or both.

    Examples
    --------
    >>> renewed({"where-it-lies": "boot", "channels": "two-bridged", "will-it-fit.wires-row-2": "3"})
    {'zone': 'boot', 'bridge': 'yes', 'fit.count-2': '3'}
    """
    new = {}
    for old, text in values.items():
        first, dot, rest = old.partition(".")
        key = f"{_FIRST.get(first, first)}.{rest}" if dot else old
        key = _KEYS.get(key, key)
        words = _OPTIONS.get(key, {})
        new[key] = ".".join(words.get(word, word) for word in text.split(".")) if words else text
    return new
