"""Damage to what lies in a clinic folder beside the ledger: given papers, receipts, what was kept.

Each way takes the folder as it is, changes one thing, and says what was done and which file must be named.
"""

from __future__ import annotations

import base64
import json
import os
import random
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from consentpack.ledger import merkle
from consentpack.ledger.entry import NAMES, encoded

ODD_JSON = ("[1]", "null", "true", "1e400", "9" * 5000, "-1", "0.5", '"x"', "[" * 3000, "{}", '"\\u0000"')


@dataclass(frozen=True)
class Damaged:
    """What was done, and the files of which one at least has to be named, or all."""

    how: str
    paths: tuple[str, ...]


@dataclass
class Folder:
    """A clinic folder whose given and kept files can be damaged and put back."""

    clinic: Path

    def __post_init__(self) -> None:
        self.given = sorted(p for p in (self.clinic / "given").rglob("*") if p.is_file())
        self.kept = sorted(p for p in (self.clinic / "kept").rglob("*") if p.is_file())
        self.receipts = [p for p in self.given if p.name.startswith(("receipt", "entry-"))]
        self.papers = [p for p in self.given if p not in self.receipts]
        self.packs = sorted({p.parent for p in self.papers})
        self._was = {path: path.read_bytes() for path in (*self.given, *self.kept)}
        self._signs = {path: signs(path) for path in self._was}
        above = {each for path in self._was for each in path.relative_to(self.clinic).parents}
        self._folders = sorted(self.clinic / each for each in above)

    def named(self, *paths: Path) -> tuple[str, ...]:
        return tuple(path.relative_to(self.clinic).as_posix() for path in paths)

    def put_back(self) -> None:
        """All as it was, whatever stands there now. It looks at each file and each folder once: ten thousand
        changes are put back."""
        for folder in self._folders:
            if folder.is_symlink() or (folder.exists() and not folder.is_dir()):
                remove(folder)
        known = {*map(str, self._was), *map(str, self._folders)}
        for top in ("given", "kept"):
            for there, folders, files in os.walk(self.clinic / top):
                for name in (*folders, *files):
                    if f"{there}/{name}" not in known:
                        remove(Path(there, name))
        for path, content in self._was.items():
            if signs(path) != self._signs[path]:
                if path.is_symlink() or not path.is_file():
                    remove(path)
                path.parent.mkdir(parents=True, exist_ok=True)
                put(path, content)
                self._signs[path] = signs(path)


def signs(path: Path) -> tuple[int, ...]:
    """By which a file that was touched is known, without reading it."""
    try:
        found = path.lstat()
    except OSError:
        return ()
    return found.st_ino, found.st_mode, found.st_size, found.st_mtime_ns, found.st_ctime_ns


def remove(path: Path) -> None:
    if path.is_dir() and not path.is_symlink():
        for each in (path, *path.rglob("*")):
            each.chmod(0o700)
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def put(path: Path, content: bytes) -> None:
    path.parent.chmod(0o700)
    path.unlink(missing_ok=True)
    path.write_bytes(content)


# --- one file ---------------------------------------------------------------------------------------


def one_file(folder: Folder, rng: random.Random) -> Damaged:
    """A file of any kind: a bit, a cut, an end, nothing, a folder, a link, somebody else's bytes."""
    path = rng.choice(rng.choice((folder.papers, folder.papers, folder.receipts, folder.kept)))
    old = path.read_bytes()
    how = rng.choice(("bit", "bit", "bit", "bit", "cut", "end", "gone", "empty", "folder", "link", "other"))
    if not old and how in ("bit", "cut", "empty"):
        how = "end"
    if how in ("gone", "folder", "link"):
        remove(path)
    if how == "bit":
        put(path, flipped(old, rng))
    elif how == "cut":
        put(path, old[: rng.randrange(len(old))])
    elif how == "end":
        put(path, old + rng.choice((b" ", b"\n", b"\0", old or b"x")))
    elif how == "empty":
        put(path, b"")
    elif how == "folder":
        path.mkdir()
    elif how == "link":
        copy = folder.clinic / "elsewhere"
        copy.write_bytes(old)
        path.symlink_to(rng.choice((copy, Path("nowhere"), path.parent)))
    elif how == "other":
        others = [p for p in (*folder.given, *folder.kept) if p.read_bytes() != old]
        put(path, rng.choice(others).read_bytes())
    kind = "receipt" if path in folder.receipts else path.relative_to(folder.clinic).parts[0]
    return Damaged(f"{kind}: {how}", folder.named(path))


def flipped(data: bytes, rng: random.Random) -> bytes:
    place = rng.randrange(len(data))
    return data[:place] + bytes([data[place] ^ 1 << rng.randrange(8)]) + data[place + 1 :]


# --- more than one ----------------------------------------------------------------------------------


