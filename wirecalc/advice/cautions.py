"""What must be said of one run, as it is laid and where: `wirecalc.wire.cautions` for a kind of run."""

from __future__ import annotations

from collections.abc import Sequence

from wirecalc.advice.demands import fuse_where
from wirecalc.advice.fuses import AT_BATTERY
from wirecalc.runs.run import Installation, Place, Run
from wirecalc.wire.cautions import StartsAt, Work
from wirecalc.wire.conductor import COPPER, Metal


def work_of_run(
    run: Run,
    laid: Installation,
    place: Place,
    *,
    metal: Metal = COPPER,
    zones: Sequence[str] | None = None,
    parallel: int | None = None,
    fused_at: str | None = None,
) -> Work:
    """What the cautions have to know of a run.

    Parameters
    ----------
    run : Run
    laid : Installation
    place : Place
    metal : Metal
        Of its conductors.
    zones : sequence of str, optional
        All that it passes; that of `place` if not given.
    parallel : int, optional
        Conductors side by side, where what is advised has more than what is laid.
    fused_at : str, optional
        `wirecalc.advice.fuses.AT_BATTERY` or `BEHIND_A_FUSE`; by the run if not given.

    Returns
    -------
    Work
    """
    starts: StartsAt = run.starts_at
    if starts == "branch" and (fused_at or fuse_where(run)) == AT_BATTERY:
        starts = "battery"  # what feeds it is the battery's own post, whatever the kind of run
    return Work(
        starts_at=starts,
        loudspeaker=run.response == "loudspeaker",
        music_v=run.music_v,
        music_w=run.power_w,
        fused=run.starts_at != "output",
        parallel=max(laid.parallel, parallel or 1),
        loaded=place.loaded if run.has_heat else 0,
        zones=tuple(filter(None, (place.zone,) if zones is None else zones)),
        metal=metal,
    )
