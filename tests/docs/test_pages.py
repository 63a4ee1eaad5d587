"""Every command of README and docs is run, page by page, as a reader would type it.

In a block marked ```console a line `$ …` is a command; a heredoc or a trailing backslash takes the
lines after it along. A line `# exits with N` after it says that it should fail so. All other lines are
output and are not compared: words may be shortened there. Blocks marked ```console install are skipped.
In one marked ```console stays the command goes on until it is stopped: it is started without a browser, the
link that it prints is opened, and it is stopped.

The pages in WHOLE start the program anew for each command, as a reader does; the others call it where it
waits with everything loaded (warm.py), which takes a quarter of the time and is the program all the same.
"""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest
import warm

ROOT = Path(__file__).resolve().parents[2]
WHOLE = (ROOT / "README.md", *(ROOT / "docs" / "tutorial").glob("*.md"))
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
_FENCE = re.compile(r"^```(.*)$")
_HEREDOC = re.compile(r"<<-?\s*['\"]?(\w+)['\"]?")
_EXITS = re.compile(r"^# exits with (\d+)\s*$")
_SECONDS = 300


@dataclass
class Command:
    """What is typed, on which line of the page, and how it should end."""

    line: int
    text: str
    exits: int = 0


STAYS = """{command} --no-browser > .stays 2>&1 &
__stays=$!
"$PYTHON" - .stays <<'__END'
import sys, time, urllib.request
for _ in range(300):
    line = open(sys.argv[1], encoding="utf-8").readline()
    if line.startswith("http://127.0.0.1:") and line.endswith("\\n"):
        break
    time.sleep(0.1)
opener = urllib.request.build_opener(urllib.request.ProxyHandler({{}}), urllib.request.HTTPCookieProcessor())
page = opener.open(line.strip())
assert page.status == 200 and page.url.endswith("/"), page.url
__END
__opened=$?; kill $__stays; wait $__stays; rm .stays; [ $__opened = 0 ]"""
"""How a command is tried that goes on until it is stopped."""


def blocks(page: str) -> Iterator[tuple[int, list[str]]]:
    """The ```console blocks of a page: number of the first line inside, and the lines."""
    info, start, found = None, 0, []
    for number, line in enumerate(page.splitlines(), 1):
        fence = _FENCE.match(line)
        if fence and info is None:
            info, start, found = fence.group(1).strip(), number + 1, []
        elif fence:
            if info == "console":
                yield start, found
            elif info == "console stays":
                (line,) = found
                yield start, ["$ " + STAYS.format(command=line.removeprefix("$ "))]
            info = None
        else:
            found.append(line)
    assert info is None, "a fenced block is not closed"


def commands(page: str) -> list[Command]:
    found: list[Command] = []
    for start, lines in blocks(page):
        open_until = None  # a heredoc's last line, or "" after a trailing backslash
        for number, line in enumerate(lines, start):
            if open_until is not None:
                found[-1].text += f"\n{line}"
                if line == open_until or (open_until == "" and not line.endswith("\\")):
                    open_until = None
            elif line.startswith("$ "):
                found.append(Command(number, line[2:]))
                heredoc = None if "\n" in line else _HEREDOC.search(line)
                open_until = heredoc.group(1) if heredoc else "" if line.endswith("\\") else None
            elif (exits := _EXITS.match(line)) and found:
                found[-1].exits = int(exits.group(1))
        assert open_until is None, f"line {found[-1].line}: the command has no end"
    return found


def script(found: list[Command]) -> str:
    """One bash script, so that `cd` and variables last to the end of the page."""
    lines = ["set -o pipefail"]
    for command in found:
        lines.append(f"printf '%s\\n' {_quoted(f'line {command.line}: {command.text}')}")
        lines.append(command.text)
        said = _quoted(f"line {command.line}: exit code %s, not {command.exits}: {command.text}")
        lines.append(
            f'__code=$?; if [ "$__code" -ne {command.exits} ]; then printf {said}"\\n" "$__code"; exit 97; fi'
        )
    return "\n".join([*lines, "exit 0\n"])


def _quoted(text: str) -> str:
    return "'" + text.splitlines()[0].replace("'", "'\\''").replace("\\n", "\\\\n") + "'"


def environment(programs: Path | None = None) -> Mapping[str, str]:
    """The program on PATH, and a proxy that is not there: a page that needs the network fails."""
    nowhere = dict.fromkeys(("http_proxy", "https_proxy"), "http://127.0.0.1:9")
    folders = [str(programs)] if programs else []
    path = os.pathsep.join([*folders, str(Path(sys.executable).parent), os.environ.get("PATH", os.defpath)])
    return {**os.environ, **nowhere, "PATH": path, "PYTHON": sys.executable}


def run(page: str, folder: Path, programs: Path | None = None) -> subprocess.CompletedProcess[str]:
    """What a page's commands say and end with, `programs` before everything else on PATH."""
    return subprocess.run(
        ["bash", "-c", script(commands(page))],
        cwd=folder,
        env=environment(programs),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=_SECONDS,
    )


WITH_COMMANDS = [page for page in PAGES if commands(page.read_text(encoding="utf-8"))]


def _name(page: Path) -> str:
    return str(page.relative_to(ROOT))