def two_files(folder: Folder, rng: random.Random) -> Damaged:
    """Two documents, two receipts or two kept contents change places: within a pack or between two."""
    while True:
        one, two = rng.sample(rng.choice((folder.papers, folder.papers, folder.receipts, folder.kept)), 2)
        first, second = one.read_bytes(), two.read_bytes()
        if first != second:
            break
    put(one, second)
    put(two, first)
    return Damaged("two files swapped", folder.named(one, two))


def folders(folder: Folder, rng: random.Random) -> Damaged:
    """A pack's whole folder is gone, is somewhere else, is there twice, or is another's."""
    pack = rng.choice(folder.packs)
    how = rng.choice(("gone", "copied", "swapped", "file", "link", "reference gone", "all gone"))
    if how == "copied":
        new = pack.parent / "7"
        shutil.copytree(pack, new)
        return Damaged("pack: copied", folder.named(new))
    if how == "swapped":
        one, two = rng.sample(folder.packs, 2)
        aside = folder.clinic / "aside"
        for old, to in ((one, aside), (two, one), (aside, two)):
            old.rename(to)
        return Damaged("pack: swapped", folder.named(one / "receipt.json", two / "receipt.json"))
    if how in ("reference gone", "all gone"):
        remove(pack.parent if how == "reference gone" else pack.parent.parent)
        return Damaged(f"pack: {how}", folder.named(pack))
    if how == "link":
        aside = folder.clinic / "aside"
        pack.rename(aside)
        pack.symlink_to(aside)
        return Damaged("pack: link", folder.named(pack))
    remove(pack)
    if how == "file":
        pack.write_bytes(b"x")
    return Damaged(f"pack: {how}", folder.named(pack))


def strangers(folder: Folder, rng: random.Random) -> Damaged:
    """Something is put where only the program puts things."""
    places = [rng.choice(folder.packs) / "extra.docx", folder.packs[0].parent / "notes.txt"]
    places += [folder.packs[0].parent / "entry-77.json", folder.clinic / "given/HS-P-999"]
    places += [folder.clinic / "kept/ff" / ("0" * 62), folder.clinic / "kept/notes.txt"]
    path = rng.choice(places)
    path.parent.mkdir(exist_ok=True)
    if rng.random() < 0.3:
        path.mkdir()
    else:
        path.write_bytes(rng.choice((b"", b"x", rng.choice(folder.receipts).read_bytes())))
    return Damaged("stranger", folder.named(path))


# --- receipts ---------------------------------------------------------------------------------------


def odd_receipt(folder: Folder, rng: random.Random) -> Damaged:
    """One value of a receipt is of another kind, or of a size no computer likes."""
    path = rng.choice(folder.receipts)
    kept = json.loads(path.read_bytes())
    part = rng.choice(("entry", "head", "path"))
    mark = "@@"
    if part == "path":
        kept["path"] = mark
    else:
        kept[part][rng.choice(sorted(kept[part]))] = mark
    text = json.dumps(kept, indent=1, ensure_ascii=False).replace(f'"{mark}"', rng.choice(ODD_JSON))
    put(path, (text + "\n").encode("utf-8", "surrogatepass"))
    return Damaged("receipt: odd value", folder.named(path))


def forged_receipt(folder: Folder, rng: random.Random) -> Damaged:
    """A receipt that proves itself: another entry or another path, with the root that comes of them."""
    path = rng.choice(folder.receipts)
    kept: dict[str, Any] = json.loads(path.read_bytes())
    steps = base64.b64decode(kept["path"])
    if steps and rng.random() < 0.5:
        place = rng.randrange(len(steps))
        steps = steps[:place] + bytes([steps[place] ^ 1]) + steps[place + 1 :]
    else:
        kept["entry"]["by"] += " Other"
    kept["path"] = base64.b64encode(steps).decode()
    kept["head"]["root"] = root_from(kept, steps).hex()
    put(path, (json.dumps(kept, indent=1, ensure_ascii=False) + "\n").encode())
    return Damaged("receipt: forged", folder.named(path))


def root_from(kept: dict[str, Any], steps: bytes) -> bytes:
    """RFC 9162, 2.1.3.2: the root an entry and a path lead to."""
    found = merkle.leaf(encoded([kept["entry"][name] for name in NAMES]))
    here, last = kept["entry"]["number"] - 1, kept["head"]["size"] - 1
    for each in (steps[n : n + 32] for n in range(0, len(steps), 32)):
        if here % 2 or here == last:
            found = merkle.node(each, found)
            while here % 2 == 0 and here:
                here, last = here // 2, last // 2
        else:
            found = merkle.node(found, each)
        here, last = here // 2, last // 2
    return found


WAYS: tuple[Callable[[Folder, random.Random], Damaged], ...] = (
    one_file, one_file, one_file, one_file, two_files, folders, strangers, odd_receipt, forged_receipt,
)  # fmt: skip
