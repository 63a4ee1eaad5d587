"""The program kept warm, so that a page of the docs need not load a dictionary for each of its commands.

    python tests/docs/warm.py SOCKET

waits there with everything loaded; each command is a fork of it, with the folder, environment and streams
of who called, and ends with the exit code the program ends with. `caller` is what is put on PATH in
place of the program. The server ends when its standard input does, so with the tests that started it.
"""

from __future__ import annotations

import json
import os
import select
import signal
import socket
import sys
import traceback
from importlib import import_module
from pathlib import Path
from typing import NoReturn

READY = "ready\n"
HEAVY = (
    "babel.numbers", "consentpack.pipeline", "docx", "jinja2", "lemminflect", "lxml.etree", "markdown_it",
    "openpyxl", "PIL.Image", "scipy.stats", "sqlalchemy", "tomlkit",
)  # fmt: skip
_CALLER = """#!{python} -IS
import json, os, socket, sys

with socket.socket(socket.AF_UNIX) as server:
    server.connect({where!r})
    try:
        socket.send_fds(server, [b"*"], [0, 1, 2])
        server.sendall(json.dumps([sys.argv[1:], os.getcwd(), dict(os.environ)]).encode())
        server.shutdown(socket.SHUT_WR)
        code = int(server.recv(16) or {died})
    except OSError:
        code = {died}
    sys.exit(code)
"""
DIED = 97
"""What the caller ends with when the program went away without an exit code: no code of the program's."""


def caller(where: Path) -> str:
    """A script that has a command done by the server at a socket. Starts in a hundredth of a second."""
    return _CALLER.format(python=sys.executable, where=str(where), died=DIED)


def serve(where: str) -> None:
    """Answer until the one who started this is gone."""
    _load()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)  # the system clears away forks that have ended
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(where)
        server.listen(64)
        sys.stdout.write(READY)
        sys.stdout.flush()
        while server in select.select([server, sys.stdin], [], [])[0]:
            connection, _ = server.accept()
            with connection:
                if os.fork() == 0:
                    _answer(connection)


def _load() -> None:
    from consentpack.readability import textstat_grade

    for name in HEAVY:
        import_module(name)
    textstat_grade("The cat sat on the mat.")


def _answer(connection: socket.socket) -> NoReturn:
    """Be the command that was called, and never return: this is a copy of the server."""
    code = 1
    try:
        signal.signal(signal.SIGCHLD, signal.SIG_DFL)  # or a command that starts another one waits for ever
        _, streams, *_ = socket.recv_fds(connection, 1, 3)
        with connection.makefile("rb") as said:
            arguments, folder, environment = json.loads(said.read())
        for place, stream in enumerate(streams):
            os.dup2(stream, place)
            os.close(stream)
        _open_anew()
        os.chdir(folder)
        os.environ.clear()
        os.environ.update(environment)
        code = _run(arguments)
        connection.sendall(str(code).encode())
    finally:
        os._exit(code)


def _open_anew() -> None:
    """Python looks once whether a stream can be wound back; these are other streams than it looked at."""
    for name, errors in (("stdout", "strict"), ("stderr", "backslashreplace")):
        number = getattr(sys, name).fileno()
        setattr(sys, name, os.fdopen(number, "w", 1, encoding="utf-8", errors=errors, closefd=False))


def _run(arguments: list[str]) -> int:
    from consentpack.cli import main

    sys.argv = ["consentpack", *arguments]
    try:
        main()
        code = 0
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else int(ended.code is not None)
    except BaseException:
        traceback.print_exc()
        code = 1
    try:
        sys.stdout.flush()
        sys.stderr.flush()
    except BrokenPipeError:  # `| grep -q` stopped reading: what Python itself ends with then
        return 120
    return code


if __name__ == "__main__":
    serve(sys.argv[1])
