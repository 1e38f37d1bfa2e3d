"""What is too long to be read in an address: packed, it goes behind the address's #, which no server ever sees."""

from __future__ import annotations

import base64
import zlib
from collections.abc import Callable
from dataclasses import dataclass

from wirecalc.errors import InputError

MOST_PACKED = 30_000  # characters that mail and messages still carry along, and every browser keeps
MOST_UNPACKED = 2_000_000  # bytes; what a short address can swell to


@dataclass(frozen=True, kw_only=True, eq=False)
class Packed:
    """One such thing.

    Parameters
    ----------
    what : str
        As a sentence begins: "This plan".
    instead : str
        What to do where it is too long: "Save it as .xlsx."
    write : callable of () -> bytes
        Nothing where an address needs none of it.
    take : callable of bytes -> None
        What came. Its `InputError` is said.
    saved : callable of () -> bool
        Whether a file has it as it stands.
    """

    what: str
    instead: str
    write: Callable[[], bytes]
    take: Callable[[bytes], None]
    saved: Callable[[], bool]


def pack(content: bytes) -> str:
    """In letters that an address may have.

    Examples
    --------
    >>> unpack(pack(b"wire, size"), "This plan")
    b'wire, size'
    """
    return base64.urlsafe_b64encode(zlib.compress(content)).decode().rstrip("=")


def unpack(text: str, what: str) -> bytes:
    """What `pack` packed.

    Raises
    ------
    InputError
        If it is too long, packed or not, or was cut off or changed on its way.
    """
    if len(text) > MOST_PACKED:
        raise InputError(f"Address, {what}", f"{len(text)} characters", f"at most {MOST_PACKED}")
    opened = zlib.decompressobj()
    try:
        packed = base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
        content = opened.decompress(packed, MOST_UNPACKED)
    except (ValueError, zlib.error):
        raise _damaged(what) from None
    if opened.unconsumed_tail:
        raise InputError(f"Address, {what}", "too much packed", f"at most {MOST_UNPACKED / 1e6:g} MB")
    if not opened.eof or opened.unused_data:
        raise _damaged(what)
    return content


def _damaged(what: str) -> InputError:
    hint = "Copy the whole address again; what the page shows is not from it."
    return InputError(f"Address, {what}", "a damaged part", "the link as this page made it", hint)
