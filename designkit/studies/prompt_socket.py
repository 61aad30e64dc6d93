"""The notebook server's way to the page, without holding small messages back or
telling what only costs.

TCP gathers small messages by default (Nagle's algorithm) and waits for an answer
that the browser may delay by 40 ms: as long as a whole step of a study may take.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection

__all__ = ["PromptConnection"]


class PromptConnection(ZMQChannelsWebsocketConnection):
    """A connection between kernel and page that sends each message at once."""

    def connect(self) -> Any:
        """Open it.

        Returns
        -------
        awaitable
            Done when the kernel answers.
        """
        self.websocket_handler.set_nodelay(True)
        return super().connect()

    def handle_outgoing_message(self, stream: str, outgoing_msg: list[Any]) -> None:
        """Pass a message on to the page; that a control keeps the kernel busy is not one.

        JupyterLab draws "busy" and "idle" in two places, with more work than a whole
        step of a study. "idle" passes: where nothing was busy it changes nothing,
        and it closes the question.

        Parameters
        ----------
        stream : str
            The channel.
        outgoing_msg : list
            Parts of the message as the kernel sent them.
        """
        if not _busy_with_a_control(outgoing_msg):
            super().handle_outgoing_message(stream, outgoing_msg)


def _busy_with_a_control(parts: Sequence[Any]) -> bool:
    if len(parts) < 6:
        return False
    topic, parent, content = (bytes(getattr(parts[i], "bytes", parts[i])) for i in (0, -3, -1))
    return topic.endswith(b".status") and b'"busy"' in content and b'"comm_msg"' in parent
