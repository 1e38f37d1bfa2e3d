"""Every kind of job: its default plan comes out signed, and so do plans of other answers; what is typed is kept."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

import wirecalc
from wirecalc.advice.house_rules import HouseRules
from wirecalc.errors import FileFaults, InputError
from wirecalc.jobs import JOBS
from wirecalc.jobs.blank import blank
from wirecalc.jobs.job import MOST_QUESTIONS
from wirecalc.jobs.question import Number, Pick
from wirecalc.vehicle.choose import ChosenPlan, choose_plan
from wirecalc.vehicle.limits import fuse_family
from wirecalc.vehicle.model import Device
from wirecalc.vehicle.pulls import pulls
from wirecalc.vehicle.text import parse, vehicle_of
from wirecalc.wire.zones import ZONES


@pytest.fixture(scope="module")
def chosen() -> dict[str, ChosenPlan]:
    """The default plan of each job, chosen once."""
    return {key: choose_plan(job.vehicle()) for key, job in JOBS.items()}


def signed(plan: ChosenPlan) -> None:
    assert plan.plan.problems == ()
    assert [(circuit.wire.name, circuit.broken) for circuit in plan.plan.circuits if not circuit.meets] == []
    for circuit in plan.plan.circuits:
        if "fuse_a" in circuit.measures:
            assert fuse_family(plan.vehicle, circuit.wire, circuit.measures["fuse_a"]) is not None, circuit.wire.name


@pytest.mark.parametrize("key", JOBS)
def test_the_default_plan_is_signed(chosen: dict[str, ChosenPlan], key: str) -> None:
    signed(chosen[key])
    assert any("fuse_a" in circuit.measures for circuit in chosen[key].plan.circuits)


@pytest.mark.parametrize("key", JOBS)
def test_it_asks_little_and_says_each_default(key: str) -> None:
    job = JOBS[key]
    assert 1 <= len(job.questions) <= MOST_QUESTIONS
    assert len({question.key for question in job.questions}) == len(job.questions)
    for question in job.questions:
        assert question.read(question.start) == question.start
        assert question.help or isinstance(question, Pick)
        if isinstance(question, Number) and question.feet:  # round in both, and nearly the same
            assert question.read(question.feet) == pytest.approx(question.start, rel=0.08)


@pytest.mark.parametrize("key", JOBS)
def test_the_text_is_the_plan(key: str) -> None:
    parsed = parse(JOBS[key].text())
    assert parsed.faults == ()
    assert parsed.notices == ()
    assert parsed.vehicle == JOBS[key].vehicle()


@st.composite
def answered(draw: st.DrawFn) -> tuple[str, dict[str, object]]:
    """A job, and answers from half to one and a half of the defaults."""
    key = draw(st.sampled_from(list(JOBS)))
    answers: dict[str, object] = {}
    for question in JOBS[key].questions:
        if isinstance(question, Pick):
            answers[question.key] = draw(st.sampled_from(list(question.options)))
        else:
            share = draw(st.floats(0.5, 1.5))
            answers[question.key] = min(max(question.start * share, question.low), question.high)
    return key, answers


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(answered())
def test_other_answers_are_signed_too(case: tuple[str, dict[str, object]]) -> None:
    key, answers = case
    signed(choose_plan(JOBS[key].vehicle(answers)))


# ABYC E-11: area in circular mils = K I L / E, K = 10.75, L out and back in feet, E the volts that may be lost; the
# formula is from memory. Its K is for warm copper.
def test_no_feed_is_thinner_than_the_published_formula(chosen: dict[str, ChosenPlan]) -> None:
    feed = chosen["device-on-supply"].plan.circuit("Light bar with diodes feed")
    feet = 2 * feed.wire.length_m / 0.3048
    cmil = 10.75 * 10.0 * feet / (0.03 * 12.6)  # 120 W at 12 V
    assert feed.conductor.area_m2 / (3.141592653589793 / 4 * (25.4e-6) ** 2) >= cmil


def test_an_amplifiers_feed_is_what_the_shop_pulls_for_its_power(chosen: dict[str, ChosenPlan]) -> None:
    """Over 200 W 8 AWG or thicker: house rules, common practice, no source; 12 AWG would carry it over this length."""
    for key, name in (("amplifier-added", "Amplifier feed"), ("whole-system", "Speaker amplifier feed")):
        assert chosen[key].vehicle.wire(name).size == ("AWG", 8.0)
        assert chosen[key].least[name] != "8 AWG"


def test_lengths_stay_as_they_were_typed() -> None:
    text = JOBS["amplifier-added"].text({"feed_m": "18 ft 6 in", "power_w": "100 W", "channels": "2"})
    at = text.wires.columns.index("Length")
    lengths = {row[0]: row[at] for row in text.wires.rows}
    assert lengths["Amplifier feed"] == "18 ft 6 in"
    assert lengths["Turn-on lead"] == "6 m"
    vehicle = vehicle_of(text)
    assert vehicle.device("Amplifier").power_w == 100
    assert [device.kind for device in vehicle.devices].count("loudspeaker") == 2


def test_every_answer_that_cannot_be_used_is_said_at_once() -> None:
    with pytest.raises(FileFaults) as fault:
        JOBS["amplifier-added"].text({"feed_m": "5 kg", "channels": "7", "power_w": "900 W", "colour": "red"})
    message = str(fault.value)
    for word in ("5 kg", "“7”", "1 to 500 W", "colour"):
        assert word in message
    assert len(fault.value.faults) == 4
    with pytest.raises(InputError, match=r"0\.1 to 30 m"):
        JOBS["amplifier-added"].vehicle({"feed_m": 31.0})


def test_what_the_vehicle_has_is_judged_but_not_bought(chosen: dict[str, ChosenPlan]) -> None:
    plan = chosen["amplifier-added"].plan
    assert plan.circuit("Head unit feed").meets
    assert "Head unit feed" not in {pull.name for pull in pulls(plan)}
    assert "Amplifier feed" in {pull.name for pull in pulls(plan)}


def test_a_charger_draws_only_with_the_engine(chosen: dict[str, ChosenPlan]) -> None:
    """By the sheet of currents: 30 A at 14.4 V and 90 % are 480 W at the charger's input."""
    currents = chosen["second-battery"].plan.currents
    feed = currents[currents["wire"] == "Charger feed"].set_index("state")["current_a"]
    assert feed["engine off, music"] == pytest.approx(0, abs=1e-9)
    volts = chosen["second-battery"].plan.circuit("Charger feed").measures["load_v"]
    assert feed["engine on, music"] == pytest.approx(480 / 14.4, rel=0.1)  # a little more on fewer volts
    assert volts > 11
    assert chosen["second-battery"].plan.energy.plays_a == pytest.approx(20, rel=1e-6)


