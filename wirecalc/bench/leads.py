"""Which conductor of a cable is which: what to touch with an ohmmeter, in order, by colour."""

from __future__ import annotations

from collections.abc import Sequence

from wirecalc import tables
from wirecalc.bench.finished import Expected, in_ohm
from wirecalc.errors import InputError
from wirecalc.units_taken import dataclass


@dataclass(frozen=True, kw_only=True)
class Lead:
    """One conductor of a loudspeaker cable by its colour; common practice, no source."""

    channel: str
    polarity: str
    """"+", "−", or nothing for a control wire."""
    colour: str
    stripe: str

    @property
    def looks(self) -> str:
        """As a person says it: "white with a black stripe"."""
        return f"{self.colour} with a {self.stripe} stripe" if self.stripe else self.colour


LEADS = tables.records("lead_colours", Lead)
CHANNELS: tuple[str, ...] = tuple(dict.fromkeys(lead.channel for lead in LEADS))


@dataclass(frozen=True, kw_only=True)
class Touch:
    """One step of the check-list."""

    channel: str
    """Empty for what concerns all."""
    leads: tuple[Lead, ...]
    do: str
    read: str
    otherwise: str


def check_list(expected: Expected, channels: Sequence[str] = CHANNELS) -> tuple[Touch, ...]:
    """What to touch, in order, to find each pair, its polarity and its insulation in a cable of several conductors.

    Parameters
    ----------
    expected : Expected
        Of every pair of the cable.
    channels : sequence of str
        Of `CHANNELS`; those that the cable holds.

    Returns
    -------
    tuple of Touch
        In the order of the work.

    Raises
    ------
    InputError
        If there is no such channel, or none is given.
    """
    unknown = [channel for channel in channels if channel not in CHANNELS]
    if unknown or not channels:
        raise InputError("Channel", unknown[0] if unknown else "none", ", ".join(CHANNELS))
    band = f"{in_ohm(expected.low_ohm)} to {in_ohm(expected.high_ohm)}"
    half = in_ohm(expected.run.wire_ohm / 2 + expected.run.leads_ohm)
    steps = [
        Touch(
            channel="",
            leads=(),
            do="Battery's negative lead off, amplifier off, both ends of the cable unplugged. Tips on any two "
            "conductors in turn, then on each and bare metal of the body.",
            read="OL (no path)",
            otherwise="A reading: something is still plugged in, or insulation is hurt. Find it before you go on.",
        )
    ]
    for channel in dict.fromkeys(channels):
        leads = tuple(lead for lead in LEADS if lead.channel == channel)
        plain = leads[0].looks
        if len(leads) == 1:
            steps.append(
                Touch(
                    channel=channel,
                    leads=leads,
                    do=f"Join {plain} to bare metal of the body at the far end; tips on it and on bare metal here.",
                    read=f"about {half}",
                    otherwise="OL: open, or another colour carries it (blue with a white stripe is as common).",
                )
            )
            continue
        striped = leads[1].looks
        steps += [
            Touch(
                channel=channel,
                leads=leads,
                do=f"Join {plain} and {striped} at the far end; tips on the same two here.",
                read=band,
                otherwise="OL: open, or the far end's colours belong to another channel. High or low: see the reading.",
            ),
            Touch(
                channel=channel,
                leads=leads,
                do=f"Undo that. Join the far plug's + pin to bare metal of the body; one tip on bare metal here, the "
                f"other on {plain}, then on {striped}.",
                read=f"{plain}: about {half}; {striped}: OL",
                otherwise="The other way round: + and − are swapped at a plug.",
            ),
        ]
    steps.append(
        Touch(
            channel="",
            leads=(),
            do="All joins off, speakers on, amplifier still unplugged: touch a loose 1.5 V cell to a pair for a "
            "moment, + to the plain colour. Not on a tweeter.",
            read="the cone jumps outward",
            otherwise="Inward: the polarity is turned at the speaker. Still: read its coil.",
        )
    )
    return tuple(steps)
