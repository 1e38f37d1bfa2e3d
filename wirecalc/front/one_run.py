"""One run of each kind of circuit, in one call."""

from __future__ import annotations

from typing import Any, Literal

from wirecalc import runs
from wirecalc.circuits import relay, supply
from wirecalc.circuits.battery import in_a_row
from wirecalc.circuits.device import NOMINAL_V, START_RATIO, START_S, Behaviour
from wirecalc.circuits.line_level import CABLE_FARAD_PER_M
from wirecalc.circuits.source import Amplifier
from wirecalc.front.answer import RunAnswer, laid
from wirecalc.front.wires import known
from wirecalc.units_taken import takes_units
from wirecalc.vehicle.fields import STRIP_OHM_PER_M
from wirecalc.wire.music import MUSIC_FRACTION


@takes_units
def speaker_run(
    power_w: float,
    load_ohm: complex,
    length_m: Any,
    size: Any = None,
    *,
    rated_ohm: float | None = None,
    damping_factor: float = 200.0,
    music_share: float = MUSIC_FRACTION,
    **how: Any,
) -> RunAnswer:
    """Amplifier to loudspeaker.

    Parameters
    ----------
    power_w : float
        Rated power of the channel. [W]
    load_ohm : complex
        Nominal impedance of the loudspeaker. [ohm]
    length_m : float or (n,) array_like
        One way. [m]
    size : str, Conductor or a sequence of them, optional
        As `wirecalc.wire` takes them; all standard gauges if not given.
    rated_ohm : float, optional
        What the power is rated into; the load if not given. [ohm]
    damping_factor : float
        Rated impedance over output impedance.
    music_share : float
        Average power over rated power, for the heat. [0 to 1]
    **how
        Metal, temperature and so on: see `laid`.

    Returns
    -------
    RunAnswer

    Examples
    --------
    >>> import wirecalc
    >>> run = wirecalc.speaker_run("100 W", "4 ohm", "20 ft", "18 AWG")
    >>> round(run["loss_db"], 3)
    0.545
    """
    return laid(_speaker(runs.SpeakerRun, power_w, load_ohm, rated_ohm, damping_factor, music_share), length_m, size,
                **how)  # fmt: skip


@takes_units
def subwoofer_run(
    power_w: float,
    load_ohm: complex,
    length_m: Any,
    size: Any = None,
    *,
    rated_ohm: float | None = None,
    damping_factor: float = 200.0,
    music_share: float = MUSIC_FRACTION,
    **how: Any,
) -> RunAnswer:
    """Amplifier to subwoofer: as `speaker_run`, under the rules for subwoofers.

    Parameters
    ----------
    power_w, load_ohm, length_m, size, rated_ohm, damping_factor, music_share, **how
        See `speaker_run`.

    Returns
    -------
    RunAnswer

    Examples
    --------
    >>> import wirecalc
    >>> round(wirecalc.subwoofer_run("500 W", "2 ohm", "3 m", "12 AWG")["load_w"])
    485
    """
    return laid(_speaker(runs.SubwooferRun, power_w, load_ohm, rated_ohm, damping_factor, music_share), length_m, size,
                **how)  # fmt: skip


def _speaker(
    kind: type[runs.SpeakerRun],
    power_w: float,
    load_ohm: complex,
    rated_ohm: float | None,
    damping: float,
    share: float,
) -> runs.SpeakerRun:
    into = abs(load_ohm) if rated_ohm is None else rated_ohm
    amplifier = Amplifier(power_w=power_w, rated_ohm=into, damping_factor=damping)
    return kind(amplifier=amplifier, load_ohm=load_ohm, music_share=share)


@takes_units
def line_run(
    source_ohm: float,
    input_ohm: float,
    length_m: Any,
    size: Any = "24 AWG",
    *,
    farad_per_m: float = CABLE_FARAD_PER_M["shielded"],
    **how: Any,
) -> RunAnswer:
    """Line level, from a head unit or processor to an input.

    Parameters
    ----------
    source_ohm, input_ohm : float
        Of the output and of the input. [ohm]
    length_m : float or (n,) array_like
        One way. [m]
    size : str or Conductor
        Of the cable's inner conductor; it hardly matters.
    farad_per_m : float
        Of the cable; a common shielded one if not given. [F/m]
    **how
        See `laid`.

    Returns
    -------
    RunAnswer

    Examples
    --------
    >>> import wirecalc
    >>> wirecalc.line_run("200 ohm", "10 kohm", "5 m")["treble_loss_db"] < 0.01
    True
    """
    run = runs.LineRun(source_ohm=source_ohm, input_ohm=input_ohm, farad_per_m=farad_per_m)
    return laid(run, length_m, size, **how)


