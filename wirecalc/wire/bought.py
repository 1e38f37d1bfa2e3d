"""Wire as shops buy it: a size as it is typed, what "4 ga" may mean, and what a type of wire is covered with."""

from __future__ import annotations

import math
import re

from wirecalc import units
from wirecalc.errors import AskedBack, InputError
from wirecalc.units_taken import dataclass
from wirecalc.wire.as_sold import ISO, SAE, SOLD, STANDARDS, Size, SoldSize, by_gauge, numbers_of, show_size
from wirecalc.wire.conductor import COPPER, Conductor, Metal, awg, conductor, gauge
from wirecalc.wire.insulation import INSULATIONS, Insulation

_GAUGE = re.compile(r"#? ?(?:(\d)/0|(0{1,4})|(\d{1,2}))(?: ?(?:ga|gauge|g|gge|awg|sae)\.?)?", re.IGNORECASE)
_BARE = re.compile(
    r"(?:(?:\d)/0|0{1,4}|\d{1,2}) ?(?:ga|gauge|g|gge)\.?|(?:gauge|ga)\.? ?(?:\d/0|\d{1,2})", re.IGNORECASE
)
_STANDARD = re.compile(
    r"\b(?:sae(?: j ?112[78])?|iso(?: (?:6722|19642)(?:-\d+)?)?|jaso(?: d ?61[01])?|jis(?: c ?3406)?|type|wire|cable)"
    r"\b",
    re.IGNORECASE,
)
_NAMES = sorted({system.removesuffix(" f") for system in STANDARDS if system != SAE} | {"FLRY", "FLR2X"}, key=len)
_TYPE = re.compile(
    r"(?<![a-z])(" + "|".join(re.escape(name).replace(r"\-", "[- ]?").replace(r"\ ", " ") for name in reversed(_NAMES))
    + r")(?![a-z])",
    re.IGNORECASE,
)  # fmt: skip
_AREA = re.compile(r"(\d{1,3}(?:[.,]\d{1,3})?) ?(f?) ?(?:mm2|mm²|mm\^2|sq\.? ?mm|sq\.?|qmm)? ?(f?)", re.IGNORECASE)
_MOST_TYPED = 100


@dataclass(frozen=True, kw_only=True)
class BoughtWire:
    """One size of a type of wire."""

    sold: SoldSize
    conductor: Conductor
    insulation: Insulation

    @property
    def name(self) -> str:
        """ "4 SAE SGT (SAE J1127)"."""
        return f"{self.sold.label} ({self.sold.standard})"


BOUGHT: dict[str, BoughtWire] = {
    sold.key: BoughtWire(sold=sold, conductor=conductor(*size), insulation=INSULATIONS[sold.insulation])
    for size, sold in SOLD.items()
    if size[0] != SAE
}
"""By key; see data/bought_conductors.csv."""


def sizes_of(system: str) -> tuple[BoughtWire, ...]:
    """All sizes of a type, least metal first.

    Parameters
    ----------
    system : str
        A type of `wirecalc.wire.as_sold.STANDARDS`: "SGT".

    Returns
    -------
    tuple of BoughtWire
        At least one.

    Raises
    ------
    InputError
        If there is no such type.
    """
    wires = [wire for wire in BOUGHT.values() if wire.sold.system == system]
    if not wires:
        raise InputError("Type of wire", system, ", ".join(STANDARDS))
    return tuple(sorted(wires, key=lambda wire: wire.conductor.area_m2))


def insulation_of(system: str) -> Insulation | None:
    """What the wire of a type is covered with; None where a size says nothing of it, as AWG and SAE alone.

    Examples
    --------
    >>> insulation_of("TXL").limit_c, insulation_of("SAE")
    (125, None)
    """
    keys = {sold.insulation for (name, _), sold in SOLD.items() if name == system and sold.insulation}
    return INSULATIONS[min(keys, key=lambda key: INSULATIONS[key].limit_c)] if keys else None


def meanings(text: str) -> tuple[Size, ...]:
    """What a size that is typed as a bare gauge may be: AWG, SAE, or a thin grade of audio power wire.

    Parameters
    ----------
    text : str
        "4 ga", "1/0 gauge", "14g".

    Returns
    -------
    tuple of (str, float)
        AWG first, then less metal and less; one alone where no other is made in that size; none where the text is no
        bare gauge.

    Examples
    --------
    >>> meanings("4 ga"), meanings("4 AWG")
    ((('AWG', 4.0), ('SAE', 4.0), ('thin grade', 4.0)), ())
    """
    text = " ".join(text[:_MOST_TYPED].split())
    if _BARE.fullmatch(text) is None:
        return ()
    number = _gauge_number(re.sub(r"(?i)^(?:gauge|ga)\.? ?", "", text))
    if number is None or not units.AWG_LOW <= number <= units.AWG_HIGH:
        return ()
    return (("AWG", number), *((system, number) for system in (SAE, "thin grade") if (system, number) in SOLD))


