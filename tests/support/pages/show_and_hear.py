"""When the page Show and hear can be used."""

from __future__ import annotations

READY = "body:has(.wc-watts):has(.wc-play):has(.wc-entry input[type=range])"
