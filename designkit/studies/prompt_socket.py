"""The notebook server's way to the page, without holding small messages back.

TCP gathers small messages by default (Nagle's algorithm) and waits for an answer
that the browser may delay by 40 ms: as long as a whole step of a study may take.
"""

from __future__ import annotations

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
