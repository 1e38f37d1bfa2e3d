"""What an unmarked wire is, in sentences that an installer uses."""

from __future__ import annotations

import numpy as np

from wirecalc import units
from wirecalc.bench.identify import CONTRADICTORY, Identified
from wirecalc.bench.known_wires import BOUGHT, GROUPS, SIZES, Size, size_area_m2
from wirecalc.bench.sample import Sample
from wirecalc.errors import InputError
from wirecalc.units_taken import takes_units
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.conductor import gauge

_SURE, _WORTH_SAYING, _DOUBT = 0.9, 0.05, 0.1
_NEAR, _DRAWN = 2.0, 0.01  # standard deviations; a drawn strand's diameter, relative
_MOST_LABELS = 3
_KNOWN = 2.0  # sizes from end to end of 90 %: within more lies the next label too
# aluminium conducts like copper two sizes thinner, see data/metals.csv; label and stranding differ, too
_NO_METAL = 3.0  # sizes
_MATTERS = 0.5  # of a gauge size: strandings sold as one size differ by as much, see data/awg_strandings.csv


def said(identified: Identified, sold_as: Size | None = None, *, metric: bool = False) -> tuple[str, ...]:
    """What was found of one wire, in sentences an installer uses.

    Parameters
    ----------
    identified : Identified
        Of one wire.
    sold_as : (str, float), optional
        The size on its label.
    metric : bool
        Copper that conducts alike in mm², else by its gauge.

    Returns
    -------
    tuple of str
        A sentence each: first what the wire is, last what cannot be told apart.

    Raises
    ------
    InputError
        If `identified` is of more than one wire, or the size is none.
    """
    if identified.freedom.shape:
        raise InputError("Sample", f"shape {identified.freedom.shape}", "one wire")
    if identified.freedom < 0:
        return ("Enter a reading to start.",)
    if identified.contradictory:
        return (
            "These readings contradict each other: no metal of the table fits them all. Good readings are as far off "
            f"less than once in {1 / CONTRADICTORY:.0f} times. Nothing is chosen. Take each again, or it is another "
            "metal.",
            *_apart(identified, explain=False),
        )
    best = int(identified.group.argmax())
    size = identified.grouped[best]  # of this metal: clad aluminium of another size reads alike
    order = np.argsort(-size)
    names = [f"{_name(place)} ({percent(size[place])})" for place in order[:3] if size[place] >= _WORTH_SAYING]
    lead = "This is" if min(size[order[0]], identified.group[best]) >= _SURE else "Most likely this is"
    thick, middle, thin = (gauge_words(float(area), metric=metric) for area in identified.copper_m2[::-1])
    metal = f"{list(GROUPS)[best]} ({percent(identified.group[best])})"
    told = [
        f"{lead} {metal}, {' or '.join(names) or 'of a size not decided'}.",
        *_or_else(identified, best, int(order[0])),
        f"Its resistance is that of copper wire of {middle}; 9 times in 10 it lies between {thick} and {thin}.",
    ]
    if sold_as is not None:
        told.append(_against(identified, sold_as))
    return (*told, *_apart(identified, explain=True))


def listed_as(sample: Sample) -> str:
    """Which wire the counted and measured strands are those of, by its standard; empty where no list has them.

    Parameters
    ----------
    sample : Sample
        Of one wire.

    Returns
    -------
    str
        A sentence.

    Examples
    --------
    >>> from wirecalc.bench.sample import Reading
    >>> listed_as(Sample(strands=Reading(value=24), strand_m=Reading(value=0.2e-3, uncertainty=2e-6)))
    '24 strands of 0.20 mm are those of 0.75 mm² ISO 6722-1 type B.'
    """
    if sample.strands is None or sample.strand_m is None:
        return ""
    count, strand_m = float(np.asarray(sample.strands.value)), float(np.asarray(sample.strand_m.value))
    near = _NEAR * float(np.hypot(np.asarray(sample.strand_m.uncertainty), _DRAWN * strand_m))
    fits = [each for each in BOUGHT if each.strands == count and abs(each.strand_m - strand_m) <= near]
    fits.sort(key=lambda each: abs(each.strand_m - strand_m))
    names = (f"gauge {each.label}" if each.size[0] == "AWG" else each.label for each in fits)
    labels = list(dict.fromkeys(names))[:_MOST_LABELS]
    if not labels:
        return ""
    return f"{count:g} strands of {strand_m * 1e3:.2f} mm are those of {'; or of '.join(labels)}."


