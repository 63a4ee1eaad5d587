"""How many small changes of the code its tests notice, module by module.

    python tests/mutants/mutate.py [MODULE ...] [--sample N] [--seed N] [--processes N]

MODULE is a beginning of a path below consentpack/, such as `rates/` or `wording.py`. Each change
(`changes.py`) is made in a temporary copy of the tree, and the module's tests (`TESTS`) are run on it until
one fails. What survives is printed; changes that make no difference stand in `equivalents.toml` with the
reason. The exit code is 1 when fewer than 95 in 100 of the others were noticed.

Why not a published tool: two were looked at on this tree. cosmic-ray (8.7) changes the working tree itself,
needs one session for each module with its own tests, has no change that drops a clause, swaps arguments or
takes off a `min`, and starts a new Python for each change, three seconds of imports here. mutmut (3.8)
chooses the tests itself and changes words too, which other tests hold; it has no sample with a seed. Here
everything heavy is imported once, and each change is a fork of that process.
"""

from __future__ import annotations

import argparse
import importlib
import importlib.abc
import importlib.util
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from changes import Change, changes

ROOT = Path(__file__).resolve().parents[2]
ENOUGH = 0.95
NOT_HERE = "not postgres and not office and not browser and not espeak"
PYTEST = (
    "-x", "-q", "-p", "no:cacheprovider", "-m", NOT_HERE,
    "-o", "python_files=test_*.py",  # else pytest reads exact_test.py itself, and without its change
    "-W", "ignore::pytest.PytestAssertRewriteWarning",  # its plugins are there before it
)  # fmt: skip
BROKEN = 9
SAID = "said.txt"
"""What a run without any change printed last."""
PATIENCE = 900.0
"""Seconds after which a run is ended whatever it does; an endless loop ends by the time it computes."""
_BORDERS = ("unit/test_borders_rates.py",)
_RATES = (*_BORDERS, "unit/test_ladder.py", "unit/test_together.py", "unit/test_survey.py")
_REGISTER = ("unit/test_queries.py", "register/test_importing.py", "register/test_spreadsheets.py")
_READING = (
    "unit/test_borders_reading.py",
    "unit/test_readability.py",
    "unit/test_readability_counts.py",
    "unit/test_textstat_traps.py",
)
_FORMULAS = (
    "unit/test_borders_reading.py",
    "outside/test_published_readability.py",
)
TESTS: dict[str, tuple[str, ...]] = {
    "rates/beside.py": (*_BORDERS, "unit/test_compare.py"),
    "rates/compare.py": ("unit/test_compare.py", *_RATES),
    "rates/counting.py": _RATES,
    "rates/cusum.py": (
        *_BORDERS,
        "unit/test_cusum.py",
        "unit/test_watching.py",
    ),
    "rates/exact_test.py": (*_BORDERS, "unit/test_exact_test.py", "unit/test_published.py"),
    "rates/fits.py": ("unit/test_borders_fits.py", "unit/test_fits.py"),
    "rates/funnel.py": (*_BORDERS, "unit/test_funnel.py", "unit/test_survey.py", "unit/test_adjusting.py"),
    "rates/intervals.py": ("unit/test_intervals.py",),
    "rates/ladder.py": _RATES,
    "rates/published.py": ("unit/test_borders_fits.py", "unit/test_published.py", *_RATES),
    "rates/reliability.py": (
        *_BORDERS,
        "unit/test_reliability.py",
    ),
    "rates/sessions.py": _BORDERS,
    "rates/survey.py": (
        *_BORDERS,
        "unit/test_survey.py",
    ),
    "rates/together.py": (*_BORDERS, "unit/test_together.py", "unit/test_ladder.py"),
    "wording.py": ("unit/test_borders_words.py", "unit/test_wording.py"),
    "match.py": ("unit/test_borders_match.py", "unit/test_match.py"),
    "conditions.py": ("unit/test_borders_conditions.py", "unit/test_conditions.py"),
    "relevance.py": ("unit/test_borders_conditions.py", "unit/test_relevance.py"),
    "suitability.py": ("unit/test_borders_conditions.py", "unit/test_suitability.py"),
    "approvals.py": ("unit/test_borders_approvals.py", "unit/test_approvals.py"),
    "register/queries.py": ("unit/test_borders_queries.py", "unit/test_queries.py"),
    "register/rows.py": ("unit/test_borders_register.py", "unit/test_rows.py", *_REGISTER),
    "register/cells.py": ("unit/test_borders_register.py", "unit/test_cells.py", "unit/test_rows.py"),
    "register/store.py": (
        "unit/test_borders_queries.py",
        "unit/test_queries.py",
        "register/test_importing.py",
        "register/test_entry.py",
    ),
    "fill.py": ("unit/test_borders_words.py", "unit/test_fill.py"),
    "translate/parity.py": ("unit/test_borders_parity.py", "unit/test_parity.py"),
    "readability/counts.py": ("unit/test_readability_counts.py", *_FORMULAS),
    "readability/explain.py": ("unit/test_borders_reading.py", "unit/test_readability.py"),
    "readability/formulas.py": (*_FORMULAS, "unit/test_readability_counts.py"),
    "readability/hyphens.py": ("unit/test_hyphens.py",),
    "readability/measures.py": ("unit/test_readability.py", *_FORMULAS),
    "readability/plain_terms.py": ("unit/test_borders_reading.py", "unit/test_readability.py"),
    "readability/prepare.py": _READING,
    "readability/scoring.py": _READING,
    "readability/syllables.py": (
        "unit/test_borders_reading.py",
        "unit/test_readability_counts.py",
        "unit/test_textstat_traps.py",
    ),
    "readability/targets.py": ("unit/test_borders_reading.py", "unit/test_readability.py"),
    "readability/textstats_own.py": (
        "unit/test_borders_reading.py",
        "unit/test_textstat_traps.py",
        "unit/test_readability.py",
    ),
    "readability/vowels.py": ("unit/test_readability_counts.py", *_FORMULAS),
}
"""Module -> its own tests first, then what else is run. All are quick; no office program, no browser."""


