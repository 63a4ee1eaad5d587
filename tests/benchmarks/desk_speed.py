"""What one waits for at the desk: from the command to the first page, `--help`, and the page after a choice.

    python tests/benchmarks/desk_speed.py [--runs 5] [--rows 10000]

Whole processes of the demo clinic with its audit, its invented treatments repeated until there are `--rows`.
The smallest of the runs, in processor time of the desk and on the clock: a busy machine makes the clock
longer and never shorter.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
import time
import urllib.parse
import urllib.request
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

import cold_start

HELP = {"consentpack --help": ["-m", "consentpack", "--help"]}
CHOSEN = {
    "site": "left cheek", "usual": "blunt-cannula+local-infiltration", "skin_type": "III", "do": "check",
    "indication": "rolling", "asked_all": "yes", "sessions": "2", "factor.smoking": "yes",
    "treatment_date": f"{date.today() + timedelta(days=30)}",
}  # fmt: skip
_TICKS = os.sysconf("SC_CLK_TCK")


@dataclass(frozen=True)
class Waited:
    """Seconds of one thing that was asked for."""

    processor: float
    """Of the desk's process, all its threads."""
    clock: float


class Started:
    """A desk in a process of its own, and a browser's cookies."""

    def __init__(self, clinic: Path) -> None:
        self.begun = time.perf_counter()
        command = [sys.executable, "-m", "consentpack", "desk", "--no-browser", "--clinic", str(clinic)]
        kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
        environment = kept | {
            "PYTHONPATH": str(cold_start.ROOT), "PYTHONPYCACHEPREFIX": str(clinic / ".byte-code"),
        }  # fmt: skip
        self.process = subprocess.Popen(
            command, env=environment, text=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )
        assert self.process.stdout
        self.link = self.process.stdout.readline().strip()
        cookies = urllib.request.HTTPCookieProcessor()
        self._opener = urllib.request.build_opener(urllib.request.ProxyHandler({}), cookies)

    @property
    def base(self) -> str:
        return self.link.partition("/enter/")[0]

    def processor(self) -> float:
        """Seconds of processor that it has used by now."""
        stat = Path(f"/proc/{self.process.pid}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()
        return (int(stat[11]) + int(stat[12])) / _TICKS

    def ask(self, address: str, data: dict[str, str] | None = None) -> tuple[str, str]:
        """The address it ended at, and the page."""
        body = urllib.parse.urlencode(data).encode() if data else None
        headers = {"Origin": "null", "Sec-Fetch-Site": "same-origin"} if data else {}
        request = urllib.request.Request(self.base + address, body, headers)
        with self._opener.open(request, timeout=120) as answer:
            return answer.url, answer.read().decode()

    def stop(self) -> None:
        self.process.terminate()
        self.process.wait(timeout=30)
        assert self.process.stdout
        self.process.stdout.close()


def first_page(clinic: Path) -> Waited:
    """From the command to the first page in the browser's hands."""
    desk = Started(clinic)
    try:
        _, page = desk.ask(desk.link.removeprefix(desk.base))
        waited = Waited(desk.processor(), time.perf_counter() - desk.begun)
        assert "<h1>Today</h1>" in page
    finally:
        desk.stop()
    return waited


def previews(clinic: Path, runs: int) -> dict[str, list[Waited]]:
    """The page after a choice, and the paper that it would make, each asked for so many times."""
    desk, found = Started(clinic), dict[str, list[Waited]]()
    try:
        desk.ask(desk.link.removeprefix(desk.base))
        desk.ask("/?again=1")  # what is counted beside the pages has been counted
        url, page = desk.ask("/patients/new", CHOSEN)
        assert "What would be told" in page
        path = urllib.parse.urlsplit(url).path
        name = re.sub(r"#.*", "", path).rpartition("/")[2]
        wanted = {"the page after a choice": path, "the form it would make": f"/patients/paper/{name}/form"}
        for what, address in wanted.items():
            found[what] = [_asked(desk, address) for _ in range(runs + 1)][1:]
    finally:
        desk.stop()
    return found


def _asked(desk: Started, address: str) -> Waited:
    used, begun = desk.processor(), time.perf_counter()
    desk.ask(address)
    return Waited(desk.processor() - used, time.perf_counter() - begun)


def least(found: list[Waited]) -> Waited:
    return Waited(min(each.processor for each in found), min(each.clock for each in found))


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--rows", type=int, default=10_000)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        clinic = cold_start.clinic(Path(folder))
        cold_start.enlarge(clinic / "register.sqlite", options.rows)
        shown = cold_start.measure(options.runs, clinic, commands=HELP)["consentpack --help"]
        found = {"--help": Waited(shown.processor, shown.clock)}
        found["start to first page"] = least([first_page(clinic) for _ in range(options.runs + 1)][1:])
        found |= {what: least(each) for what, each in previews(clinic, options.runs).items()}
    print(f"{options.rows:,} treatments, {date.today()}, load {os.getloadavg()[0]:.1f}")
    for what, waited in found.items():
        print(f"{what:28} {waited.processor:6.2f} s of processor {waited.clock:6.2f} s on the clock")


if __name__ == "__main__":
    main()
