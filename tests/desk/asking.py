"""How a browser asks the desk: with the headers that Chromium sends from a page of the desk itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

HOST = "127.0.0.1:8123"
OURS = {"Sec-Fetch-Site": "same-origin", "Origin": "null"}
"""A page that sends no referrer says 'null' of its origin."""


@dataclass
class Asking:
    client: Any
    """A werkzeug test client, with its cookies."""
    said: list[str]
    """What was printed in the window where the desk runs."""

    def get(self, address: str, **more: Any):
        return self.client.get(address, buffered=True, base_url=f"http://{HOST}", **more)

    def post(self, address: str, data: Any = None, **more: Any):
        more.setdefault("headers", OURS)
        return self.client.post(address, data=data, buffered=True, base_url=f"http://{HOST}", **more)
