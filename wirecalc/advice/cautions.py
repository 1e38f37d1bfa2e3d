"""What must be said of one run, as it is laid and where: `wirecalc.wire.cautions` for a kind of run."""

from __future__ import annotations

from collections.abc import Sequence

from wirecalc.runs.run import Installation, Place, Run
from wirecalc.wire.cautions import Work
from wirecalc.wire.conductor import COPPER, Metal


def work_of_run(
    run: Run,
    laid: Installation,
    place: Place,
    *,
    metal: Metal = COPPER,
    zones: Sequence[str] | None = None,
    parallel: int | None = None,
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

    Returns
    -------
    Work
    """
    return Work(
        starts_at=run.starts_at,
        loudspeaker=run.response == "loudspeaker",
        fused=run.starts_at != "output",
        parallel=max(laid.parallel, parallel or 1),
        loaded=place.loaded if run.has_heat else 0,
        zones=tuple(filter(None, (place.zone,) if zones is None else zones)),
        metal=metal,
    )
