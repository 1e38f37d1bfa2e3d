"""Where the numbers of a cable on the shelf come from: how many circuits it takes, how they stand, what it costs."""

from __future__ import annotations

from wirecalc.advice.job import Job
from wirecalc.advice.one_cable import TURN, Laying, OneCable, first_reason, laid_job
from wirecalc.advice.size import SizePick, advise
from wirecalc.runs.choose import Candidate
from wirecalc.workings.advice import of_size
from wirecalc.workings.circuit import length_rules
from wirecalc.workings.formula import Book, Given, Rule, Working, worked

COUNTED = "counted among its conductors, data/multicore_cables.csv or the cable of one's own"


def of_cable(key: str, answer: OneCable, *, prices: tuple[float | None, float | None], feet: bool = False) -> Working:
    """How one number of `OneCable` was worked out.

    Parameters
    ----------
    key : str
        "way:what". The way is "single", "double", "separate" or "twist"; what is "takes", "cables", "lengths",
        "price", or what `wirecalc.workings.advice.of_size` takes.
    answer : OneCable
    prices : tuple of two floats, each may be None
        Of a metre of the cable, and of a metre of separate wire.
    feet : bool
        Whether the length was entered in feet.

    Returns
    -------
    Working

    Raises
    ------
    KeyError
        If there is no such number.
    """
    way, _, what = key.partition(":")
    if way in ("single", "double"):
        laying = answer.single if way == "single" else answer.double
        if laying is None:
            raise KeyError(key)
        if what == "takes":
            return _takes(answer, laying)
        if what in ("cables", "price"):
            return worked(what, _cables(answer, laying, prices[0], feet), "N" if what == "cables" else "P")
        return of_size(what, laying.job, _candidate(laying), feet=feet)
    pick = answer.separate.pull or answer.separate.fails
    if pick is None:
        raise KeyError(key)
    if what in ("lengths", "price"):
        book = _separate(answer, pick, prices[1], twisted=way == "twist", feet=feet)
        return worked(what, book, "m" if what == "lengths" else "P")
    return of_size(what, answer.separate.job, pick.candidate, feet=feet)


def _candidate(laying: Laying) -> Candidate:
    return Candidate(conductor=laying.conductor, parallel=laying.parallel)


def _takes(answer: OneCable, laying: Laying) -> Working:
    """As many as there are conductors for; fewer where more in one jacket would break a rule."""
    room: Book = {
        "S": Given(
            "sets of conductors of this size, each for one circuit" if answer.one_way else "pairs of this size",
            laying.sets,
            origin=COUNTED,
            confidence="computed",
        ),
        "n": Given("of them side by side for each circuit", laying.parallel, origin="this way of using the cable"),
    }
    full = Rule("Circuits that it has conductors for", "floor(S/n)", "", "By definition")
    if laying.takes == laying.sets // laying.parallel:
        return worked("takes", room | {"C": full}, "C")
    more: Job = laid_job(answer.job, answer.cable, laying.conductor, laying.parallel, laying.takes + 1)
    pick = advise(more).asked
    assert pick is not None
    why = f"one more does not: {first_reason(pick, '')}"
    book = room | {
        "R": full,
        "k": Given(
            f"most of them, all loaded, that keep every rule; {why}", laying.takes,
            origin="every rule and limit of Which size?, for each count in one jacket", confidence="computed",
        ),
        "C": Rule("Circuits that one cable takes", "min(R,k)", "", "The smaller of the two"),
    }  # fmt: skip
    return worked("takes", book, "C")


def _cables(answer: OneCable, laying: Laying, price: float | None, feet: bool) -> Book:
    return {
        "c": Given("circuits like this one", answer.circuits),
        "C": Given("circuits that one cable takes", laying.takes, origin="its own number, press it", confidence=""),
        "N": Rule("Cables for all", "ceil(c/C)", "", "By definition"),
        **length_rules("L", "run length, one way", answer.job.route.length_m, feet=feet),
        "p": Given("price of one metre of the cable", 0.0 if price is None else price),
        "P": Rule("Cost", "p*N*L", "", "By definition"),
    }


def _separate(answer: OneCable, pick: SizePick, price: float | None, *, twisted: bool, feet: bool) -> Book:
    ways = 2 if twisted else answer.job.route.ways
    book: Book = {
        "c": Given("circuits like this one", answer.circuits),
        "n": Given("conductors side by side, as advised", pick.candidate.parallel, origin="what is pulled"),
        "w": Given("conductors out and back" if ways == 2 else "the body brings the current back", ways),
        "m": Rule("Lengths to pull", "c*n*w", "", "By definition"),
        **length_rules("L", "run length, one way", answer.job.route.length_m, feet=feet),
        "p": Given("price of one metre of separate wire", 0.0 if price is None else price),
        "P": Rule("Cost", "p*m*L", "", "By definition"),
    }
    if twisted:
        book |= {
            "u": Given("length of one turn over the wire's diameter", TURN, origin="common practice, no source"),
            "t": Rule("Length of a twisted wire over the way", "sqrt(1+(pi/u)**2)", "", "A helix, unrolled"),
            "P": Rule("Cost", "p*m*L*t", "", "By definition"),
        }
    return book
