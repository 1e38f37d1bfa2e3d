"""Files to and from the person's own device: a button that saves one, a button that reads one."""

from __future__ import annotations

import html
from collections.abc import Callable
from pathlib import Path
from typing import Any

import traitlets

from dashboards.panels.acts.acts import Actable
from dashboards.panels.controls.error_messages import said
from wirecalc.errors import FileFaults, InputError

MOST_BYTES = 2_000_000


class Download(Actable):
    """A button that saves a file on the person's device.

    Parameters
    ----------
    label : str
        On the button.
    make : callable of () -> (str, bytes, str)
        File name, content and MIME type, asked on every press. Its `InputError` is said beside the button.
    """

    _esm = Path(__file__).with_name("download.js")
    _css = Path(__file__).with_name("files.css")
    label = traitlets.Unicode().tag(sync=True)

    def __init__(self, label: str, make: Callable[[], tuple[str, bytes, str]]) -> None:
        super().__init__(label=label)
        self.make = make

    def take(self, _what: dict[str, Any]) -> None:
        """See `Actable`."""
        try:
            name, content, kind = self.make()
        except Exception as fault:
            self.send({"note": f"<div role='alert'>{said(fault)}</div>"})
        else:
            self.send({"name": name, "type": kind, "note": ""}, [content])


class Upload(Actable):
    """A button that reads one file from the person's device.

    Parameters
    ----------
    label : str
        On the button.
    accept : str
        What the browser offers, such as ".csv,.xlsx". A file whose name ends otherwise is refused here: a browser
        offers every file to who asks for it.
    take : callable of (str, bytes) -> None
        Given name and content. Its `InputError` is said beside the button.
    most_bytes : int
        A larger file is refused, in the browser before it is sent and here.
    multiple : bool
        Several may be chosen at once; `take` is called for each.
    """

    _esm = Path(__file__).with_name("upload.js")
    _css = Path(__file__).with_name("files.css")
    label = traitlets.Unicode().tag(sync=True)
    accept = traitlets.Unicode().tag(sync=True)
    most_bytes = traitlets.Int().tag(sync=True)
    multiple = traitlets.Bool().tag(sync=True)
    note = traitlets.Unicode().tag(sync=True)

    def __init__(
        self,
        label: str,
        accept: str,
        take: Callable[[str, bytes], None],
        most_bytes: int = MOST_BYTES,
        *,
        multiple: bool = False,
    ) -> None:
        super().__init__(label=label, accept=accept, most_bytes=most_bytes, multiple=multiple)
        self.use = take

    def again(self, what: dict[str, Any]) -> None:
        """See `Actable`; no browser keeps a file's content over a load."""
        name = html.escape(str(what.get("name"))[:200])
        told = f"{name} was not read before the page was loaded again: choose it once more."
        self.note = f"<div role='alert'>{told}</div>"

    def take(self, what: dict[str, Any]) -> None:
        """See `Actable`."""
        try:
            name, size, content = str(what["name"]), int(what["size"]), what.get("content")
            if size > self.most_bytes or content is None or len(content) > self.most_bytes:
                raise InputError("File", f"{name}, {size / 1e6:.1f} MB", f"at most {self.most_bytes / 1e6:g} MB")
            kinds = [kind for kind in self.accept.split(",") if kind.startswith(".")]
            if kinds and not name.lower().endswith(tuple(kinds)):
                raise InputError("File", name, f"a name that ends with {' or '.join(kinds)}")
            self.use(name, content)
        except FileFaults as fault:
            lines = "".join(f"<li>{html.escape(str(fault))}</li>" for fault in fault.faults)
            self.note = (
                f"<div role='alert'>{html.escape(name)} cannot be used; what was there stays.<ul>{lines}</ul></div>"
            )
        except Exception as fault:
            self.note = f"<div role='alert'>{said(fault)}</div>"
        else:
            self.note = f"<div role='status'>{html.escape(name)} was read.</div>"
