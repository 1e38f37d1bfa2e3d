"""A little English that sentences made of parts need."""

from __future__ import annotations

import re

_AN = re.compile(r"(?:[aeio]|un(?!i)|8|1[18](?!\d)|1[18]\d{3}(?!\d))", re.IGNORECASE)
_A = re.compile(r"(?:one|eu|uni|use)", re.IGNORECASE)


def with_article(words: str) -> str:
    """Words with "a" or "an" before them, as they are spoken.

    Parameters
    ----------
    words : str
        Starts with a word or a number.

    Returns
    -------
    str

    Examples
    --------
    >>> with_article("amplifier"), with_article("relay"), with_article("8 Ω speaker"), with_article("18 AWG pair")
    ('an amplifier', 'a relay', 'an 8 Ω speaker', 'an 18 AWG pair')
    >>> with_article("80 A fuse"), with_article("1.8 m run"), with_article("USB charger"), with_article("110 A load")
    ('an 80 A fuse', 'a 1.8 m run', 'a USB charger', 'a 110 A load')
    """
    return f"{'an' if _AN.match(words) and not _A.match(words) else 'a'} {words}"
