"""The formulas of each kind of run, a module a kind: importing them registers them with `circuit_rules`."""

from wirecalc.workings.kinds import device, factory, feed, lamp, line, relay, speaker, turn_on

__all__ = ["device", "factory", "feed", "lamp", "line", "relay", "speaker", "turn_on"]
