"""What the tab Heat and fuse says: how warm, what it may carry, which fuse, what a short circuit does, the cautions."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from dashboards.panels.controls.numbers import of_this, opening
from dashboards.panels.one_run.request import RunRequest
from wirecalc import units
from wirecalc.runs.run_heat import RunHeat
from wirecalc.runs.short import STRONGEST_A, Short
from wirecalc.wire.cautions import cautions
from wirecalc.wire.conductor import HOTTEST_C

TABLE = "33 CFR 183.425 table 5"


@dataclass(frozen=True, kw_only=True)
class HeatAnswer:
    """The request, solved."""

    situation: RunRequest
    heat: RunHeat
    """This run's size first."""


def degrees(value_c: float, against_c: float = np.inf) -> str:
    """A temperature as it is read; with a decimal where it lies within 1 K of `against_c`. [degC]"""
    if np.isnan(value_c):
        return "no value"
    if np.isinf(value_c):
        return f"over {HOTTEST_C:.0f} °C"
    return f"{value_c:.{1 if abs(value_c - against_c) < 1 else 0}f} °C"


def _amps(value_a: float, key: str) -> str:
    return of_this(units.show(value_a, units.CURRENT), key)


def _within(value_s: float, key: str) -> str:
    return f"in {time(value_s, key)}" if value_s < 0.1 else f"within {time(value_s, key)}"


def time(value_s: float, key: str = "") -> str:
    """A time as it is read, marked where it has a key."""
    if value_s < 0.1:
        text = "under 0.1 s"
    elif value_s < 180:
        text = f"{value_s:.2g} s" if value_s < 10 else f"{value_s:.0f} s"
    else:
        text = f"{value_s / 60:.0f} min" if value_s < 3 * 3600 else f"{value_s / 3600:.0f} h"
    return of_this(text, key) if key else text


def _paragraph(text: str, kind: str = "") -> str:
    """`text` as HTML, its marked numbers to be opened; of a kind that the page's style knows."""
    style = f" class='{kind}'" if kind else ""
    return f"<p{style}>{opening(text)}</p>"


def _each(answer: HeatAnswer) -> str:
    count = answer.situation.laid.parallel
    return "The conductor" if count == 1 else f"Each of the {count} conductors"


def verdict(answer: HeatAnswer) -> str:
    """How warm this size gets, against what its insulation stands, and what it may carry, as HTML."""
    run, place, this = answer.situation.run, answer.situation.place, answer.situation.this
    insulation = place.insulation
    each_a, hot_c = float(answer.heat.each_a[0]), float(answer.heat.measures["temperature_c"][0])
    allowed_a = float(answer.heat.allowed.current_a[0])
    air = f"in {of_this(f'{place.ambient_c:.0f} °C', 'ambient_c')} air"
    stands = f"Its insulation ({insulation.name}) may be at {of_this(f'{insulation.limit_c:.0f} °C', 'limit_c')}"
    end = of_this(f"{HOTTEST_C:.0f} °C", "temperature_c")
    reaches = f"reaches {of_this(degrees(hot_c, insulation.limit_c), 'temperature_c')} {air}"
    bad = True
    if np.isnan(each_a):
        sentence = (
            f"{this.label} cannot deliver this load for long, so there is no current to reckon with. Take thicker wire."
        )
    elif np.isinf(hot_c):
        sentence = f"Too hot: {this.label} heats on past {end} {air} and finds no balance. {stands}."
    elif hot_c > insulation.limit_c:
        sentence = f"Too hot: {this.label} {reaches}. {stands}."
    elif each_a > allowed_a:
        sentence = f"Too much current: {this.label} {reaches}, but the published table lets it carry less."
    else:
        bad = False
        sentence = f"{this.label} {reaches}. {stands}."
    parts = [f"<p class='wc-told{' wc-caution' if bad else ''}' role='status'>{opening(sentence)}</p>"]
    if not np.isnan(each_a):
        parts.append(
            _paragraph(f"{_each(answer)} carries {_amps(each_a, 'current_a')} on average. {_may_carry(answer)}")
        )
        parts.append(_paragraph(_warming(answer)))
    share = getattr(run, "music_share", 1.0)
    if share < 1:
        parts.append(
            _paragraph(
                f"Counted for music: {units.show(share, units.RATIO)} of the rated power on average. "
                "Test tones and heavily compressed bass come near all of it, and heat the wire more."
            )
        )
    return "".join(parts)


def _may_carry(answer: HeatAnswer) -> str:
    loaded = answer.situation.place.loaded
    published_a, balance_a = float(answer.heat.allowed.published_a[0]), float(answer.heat.allowed.balance_a[0])
    if min(published_a, balance_a) == 0:
        return "It may carry nothing: the air is as hot as the insulation may be, or hotter."
    together = f"with {loaded} loaded conductors together" if loaded > 1 else "alone"
    table, balance = f"the published table ({TABLE})", "the heat balance"
    low, high, rest = table, balance, _amps(balance_a, "balance_a")
    if published_a > balance_a:
        low, high, rest = balance, table, _amps(published_a, "published_a")
    least = _amps(min(published_a, balance_a), "allowable_a")
    return f"It may carry {least} {together}: {low} sets that; {high} would allow {rest}."


