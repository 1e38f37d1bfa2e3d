"""An address that comes to a page, and what a page has in its own."""

from __future__ import annotations

from typing import Any


def come(panel: Any, query: str) -> str:
    """What is said of an address."""
    panel.address.take({"came": query})
    return str(panel.address.note)


def whole(panel: Any) -> dict[str, str]:
    """What the browser would send of the address as it is now."""
    return {"came": panel.address.query, "hash": panel.address.fragment}


def again(first: Any, second: Any) -> None:
    """A reload: another kernel's panel at the same address."""
    second.address.take(whole(first))
    assert second.address.note == ""
    assert whole(second) == whole(first)