def asked_back(text: str) -> str:
    """What to ask of a size typed as a bare gauge; empty where it can mean one thing only.

    Examples
    --------
    >>> asked_back("4 ga")
    '4 AWG (21.2 mm²), 4 SAE (18.9 mm², 10 % less) or 4 ga thin grade (17.7 mm², 16 % less)'
    """
    wires = [conductor(*size) for size in meanings(text)]
    if len(wires) < 2:
        return ""
    full = wires[0].area_m2
    labels = [f"{wires[0].label} ({full * 1e6:.3g} mm²)"]
    labels += [
        f"{wire.label} ({wire.area_m2 * 1e6:.3g} mm², {100 * (1 - wire.area_m2 / full):.0f} % less)"
        for wire in wires[1:]
    ]
    return f"{', '.join(labels[:-1])} or {labels[-1]}"


def sold_words(size: Size, wire: Conductor, insulation: Insulation) -> str:
    """What a wire is that is sold by a type or a metal, in words; empty for plain copper of a plain size.

    Parameters
    ----------
    size : (str, float)
        As it is sold.
    wire : Conductor
        Of that size.
    insulation : Insulation
        That it is judged with.

    Returns
    -------
    str
        The standard, the metal it has, how that compares with the AWG number, and the insulation.

    Examples
    --------
    >>> sold_words(("SAE", 4), conductor("SAE", 4), INSULATIONS["pvc_80"]).partition(";")[0]
    '4 SAE, SAE J1127 and J1128: 18.9 mm² of true copper, 10 % less than 4 AWG'
    """
    system, number = size
    plain = system in ("AWG", "mm2", ISO)
    if plain and wire.metal.key == "copper":
        return ""
    standard = "" if plain else f", {STANDARDS[system]}"
    sentence = f"{wire.label}{standard}: {wire.area_m2 * 1e6:.3g} mm² of {_as_sold(wire.metal)}"
    if by_gauge(system) and system != "AWG":
        less = 100 * (1 - wire.area_m2 / awg(number).area_m2)
        sentence += f", {less:.0f} % less than {awg(number).label}"
    if wire.metal.key != "copper":
        sentence += f", which carries as {like_copper(wire)} of copper does"
    if plain:
        return f"{sentence}."
    of_type = ", as this type is made" if insulation == insulation_of(system) else ""
    return f"{sentence}; judged with {insulation.name}, {insulation.limit_c:g} °C{of_type}."


def _as_sold(metal: Metal) -> str:
    return "true copper" if metal == COPPER else metal.name


def in_shop(size: Size, metal: Metal, insulation: Insulation) -> str:
    """What to ask for in the shop: size, standard, metal and insulation, as far as the type does not say it.

    Parameters
    ----------
    size : (str, float)
        As it is sold.
    metal : Metal
        Of the conductor; where copper is meant, wire that is no clad aluminium.
    insulation : Insulation
        It is judged with.

    Returns
    -------
    str

    Examples
    --------
    >>> from wirecalc.wire.conductor import METALS
    >>> in_shop(("TXL", 12), COPPER, INSULATIONS["xlpe_125"]), in_shop(("AWG", 4), COPPER, INSULATIONS["pvc_105"])
    ('12 SAE TXL (SAE J1128), true copper', '4 AWG, true copper, PVC, 105 °C')
    """
    system, _ = size
    standard = f" ({STANDARDS[system]})" if system in STANDARDS else ""
    cover = "" if insulation_of(system) == insulation else f", {insulation.name}"
    return f"{show_size(*size)}{standard}, {_as_sold(metal)}{cover}"


def like_copper(wire: Conductor) -> str:
    """The gauge of copper that conducts like a conductor: a fraction thinner than 1 AWG, mm² above.

    Examples
    --------
    >>> from wirecalc.wire.conductor import METALS
    >>> like_copper(awg(4, METALS["cca_10"]))
    '6.0 AWG'
    """
    area_m2 = COPPER.ohm_m_20c * wire.stranding.lay_factor / wire.ohm_per_m_20c
    number = float(gauge(area_m2))
    return f"{number:.1f} AWG" if number >= 1 else f"{area_m2 * 1e6:.3g} mm²"