def _warming(answer: HeatAnswer) -> str:
    warm_up, limit_c = answer.heat.warm_up, answer.situation.place.insulation.limit_c
    limit, passes_s = of_this(f"{limit_c:.0f} °C", "limit_c"), warm_up.passes_s(limit_c)
    passes = "" if passes_s is None else f"It passes {limit} {_within(passes_s, 'passes_s')} from cold. "
    if not np.isfinite(warm_up.time_constant_s):
        return f"{passes}It has no time constant, for it never settles."
    return (
        f"{passes}Time constant {time(warm_up.time_constant_s, 'time_constant_s')}: about 63 % (1 − 1/e) of the rise "
        f"is there by then, nearly all after {time(warm_up.settled_s, 'settled_s')}."
    )


def fuse_words(answer: HeatAnswer) -> str:
    """The fuse for this run or why there is none, what it does in a short, and the cautions, as HTML."""
    laid, place = answer.situation.laid, answer.situation.place
    parts = ["<h2>Fuse</h2>", *_fuse_choice(answer)]
    own = laid.ways * laid.parallel
    alone = of_this(str(own), "own_loaded")
    if own > place.loaded:
        parts.append(
            _paragraph(
                f"This run alone has {alone} loaded conductors, but {place.loaded} is entered. "
                f"If they lie together, enter {alone} or more.",
                "wc-caution",
            )
        )
    parts += [_paragraph(text, "wc-caution") for text in cautions(answer.situation.work())]
    return "".join(parts)


def _fuse_choice(answer: HeatAnswer) -> list[str]:
    run, choice, count = answer.situation.run, answer.heat.choice, answer.situation.laid.parallel
    if "draw_a" not in answer.heat.measures:
        return [
            _paragraph("No fuse is chosen for a speaker wire.", "wc-told"),
            _paragraph(
                "The amplifier feeds it, and the amplifier’s own protection has to end a short. "
                "The fuse belongs in the amplifier’s supply: see battery to amplifier."
            ),
        ]
    if choice is None:
        return [
            _paragraph("No fuse can be chosen.", "wc-told wc-caution"),
            _paragraph(
                "This wire cannot deliver the load, so its draw is not known. Take thicker wire or a shorter way."
            ),
        ]
    share = f"For each of the {count} conductors, with its share of the draw: " if count > 1 else ""
    if choice.rating_a is None:
        changes = "".join(f"<li>{opening(change)}</li>" for change in choice.changes)
        return [
            _paragraph("No fuse both carries the load and protects this wire.", "wc-told wc-caution"),
            _paragraph(share + choice.reason),
            f"<p>What to change, one of these:</p><ul>{changes}</ul>",
        ]
    each = f", one for each of the {count} conductors" if count > 1 else ""
    each += ", at both feeds" if run.fed_twice else ""
    sentences = [
        _paragraph(f"Fuse: {of_this(f'{choice.rating_a:g} A', 'fuse_a')}{each}.", "wc-told"),
        _paragraph(share + choice.reason),
    ]
    if answer.heat.short is not None:
        sentences.append(_short_words(answer.heat.short, damage_c=answer.situation.place.insulation.damage_c))
    elif run.fuse_note:
        sentences.append(_paragraph(run.fuse_note, "wc-caution"))
    return sentences


def _short_words(short: Short, *, damage_c: float) -> str:
    fault = units.show(float(f"{short.fault_a:.2g}"), units.CURRENT)
    size = of_this(f"over {STRONGEST_A:.0f} A" if short.fault_a > STRONGEST_A else fault, "fault_a")
    sentence = (
        f"In a short at the far end about {size} flow, by hot wire and the joints alone; battery and body lower it. "
    )
    opens = f"the fuse opens {_within(short.clearing_s, 'clearing_s')}"
    if np.isinf(short.clearing_s):
        opens = "the fuse may not open"
    damage = of_this(f"{damage_c:.0f} °C", "damage_c")
    lasts = f"the insulation lasts {time(short.lasts_s, 'lasts_s')}"
    if not short.holds:
        return _paragraph(
            f"{sentence}This fuse does not protect the wire then: {opens}; {lasts}. "
            "Take thicker wire, a shorter way, or a lower draw with a smaller fuse.",
            "wc-caution",
        )
    if short.clearing_s < short.lasts_s:
        return _paragraph(f"{sentence}It protects the wire then: {opens}; {lasts}.")
    return _paragraph(
        f"{sentence}{opens[0].upper()}{opens[1:]}, but the wire gets no hotter than "
        f"{of_this(degrees(short.steady_c), 'steady_c')}; {damage} would damage it. "
        "Whatever lies beside it gets hot too."
    )
