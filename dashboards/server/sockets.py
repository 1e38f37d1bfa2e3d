"""What a page may say to its kernel: what widgets need, whole and small enough; never code."""

from __future__ import annotations

import itertools
from typing import Any

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection

PROTOCOL = "v1.kernel.websocket.jupyter.org"
ALLOWED = {"comm_open", "comm_msg", "comm_close", "comm_info_request", "kernel_info_request"}
MOST_PARTS = 64


class PageSocket(ZMQChannelsWebsocketConnection):
    """Between a page and its kernel; what is not allowed is dropped, and the page goes on."""

    refused = 0

    def handle_incoming_message(self, incoming_msg: Any) -> None:
        """Hand one message on, or drop it."""
        try:
            self._check(incoming_msg)
            super().handle_incoming_message(incoming_msg)
        except Exception as fault:
            self.refused += 1
            if str(self.refused).strip("0") == "1":  # 1, 10, 100 ...: a flood must not fill the log
                self.log.warning("Message %d refused from a page of %s: %s", self.refused, self.kernel_id, fault)

    def _check(self, message: Any) -> None:
        """The framing first: the server's own reading of it takes a count from the message and believes it."""
        if self.subprotocol != PROTOCOL or not isinstance(message, bytes):
            raise ValueError("not of the protocol")
        count = int.from_bytes(message[:8], "little")
        if not 6 <= count <= MOST_PARTS:
            raise ValueError(f"{count} parts")
        offsets = [int.from_bytes(message[8 * i : 8 * i + 8], "little") for i in range(1, count + 1)]
        if any(later < sooner for sooner, later in itertools.pairwise([8 * (count + 1), *offsets, len(message)])):
            raise ValueError("parts out of order")
        channel, header, _, _, content = (message[start:end] for start, end in itertools.pairwise(offsets[:6]))
        kind, content = self.session.unpack(header)["msg_type"], self.session.unpack(content)
        if channel != b"shell" or kind not in ALLOWED:
            raise ValueError(f"{kind!r:.60} to {channel!r:.60}")
        if kind in ("comm_open", "comm_msg", "comm_close") and not isinstance(content["comm_id"], str):
            raise ValueError("no comm")
        if kind == "comm_msg" and not isinstance(content["data"], dict):
            raise ValueError("no data")
        if kind == "comm_open" and content["target_name"] != "jupyter.widget.control":
            raise ValueError("opens what only a kernel opens")

    def on_restart_failed(self) -> None:
        """The kernel is dead: its socket closes, so that the page asks and says so."""
        super().on_restart_failed()
        self.websocket_handler.close()
