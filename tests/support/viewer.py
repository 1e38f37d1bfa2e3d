"""A viewer without a browser: opens a page and speaks the widgets' protocol on its socket.

As a program, `python -m tests.support.viewer ADDRESS COUNT SECONDS`, COUNT such viewers move a slider of the page about
every two seconds; what each step took, from the slider's message to the idle kernel, is printed as JSON.
"""

from __future__ import annotations

import asyncio
import itertools
import json
import random
import re
import sys
import time
import uuid
from collections.abc import Sequence
from typing import Any

from tornado.httpclient import AsyncHTTPClient, HTTPRequest
from tornado.websocket import WebSocketClientConnection, websocket_connect

PROTOCOL = "v1.kernel.websocket.jupyter.org"
EVERY_S = 2.0


def packed(channel: str, *parts: bytes) -> bytes:
    """A message of the protocol: where each part begins and ends, then the parts."""
    whole = (channel.encode(), *parts)
    start = 8 * (len(whole) + 2)
    offsets = list(itertools.accumulate(map(len, whole), initial=start))
    return b"".join(number.to_bytes(8, "little") for number in (len(offsets), *offsets)) + b"".join(whole)


def unpacked(message: bytes) -> list[bytes]:
    """The parts of a message, the channel first."""
    count = int.from_bytes(message[:8], "little")
    offsets = [int.from_bytes(message[8 * i : 8 * i + 8], "little") for i in range(1, count + 1)]
    return [message[start:end] for start, end in itertools.pairwise(offsets)]


class Viewer:
    """One page of one viewer; `site` is the server's address without a slash at its end."""

    def __init__(self, site: str, name: str = "one_run", headers: dict[str, str] | None = None) -> None:
        self.site, self.name, self.headers = site, name, headers or {}
        self.session, self.kernel_id, self.acts = uuid.uuid4().hex, "", 0
        self.socket: WebSocketClientConnection

    async def open(self) -> None:
        AsyncHTTPClient.configure(None, max_clients=100)
        address = f"{self.site}/voila/render/{self.name}.ipynb"
        asked = HTTPRequest(address, request_timeout=120, headers=self.headers)
        answer = await AsyncHTTPClient().fetch(asked)
        page = answer.body.decode()
        if cookies := answer.headers.get_list("Set-Cookie"):
            self.headers["Cookie"] = "; ".join(cookie.partition(";")[0] for cookie in cookies)
        found = re.search(r'"kernelId": *"([\w-]+)"', page)
        assert found, page[-2000:]
        self.kernel_id = found[1]
        where = f"{self.site.replace('http', 'ws', 1)}/api/kernels/{self.kernel_id}/channels?session_id={self.session}"
        asked = HTTPRequest(where, connect_timeout=60, request_timeout=60, headers=self.headers)
        self.socket = await websocket_connect(asked, subprotocols=[PROTOCOL], max_message_size=100_000_000)

    async def send(self, kind: str, content: dict[str, Any], channel: str = "shell", **metadata: str) -> str:
        """Send a message; its number."""
        number = uuid.uuid4().hex
        header = {"msg_id": number, "msg_type": kind, "session": self.session, "username": "", "version": "5.3"}
        parts = [
            json.dumps(part).encode() for part in (header | {"date": "2026-01-01T00:00:00Z"}, {}, metadata, content)
        ]
        await self.socket.write_message(packed(channel, *parts), binary=True)
        return number

    async def receive(self) -> tuple[str, str, dict[str, Any]]:
        """Kind, number of the message that it answers, and content of the next message."""
        message = await asyncio.wait_for(self.socket.read_message(), 60)
        assert isinstance(message, bytes), "the socket was closed"
        _, header, parent, _, content, *_ = unpacked(message)
        return json.loads(header)["msg_type"], json.loads(parent).get("msg_id", ""), json.loads(content)

    async def done(self, number: str) -> None:
        """Wait until the kernel has worked off a message."""
        while True:
            kind, answered, content = await self.receive()
            if (kind, answered, content.get("execution_state")) == ("status", number, "idle"):
                return

    async def models(self) -> dict[str, dict[str, Any]]:
        """State of every widget, by its number."""
        comm = uuid.uuid4().hex
        opened = {"comm_id": comm, "target_name": "jupyter.widget.control", "data": {}}
        await self.send("comm_open", opened, version="1.0.0")
        await self.send("comm_msg", {"comm_id": comm, "data": {"method": "request_states"}})
        while True:
            kind, _, content = await self.receive()
            if kind == "comm_msg" and content["comm_id"] == comm and content["data"]["method"] == "update_states":
                return {name: model["state"] for name, model in content["data"]["states"].items()}

    async def change(self, model: str, **state: Any) -> None:
        """Change a widget as a browser would, and wait until the kernel has answered."""
        data = {"method": "update", "state": state, "buffer_paths": []}
        await self.done(await self.send("comm_msg", {"comm_id": model, "data": data}))

    async def slide(self, entry: str, stop: int, stops: int) -> None:
        """Move the slider of an entry, as the pages' acts do: numbered, in order."""
        self.acts += 1
        content = {"act": self.acts, "what": {"at": stop, "of": stops}}
        data = {"method": "custom", "content": content}
        await self.done(await self.send("comm_msg", {"comm_id": entry, "data": data}))

    async def leave(self) -> None:
        """Close the socket, as a browser that dies does: the kernel is not told."""
        self.socket.close()
        while await self.socket.read_message() is not None:
            pass

    async def close(self) -> None:
        """Say goodbye as a closing page does."""
        where = f"{self.site}/voila/api/shutdown/{self.kernel_id}"
        await self.leave()
        await AsyncHTTPClient().fetch(HTTPRequest(where, "POST", body="", request_timeout=60, headers=self.headers))

    async def move(self, until: float, pauses: random.Random) -> list[float]:
        """Move the first slider about every two seconds, as people do, not in step; how long each step took. [s]"""
        models = await self.models()
        entry, state = next((name, state) for name, state in models.items() if state.get("last", -1) > 4)
        spent: list[float] = []
        await asyncio.sleep(pauses.uniform(0, EVERY_S))
        for step in itertools.count():
            began = time.monotonic()
            if began > until:
                return spent
            await self.slide(entry, 3 + step % 2, state["stops"])
            spent.append(time.monotonic() - began)
            await asyncio.sleep(max(EVERY_S * pauses.uniform(0.5, 1.5) - spent[-1], 0))
        raise AssertionError


async def crowd(site: str, count: int, seconds: float) -> list[float]:
    """That many viewers, one after the other opened, all gone at the end; every step of each. [s]"""
    viewers: Sequence[Viewer] = [Viewer(site) for _ in range(count)]
    for viewer in viewers:
        await viewer.open()
    print("open", flush=True)
    until = time.monotonic() + seconds
    steps = await asyncio.gather(*(viewer.move(until, random.Random(seed)) for seed, viewer in enumerate(viewers)))
    await asyncio.gather(*(viewer.close() for viewer in viewers))
    return [one for spent in steps for one in spent]


if __name__ == "__main__":
    print(json.dumps(asyncio.run(crowd(sys.argv[1], int(sys.argv[2]), float(sys.argv[3])))))