def test_a_typical_device_is_replaced_by_what_its_plate_says() -> None:
    def drawn(what: str, power_w: float) -> Device:
        return JOBS["device-on-supply"].vehicle({"what": what, "power_w": power_w}).devices[-1]

    assert drawn("inverter", 240.0).power_w == 240
    assert drawn("air compressor", 240.0).draw_a == 20
    assert drawn("pair of filament lamps", 0.0).impedance_ohm == pytest.approx(144 / 110)


def test_a_blank_plan_has_only_what_every_vehicle_has() -> None:
    parsed = parse(blank())
    assert parsed.vehicle is not None
    assert [device.kind for device in parsed.vehicle.devices] == ["battery", "body"]
    assert parsed.vehicle.wires == ()


def test_a_heavy_load_from_the_battery_has_one_answer_in_a_plan_and_as_one_run() -> None:
    """It was 2 × 4/0 AWG of 80 °C wire in a plan, and in one run wire of the cabin, with its fuse in the bay."""
    answers = {"what": "inverter", "power_w": "1500 W", "length_m": "1 m"}
    circuit = choose_plan(JOBS["device-on-supply"].vehicle(answers)).plan.circuit("Inverter feed")
    run = wirecalc.device_run(1500 / 12.6, 1.0, behaviour="constant power", nominal_v=12.6, inrush_s=0.05, ways=2)
    chosen = wirecalc.choose(run)
    fuse = chosen.advice.pull.fuse if chosen.advice.pull else None
    assert fuse is not None
    assert (circuit.conductor.label, circuit.laid.parallel) == ("2/0 AWG", 1)
    assert (chosen.pull, fuse.rating_a) == (circuit.conductor.label, circuit.measures["fuse_a"])
    assert fuse.air_c == circuit.wire.ambient_c == ZONES["battery_side"].ambient_c
    assert circuit.wire.insulation == chosen.advice.job.route.insulation.key == "pvc_105"


def test_a_light_load_and_what_a_person_wrote_stay_as_they_are() -> None:
    light = JOBS["device-on-supply"].vehicle({"what": "inverter", "power_w": "600 W"})
    assert light.wires[-1].insulation == "pvc_80"
    heavy = JOBS["device-on-supply"].vehicle({"what": "inverter", "power_w": "1500 W", "way": "hot"})
    assert heavy.wires[-1].insulation == "xlpe_125"


def test_one_run_of_a_load_goes_by_the_shops_rule_of_insulation() -> None:
    rules = HouseRules.from_table()
    key = next(rule.key for rule in rules.rules if (rule.rule, rule.applies) == ("insulation", "load"))
    chosen = wirecalc.choose(wirecalc.device_run("10 A", "4 m"), rules=rules.replace(key, "pvc_100"))
    assert chosen.advice.job.route.insulation.key == "pvc_100"