def read_size(given: object, field: str = "Size") -> Size:
    """What a person typed for the size of a conductor, also as it is printed on wire that shops sell.

    Parameters
    ----------
    given : str, pint.Quantity or real number
        As `wirecalc.units.read_standard_size`; and "4 SAE", "12 SAE TXL", "0.5 mm² FLRY-B", "JASO AVSS 0.5".
    field : str
        The field's name as the person sees it, for messages.

    Returns
    -------
    (str, float)
        System and number, see `wirecalc.wire.as_sold`.

    Raises
    ------
    InputError
        If the entry cannot be read in one way only, or there is no such size. A bare gauge ("4 ga") is asked back:
        the error's `choices` are what it may mean.

    Examples
    --------
    >>> read_size("SAE 4"), read_size("TXL 12 gauge"), read_size("FLRY-B 0,5"), read_size("12 AWG")
    (('SAE', 4.0), ('TXL', 12.0), ('FLRY-B', 0.5), ('AWG', 12.0))
    """
    if not isinstance(given, str) or len(given) > _MOST_TYPED:
        return units.read_standard_size(given, field)
    text = " ".join(given.split())
    if asked := asked_back(text):
        choices = tuple(show_size(*size) for size in meanings(text))
        raise AskedBack(field, text, asked, "Say which: it is printed on the wire or its spool.", choices)
    kinds = [_system(match) for match in _TYPE.findall(text)]
    standards = [match.casefold() for match in _STANDARD.findall(text)]
    named = [name for name in standards if name.startswith(("sae", "iso", "jaso", "jis"))]
    if not kinds and not named:
        return units.read_standard_size(given, field)
    rest = " ".join(re.sub(r"[(),;:]? | [(),;:]?|[();:]", " ", f" {_STANDARD.sub(' ', _TYPE.sub(' ', text))} ").split())
    rest = rest.strip(" -,")
    if len(set(kinds)) > 1 or len(named) > 1:
        raise InputError(field, given, "one type and one size, such as 12 SAE TXL or 0.5 mm² FLRY-B")
    return _of_type(given, field, rest, kinds[0] if kinds else _untyped(named[0]))


def _system(name: str) -> str:
    """The type as the table has it: "flry b" -> "FLRY-B"."""
    same = {re.sub(r"[- ]", "", known).casefold(): known for known in _NAMES}
    return same[re.sub(r"[- ]", "", name).casefold()]


def _untyped(standard: str) -> str:
    return SAE if standard.startswith("sae") else ISO if standard.startswith("iso") else standard.split()[0].upper()


def _of_type(given: str, field: str, rest: str, system: str) -> Size:
    """The size of a type; `system` may also be a group of types, which is then asked back."""
    group = [
        standard for standard in STANDARDS if STANDARDS[standard].split()[0] == system and not standard.endswith(" f")
    ]
    group = (
        group
        if system in ("JASO", "JIS")
        else [standard for standard in STANDARDS if standard in (f"{system}-A", f"{system}-B")]
    )
    if len(group) == 1:
        system = group[0]
    if by_gauge(system):
        number = _gauge_number(rest)
        size = (system, math.nan if number is None else number)
    else:
        match = _AREA.fullmatch(rest)
        fine = match is not None and bool(match[2] or match[3])
        system = f"{system} f" if fine and f"{system} f" in STANDARDS else system
        size = (system, float(match[1].replace(",", ".")) if match else math.nan)
        if system not in STANDARDS and system != ISO:
            return _which_type(given, field, size[1], group)
        if math.isfinite(size[1]) and size not in SOLD and (f"{system} f", size[1]) in SOLD:
            size = (f"{system} f", size[1])
    if math.isnan(size[1]):
        example = show_size(system, numbers_of(system)[-1]) if numbers_of(system) else "0.5 mm² ISO"
        raise InputError(field, given, f"a size of {STANDARDS.get(system, 'ISO 6722-1')}, such as {example}")
    try:
        conductor(*size)
    except InputError as why:
        raise InputError(field, given, why.allowed, why.hint) from None
    return size


def _which_type(given: str, field: str, number: float, group: list[str]) -> Size:
    choices = tuple(show_size(standard, number) for standard in group if (standard, number) in SOLD)
    if len(choices) == 1:
        return next((standard, number) for standard in group if (standard, number) in SOLD)
    allowed = " or ".join(choices) or f"a size of {', '.join(group)}"
    if not choices:
        raise InputError(field, given, allowed)
    raise AskedBack(field, given, allowed, "Say which type: it is printed on the wire.", choices)


def _gauge_number(text: str) -> float | None:
    """ "4", "1/0 ga", "00" -> 4, 0, -1; None where it is no gauge."""
    match = _GAUGE.fullmatch(text.strip())
    if match is None:
        return None
    if match[1]:
        return 1.0 - int(match[1])
    return 1.0 - len(match[2]) if match[2] else float(match[3])
