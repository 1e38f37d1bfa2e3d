"""Wires made up with a seed and read with noise: as the model thinks of them, and as it does not."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from wirecalc.bench import known_wires
from wirecalc.bench.identify import Identified
from wirecalc.bench.known_wires import METAL_KEYS, SIZES
from wirecalc.bench.sample import Reading, Sample
from wirecalc.wire.conductor import METALS

Array = NDArray[np.float64]

LENGTH_M = 3.0
OHM = ("ohm", "length_m", "temperature_c")
GEOMETRY = ("strands", "strand_m")
MASS = ("mass_kg", "mass_length_m")
BOTH = (*OHM, *GEOMETRY)
WHOLE = tuple(Sample.__dataclass_fields__)


def of_metals(name: str) -> Array:
    """A property of each of `METAL_KEYS`."""
    return np.array([getattr(METALS[key], name) for key in METAL_KEYS])


class Wires:
    """Wires whose every property is known, and a sample of them read with a normal error of `share` of each reading."""

    def __init__(
        self,
        draw: np.random.Generator,
        share: float,
        *,
        place: NDArray[np.intp],
        metal: NDArray[np.intp],
        area_m2: Array,
        strands: Array,
        lay: Array,
        fill: Array,
        rho_ratio: Array,
        density_ratio: Array,
        warm_c: Array,
        thermometer_k: float,
    ) -> None:
        count = len(place)
        self.place, self.log_area = place, np.log(area_m2)
        self.copper = np.log(area_m2 * METALS["copper"].ohm_m_20c / of_metals("ohm_m_20c")[metal])
        rho = of_metals("ohm_m_20c")[metal] * rho_ratio * (1 + of_metals("per_k_20c")[metal] * (warm_c - 20))
        density = of_metals("kg_per_m3")[metal] * density_ratio

        def read(true: Array) -> Reading:
            return Reading(value=true * (1 + share * draw.normal(size=count)), uncertainty=share * true)

        self.sample = Sample(
            strands=Reading(value=strands),
            strand_m=read(np.sqrt(4 * area_m2 / np.pi / strands)),
            bare_m=read(np.sqrt(4 * area_m2 / fill / np.pi)),
            ohm=read(rho * lay * LENGTH_M / area_m2),
            length_m=Reading(value=LENGTH_M),
            temperature_c=Reading(
                value=warm_c + thermometer_k * draw.normal(size=count), uncertainty=np.full(count, thermometer_k)
            ),
            mass_kg=read(density * area_m2 * lay * LENGTH_M),
            mass_length_m=Reading(value=LENGTH_M),
        )

    def only(self, *names: str) -> Sample:
        return replace(self.sample, **{name: None for name, _ in self.sample.taken() if name not in names})

    def ranks(self, identified: Identified) -> tuple[float, float]:
        """Share of samples whose true size is the likeliest, or one of the two likeliest."""
        hit = np.argsort(-identified.size, axis=1)[:, :2] == self.place[:, None]
        return float(hit[:, 0].mean()), float(hit.any(axis=1).mean())

    def sure(self, identified: Identified) -> tuple[float, float]:
        """Share of samples of whose size it is over 95 % sure, and the share of these that have another size."""
        sure = identified.size.max(axis=1) > 0.95
        wrong = sure & (identified.size.argmax(axis=1) != self.place)
        return float(sure.mean()), float(wrong.sum() / max(sure.sum(), 1))

    def covered(self, identified: Identified) -> tuple[float, float]:
        """Share of samples whose true area, and whose area as copper, lies in the 90 % interval."""
        pairs = ((identified.area_m2, self.log_area), (identified.copper_m2, self.copper))
        area, copper = (((np.log(q[:, 0]) <= x) & (x <= np.log(q[:, 2]))).mean() for q, x in pairs)
        return float(area), float(copper)


def metals(draw: np.random.Generator, count: int, metal: str | None) -> NDArray[np.intp]:
    prior = [known_wires.METAL_PRIOR[key] for key in METAL_KEYS]
    drawn = draw.choice(len(METAL_KEYS), size=count, p=prior)
    return drawn if metal is None else np.full(count, METAL_KEYS.index(metal))


def thought_of(count: int, seed: int, share: float = 0.01) -> Wires:
    """Wires just as the model takes them for likely: here its intervals must hold exactly."""
    draw, ways = np.random.default_rng(seed), known_wires.makes()
    make = draw.choice(len(ways.size), size=count, p=np.exp(ways.log_share))
    metal = metals(draw, count, None)
    off = np.clip(draw.normal(size=count), -3, 3)  # past that, of wire off the tables, no reading is accepted
    area_m2 = np.exp(ways.log_area[make] + ways.area_spread[make] * off)
    lay = np.exp(ways.log_lay[make] + ways.lay_spread[make] * draw.normal(size=count))
    fill = np.exp(ways.log_fill[make] + ways.fill_spread[make] * draw.normal(size=count))
    most = np.clip(area_m2 / (np.pi / 4 * 0.05e-3**2), 2, 3000)  # of strands that can still be measured
    any_count = np.exp(draw.uniform(np.log(2), np.log(most), count)).round()
    strands = np.where(np.isnan(ways.strands[make]), any_count, ways.strands[make])
    return Wires(
        draw, share, place=ways.size[make], metal=metal, area_m2=area_m2, strands=strands, lay=lay, fill=fill,
        rho_ratio=np.exp(known_wires.RHO_SPREAD[metal] * draw.normal(size=count)),
        density_ratio=np.exp(known_wires.DENSITY_SPREAD[metal] * draw.normal(size=count)),
        warm_c=np.full(count, 20.0), thermometer_k=0.0,
    )  # fmt: skip


# How far makers are off, either way and every value between as likely: nothing of it is read from the model.
STRAND_OFF = 0.01  # diameter of a drawn wire: ASTM B258, from memory
LAY, FINE_LAY = (
    (1.005, 1.035),
    (1.02, 1.06),
)  # concentric about 2 %, bunched and rope lay 3 to 6 %: ASTM B8, B172, memory
FILL, FINE_FILL = (0.68, 0.84), (0.62, 0.78)  # common practice, no source
SHOP_C = (5.0, 40.0)
# resistivity and density over the table's, by metal; clad wire differs most: common practice, no source
RHO = {
    "copper": (0.985, 1.01),  # 99 to 101.5 % IACS
    "tinned_copper": (0.98, 1.005),  # from bare to the standards' most
    "cca_10": (0.95, 1.03),
    "cca_15": (0.95, 1.03),
    "aluminium": (0.985, 1.015),
}
DENSITY = {"copper": 0.003, "tinned_copper": 0.008, "cca_10": 0.04, "cca_15": 0.04, "aluminium": 0.008}


COUNTS = (7, 7, 10, 16, 19, 19, 19, 24, 26, 30, 32, 37, 41, 42, 50, 61, 65, 80, 84, 105, 133, 168, 259, 420, 1045, 1862)
"""Of machines for strands, concentric ones most: common practice, no source."""
OWN_AREA = 0.06  # how far a maker's own stranding is from the size on its label, either way: common practice, no source


def off_the_shelf(
    count: int,
    seed: int,
    share: float = 0.01,
    metal: str | None = None,
    any_stranding: bool = False,
    unlisted: float = 0.0,
) -> Wires:
    """Wires of the published strandings as shops have them, at any temperature of a shop.

    Strand diameter, lay, fill, resistivity and density are spread evenly about the published values, which is not how
    the model spreads them. With `any_stranding` the count is another than any published: a maker's own. A share
    `unlisted` has strandings on no list, of usual counts, near the size of their label.
    """
    draw = np.random.default_rng(seed)
    listed = [(place, *stranding) for place, size in enumerate(SIZES) for stranding in known_wires.published(size)]
    places, published, strand_m = (np.array(column) for column in zip(*listed, strict=True))
    each = 1 / np.bincount(places, minlength=len(SIZES))[places]  # every size as likely, whatever its strandings
    which = draw.choice(len(listed), size=count, p=each / each.sum())
    strands, area_m2 = published[which].astype(float), published[which] * np.pi / 4 * strand_m[which] ** 2
    place = places[which].astype(np.intp)
    if any_stranding:
        strands = np.minimum(np.round(strands * draw.choice([0.6, 0.8, 1.3, 1.7, 2.3], size=count)), 9_000)
    own = draw.random(count) < unlisted
    for at in np.flatnonzero(own):
        place[at] = draw.integers(len(SIZES))
        area_m2[at] = known_wires.size_area_m2(SIZES[place[at]]) * np.exp(draw.uniform(-OWN_AREA, OWN_AREA))
        strand = np.sqrt(4 * area_m2[at] / np.pi / np.array(COUNTS))
        strands[at] = draw.choice(np.array(COUNTS)[(strand > 0.07e-3) & (strand < 0.85e-3)])
    fine = strands > 50
    kind = metals(draw, count, metal)

    def evenly(low: Any, high: Any) -> Array:
        return np.asarray(draw.uniform(low, high, count))

    rho_low, rho_high = np.array([RHO[key] for key in METAL_KEYS])[kind].T
    density = np.array([DENSITY[key] for key in METAL_KEYS])[kind]
    return Wires(
        draw, share,
        place=place, metal=kind, strands=strands,
        area_m2=area_m2 * evenly(1 - STRAND_OFF, 1 + STRAND_OFF) ** 2,
        lay=np.where(fine, evenly(*FINE_LAY), evenly(*LAY)),
        fill=np.where(fine, evenly(*FINE_FILL), evenly(*FILL)),
        rho_ratio=evenly(rho_low, rho_high), density_ratio=evenly(1 - density, 1 + density),
        warm_c=evenly(*SHOP_C), thermometer_k=1.0,
    )  # fmt: skip
