"""Which size: every size at every length as a table, and the decision that the pages give."""

from __future__ import annotations

from typing import Any

import pandas as pd

from wirecalc.advice.cautions import work_of_run
from wirecalc.advice.decision import decide, insulation_for, stretches_of
from wirecalc.advice.house_rules import HouseRules
from wirecalc.advice.size import Advice, Job, SizePick
from wirecalc.advice.stretches import Route
from wirecalc.advice.table import every_size
from wirecalc.advice.words import asked_sentence
from wirecalc.errors import InputError
from wirecalc.front.answer import RunAnswer, laid
from wirecalc.front.wires import known, wire
from wirecalc.runs import Installation, Place
from wirecalc.units_taken import dataclass, takes_units
from wirecalc.vehicle.places import check_length, read_places
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.bought import read_size
from wirecalc.wire.cautions import Work, cautions
from wirecalc.wire.conductor import COPPER, METALS, STRANDINGS, conductor
from wirecalc.wire.insulation import INSULATIONS
from wirecalc.wire.zones import ZONES


@takes_units
def sweep(run: RunAnswer, sizes: Any = None, lengths_m: Any = None) -> pd.DataFrame:
    """A run at every size and every length.

    Parameters
    ----------
    run : RunAnswer
        Of `wirecalc.speaker_run` and its sisters.
    sizes : sequence of str or Conductor, optional
        As `wirecalc.wire` takes them; all standard gauges if not given.
    lengths_m : (n,) array_like, optional
        One way; those of the run if not given. [m]

    Returns
    -------
    pandas.DataFrame
        size, length_m and every measure, a row each; the end of a column's name is its unit.

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> import wirecalc
    >>> run = wirecalc.speaker_run("100 W", "4 ohm", "5 m")
    >>> table = wirecalc.sweep(run, ["18 AWG", "14 AWG"], ["2 m", "5 m", "20 ft"])
    >>> table.pivot(index="length_m", columns="size", values="loss_db").round(2).loc[5.0].to_dict()
    {'14 AWG': 0.18, '18 AWG': 0.45}
    """
    how = run.laid
    return laid(
        run.run,
        run.lengths_m if lengths_m is None else lengths_m,
        sizes,
        temperature_c=how.temperature_c,
        parallel=how.parallel,
        joints_ohm=how.joints_ohm,
        ways=how.ways,
    ).table


@dataclass(frozen=True, kw_only=True, eq=False)
class ChosenSize:
    """What a careful installer would pull, and how the size asked about stands."""

    advice: Advice
    """All of it; see `wirecalc.advice.size.Advice`."""

    @property
    def pull(self) -> str:
        """The size to pull, "2 × 12 AWG"; empty where none is safe, or no gauge is judged."""
        return "" if self.advice.pull is None else self.advice.pull.label

    @property
    def least(self) -> str:
        """The least that keeps every rule and limit."""
        return "" if self.advice.least is None else self.advice.least.label

    @property
    def state(self) -> str:
        """The verdict on the size asked about; empty without one."""
        return self.advice.state or ""

    @property
    def cautions(self) -> tuple[str, ...]:
        """What must be said wherever a wire is decided on: of the load, of safety, of the metal, of local codes."""
        picks = [pick for pick in (self.advice.pull, self.advice.asked) if pick is not None]
        work = [self._work(pick) for pick in picks] or self._work(None)
        return (*self.advice.job.run.load_cautions(), *cautions(work))

    def _work(self, pick: SizePick | None) -> Work:
        """What the cautions have to know of the run with one of its sizes."""
        job = self.advice.job
        route, hottest = job.route, int(job.route.ambient_c.argmax())
        return work_of_run(
            job.run,
            Installation(length_m=route.length_m, parallel=route.parallel, ways=route.ways),
            Place(
                insulation=route.insulation,
                ambient_c=float(route.ambient_c[hottest]),
                loaded=int(route.loaded[hottest]),
                zone=route.stretches[hottest].zone,
            ),
            metal=COPPER if pick is None else pick.candidate.conductor.metal,
            zones=tuple(dict.fromkeys(stretch.zone for stretch in route.stretches)),
            parallel=1 if pick is None else pick.candidate.parallel,
            fused_at=job.fuse_where,
        )

    @property
    def words(self) -> str:
        """Both answers in a sentence, the fuse, what is wrong with the size asked about, and what helps."""
        told = (self.advice.sentence, asked_sentence(self.advice), self.advice.fuse_words, *self.advice.changes)
        return " ".join(filter(None, told))

    @property
    def table(self) -> pd.DataFrame:
        """A row for each standard size, alone and side by side: its state, warmth, fuse, and every limit's measure.

        Raises
        ------
        InputError
            If it is a line signal, on which no gauge is judged.
        """
        all_sizes = every_size(self.advice)
        table = pd.DataFrame(
            {
                "size": [candidate.label for candidate in all_sizes.candidates],
                "state": all_sizes.states,
                "usual_c": all_sizes.usual_c,
                "most_c": all_sizes.full_c,
                "fuse_a": [float("nan") if fuse is None else fuse.rating_a for fuse in all_sizes.fuses],
            }
        )
        for held in all_sizes.held:
            table[held.limit.measure] = held.values
            table[f"{held.limit.measure}_limit"] = held.bounds
        return table

    def _repr_html_(self) -> str:
        return f"<p>{self.words}</p>"