@takes_units
def factory_run(
    power_w: float,
    input_ohm: float,
    length_m: Any,
    size: Any = "18 AWG",
    *,
    rated_ohm: float = 4.0,
    damping_factor: float = 100.0,
    **how: Any,
) -> RunAnswer:
    """Factory signal at speaker level, from a head unit or factory amplifier to a high-level input.

    Parameters
    ----------
    power_w, rated_ohm : float
        Of one channel of the factory unit, and what that is rated into. [W], [ohm]
    input_ohm : float
        Of the high-level input, with its load resistor if it has one. [ohm]
    length_m : float or (n,) array_like
        One way. [m]
    size : str or Conductor
        It hardly matters.
    damping_factor : float
        Of the factory unit, at `rated_ohm`.
    **how
        See `laid`.

    Returns
    -------
    RunAnswer

    Examples
    --------
    >>> import wirecalc
    >>> wirecalc.factory_run("18 W", "1 kohm", "10 ft")["loss_db"] < 0.01
    True
    """
    amplifier = Amplifier(power_w=power_w, rated_ohm=rated_ohm, damping_factor=damping_factor)
    return laid(runs.FactoryRun(amplifier=amplifier, input_ohm=input_ohm), length_m, size, **how)


@takes_units
def turn_on_run(
    draw_a: float,
    length_m: Any,
    size: Any = None,
    *,
    supply_v: float = relay.LEAST_SUPPLY_V,
    limit_a: float = 0.3,
    least_v: float = 9.0,
    **how: Any,
) -> RunAnswer:
    """Remote turn-on.

    Parameters
    ----------
    draw_a : float
        All devices together. [A]
    length_m : float or (n,) array_like
        One way. [m]
    size : str, Conductor or a sequence of them, optional
        See `speaker_run`.
    supply_v, limit_a : float
        Of the head unit's output on the lowest battery, and the most that it may give; its manual decides. [V], [A]
    least_v : float
        What wakes up every device. [V]
    **how
        See `laid`.

    Returns
    -------
    RunAnswer

    Examples
    --------
    >>> import wirecalc
    >>> round(wirecalc.turn_on_run("150 mA", "6 m", "18 AWG")["load_v"], 2)
    10.48
    """
    run = runs.TurnOnRun(draw_a=draw_a, supply_v=supply_v, limit_a=limit_a, least_v=least_v)
    return laid(run, length_m, size, **how)


@takes_units
def relay_run(
    coil_ohm: float,
    length_m: Any,
    size: Any = None,
    *,
    pull_in_v: float = relay.USUAL_12V.pull_in_v,
    drop_out_v: float = relay.USUAL_12V.drop_out_v,
    supply_v: float = relay.LEAST_SUPPLY_V,
    coil_c: float = 85.0,
    off_v: float = 0.0,
    dip_v: float | None = None,
    **how: Any,
) -> RunAnswer:
    """A relay's coil.

    Parameters
    ----------
    coil_ohm : float
        At 20 degC. [ohm]
    length_m : float or (n,) array_like
        One way. [m]
    size : str, Conductor or a sequence of them, optional
        See `speaker_run`.
    pull_in_v, drop_out_v : float
        Of the coil at 20 degC. [V]
    supply_v : float
        Where the run starts, the lowest that must still work. [V]
    coil_c : float
        Of the coil, when it must pull in. [degC]
    off_v : float
        What the lead still carries when it is switched off. [V]
    dip_v : float, optional
        The lowest supply at which it must hold once it has pulled in; 6 V for 12 V if not given. [V]
    **how
        See `laid`.

    Returns
    -------
    RunAnswer

    Examples
    --------
    >>> import wirecalc
    >>> wirecalc.relay_run("90 ohm", "4 m", "18 AWG")["margin_v"] > 0
    True
    """
    coil = relay.Relay(coil_ohm=coil_ohm, pull_in_v=pull_in_v, drop_out_v=drop_out_v)
    run = runs.RelayRun(relay=coil, supply_v=supply_v, coil_c=coil_c, off_v=off_v, dip_v=dip_v)
    return laid(run, length_m, size, **how)


