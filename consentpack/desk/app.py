"""The desk as a WSGI application: its rooms, its guard, and how what went wrong is shown."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path

from flask import Flask, Response, g, make_response
from werkzeug.exceptions import HTTPException

from consentpack.desk.guard import Keys, guard
from consentpack.desk.page import HERE, Here, view
from consentpack.desk.rooms import ROOMS
from consentpack.errors import ConsentpackError

MESSAGES = {
    400: ("This could not be read", "Go back, and try once more."),
    401: (
        "The desk is locked",
        "It locks when it has not been used for half an hour, and its link opens one browser, once. "
        "A new link stands in the window in which `consentpack desk` runs. Open it in this browser, "
        "then go back: what you have saved is there.",
    ),
    403: ("This was refused", "The desk answers its own pages on this computer, and nobody else."),
    404: ("There is no such page", "It may have been moved or renamed. Begin at the first page."),
    405: ("There is no such page", "Begin at the first page."),
    413: ("The file is too large", "The desk takes files of up to 60 MB. A spreadsheet of that many rows "
          "can be imported with `consentpack audit import FILE`."),
}  # fmt: skip
"""Status -> what is said, and what to do."""
KEPT: Mapping[bool | None, str] = {
    True: " What you have just sent is kept for this browser, and is offered when the desk is open again.",
    False: " What you have just sent was too large to be kept: go back when the desk is open, and send it.",
}
"""Of what was sent to a desk that was locked."""


def create_app(
    folder: Path, *, keys: Keys, hosts: Callable[[], frozenset[str]], say: Callable[[str], None] = print
) -> Flask:
    """The desk of one clinic folder.

    `hosts` gives the addresses that are its own. `say` prints in the window where it runs.
    """
    app = Flask("consentpack.desk", template_folder="templates", static_folder="static")
    app.extensions[HERE] = Here(folder, say)
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    guard(app, keys, hosts)
    for room in ROOMS:
        app.register_blueprint(room)

    @app.errorhandler(ConsentpackError)
    def refused(error: ConsentpackError) -> Response:
        page = view("problems.html", title="This needs to be put right first", problems=error.problems)
        return make_response(page, 409)

    @app.errorhandler(HTTPException)
    def wrong(error: HTTPException) -> Response:
        code = error.code or 500
        if code == 401 and not keys.waiting():
            say(f"The desk is locked. Open it again: {_link(keys, hosts)}")
        title, fix = MESSAGES.get(code, ("Something went wrong", "Begin at the first page."))
        fix += KEPT.get(g.get("held_back"), "")
        return make_response(view("wrong.html", title=title, fix=fix, bare=code == 401), code)

    @app.errorhandler(Exception)
    def fault(error: Exception) -> Response:
        """A traceback may show a row of the audit to whoever stands behind the screen."""
        say(f"A fault of the program: {type(error).__name__}. The page says so; nothing of yours is printed.")
        fix = "This is a fault of the program, not of yours. What was saved before is there."
        return make_response(view("wrong.html", title="Something went wrong", fix=fix, bare=False), 500)

    return app


def _link(keys: Keys, hosts: Callable[[], frozenset[str]]) -> str:
    """A one-time link to the desk at its own number, which no name server can point elsewhere."""
    host = next(each for each in sorted(hosts()) if each.startswith("127."))
    return f"http://{host}/enter/{keys.new_link()}"