@dataclass(frozen=True)
class Equivalent:
    """A change that makes no difference, and why."""

    module: str
    place: str
    was: str
    now: str
    why: str
    line: str = ""
    """A part of its line, where the same stands on another line of that place and does make a difference."""

    def fits(self, module: str, change: Change, source: str) -> bool:
        mine, asked = (self.module, self.place, self.was, self.now), (module, change.place)
        return mine == (*asked, change.was, change.now) and self.line in source.splitlines()[change.line - 1]


def equivalents() -> list[Equivalent]:
    text = (Path(__file__).parent / "equivalents.toml").read_text(encoding="utf-8")
    return [Equivalent(**each) for each in tomllib.loads(text).get("equivalent", [])]


@dataclass(frozen=True)
class Job:
    """One run of a module's tests; without a change it must pass."""

    module: str
    change: Change | None = None
    known: bool = False
    """Whether the change is listed as making no difference."""
    seconds: float = 0.0
    """Of computing; for a run that is over."""
    passed: bool = False


def modules(beginnings: Sequence[str]) -> list[str]:
    """The modules that are there, of those that were asked for."""
    there = [module for module in TESTS if (ROOT / "consentpack" / module).is_file()]
    return [m for m in there if not beginnings or m.startswith(tuple(beginnings))]


def sample(module: str, size: int, seed: int) -> tuple[int, list[Job]]:
    """How many changes can be made, and some of them."""
    source = (ROOT / "consentpack" / module).read_text(encoding="utf-8")
    every = changes(source)
    chosen = random.Random(f"{seed} {module}").sample(every, min(size, len(every)))
    known = equivalents()
    return len(every), [Job(module, c, any(e.fits(module, c, source) for e in known)) for c in chosen]


