"""The drawing beside a practice problem: the lengths, sizes and names of its text, and nothing else of it."""

from __future__ import annotations

import re

from dashboards.panels.practice import problem_view
from wirecalc.practice.kinds import KINDS, problem
from wirecalc.wire.conductor import conductor


def test_a_drawing_of_the_circuit_stands_beside_every_problem() -> None:
    """With the size and the length of the text, in the unit of the page, and read out as one sentence."""
    for key in KINDS:
        for seed in (1, 2, 3):
            exercise = problem(key, seed)
            for feet, mm2 in ((False, False), (True, False), (seed > 1, True)):
                shown = problem_view.text(exercise, feet=feet, mm2=mm2)
                label = re.search("class='wc-drawn'[^>]*aria-label='([^']*)'", shown)
                assert label is not None, key
                for number in re.findall(r"\d+(?:\.\d+)?", label[1]):
                    assert number in exercise.asked(feet=feet, metric_sizes=mm2), (key, label[1])
                words = re.findall("<text[^>]*y='126'>([^<]*)<", shown)
                assert not any(" and " in word for word in words), key  # an arrow has one length
    strip = problem_view.text(problem("strip", 3))
    assert re.findall("<text x='([0-9]+)' y='126'>([^<]*)<", strip) == [("280", "2 m"), ("491", "2 m")]
    drawn = problem_view.text(problem("drop", 3), feet=True)
    assert " ft" in re.search("aria-label='([^']*)'", drawn)[1]  # type: ignore[index]


def test_the_drawing_has_the_lengths_and_sizes_of_its_wire() -> None:
    """Of the first sentence that names each: not the metres in brackets, and not what else the shop has."""
    asked = {
        "strip": r"strip of (?P<strip>[\d.]+) .*\), (?P<length>[\d.]+) ft \([\d.]+ m\) one way",
        "lead": r"After (?P<length>[\d.]+) .* on for (?P<second>[\d.]+) ft",
        "diameter": r"wire is (?P<length>[\d.]+) ",
        "label": r"labelled .*?\((?P<size>\d+ AWG)\).* is (?P<length>[\d.]+) ft",
        "unlike": r"One is .*?\((?P<size>\d+ AWG)\).*other is .*?\((?P<other>\d+ AWG)\).* are (?P<length>[\d.]+) ft",
        "drop": r"pair of .*?\((?P<size>\d+ AWG)\).*\), (?P<length>[\d.]+) ft",
        "loop": r"pair of .*?\((?P<size>\d+ AWG)\).* is (?P<length>[\d.]+) ft",
    }
    for key, wanted in asked.items():
        for seed in (*range(1, 60), 706874, 979258):
            exercise = problem(key, seed)
            text = exercise.asked(feet=True, metric_sizes=True)
            named = re.search(wanted, text)
            assert named is not None, text
            given = named.groupdict()
            drawn = problem_view.text(exercise, feet=True, mm2=True)
            arrows = [f"{given[name]} ft" for name in ("length", "second", "strip") if name in given]
            assert re.findall("<text[^>]*y='126'>([^<]*)<", drawn) == arrows, text
            label = re.search("class='wc-drawn'[^>]*aria-label='([^']*)'", drawn)[1]  # type: ignore[index]
            assert re.findall(r"[\d.]+ ft", label) == arrows
            sizes = re.findall(r"[\d.]+ mm²", label)
            assert len(sizes) == ("size" in given) + ("other" in given) or key in ("strip", "lead"), label
            for name in {"size", "other"} & set(given):
                area = conductor("AWG", float(given[name].split()[0])).area_m2 * 1e6
                assert f"{area:.3g} mm²" in sizes, label
    for seed in (1, 2, 3):
        strands = problem("strands", seed)
        count = int(re.search(r"(\d+) strands", strands.drawn.text)[1])  # type: ignore[index]
        assert problem_view.text(strands).count("h0") == 2 * count  # each and its edge
    for key, seed in (("fuse", 1), ("fuse", 4), ("device", 1), ("device", 3)):
        what = re.match(r"(?:The|An?) (.*?) in ", problem(key, seed).drawn.text)[1]  # type: ignore[index]
        assert f"{what.capitalize()}</text>" in problem_view.text(problem(key, seed))
