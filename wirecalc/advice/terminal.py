"""A device's terminal that takes less than the wire needs: what a shop does then."""

from __future__ import annotations

from wirecalc.runs.choose import Candidate

REDUCER = (
    "Or end one thick wire in a reducing pin made for it, or in a block beside the device with a short lead that fits"
    " and a fuse for that lead. Never cut strands off to make a wire fit (common practice, no source)."
)


def at_terminal(terminal: str, takes: str, pull: str | None, *, fused: bool = True) -> str:
    """What to do where a single wire that is thick enough does not go into a terminal.

    Parameters
    ----------
    terminal : str
        Whose it is: "the terminal of Front amplifier".
    takes : str
        Thickest size that goes in: "8 AWG".
    pull : str or None
        What is pulled instead: "2 × 8 AWG"; None where nothing does.
    fused : bool
        Whether there is a fuse in the run; a ground and a loudspeaker's wire have none.

    Returns
    -------
    str

    Examples
    --------
    >>> at_terminal("the terminal", "8 AWG", "2 × 8 AWG").partition(" Or ")[0]
    'The terminal takes up to 8 AWG: 2 × 8 AWG side by side, alike, each with its own fuse, joined at both ends.'
    """
    side = f"{pull} side by side, alike, {'each with its own fuse, ' * fused}joined at both ends." if pull else (
        "nothing on the shelf does, also side by side."
    )  # fmt: skip
    return f"{terminal[:1].upper()}{terminal[1:]} takes up to {takes}: {side} {REDUCER}"


def instead(takes: str | None, pull: Candidate | None, *, fused: bool = True) -> tuple[str, ...]:
    """As `at_terminal`, of one run; nothing where the terminal is not known, or a single wire goes in.

    Parameters
    ----------
    takes : str or None
        Thickest size that goes in.
    pull : Candidate or None
        What is pulled.
    fused : bool
        Whether there is a fuse in the run.

    Returns
    -------
    tuple of str
        One, or none.
    """
    if takes is None or (pull is not None and pull.parallel == 1):
        return ()
    return (at_terminal("the device's terminal", takes, pull.label if pull else None, fused=fused),)
