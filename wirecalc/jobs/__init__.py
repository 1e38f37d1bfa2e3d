"""Jobs that a shop does again and again: a few answers make an ordinary plan, whose sizes are chosen as in any other.

Nothing is decided here but what is wired to what; where a number is not asked for, its source stands beside it. A new
kind of job is a module with its `JOB`, and a line here.
"""

from __future__ import annotations

from wirecalc.jobs import (
    amplifier_added,
    device_on_supply,
    head_unit_moved,
    lights_and_relays,
    second_battery,
    signal_taken,
    whole_system,
)
from wirecalc.jobs.job import JobKind

JOBS: dict[str, JobKind] = {
    module.JOB.key: module.JOB
    for module in (
        amplifier_added,
        head_unit_moved,
        signal_taken,
        whole_system,
        lights_and_relays,
        second_battery,
        device_on_supply,
    )
}
"""By their keys in a page's address, in the order in which they are offered."""
