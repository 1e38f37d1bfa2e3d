"""A short circuit at the far end of a run: what flows, whether the fuse ends it, and how hot the wire gets."""

from __future__ import annotations

from dataclasses import replace

from wirecalc.runs.run import Installation, Place, wire_ohm
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.wire import fuse
from wirecalc.wire.conductor import Conductor
from wirecalc.wire.insulation import insulated

STRONGEST_A = 10_000.0  # as far as the heat balance reckons; past twice the fuse more current changes no verdict


@dataclass(frozen=True, kw_only=True)
class Short:
    """A short circuit at the far end, in each conductor and its fuse."""

    fault_a: float
    """Supply over the battery and the loop at the insulation's limit. [A]"""
    clearing_s: float
    """Latest that the fuse opens; inf where it need not. [s]"""
    lasts_s: float
    """Earliest that the insulation is damaged. [s]"""
    steady_c: float
    """Where the conductor would end if the fuse never opened; inf over the end of the model. [degC]"""
    holds: bool
    """The fuse protects the wire."""


def hot(laid: Installation, place: Place) -> Installation:
    """The run as warm as it may be: then the short is weakest, which a fuse is slowest to end.

    Parameters
    ----------
    laid : Installation
    place : Place
        Its insulation says how warm the wire may be.

    Returns
    -------
    Installation
        As `laid`, with temperature_c at the insulation's limit or, if that is more, as it was. [degC]
    """
    return replace(laid, temperature_c=max(laid.temperature_c, place.insulation.limit_c))


@takes_units
def short(
    supply_v: float,
    conductor: Conductor,
    laid: Installation,
    place: Place,
    rating_a: float,
    *,
    source_ohm: float = 0.0,
) -> Short:
    """What a short circuit at the far end does.

    Parameters
    ----------
    supply_v : float
        [V]
    conductor : Conductor
    laid : wirecalc.runs.Installation
    place : wirecalc.runs.Place
    rating_a : float
        Of the fuse of each conductor. [A]
    source_ohm : float
        Battery and all before the run: `wirecalc.circuits.battery.source_ohm`. [ohm]

    Returns
    -------
    Short

    Raises
    ------
    InputError
        If a value is out of range.
    """
    loop = float(wire_ohm([conductor], hot(laid, place))[0])
    fault_a = supply_v / (source_ohm + loop) / laid.parallel
    wire = insulated([conductor], place.insulation)
    protection = fuse.protects(rating_a, min(fault_a, STRONGEST_A), wire, place.ambient_c, place.loaded)
    return Short(
        fault_a=fault_a,
        clearing_s=float(protection.clearing_s),
        lasts_s=float(protection.lasts_s[0]),
        steady_c=float(protection.steady_c[0]),
        holds=bool(protection.holds[0]),
    )
