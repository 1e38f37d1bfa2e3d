"""One run's decision, for the page and for scripts alike: where it lies, what is on the shelf, what to pull."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from wirecalc.advice.demands import laid_as
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.size import Advice, Job, advise
from wirecalc.advice.stretches import Stretch, by_house_rules, in_zone
from wirecalc.runs import Run
from wirecalc.units_taken import takes_units
from wirecalc.wire.bought import insulation_of
from wirecalc.wire.insulation import Insulation


def decide(own: Job, insulation: Insulation | None = None) -> Advice:
    """What to pull for one run, and how its own wire stands.

    Parameters
    ----------
    own : Job
        With the insulation of the wire that is asked about.
    insulation : Insulation, optional
        Of the wire to choose from, where it is another.

    Returns
    -------
    Advice
    """
    if insulation is None or insulation == own.route.insulation:
        return advise(own)
    chosen = advise(replace(own, asked=None, route=replace(own.route, insulation=insulation)))
    if own.asked is None:
        return chosen
    return replace(chosen, asked=advise(replace(own, stock=(own.asked,))).asked)  # alone, which is soon done


def insulation_for(run: Run, rules: HouseRules, system: str) -> Insulation:
    """What a wire of this run is coated with if nobody says: that of its type, or that of the house rules.

    Parameters
    ----------
    run : Run
    rules : HouseRules
    system : str
        How the wire is sold.

    Returns
    -------
    Insulation
    """
    return insulation_of(system) or rules.insulation(laid_as(run))


@takes_units
def stretches_of(
    run: Run,
    length_m: float,
    rules: HouseRules,
    *,
    places: Sequence[tuple[str, float]] = (),
    zone: str | None = None,
    loaded: int | None = None,
) -> tuple[Stretch, ...]:
    """The places that a run passes.

    Parameters
    ----------
    run : Run
    length_m : float
        One way. [m]
    rules : HouseRules
    places : sequence of (str, float)
        Each by its key with its length, in order. [m]
    zone : str, optional
        The one place, where no `places` are given; those that the house rules take without both.
    loaded : int, optional
        Loaded conductors that lie together.

    Returns
    -------
    tuple of Stretch

    Raises
    ------
    InputError
        If there is no such place, or a length is out of range.
    """
    if places:
        return tuple(in_zone(place, part_m, loaded) for place, part_m in places)
    if zone is None:
        return by_house_rules(laid_as(run), length_m, rules, loaded=loaded).stretches
    return (in_zone(zone, length_m, loaded),)
