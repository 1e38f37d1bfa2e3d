"""Where the reading that a finished run should give comes from; `wirecalc.bench.finished` computes it."""

from __future__ import annotations

from wirecalc.bench.finished import Expected, in_ohm
from wirecalc.wire.conductor import at_temperature
from wirecalc.workings.formula import Input, Step, Working

_NAMES = {
    "length_m": "length",
    "joints_ohm": "joints",
    "resistance_ratio": "wire",
    "temperature_c": "temperature",
    "meter_ohm": "meter",
    "leads_ohm": "meter leads",
}


def reading_working(expected: Expected) -> Working:
    """Where the expected reading comes from.

    Parameters
    ----------
    expected : Expected
        What a meter should read, by `wirecalc.bench.finished.expected`.

    Returns
    -------
    Working
        Resistance per metre at the wire's temperature, then the whole loop; values in ohm.
    """
    run, conductor = expected.run, expected.run.conductor
    per_m = float(at_temperature(conductor.ohm_per_m_20c, run.temperature_c, conductor.metal))
    g = "{:.7g}".format
    warm = Step(
        title="One conductor, per metre, at its temperature",
        symbol="r",
        formula="r20 × (1 + α × (T − 20))",
        filled=f"{g(conductor.ohm_per_m_20c)} × (1 + {g(conductor.metal.per_k_20c)} × ({g(run.temperature_c)} − 20))",
        value=per_m,
        unit="Ω/m",
        inputs=(
            _input("r20", f"{conductor.label}, at 20 °C", g(conductor.ohm_per_m_20c) + " Ω/m", conductor.source),
            _input("α", "Temperature coefficient", g(conductor.metal.per_k_20c) + " 1/K", conductor.metal.source),
            _input("T", "Conductor temperature", f"{g(run.temperature_c)} °C"),
        ),
        source="IEC 60028",
        note="",
    )
    because = ", ".join(f"{_NAMES[name]} {100 * share:.0f} %" for name, share in expected.shares.items())
    twice = "2 × " if run.ways == 2 else ""
    reading = Step(
        title="Expected reading",
        symbol="R",
        formula=f"{twice}L × r / n + Rj + Rm",
        filled=f"{twice}{g(run.length_m)} × {g(per_m)} / {run.parallel} + {g(run.joints_ohm)} + {g(run.leads_ohm)}",
        value=expected.ohm,
        unit="Ω",
        inputs=(
            _input("L", "Run length, one way", f"{g(run.length_m)} m"),
            _input("n", "Conductors in parallel", str(run.parallel)),
            _input("Rj", "Joints, whole loop", f"{g(run.joints_ohm)} Ω"),
            _input("Rm", "Meter leads", f"{g(run.leads_ohm)} Ω"),
        ),
        source=f"{'out, back' if run.ways == 2 else 'the wire'}, joints and the meter's own leads in series",
        note=f"95 % of good runs read {in_ohm(expected.low_ohm)} to {in_ohm(expected.high_ohm)}, two standard "
        f"deviations either side of the mean. Of the variance: {because}.",
    )
    return Working(measure="reading", title="Expected reading", value=expected.ohm, unit="Ω", steps=(warm, reading))


def _input(symbol: str, name: str, value: str, origin: str = "entered") -> Input:
    return Input(symbol=symbol, name=name, value=value, origin=origin, confidence="")
