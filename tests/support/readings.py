"""Readings of one stripped wire on the bench, in SI units."""

from __future__ import annotations

from wirecalc.bench.sample import Reading

WARM_OHM = {
    "ohm": Reading(value=0.0445, uncertainty=0.0003),
    "lead_ohm": Reading(value=0.02, uncertainty=0.0002),
    "length_m": Reading(value=1.0, uncertainty=0.004),
    "temperature_c": Reading(value=35.0, uncertainty=2.0),
}
STRANDS = {"strands": Reading(value=16), "strand_m": Reading(value=0.254e-3, uncertainty=5e-6)}
MASS = {
    "mass_kg": Reading(value=7.4e-3, uncertainty=6e-5),
    "mass_length_m": Reading(value=1.0, uncertainty=0.005),
}
