"""Numbers in sentences that can be marked, so that a page may let each open to where it comes from."""

from __future__ import annotations

from collections.abc import Callable

Mark = Callable[[str, str], str]
"""From a number as it is read, and the key of its working, to the text that stands in the sentence."""


def plain(text: str, key: str) -> str:
    """Unmarked: the number as it is read.

    Parameters
    ----------
    text : str
        A number as it is read.
    key : str
        What number it is; not used here, but by a page that lets numbers open.

    Returns
    -------
    str
        `text`.

    Examples
    --------
    >>> plain("93", "load_w")
    '93'
    """
    return text
