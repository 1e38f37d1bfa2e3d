"""Numbers of a run in sentences that a customer and an installer understand."""

from __future__ import annotations

from collections.abc import Mapping

from wirecalc import tables
from wirecalc.circuits import runs, supply
from wirecalc.circuits.turn_on import advice
from wirecalc.mark import Mark, plain
from wirecalc.wire import fuse

_HEARING: list[tuple[float, str]] = [(row["loss_db_up_to"], row["words"]) for row in tables.rows("hearing")]


def heard(loss_db: float) -> str:
    """What a person hears of a level loss; see data/hearing.csv for the source of each step.

    Parameters
    ----------
    loss_db : float
        0 or above. [dB]

    Examples
    --------
    >>> heard(0.3)
    'Few people hear that even switching back and forth.'
    """
    return next(words for up_to, words in _HEARING if loss_db <= up_to)


def watts(power_w: float) -> str:
    """Power as it is said: three digits, no more than the whole watt from 10 W up.

    Examples
    --------
    >>> watts(92.6), watts(7.126), watts(0.5)
    ('93', '7.13', '0.5')
    """
    if power_w >= 10:
        return f"{power_w:.0f}"
    return f"{float(f'{power_w:.3g}'):g}"


def decibels(loss_db: float) -> str:
    """A loss with as many digits as mean something.

    Examples
    --------
    >>> decibels(0.3148), decibels(0.0312), decibels(2.41), decibels(0.0)
    ('0.31', '0.03', '2.4', '0')
    """
    if loss_db < 0.005:
        return "0"
    return f"{loss_db:.2f}" if loss_db < 1 else f"{loss_db:.1f}"


def for_customer(size: str, parallel: int, load_w: float, bare_w: float, loss_db: float, *, mark: Mark = plain) -> str:
    """One sentence on what the wire does, and one on whether it is heard.

    Parameters
    ----------
    size : str
        As the trade writes it: "16 AWG".
    parallel : int
        Conductors side by side, each way.
    load_w, bare_w : float
        Power at the load with this wire, and with a wire of no resistance. [W]
    loss_db : float
        Level lost to the wire, 0 or above. [dB]
    mark : wirecalc.mark.Mark
        What is done to each number that was computed.

    Examples
    --------
    >>> for_customer("16 AWG", 1, 93.3, 100.0, 0.301)
    'The 16 AWG pair delivers 93 of 100 W: 0.30 dB less. Few people hear that even switching back and forth.'
    """
    wire = f"The {size} pair delivers" if parallel == 1 else f"{parallel} × {size} each way deliver"
    lost, bare = decibels(loss_db), mark(watts(bare_w), "bare_w")
    if lost == "0":
        return f"{wire} all of the {bare} W. {heard(loss_db)}"
    return f"{wire} {mark(watts(load_w), 'load_w')} of {bare} W: {mark(lost, 'loss_db')} dB less. {heard(loss_db)}"


def volts(value: float) -> str:
    """A voltage with as many digits as an installer reads."""
    return f"{value:.2f} V"


def told(
    run: runs.Run, here: Mapping[str, float], size: str, laid: runs.Installation, wire_ohm: float, *, mark: Mark = plain
) -> str:
    """What this run comes to, in one or two sentences.

    Parameters
    ----------
    run : runs.Run
    here : mapping of str to float
        The run's measures at its length.
    size : str
        As the trade writes it.
    laid : runs.Installation
    wire_ohm : float
        Loop resistance. [ohm]
    mark : wirecalc.mark.Mark
        What is done to each number that was computed.
    """

    def volts_of(measure: str) -> str:
        return mark(volts(here[measure]), measure)

    wire = f"{laid.parallel} × {size}" if laid.parallel > 1 else size
    if isinstance(run, runs.SpeakerRun):
        bare_w = here["load_w"] * 10 ** (here["loss_db"] / 10)
        return for_customer(size, laid.parallel, here["load_w"], bare_w, here["loss_db"], mark=mark)
    if isinstance(run, runs.LineRun):
        return (
            f"The cable loses {mark(decibels(here['loss_db']), 'loss_db')} dB, and"
            f" {mark(decibels(here['treble_loss_db']), 'treble_loss_db')} dB more at 20 kHz."
            f" {heard(here['loss_db'])} The wire's size hardly matters here: its capacitance and the impedances do."
        )
    if isinstance(run, runs.TurnOnRun):
        ends = "enough" if here["load_v"] >= run.least_v else "not enough"
        return (
            f"{volts_of('load_v')} of {volts(run.supply_v)} reaches the last device, which needs"
            f" {volts(run.least_v)}: {ends}. The head unit gives {run.draw_a * 1e3:.0f} of at most"
            f" {run.limit_a * 1e3:.0f} mA."
        )
    if isinstance(run, runs.RelayRun):
        need = mark(volts(here["load_v"] - here["margin_v"]), "needed_v")
        if here["margin_v"] >= 0:
            ends = f"it pulls in, with {volts_of('margin_v')} to spare"
        else:
            ends = f"it may not pull in: {mark(volts(-here['margin_v']), 'short_v')} short"
        reaches = f"{volts_of('load_v')} reaches the coil through {wire}."
        return f"{reaches} At {run.coil_c:g} °C it needs {need}: {ends}."
    if isinstance(run, runs.LampRun):
        if here["last_v"] != here["last_v"]:  # nan: no answer
            return "The lamps would use up the voltage before the dimmest one. Feed both ends, or take thicker wire."
        share = mark(f"{100 * here['last_v'] / here['load_v']:.0f} %", "last_percent")
        return (
            f"The first lamp gets {volts_of('load_v')} through {wire}, the dimmest {volts_of('last_v')}:"
            f" {share} of it. What the strip's own conductors lose, a thicker run does not give back."
        )
    assert isinstance(run, runs.FeedRun)
    reach = (
        f"At full output the amplifier gets {volts_of('load_v')} of {volts(run.supply_v)} through {wire} and can"
        f" give {mark(watts(here['output_w']), 'output_w')} of {watts(run.rated_w)} W:"
        f" {mark(decibels(here['loss_db']), 'loss_db')} dB lost to the feed. "
        f"{heard(here['loss_db'])}"
    )
    if here["heat_a"] != here["heat_a"]:
        average_w = supply.draw(
            run.rated_w, run.amplifier_class, share=run.music_share, supply_v=run.full_power_v
        ).power_w
        return f"{reach} {supply.constant_power(run.supply_v, wire_ohm, average_w, mark=mark).reason}"
    return reach


def cautions(run: runs.Run, here: Mapping[str, float], *, mark: Mark = plain) -> tuple[str, ...]:
    """What must be said wherever a wire for this run is decided on, besides what the entries ask for.

    Parameters
    ----------
    run, here, mark
        As those of `told`.
    """
    if isinstance(run, runs.FeedRun):
        return (fuse.CAUTIONS["battery feed"],)
    if isinstance(run, runs.TurnOnRun):
        return advice(run.draw_a, run.limit_a, run.least_v, here["load_v"], mark=mark)
    return ()


def needed(run: runs.Run, measure: str) -> float | None:
    """The value of a measure that the load must get, where there is one: a line on its chart."""
    if isinstance(run, runs.TurnOnRun) and measure == "load_v":
        return run.least_v
    if isinstance(run, runs.RelayRun) and measure == "margin_v":
        return 0.0
    return None