def choose(
    run: RunAnswer,
    *,
    zone: str | None = None,
    places: str = "",
    insulation: str | None = None,
    sold_as: str | None = None,
    terminal: str | None = None,
    metal: str = "copper",
    stranding: str = "stranded",
    loaded: int | None = None,
    sheathed: bool = False,
    rules: HouseRules | None = None,
) -> ChosenSize:
    """What to pull for a run, by the rules of safety, the limits of taste and the house rules, as the pages decide.

    Parameters
    ----------
    run : RunAnswer
        Of `wirecalc.speaker_run` and its sisters; with a size it is judged too.
    zone : str, optional
        A key of `wirecalc.zones()`; the places that the house rules take for the kind if not given.
    places : str
        The places that the run passes with their lengths: "engine bay 1 m; sill 3 m; boot 1 m".
    insulation : str, optional
        A key of `wirecalc.insulations()`; by the type of wire or the house rules if not given.
    sold_as : str, optional
        Sizes to choose from: "AWG", "mm2", "ISO" or a type of wire; by the house rules if not given.
    terminal : str, optional
        The largest wire that the devices' terminals take, "8 AWG".
    metal, stranding : str
        Keys of `wirecalc.metals()` and `wirecalc.strandings()`, of the wire to choose from.
    loaded : int, optional
        Conductors that carry current in the same bundle; this run alone if not given.
    sheathed : bool
        In a jacket with others.
    rules : HouseRules, optional
        The defaults if not given.

    Returns
    -------
    ChosenSize

    Raises
    ------
    InputError
        If a value is out of range, or a word is not known; it lists what there is.

    Examples
    --------
    >>> import wirecalc
    >>> wirecalc.choose(wirecalc.speaker_run("100 W", "4 ohm", "20 ft", "18 AWG")).pull
    '16 AWG'
    """
    if len(run.conductors) > 1 and run.asked:
        raise InputError("run", f"{len(run.conductors)} sizes", "a run with one size, or with none")
    rules = HouseRules.from_table() if rules is None else rules
    of, strands = known("metal", metal, METALS), known("stranding", stranding, STRANDINGS)
    asked = run.conductors[0] if run.asked else None
    asked_in = "AWG" if asked is None or asked.label.endswith("AWG") else "mm2"
    if zone is not None:
        zone = known("zone", zone, ZONES).key
    listed = read_places(places, "places") if places.strip() else ()
    if listed:
        check_length(listed, run.laid.length_m)
    system = sold_as or rules.sold_as(run.run.house_kind or run.run.kind, asked_in)
    coat = None if insulation is None else known("insulation", insulation, INSULATIONS)
    takes = None if terminal is None else read_size(terminal, "terminal")
    job = Job(
        run=run.run,
        route=Route(
            stretches=stretches_of(run.run, run.laid.length_m, rules, places=listed, zone=zone, loaded=loaded),
            insulation=coat or insulation_for(run.run, rules, asked_in),
            ways=run.laid.ways,
            parallel=run.laid.parallel,
            joints_ohm=run.laid.joints_ohm,
        ),
        asked=asked,
        system=system,
        make=lambda size: conductor(*size, of, strands),
        rules=rules,
        terminal_m2=None if takes is None else wire(terminal).area_m2,
        takes=None if takes is None else show_size(*takes),
        sheathed=sheathed,
    )
    return ChosenSize(advice=decide(job, coat or insulation_for(run.run, rules, system)))


def pick_of(answer: ChosenSize) -> SizePick:
    """What is explained of a choice: the size asked about, else what to pull.

    Raises
    ------
    InputError
        If there is neither.
    """
    pick = answer.advice.asked or answer.advice.pull
    if pick is None:
        raise InputError("choice", "no size", "one with a size to pull or asked about")
    return pick