class _Changed(importlib.abc.MetaPathFinder, importlib.abc.SourceLoader):
    """Gives one module of the package with its change."""

    def __init__(self, name: str, path: Path, text: str) -> None:
        self._name, self._path, self._text = name, str(path), text

    def find_spec(self, fullname: str, path: Any, target: Any = None) -> Any:
        if fullname != self._name:
            return None
        return importlib.util.spec_from_file_location(fullname, self._path, loader=self)

    def get_filename(self, fullname: str) -> str:
        return self._path

    def get_data(self, path: str | bytes) -> bytes:
        return self._text.encode()

    def path_stats(self, path: str) -> Any:
        raise OSError  # no compiled file is read or written: it would be of another text


def heavy(tree: Path) -> None:
    """Import what every run needs, once; then forget what is ours, which each run reads for itself."""
    sys.path[:0] = [str(tree), str(tree / "tests")]
    for name in ("consentpack.cli", "browsers", "support", "scipy.special", "scipy.stats", *_OF_TESTS):
        with suppress(ImportError):
            importlib.import_module(name)
    import hypothesis
    from textstat.backend import utils

    profile = {"derandomize": True, "database": None, "deadline": None, "max_examples": 30}
    hypothesis.settings.register_profile("mutants", **profile)  # type: ignore[arg-type]
    with suppress(AttributeError):
        utils.get_cmudict("en")
    for name, module in list(sys.modules.items()):
        if str(getattr(module, "__file__", "")).startswith(str(tree)):
            del sys.modules[name]


_OF_TESTS = (
    "pytest", "hypothesis.strategies", "hypothesis.internal.conjecture.engine", "scipy.sparse.linalg",
    "statsmodels.stats.proportion", "sqlalchemy.dialects.sqlite", "jinja2.sandbox", "babel.dates",
    "babel.lists", "docx", "openpyxl", "PIL.Image", "lxml.etree", "tomlkit", "markdown_it", "psycopg",
)  # fmt: skip


def _run(job: Job, tree: Path, most: float) -> None:
    """The child: the tests of a module on its changed text; ends the process."""
    said = os.open(os.devnull if job.change else tree / SAID, os.O_RDWR | os.O_CREAT | os.O_TRUNC)
    for stream in (0, 1, 2):
        os.dup2(said, stream)
    resource.setrlimit(resource.RLIMIT_CPU, (int(most) + 1, int(most) + 2))
    import hypothesis
    import pytest

    hypothesis.settings.load_profile("mutants")
    os.chdir(tree)
    path = tree / "consentpack" / job.module
    if job.change:
        name = ".".join(("consentpack", *Path(job.module).with_suffix("").parts))
        text = job.change.made(path.read_text(encoding="utf-8"))
        sys.meta_path.insert(0, _Changed(name, path, text))
    found = 0
    for each in TESTS[job.module]:  # one by one: collecting all of them takes longer than the first failure
        if not found and (tree / "tests" / each).is_file():
            # 2: the tests could not even be imported; 5: every test of the file was left out
            found = {0: 0, 5: 0, 1: 1, 2: 1}.get(pytest.main([*PYTEST, f"tests/{each}"]), BROKEN)
    os._exit(found)


def runs(jobs: Iterable[Job], tree: Path, *, processes: int, most: dict[str, float]) -> Iterator[Job]:
    """Jobs as they are done, `processes` at a time. `most` is seconds of computing for each module."""
    waiting, running = list(jobs)[::-1], {}
    while waiting or running:
        while waiting and len(running) < processes:
            job = waiting.pop()
            pid = os.fork()
            if not pid:
                try:
                    _run(job, tree, most.get(job.module, PATIENCE))
                finally:
                    os._exit(BROKEN)
            running[pid] = job, time.monotonic()
        for pid, (job, since) in list(running.items()):
            ended, status, used = os.wait4(pid, os.WNOHANG)
            if ended:
                del running[pid]
                # a run that broke for another reason would pass for a change that was noticed
                if os.WIFEXITED(status) and os.WEXITSTATUS(status) == BROKEN:
                    raise RuntimeError(f"{job.module}, {job.change}: the run itself broke")
                yield replace(job, passed=status == 0, seconds=used.ru_utime + used.ru_stime)
            elif time.monotonic() - since > PATIENCE:
                os.kill(pid, signal.SIGKILL)
        time.sleep(0.02)


