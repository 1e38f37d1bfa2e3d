"""Numbers of a run in sentences that a customer and an installer understand."""

from __future__ import annotations

from wirecalc import tables
from wirecalc.mark import Mark, plain
from wirecalc.units_taken import dataclass, takes_units


@dataclass(frozen=True)
class HearingStep:
    """Up to a level loss, what a person hears of it."""

    loss_db_up_to: float
    """[dB]"""
    words: str
    source: str
    confidence: str


STEPS = tables.keyed("hearing", HearingStep)
"""By name, the least loss first."""


@takes_units
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
    return next(step.words for step in STEPS.values() if loss_db <= step.loss_db_up_to)


@takes_units
def watts(power_w: float) -> str:
    """Power as it is said: no more than the whole watt from 10 W up, three digits below, two under 1 W.

    Examples
    --------
    >>> watts(92.6), watts(7.126), watts(0.465)
    ('93', '7.13', '0.47')
    """
    if power_w >= 10:
        return f"{power_w:.0f}"
    return f"{float(f'{power_w:.3g}' if power_w >= 1 else f'{power_w:.2g}'):g}"


@takes_units
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


@takes_units
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

    Returns
    -------
    str

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
