"""Where the readings that a finished circuit should give come from; `wirecalc.built.should` computes them."""

from __future__ import annotations

from wirecalc.bench.finished import COVER
from wirecalc.built.should import SPEAKER_LIKELY, TONE_COUNT_V, TONE_METER, VOLT_COUNT_V, VOLTMETER, Should
from wirecalc.vehicle.fields import LOUDSPEAKER, SUBWOOFER
from wirecalc.workings import finished
from wirecalc.workings.formula import Book, Given, Rule, Working, worked

_DIVIDER = "Voltage divider, any textbook of circuits"
_STRAY = f"Sum of squares of what strays by itself, ISO/IEC Guide 98-3; {COVER:g} standard deviations"
_LIKELY = (
    "80 % of nominal at the least, IEC 60268-5 clause 16.1; published value, copy not checked; more towards its"
    " resonance: common practice, no source"
)


def of_reading(key: str, should: Should) -> Working:
    """How a number of what a circuit should read was worked out.

    Parameters
    ----------
    key : str
        "ohm" for its resistance; "volts", "low" or "high" for its volts and the ends of their band.
    should : Should

    Returns
    -------
    Working

    Raises
    ------
    KeyError
        If it has no such number.
    """
    if key == "ohm":
        return finished.reading_working(should.ohm)
    if key not in ("volts", "low", "high") or should.volts is None:
        raise KeyError(key)
    return worked(key, _volts(should), {"volts": "V", "low": "V1", "high": "V2"}[key])


def _volts(should: Should) -> Book:
    """Volts at the device, or along a ground, and how far good circuits stray: what strays is small, so each adds by
    its slope."""
    right, fed = should.right, should.right.fed
    assert fed is not None
    part, name = ("Rw", "Volts along it") if should.along else ("Z", "Volts at the device")
    of_load = "Vs*Z*Rw/W**2*sz" if should.along else "Vs*Z*(W-Z)/W**2*sz"
    of_own = "Vs*(W-Rw)/W**2*sw" if should.along else "Vs*Z/W**2*sw"
    return {
        **_source(should),
        "Rp": Given("this wire, out and back for a pair, as planned", right.wire_ohm, "Ω", "the plan's size and length",
                    "computed"),
        "Rj": Given("its joints", right.joints_ohm, "Ω", "the plan, or assumed", "computed"),
        "Rw": Rule("Wire with its joints", "Rp+Rj", "Ω", "In series"),
        "Ro": Given("all else in the way", fed.rest_ohm, "Ω", "the plan's network", "computed"),
        **_load(should),
        "W": Rule("Whole way", "Z+Ro+Rw", "Ω", "In series"),
        "V": Rule(name, f"Vs*{part}/W", "V", _DIVIDER),
        "u": Given("share by which wire strays, one standard deviation", right.wire_share, origin="data/tolerances.csv",
                   confidence="computed"),
        "uj": Given("by which joints stray, one standard deviation", right.joints_dev_ohm, "Ω", "data/tolerances.csv",
                    "computed"),
        "sw": Rule("Wire and joints stray by", "sqrt((u*Rp)**2+uj**2)", "Ω", _STRAY),
        "sz": Given("share by which the load strays, one standard deviation", fed.load_share,
                    origin="common practice, no source"),
        "ss": Given("volts by which the source strays, one standard deviation", fed.source_dev_v, "V",
                    _meter(should), "common practice"),
        "sm": Given("volts by which the meter strays, one standard deviation", fed.meter_v, "V", _meter(should),
                    "common practice"),
        "D": Rule("Half of the band", f"{COVER:g}*sqrt(({of_load})**2+({of_own})**2+({part}/W*ss)**2+sm**2)", "V",
                  _STRAY),
        "V1": Rule("Lower end of the band", "V-D", "V", "By definition"),
        "V2": Rule("Upper end of the band", "V+D", "V", "By definition"),
    }  # fmt: skip


def _source(should: Should) -> Book:
    fed = should.right.fed
    assert fed is not None
    if fed.tone:
        name, origin = "test tone across the terminals that give it", "entered, or the default of 1 V"
    else:
        name, origin = "battery at its posts", "read there, or the plan's network"
    return {"Vs": Given(name, fed.source_v, "V", origin)}


def _load(should: Should) -> Book:
    fed = should.right.fed
    assert fed is not None
    if fed.tone and should.end in (LOUDSPEAKER, SUBWOOFER):
        return {
            "Zn": Given("the speaker's nominal impedance", fed.load_ohm / SPEAKER_LIKELY, "Ω"),
            "Z": Rule("What it likely is at the tone", f"{SPEAKER_LIKELY:g}*Zn", "Ω", _LIKELY),
        }  # fmt: skip
    name = "input impedance" if fed.tone else "what the device draws, as a resistance"
    return {"Z": Given(name, fed.load_ohm, "Ω", "the plan", "computed")}


def _meter(should: Should) -> str:
    meter, count_v = (TONE_METER, TONE_COUNT_V) if should.tone else (VOLTMETER, VOLT_COUNT_V)
    return (
        f"a meter of {meter}, {1e3 * count_v:g} mV a count (of a ground a hundredth of it): common practice, no source"
    )
