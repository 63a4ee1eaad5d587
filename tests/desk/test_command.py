"""`consentpack desk`: the link it prints and opens, what it refuses, and that it ends when it is closed."""

from __future__ import annotations

import socket
import threading
import urllib.request

import pytest
from click.testing import CliRunner

from consentpack.cli import main
from consentpack.desk import serving


def fetched(link: str) -> str:
    """The first page, as a browser gets it that keeps cookies."""
    cookies = urllib.request.HTTPCookieProcessor()
    with urllib.request.build_opener(urllib.request.ProxyHandler({}), cookies).open(link, timeout=30) as page:
        return page.read().decode()


def test_the_link_is_printed_and_opened_and_leads_to_the_first_page(clinic, monkeypatch):
    seen: dict[str, str] = {}
    opened: list[serving.Desk] = []
    usual = serving.open_desk

    def kept(folder, **more):
        opened.append(usual(folder, **more))
        return opened[0]

    def visit(link: str) -> None:
        try:
            seen[link] = fetched(link)
        finally:
            opened[0].close()

    def browser(link: str) -> bool:
        threading.Thread(target=visit, args=(link,)).start()
        return True

    monkeypatch.setattr(serving, "open_desk", kept)
    monkeypatch.setattr("webbrowser.open", browser)
    done = CliRunner().invoke(main, ["desk", "--clinic", str(clinic)])
    assert done.exit_code == 0, done.output
    (link,) = seen
    assert link in done.stdout.splitlines() and link.startswith("http://127.0.0.1:")
    assert "<h1>Today</h1>" in seen[link] and "for this computer alone" in done.stderr


def test_a_port_that_is_taken_is_told(clinic):
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        done = CliRunner().invoke(
            main, ["desk", "--no-browser", "--port", str(port), "--clinic", str(clinic)]
        )
    assert done.exit_code == 14 and f"--port {port}: the port cannot be used" in done.stderr


def test_outside_a_clinic_folder_nothing_is_opened(tmp_path, monkeypatch):
    monkeypatch.setattr("webbrowser.open", lambda link: pytest.fail(link))
    done = CliRunner().invoke(main, ["desk", "--clinic", str(tmp_path)])
    assert "this is not inside a clinic folder" in done.stderr and done.exit_code
