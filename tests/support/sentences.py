"""What a person reads of HTML, and which of its numbers do not open."""

from __future__ import annotations

import html
import re

_BUTTON = r'<button[^>]*data-ask="([^"]*)">([^<]*)</button>'


def read(markup: str) -> str:
    """The text alone."""
    return html.unescape(re.sub("<[^>]*>", "", markup))


def numbers(markup: str) -> dict[str, str]:
    """Key and text of every number that opens."""
    return {html.unescape(key): html.unescape(text) for key, text in re.findall(_BUTTON, markup)}


def closed(markup: str, but: str = "$^") -> list[str]:
    """Each number that does not open, with the words beside it; `but` matches what need not."""
    text = read(re.sub(r"</(?:p|li|h2|td|th|caption)>", "\n", re.sub(_BUTTON, "@", markup)))
    return re.findall(r".{0,30}\d.{0,20}", re.sub(but, "#", text))


def answered(working: str) -> str:
    """What a working says that its number is, with a plain minus."""
    (value_text,) = re.findall("class='wc-is'>([^<]*)<", working)
    return html.unescape(value_text).replace("−", "-")


def within(text: str, value: float) -> bool | None:
    """Whether `value` lies where "< 0.01" or "> −0.01" says; None for any other text."""
    match = re.fullmatch(r"(?:< (?P<under>[\d.]+)|> −(?P<over>[\d.]+))(?: .*)?", text)
    if match is None:
        return None
    return 0 < value < float(match["under"]) if match["under"] else -float(match["over"]) < value < 0


def words_a_sentence(text: str) -> float:
    sentences = [part for part in re.split(r"[.?!:;]\s", text + " ") if part.strip()]
    return len(text.split()) / len(sentences)
