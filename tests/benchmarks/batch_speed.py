"""Many packs in one process and in two: how fast, and whether the process grows.

    python tests/benchmarks/batch_speed.py [PACKS [ROUNDS]]

The plans are the demo's in turn, each with a reference of its own, so that anything kept of one would
show. A process opens the clinic folder, makes WARM packs, waits for the sign to start, and then makes its
share. "From cold" counts from the start of the processes: loading, the dictionary and the warming up
are in it. No command of the program uses several processes; here plain processes stand beside each
other, as a shell starts them.

How much two processors gain on anything at all here is measured too, with packs taken out: the same two
processes only count. A machine that others use, or whose two processors share a core, gains less than 2.
"""

from __future__ import annotations

import gc
import re
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from export_speed import resident, used

from consentpack import pipeline

WARM = 12
"""Packs before measuring: every demo plan three times."""
STRETCHES = 10
"""Parts of a share after which memory is looked at."""


@dataclass(frozen=True)
class Batch:
    """One measurement."""

    seconds: float
    cold: float
    """Seconds from the start of the processes."""
    processor: float
    """Processor seconds of all processes together, after the warm-up."""
    memory: tuple[tuple[int, ...], ...]
    """kB held by each process: after the warm-up, then after each stretch."""


def clinic(folder: Path, packs: int) -> Path:
    """The demo clinic with so many plans."""
    place = pipeline.open_workplace(pipeline.copy_demo(folder / "demo"))
    pipeline.import_audit(place, place.folder / "audit.csv", now=datetime.now(), by="bench")
    texts = [path.read_text(encoding="utf-8") for path in pipeline.plan_files(place)]
    for number in range(packs):
        text, changed = re.subn(r'(?m)^reference = ".*"$', f'reference = "B-{number:04}"', texts[number % 4])
        assert changed == 1
        (place.folder / "plans" / f"b-{number:04}.toml").write_text(text, encoding="utf-8")
    return place.folder


def share(folder: Path, part: int, parts: int) -> None:
    """What one process does: its share of the plans, after a warm-up and the sign to start."""
    place = pipeline.open_workplace(folder)
    plans = [path for path in pipeline.plan_files(place) if path.name.startswith("b-")]
    for number in range(WARM):
        pipeline.make_pack(place, plans[number % len(plans)])
    gc.collect()
    memory, start = [resident()], used()
    print("ready", flush=True)
    sys.stdin.readline()
    mine = plans[part::parts]
    stretch = max(1, len(mine) // STRETCHES)
    for number, plan in enumerate(mine, 1):
        pipeline.make_pack(place, plan)
        if number % stretch == 0:
            memory.append(resident())
    print(used() - start, *memory, flush=True)


def spin(rounds: int) -> None:
    """Work that needs a processor and nothing else."""
    print("ready", flush=True)
    sys.stdin.readline()
    start = used()
    for _ in range(rounds):
        sum(range(1_000_000))
    print(used() - start, resident(), flush=True)


def together(commands: list[list[str]]) -> Batch:
    """Run some processes of this file side by side, started at one sign."""
    begun = time.perf_counter()
    with ExitStack() as stack:
        running = [
            stack.enter_context(
                subprocess.Popen(
                    [sys.executable, __file__, *command],
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    text=True,
                )
            )
            for command in commands
        ]
        for each in running:
            assert each.stdout and each.stdout.readline() == "ready\n"
        start = time.perf_counter()
        for each in running:
            assert each.stdin
            each.stdin.write("go\n")
            each.stdin.flush()
        said = [each.stdout.readline().split() for each in running if each.stdout]
        end = time.perf_counter()
    assert all(said) and not any(each.returncode for each in running)
    memory = tuple(tuple(map(int, words)) for _, *words in said)
    return Batch(end - start, end - begun, sum(float(words[0]) for words in said), memory)


def measure(folder: Path, processes: int) -> Batch:
    """All plans of a folder, shared among so many processes."""
    return together([["--share", str(folder), str(part), str(processes)] for part in range(processes)])


def growth(batch: Batch) -> int:
    """By how many kB the process that grew most is larger at the end than after its warm-up."""
    return max(memory[-1] - memory[0] for memory in batch.memory)


def main() -> None:
    packs = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    gains, cold, machine = [], [], []
    with tempfile.TemporaryDirectory() as temporary:
        folder = clinic(Path(temporary), packs)
        for _ in range(rounds):
            one, two = measure(folder, 1), measure(folder, 2)
            for name, batch in (("one process", one), ("two", two)):
                print(
                    f"{name:12} {packs} packs {batch.seconds:7.1f} s, from cold {batch.cold:7.1f} s, "
                    f"processor {batch.processor:7.1f} s, {growth(batch)} kB more memory",
                    flush=True,
                )
            print("  kB after the warm-up and each tenth:", *one.memory[0])
            gains.append(one.seconds / two.seconds)
            cold.append(one.cold / two.cold)
            alone, beside = together([["--spin", "800"]]), together([["--spin", "400"]] * 2)
            machine.append(alone.seconds / beside.seconds)
    for name, found in (("packs", gains), ("packs, from cold", cold), ("only counting", machine)):
        print(f"two processes: {name:17} median {statistics.median(found):.2f}, best {max(found):.2f} times")


if __name__ == "__main__":
    if sys.argv[1:2] == ["--share"]:
        share(Path(sys.argv[2]), int(sys.argv[3]), int(sys.argv[4]))
    elif sys.argv[1:2] == ["--spin"]:
        spin(int(sys.argv[2]))
    else:
        main()
