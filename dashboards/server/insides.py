"""Parts of Voilà and of the Jupyter server that ours take the place of: they have to be there, or nothing starts."""

from __future__ import annotations

from typing import Any


def replace(owner: type, name: str, new: Any) -> None:
    """Put `new` in the place of a method.

    Raises
    ------
    AttributeError
        If there is none of that name: then the library is another version than this was written for.
    """
    if not callable(getattr(owner, name, None)):
        raise AttributeError(f"{owner.__name__}.{name} is gone: another version than this was written for")
    setattr(owner, name, new)