def copied(folder: Path) -> Path:
    """The tree as it stands now, so that editing on does not disturb a run."""
    tree = folder / "tree"
    for name in ("consentpack", "content", "locales", "examples", "tests", "docs"):
        shutil.copytree(ROOT / name, tree / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tree)
    return tree


def table(possible: dict[str, int], done: Sequence[Job]) -> tuple[str, float]:
    """The results by module, and the share that was noticed."""
    lines = [
        "| module | can be made | made | noticed | no difference | survived | noticed, of 100 |",
        "|---|---:|---:|---:|---:|---:|---:|",
    ]
    sums = [0, 0, 0, 0, 0]
    for module, every in possible.items():
        mine = [job for job in done if job.module == module]
        same = sum(job.known for job in mine)
        killed = sum(not job.passed for job in mine if not job.known)
        numbers = [every, len(mine), killed, same, len(mine) - killed - same]
        sums = [a + b for a, b in zip(sums, numbers, strict=True)]
        lines.append(_row(f"`{module}`", numbers))
    lines.append(_row("all", sums))
    return "\n".join(lines), sums[2] / max(1, sums[1] - sums[3])


def _row(name: str, numbers: Sequence[int]) -> str:
    made, killed, same = numbers[1:4]
    share = f"{100 * killed / (made - same):.0f}" if made > same else "–"
    return f"| {name} | {' | '.join(map(str, numbers))} | {share} |"


def options() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description="Small changes that no test notices, module by module.")
    parser.add_argument("modules", nargs="*", help="beginnings of paths below consentpack/; all when none")
    parser.add_argument("--sample", type=int, default=40, help="changes for each module (40)")
    parser.add_argument("--seed", type=int, default=1, help="which of them are drawn (1)")
    parser.add_argument("--processes", type=int, default=2, help="runs at a time (2)")
    return parser.parse_args()


def main() -> int:
    os.environ.update(OPENBLAS_NUM_THREADS="1", PYTHONDONTWRITEBYTECODE="")
    chosen, asked = options(), modules(options().modules)
    drawn = {module: sample(module, chosen.sample, chosen.seed) for module in asked}
    with tempfile.TemporaryDirectory(prefix="mutants-") as folder:
        tree = copied(Path(folder))
        heavy(tree)
        most: dict[str, float] = {}
        for job in runs(map(Job, asked), tree, processes=1, most=most):
            if not job.passed:
                said = (tree / SAID).read_text(encoding="utf-8")
                print(f"{job.module}: its tests fail without any change\n{said}", file=sys.stderr)
                return 2
            most[job.module] = 10 + 4 * job.seconds
            print(f"{job.module}: {job.seconds:.1f} s", file=sys.stderr, flush=True)
        done: list[Job] = []
        with suppress(KeyboardInterrupt):  # what is done by then is still said
            for job in runs([job for _, some in drawn.values() for job in some], tree,
                            processes=chosen.processes, most=most):  # fmt: skip
                done.append(job)
                if job.passed != job.known:
                    said = "survived" if job.passed else "is listed as no difference, but was noticed"
                    print(f"{job.module}, {job.change}  [{said}]", flush=True)
    text, share = table({module: every for module, (every, _) in drawn.items()}, done)
    print(f"\n{text}")
    wrong = any(job.known and not job.passed for job in done)
    return int(share < ENOUGH or wrong)


if __name__ == "__main__":
    sys.exit(main())