@takes_units
def lamp_run(
    strip_m: float,
    amps_per_m: float,
    length_m: Any,
    size: Any = None,
    *,
    strip_ohm_per_m: float = STRIP_OHM_PER_M,
    supply_v: float = 12.6,
    both_ends: bool = False,
    lamps: Literal["constant current", "resistive"] = "constant current",
    nominal_v: float = 12.0,
    least_supply_v: float | None = None,
    **how: Any,
) -> RunAnswer:
    """A lamp strip at the end of a run.

    Parameters
    ----------
    strip_m : float
        Length of the strip itself. [m]
    amps_per_m : float
        What it draws. [A/m]
    length_m : float or (n,) array_like
        Of the run, one way. [m]
    size : str, Conductor or a sequence of them, optional
        See `speaker_run`.
    strip_ohm_per_m : float
        Both conductors of the strip. [ohm/m]
    supply_v : float
        Where the run starts. [V]
    both_ends : bool
        A like run feeds the other end too.
    lamps : {"constant current", "resistive"}
    nominal_v : float
        That the strip is made for: 12 or 24. [V]
    least_supply_v : float, optional
        The lowest at which the lamps must still work; 10.5 V for 12 V if not given. [V]
    **how
        See `laid`.

    Returns
    -------
    RunAnswer

    Examples
    --------
    >>> import wirecalc
    >>> 10 < wirecalc.lamp_run("2 m", 0.6, "4 m", "18 AWG")["last_v"] < 12.6
    True
    """
    run = runs.LampRun(
        supply_v=supply_v, strip_m=strip_m, amps_per_m=amps_per_m, strip_ohm_per_m=strip_ohm_per_m, both_ends=both_ends,
        lamps=lamps, nominal_v=nominal_v, least_supply_v=least_supply_v,
    )  # fmt: skip
    return laid(run, length_m, size, **how)


@takes_units
def feed_run(
    rated_w: float,
    length_m: Any,
    size: Any = None,
    *,
    amplifier_class: str = "D",
    supply_v: float = 14.4,
    regulated: bool = False,
    full_power_v: float | None = None,
    music_share: float = supply.MUSIC_SHARE,
    **how: Any,
) -> RunAnswer:
    """Battery to amplifier.

    Parameters
    ----------
    rated_w : float
        All channels together. [W]
    length_m : float or (n,) array_like
        One way. [m]
    size : str, Conductor or a sequence of them, optional
        See `speaker_run`.
    amplifier_class : str
        A key of data/amplifier_classes.csv.
    supply_v : float
        At the battery. [V]
    regulated : bool
        Whether its output holds while its supply sags.
    full_power_v : float, optional
        Supply at which it gives its rated power; 14.4 V if not given, twice that on 24 V. [V]
    music_share : float
        Average output over rated output, for the heat. [0 to 1]
    **how
        See `laid`.

    Returns
    -------
    RunAnswer

    Examples
    --------
    >>> import wirecalc
    >>> 13.5 < wirecalc.feed_run("500 W", "5 m", "4 AWG")["load_v"] < 14.4
    True
    """
    run = runs.FeedRun(
        rated_w=rated_w, amplifier_class=known("amplifier_class", amplifier_class, supply.CLASSES), supply_v=supply_v,
        regulated=regulated, music_share=music_share,
        full_power_v=supply.TEST_SUPPLY_V * in_a_row(supply_v) if full_power_v is None else full_power_v,
    )  # fmt: skip
    return laid(run, length_m, size, **how)


@takes_units
def device_run(
    rated_a: float,
    length_m: Any,
    size: Any = None,
    *,
    supply_v: float = 12.6,
    behaviour: Behaviour = "constant current",
    nominal_v: float = NOMINAL_V,
    inrush_ratio: float = START_RATIO,
    inrush_s: float = START_S,
    critical: bool = True,
    **how: Any,
) -> RunAnswer:
    """A device on the supply: a fan, a pump, a camera, a light bar.

    Parameters
    ----------
    rated_a : float
        Draw as its type plate has it. [A]
    length_m : float or (n,) array_like
        One way. [m]
    size : str, Conductor or a sequence of them, optional
        See `speaker_run`.
    supply_v, nominal_v : float
        Where the wire starts, and what the draw is stated at. [V]
    behaviour : {"constant current", "constant power", "resistance"}
    inrush_ratio, inrush_s : float
        Start current over draw (1 for none), and how long it lasts. [-], [s]
    critical : bool
        Whether it must work as well on a low battery.
    **how
        See `laid`.

    Returns
    -------
    RunAnswer

    Examples
    --------
    >>> import wirecalc
    >>> round(wirecalc.device_run("10 A", "4 m", "14 AWG")["drop_v"], 2)
    0.34
    """
    run = runs.DeviceRun(
        rated_a=rated_a, supply_v=supply_v, behaviour=behaviour, nominal_v=nominal_v, inrush_ratio=inrush_ratio,
        inrush_s=inrush_s, critical=critical,
    )  # fmt: skip
    return laid(run, length_m, size, **how)