def percent(share: float) -> str:
    """A share as a person reads it; never certain, never nothing.

    Examples
    --------
    >>> percent(0.42), percent(0.9999), percent(1e-5)
    ('42 %', 'over 99 %', 'under 1 %')
    """
    return "under 1 %" if share < 0.01 else "over 99 %" if share > 0.99 else f"{100 * share:.0f} %"


def _or_else(identified: Identified, best: int, place: int) -> tuple[str, ...]:
    """The other metal that it may well be, where it would be another size then."""
    groups = identified.group.copy()
    groups[best] = 0.0
    other = int(groups.argmax())
    then = int(identified.grouped[other].argmax())
    if groups[other] < _DOUBT or then == place:
        return ()
    weigh = ": weigh a piece" if np.isnan(identified.as_copper_m2["mass"]) else ""
    return (f"It may also be {list(GROUPS)[other]} ({percent(groups[other])}), then {_name(then)}{weigh}.",)


def _name(place: int) -> str:
    return show_size(*SIZES[place]) if place < len(SIZES) else "a size off the tables"


@takes_units
def gauge_words(area_m2: float, *, metric: bool = False) -> str:
    """A fractional gauge; past 1 AWG the area, as nobody says −0.6 AWG.

    Parameters
    ----------
    area_m2 : float
        Of copper. [m^2]
    metric : bool
        The area in any case.

    Returns
    -------
    str
        "18.1 AWG" or "0.81 mm²".
    """
    number = float(gauge(area_m2))
    return f"{number:.1f} AWG" if number >= 1 and not metric else units.show(area_m2, units.AREA)


def _against(identified: Identified, sold_as: Size) -> str:
    """By what it conducts and by its metal: clad aluminium of 16 AWG conducts like copper of 18, and is not 18 AWG."""
    low, middle, high = (float(chance) for chance in identified.thinner(sold_as))
    label = f"Sold as {show_size(*sold_as)}"
    if not low <= 0 <= high:
        alike = ", no more than strandings of one size differ" if abs(middle) <= _MATTERS else ""
        if middle > _NO_METAL and not np.isnan(identified.as_copper_m2["resistance"]):
            alike = ", more than another metal explains: take the meter's leads off, and measure the length again"
        return f"{label}: {_sizes_off(middle)} than its label{alike}."
    named = float(gauge(size_area_m2(sold_as)))
    thick, metal, thin = (float(number) - named for number in gauge(identified.area_m2)[::-1])
    known = high - low <= _KNOWN
    if not thick <= 0 <= thin and abs(metal) > _MATTERS:
        conducts = "it conducts as its label says" if known else "what it conducts is not known before its metal is"
        return f"{label}: its metal is {_sizes_off(metal)} than its label; {conducts}."
    if known:
        return f"{label}: these readings agree with its label."
    if thin - thick <= _KNOWN:
        return f"{label}: its size agrees with its label; what it conducts is not known before its metal is."
    return f"{label}: these readings are too coarse to hold against its label."


def _sizes_off(sizes: float) -> str:
    return f"{abs(sizes):.1f} sizes {'thinner' if sizes > 0 else 'thicker'}"


def _apart(identified: Identified, *, explain: bool) -> tuple[str, ...]:
    """The two ways to the area that differ most, if more than chance would have it for copper."""
    ways = [name for name, area in identified.as_copper_m2.items() if not np.isnan(area)]
    pairs = [(way, other) for i, way in enumerate(ways) for other in ways[i + 1 :]]
    apart = [(*identified.disagreement(*pair), *pair) for pair in pairs]
    beyond = [(float(share), way, other) for share, more, way, other in apart if more]
    if not beyond:
        return ()
    share, way, other = max(beyond)
    text = f"If it were copper, its areas by {way} and by {other} would differ by {percent(share)}"
    best = int(identified.group.argmax())
    return (f"{text}: {list(GROUPS)[best]} is likely." if explain and best > 0 else f"{text}.",)
