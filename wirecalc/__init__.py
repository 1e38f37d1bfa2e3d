"""What a run of wire in a vehicle costs, and which conductor to pull.

What most people need stands at the top and is imported when it is first used::

    import wirecalc
    run = wirecalc.speaker_run("100 W", "4 ohm", "20 ft", "18 AWG")
    print(run.words)
    print(wirecalc.choose(run).words)

Every length, power and so on may be text as it is said, a pint quantity of any registry, or a float in SI. SI floats
and numpy arrays are inside; `wirecalc.units_taken` and `wirecalc.units` are the door.
"""

from importlib import import_module

TYPE_CHECKING = False  # as typing has it, whose import would take longer than all else here
if TYPE_CHECKING:
    from wirecalc.circuits.loudspeaker import Driver as Driver
    from wirecalc.circuits.source import Amplifier as Amplifier
    from wirecalc.errors import InputError as InputError
    from wirecalc.front.choice import choose as choose
    from wirecalc.front.choice import sweep as sweep
    from wirecalc.front.explanation import explain as explain
    from wirecalc.front.lists import insulations as insulations
    from wirecalc.front.lists import metals as metals
    from wirecalc.front.lists import strandings as strandings
    from wirecalc.front.lists import zones as zones
    from wirecalc.front.many import speaker_runs as speaker_runs
    from wirecalc.front.many_plans import solve_all as solve_all
    from wirecalc.front.one_run import device_run as device_run
    from wirecalc.front.one_run import factory_run as factory_run
    from wirecalc.front.one_run import feed_run as feed_run
    from wirecalc.front.one_run import lamp_run as lamp_run
    from wirecalc.front.one_run import line_run as line_run
    from wirecalc.front.one_run import relay_run as relay_run
    from wirecalc.front.one_run import speaker_run as speaker_run
    from wirecalc.front.one_run import subwoofer_run as subwoofer_run
    from wirecalc.front.one_run import turn_on_run as turn_on_run
    from wirecalc.front.over_frequency import response as response
    from wirecalc.front.plans import read_plan as read_plan
    from wirecalc.front.plans import solve as solve
    from wirecalc.front.sample import identify as identify
    from wirecalc.front.wires import wire as wire
    from wirecalc.vehicle.text import PlanText

    Plan = PlanText

__version__ = "0.2.0"

_PLACES = {
    "Amplifier": "circuits.source",
    "Driver": "circuits.loudspeaker",
    "InputError": "errors",
    "Plan": "vehicle.text:PlanText",
    "choose": "front.choice",
    "device_run": "front.one_run",
    "explain": "front.explanation",
    "factory_run": "front.one_run",
    "feed_run": "front.one_run",
    "identify": "front.sample",
    "insulations": "front.lists",
    "lamp_run": "front.one_run",
    "line_run": "front.one_run",
    "metals": "front.lists",
    "read_plan": "front.plans",
    "relay_run": "front.one_run",
    "response": "front.over_frequency",
    "solve": "front.plans",
    "solve_all": "front.many_plans",
    "speaker_run": "front.one_run",
    "speaker_runs": "front.many",
    "strandings": "front.lists",
    "subwoofer_run": "front.one_run",
    "sweep": "front.choice",
    "turn_on_run": "front.one_run",
    "wire": "wire",  # the package, which may be called: see there
    "zones": "front.lists",
}
"""Name at the top -> its module, and its name there if that is another."""
__all__ = ["__version__", *_PLACES]


def __getattr__(name: str) -> object:
    """Import what is used, when it is used: of all that is here a script needs a part, and pandas takes a while."""
    if name not in _PLACES:
        raise AttributeError(f"module 'wirecalc' has no attribute {name!r}; it has {', '.join(__all__)}")
    module, _, there = _PLACES[name].partition(":")
    imported_module = import_module(f"wirecalc.{module}")
    public_object = imported_module if module == name else getattr(imported_module, there or name)
    globals()[name] = public_object
    return public_object


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