@pytest.fixture(scope="module")
def programs() -> Iterator[Path]:
    """A folder whose `consentpack` is the warm one."""
    with tempfile.TemporaryDirectory() as made:  # not pytest's folder, whose path is too long for a socket
        folder, where = Path(made), Path(made, "socket")
        (folder / "consentpack").write_text(warm.caller(where), encoding="utf-8")
        (folder / "consentpack").chmod(0o755)
        command = [sys.executable, warm.__file__, str(where)]
        with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as server:
            assert server.stdin and server.stdout
            assert server.stdout.readline() == warm.READY
            yield folder
            server.stdin.close()


def _in_ci(page: Path) -> object:
    marks = [] if page in WHOLE else pytest.mark.slow("each command of a page is one run of the program")
    return pytest.param(page, id=_name(page), marks=marks)


@pytest.mark.parametrize("page", [_in_ci(page) for page in WITH_COMMANDS])
def test_every_command_of_the_page_works(page: Path, tmp_path, request):
    """Takes long for README and tutorial: each of their commands is a whole process."""
    programs = None if page in WHOLE else request.getfixturevalue("programs")
    done = run(page.read_text(encoding="utf-8"), tmp_path, programs)
    assert done.returncode == 0, f"{_name(page)}\n{done.stdout[-3000:]}"


@pytest.mark.parametrize("folder", ["tutorial", "how-to"])
def test_every_page_that_teaches_by_doing_has_commands(folder):
    there = set((ROOT / "docs" / folder).glob("*.md"))
    assert there and there <= set(WITH_COMMANDS)


BROKEN = {
    "a command that fails": ("$ true\n$ false", "line 3: exit code 1, not 0: false"),
    "a command that should have failed": ("$ true\n# exits with 1", "line 2: exit code 0, not 1: true"),
    "another failure than expected": ("$ (exit 3)\n# exits with 4", "line 2: exit code 3, not 4: (exit 3)"),
    "a failure inside a pipe": ("$ false | cat", "line 2: exit code 1, not 0: false | cat"),
    "a word that is not found": ("$ echo 35 | grep 37", "line 2: exit code 1, not 0: echo 35 | grep 37"),
}


@pytest.mark.parametrize(("lines", "said"), BROKEN.values(), ids=BROKEN)
def test_a_page_that_is_wrong_is_found(lines, said, tmp_path):
    done = run(f"```console\n{lines}\n```\n", tmp_path)
    assert done.returncode == 97
    assert said in done.stdout


def test_only_commands_are_run_and_they_share_folder_and_variables(tmp_path):
    page = (
        "```console\n$ mkdir inner\n$ cd inner\nwords of output\n$ cat > file <<'EOF'\n$ not run\nEOF\n"
        "$ x=1 \\\n  y=2\n```\n```console install\n$ false\n```\n```text\n$ false\n```\n"
        "```console\n$ test -s file -a $x$y = 12\n```\n"
    )
    assert [command.line for command in commands(page)] == [2, 3, 5, 8, 18]
    done = run(page, tmp_path)
    assert done.returncode == 0, done.stdout
    assert (tmp_path / "inner" / "file").read_text() == "$ not run\n"


# --- the warm program -----------------------------------------------------------------------------


def typed(line: str, folder: Path, programs: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        ["bash", "-c", line], cwd=folder, env=environment(programs), capture_output=True, text=True
    )


@pytest.mark.parametrize(
    "line",
    ["consentpack --version", "consentpack score gone.txt", "consentpack biuld", "consentpack build x.toml"],
)
def test_the_warm_program_says_and_ends_as_a_new_one(line, tmp_path, programs):
    """Takes a second or two: the new one loads the dictionary."""
    new, waiting = (typed(line, tmp_path, where) for where in (Path(sys.executable).parent, programs))
    assert (waiting.returncode, waiting.stdout, waiting.stderr) == (new.returncode, new.stdout, new.stderr)


def test_the_warm_program_has_the_folder_and_the_streams_of_who_called(tmp_path, programs):
    (tmp_path / "inner").mkdir()
    (tmp_path / "inner" / "form.txt").write_text("You may feel sore for a few days.", encoding="utf-8")
    done = typed("cd inner && consentpack score form.txt --text | tr a-z A-Z", tmp_path, programs)
    assert done.returncode == 0, done.stderr
    assert "YOU MAY FEEL SORE" in done.stdout and done.stderr == ""


def test_one_command_leaves_nothing_to_the_next(tmp_path, programs):
    done = typed("X=1 consentpack demo one; consentpack demo one; consentpack demo two", tmp_path, programs)
    assert done.returncode == 0 and (tmp_path / "two/packs").is_dir()
    assert len(list(tmp_path.iterdir())) == 2


def test_a_command_whose_program_goes_away_is_no_success(tmp_path):
    """Killed, or out of memory: the connection ends without an exit code."""
    with tempfile.TemporaryDirectory() as folder, socket.socket(socket.AF_UNIX) as server:
        server.bind(f"{folder}/socket")
        server.listen()
        (tmp_path / "call").write_text(warm.caller(Path(folder, "socket")), encoding="utf-8")
        caller = subprocess.Popen([sys.executable, "-IS", tmp_path / "call"])
        connection, _ = server.accept()
        connection.recv(1)
        connection.close()
        assert caller.wait(timeout=30) not in range(warm.DIED)
