"""Trade words that open to a plain explanation: mark them in a text, show the explanations once a page."""

from __future__ import annotations

import html
import re

from wirecalc import tables

_TERMS: list[tuple[str, list[str], str]] = [
    (row["term"], row["forms"].split("|"), row["plain"]) for row in tables.rows("glossary")
]
_PLACE = {form: place for place, (_, forms, _) in enumerate(_TERMS) for form in forms}
_FORMS = re.compile(r"(?<!\w)(?:" + "|".join(map(re.escape, sorted(_PLACE, key=len, reverse=True))) + r")(?!\w)")


_UNIT = re.compile(r"(?<=\d) (?=(?:m?Ω|k?Hz|mm²|mm|m|ft|in|dB|W|V|A|AWG|°C|%)(?!\w)|\d{3}\b)")


def unbroken(text: str) -> str:
    """A plain text whose numbers stay whole and with their units where a line ends."""
    return _UNIT.sub("\N{NO-BREAK SPACE}", text)


def marked(text: str) -> str:
    """A plain text as HTML; each known word, where it comes first, is a button for its explanation.

    The page must hold `explanations` once, in a place that is never hidden.
    """
    seen: set[int] = set()

    def mark(match: re.Match[str]) -> str:
        place = _PLACE[match[0]]
        if place in seen:
            return match[0]
        seen.add(place)
        return _button(place, match[0])

    return _FORMS.sub(mark, html.escape(unbroken(text), quote=False))


def explanations() -> str:
    """Every explanation, as HTML that shows nothing until a word is pressed, and a list of all words."""
    popovers = "".join(
        f"<div popover class='wc-plain' id='wc-term-{place}'><b>{html.escape(term)}</b> {html.escape(plain)}</div>"
        for place, (term, _, plain) in enumerate(_TERMS)
    )
    words = " · ".join(_button(place, term) for place, (term, _, _) in enumerate(_TERMS))
    return f"<div class='wc-words-list'><b>Words:</b> {words}</div>{popovers}"


def used(*texts: str) -> list[tuple[str, str]]:
    """Term and explanation of every known word in plain texts, in the glossary's order."""
    places = {_PLACE[match[0]] for text in texts for match in _FORMS.finditer(text)}
    return [(_TERMS[place][0], _TERMS[place][2]) for place in sorted(places)]


def _button(place: int, text: str) -> str:
    return f"<button type='button' class='wc-term' popovertarget='wc-term-{place}'>{text}</button>"
