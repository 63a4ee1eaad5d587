"""The desk's server: on this computer alone, until it is stopped."""

from __future__ import annotations

import socket
import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import waitress

from consentpack.desk.app import create_app
from consentpack.desk.guard import MOST_BYTES, Keys
from consentpack.errors import OutputError, Problem

LOOPBACK = "127.0.0.1"


@dataclass(frozen=True)
class Desk:
    """A server that is bound, and not yet answering."""

    link: str
    """The one-time link to its first page."""
    run: Callable[[], None]
    """Answers until the program is stopped."""
    close: Callable[[], None]


def open_desk(folder: Path, *, port: int = 0, say: Callable[[str], None] = print) -> Desk:
    """Bind the desk of a clinic folder to a port of this computer; 0 for any that is free.

    Raises OutputError when the port is taken.
    """
    keys = Keys()
    own: set[str] = set()
    app = create_app(folder, keys=keys, hosts=lambda: frozenset(own), say=say)
    bound_to = _bound(port)
    server = waitress.create_server(
        app, sockets=[bound_to], threads=4, ident="", max_request_body_size=MOST_BYTES + 1,
        clear_untrusted_proxy_headers=True,
    )  # fmt: skip
    bound = bound_to.getsockname()[1]
    own.update((f"{LOOPBACK}:{bound}", f"localhost:{bound}"))
    link = f"http://{LOOPBACK}:{bound}/enter/{keys.new_link()}"
    return Desk(link, *_stoppable(server))


def _bound(port: int) -> socket.socket:
    """A socket at a port of this computer. Before there is a server, so that nothing of one is left open."""
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        found.bind((LOOPBACK, port))
    except OSError as error:
        found.close()
        what = f"the port cannot be used ({error.strerror})."
        raise OutputError(Problem(f"--port {port}", what, "Leave it out: any free port will do.")) from None
    return found


def _stoppable(server: Any) -> tuple[Callable[[], None], Callable[[], None]]:
    """How a server is run, and how it is closed from elsewhere: what is being answered is finished first."""
    closed = threading.Event()

    def run() -> None:
        try:
            server.run()
        except OSError:  # it was waiting at what has been closed
            if not closed.is_set():
                raise

    def close() -> None:
        closed.set()
        server.task_dispatcher.shutdown()
        server.close()

    return run, close
