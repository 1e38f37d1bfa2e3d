"""What an unmarked wire is, from what was read of it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from wirecalc.bench.identify import Identified
from wirecalc.bench.identify import identify_sample as identified
from wirecalc.bench.known_wires import METAL_KEYS, SIZES
from wirecalc.bench.meter import LIMIT_TO_DEVIATION
from wirecalc.bench.sample import FIELDS, Reading, Sample, read_reading
from wirecalc.bench.words import said
from wirecalc.errors import InputError
from wirecalc.units_taken import dataclass
from wirecalc.wire.as_sold import show_size
from wirecalc.wire.bought import read_size


@dataclass(frozen=True, kw_only=True, eq=False)
class WireAnswer:
    """What a wire most likely is."""

    identified: Identified
    """All of it; see `wirecalc.bench.identify.Identified`."""
    sold_as: Any = None

    @property
    def words(self) -> str:
        """What was found, in sentences."""
        return " ".join(said(self.identified, self.sold_as))

    @property
    def table(self) -> pd.DataFrame:
        """metal, size, probability: a row for each that has at least one in a thousand, likeliest first."""
        chance = self.identified.probability
        names = [*(show_size(*size) for size in SIZES), "another size"]
        metal, size = np.unravel_index(np.argsort(-chance, axis=None), chance.shape)
        table = pd.DataFrame(
            {
                "metal": [METAL_KEYS[at] for at in metal],
                "size": [names[at] for at in size],
                "probability": chance[metal, size],
            }
        )
        return table[table["probability"] >= 1e-3].reset_index(drop=True)


def identify(*, sold_as: str | None = None, **readings: Any) -> WireAnswer:
    """What an unmarked wire is.

    Parameters
    ----------
    sold_as : str, optional
        The size on its label.
    **readings
        strands, strand_m, bare_m, ohm, lead_ohm, length_m, temperature_c, mass_kg, mass_length_m, outer_m: each text
        ("0.254 ± 0.005 mm"), a quantity, a float in SI, a pair (value, standard deviation), or a
        `wirecalc.bench.sample.Reading`. Without a deviation the usual one of such a reading counts.

    Returns
    -------
    WireAnswer

    Raises
    ------
    InputError
        If there is no such reading, or one cannot be used.

    Examples
    --------
    >>> import wirecalc
    >>> found = wirecalc.identify(strands=41, strand_m="0.16 mm", ohm="0.213 ohm", length_m="10 m", sold_as="18 AWG")
    >>> found.table.loc[0, ["metal", "size"]].tolist()
    ['copper', '18 AWG']
    """
    unknown = set(readings) - set(FIELDS)
    if unknown:
        raise InputError("reading", ", ".join(sorted(unknown)), f"of {', '.join(FIELDS)}")
    sample = Sample(**{name: _reading(name, value) for name, value in readings.items()})
    return WireAnswer(identified=identified(sample), sold_as=None if sold_as is None else read_size(sold_as, "sold_as"))


def _reading(name: str, given: Any) -> Reading:
    if isinstance(given, Reading):
        return given
    if isinstance(given, str):
        return read_reading(given, name)
    value, off = given if isinstance(given, tuple) else (given, None)
    if off is not None:
        return Reading(value=value, uncertainty=off)
    plain = float(np.asarray(Reading(value=value).in_si(name).value))
    if name == "strands":
        return read_reading(f"{plain:g}", name)
    return Reading(value=plain, uncertainty=FIELDS[name].usual_limit(plain) * LIMIT_TO_DEVIATION)
