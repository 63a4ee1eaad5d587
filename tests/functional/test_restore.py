"""A restore makes a whole folder or none; damage is named, and nobody is led outside. All is invented."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import time
import zipfile
from functools import partial
from pathlib import Path

import pytest
import saved
from saved import bring_back, entry, files_of, forge, reseal, save
from support import start
from test_backup import _FULL, command, killed_often

from consentpack.errors import BackupError, OutputError, RegisterError
from consentpack.register import SCHEMA

FLIPS = 300
"""Places in one archive; `tests/faults/damaged_backups.py` takes as many as one likes."""


@pytest.fixture(scope="module")
def small(demo_clinic, tmp_path_factory) -> Path:
    """A small archive with everything in it: the demo without most of its translations."""
    folder = tmp_path_factory.mktemp("small")
    shutil.copytree(demo_clinic, folder / "clinic")
    for name in ("locales", "old-form.docx", "audit.csv"):
        path = folder / "clinic" / name
        shutil.rmtree(path) if path.is_dir() else path.unlink()
    (folder / "clinic/signed é.pdf").write_bytes(b"%PDF-1.7 signed")
    return save(folder / "clinic", folder / "made.zip").path


@pytest.fixture(scope="module")
def whole(small, tmp_path_factory) -> dict[str, bytes]:
    """Its files, as they come back."""
    there = tmp_path_factory.mktemp("whole") / "clinic"
    bring_back(small, there)
    return files_of(there)


def refused(archive: Path, to: Path, match: str | None = None, **more) -> BackupError:
    """The error of a restore that leaves nothing behind."""
    before = sorted(to.parent.iterdir())
    with pytest.raises(BackupError, match=match) as caught:
        bring_back(archive, to, **more)
    assert sorted(to.parent.iterdir()) == before
    return caught.value


# --- damage ---------------------------------------------------------------------------------------


def flipped(data: bytes, place: int, bit: int) -> bytes:
    return data[:place] + bytes([data[place] ^ (1 << bit)]) + data[place + 1 :]


def look(archive: Path, to: Path, whole: dict[str, bytes]) -> None:
    """Damage is found and named; what is then restored is whole, and the rest is listed."""
    error = refused(archive, to)
    assert all(problem.where and problem.what for problem in error.problems)
    try:
        done = bring_back(archive, to, only_whole=True)
    except BackupError:
        return  # neither of the two lists can be read
    there = files_of(to)
    lost = {problem.where for problem in done.lost}
    assert lost and there == {name: content for name, content in whole.items() if name not in lost}
    assert any(name in str(error) for name in lost)
    shutil.rmtree(to)


@pytest.mark.parametrize(
    "flips", [20, pytest.param(FLIPS, marks=pytest.mark.slow("each of many places is a restore or two"))]
)
def test_one_changed_bit_anywhere_is_found_and_named(small, whole, tmp_path, flips):
    """Takes a second or two: each place is a restore or two."""
    data, chance = small.read_bytes(), random.Random(4)
    tail = len(data) - 3000  # the directory and the end, where every byte has a meaning of its own
    places = [chance.randrange(len(data)) for _ in range(flips // 2)]
    places += [chance.randrange(tail, len(data)) for _ in range(flips // 2)]
    for place in places:
        archive = tmp_path / "flipped.zip"
        archive.write_bytes(flipped(data, place, chance.randrange(8)))
        look(archive, tmp_path / "to", whole)


def test_a_changed_bit_in_a_file_names_that_file_and_all_others_come_back(small, whole, tmp_path):
    with zipfile.ZipFile(small) as archive:
        info = archive.getinfo("clinic/logo.png")
    data = flipped(small.read_bytes(), info.header_offset + 30 + len(info.filename) + 500, 3)
    (tmp_path / "flipped.zip").write_bytes(data)
    error = refused(tmp_path / "flipped.zip", tmp_path / "to")
    assert [problem.where for problem in error.problems[:-1]] == ["logo.png"]
    done = bring_back(tmp_path / "flipped.zip", tmp_path / "to", only_whole=True)
    assert [problem.where for problem in done.lost] == ["logo.png"]
    assert files_of(tmp_path / "to") == {n: c for n, c in whole.items() if n != "logo.png"}


def test_an_archive_that_is_cut_off_gives_back_what_is_whole(small, whole, tmp_path):
    """A stick that was pulled out: the end is missing, with the directory and one of the lists."""
    data, came_back = small.read_bytes(), []
    for part in (0.999, 0.9, 0.6, 0.3):
        (tmp_path / "cut.zip").write_bytes(data[: int(len(data) * part)])
        refused(tmp_path / "cut.zip", tmp_path / "to")
        done = bring_back(tmp_path / "cut.zip", tmp_path / "to", only_whole=True)
        there, lost = files_of(tmp_path / "to"), {problem.where for problem in done.lost}
        assert there == {name: content for name, content in whole.items() if name not in lost}
        came_back.append(len(there))
        shutil.rmtree(tmp_path / "to")
    assert came_back == sorted(came_back, reverse=True) and came_back[0] >= len(whole) - 1
    (tmp_path / "cut.zip").write_bytes(data[:1000])
    refused(tmp_path / "cut.zip", tmp_path / "to", only_whole=True)


def test_a_damaged_register_is_named_and_the_rest_can_come_back(small, tmp_path):
    with zipfile.ZipFile(small) as archive:
        info = archive.getinfo("clinic/register.sqlite")
    data = flipped(small.read_bytes(), info.header_offset + 3000, 0)
    (tmp_path / "flipped.zip").write_bytes(data)
    refused(tmp_path / "flipped.zip", tmp_path / "to", r"register\.sqlite: it is damaged")
    done = bring_back(tmp_path / "flipped.zip", tmp_path / "to", only_whole=True)
    assert "was not restored" in done.to_do[0].what
    refused(
        tmp_path / "flipped.zip", tmp_path / "t2", "Leave --register out", only_whole=True, register="x://"
    )


def test_a_file_that_was_exchanged_for_another_is_damage(tmp_path):
    """The zip file agrees with itself, and the list says something else."""
    archive = forge(
        tmp_path / "x.zip", [("a", b"1"), ("b", b"2")], files=[entry("a", b"2"), entry("b", b"2")]
    )
    refused(archive, tmp_path / "to", "a: it is damaged: its digest is not that of the list")
    done = bring_back(archive, tmp_path / "to", only_whole=True)
    assert files_of(tmp_path / "to") == {"b": b"2"} and [p.where for p in done.lost] == ["a"]


def test_a_register_that_is_not_what_the_list_says_is_refused(demo_clinic, tmp_path):
    """The file agrees with its digest, and the list was made for another register."""
    members = [("clinic.toml", b""), ("register.sqlite", (demo_clinic / "register.sqlite").read_bytes())]
    register = {
        "file": "register.sqlite",
        "kind": "sqlite",
        "schema": SCHEMA,
        "rows": {},
        "digest": "0" * 64,
        "edited": 0,
    }
    archive = forge(tmp_path / "other.zip", members, register=register)
    refused(archive, tmp_path / "to", "does not hold what the list of the backup says")
    refused(archive, tmp_path / "to", "does not hold", only_whole=True)


@pytest.mark.parametrize("content", [b"", b"a letter " * 1000, b"PK\x05\x06" + b"\0" * 18])
def test_what_is_no_backup_is_told(tmp_path, content):
    (tmp_path / "letter.zip").write_bytes(content)
    refused(tmp_path / "letter.zip", tmp_path / "to", only_whole=True)
    refused(tmp_path / "gone.zip", tmp_path / "to", "cannot be read")
    refused(tmp_path, tmp_path / "to", "cannot be read")


def test_a_zip_file_of_somebody_else_is_told(tmp_path):
    with zipfile.ZipFile(tmp_path / "photographs.zip", "w") as archive:
        archive.writestr("one.jpg", b"1")
    refused(tmp_path / "photographs.zip", tmp_path / "to", "is not in the archive")


# --- made to do harm ------------------------------------------------------------------------------

HARMFUL = {
    "up": ["../outside"],
    "up inside": ["plans/../../outside"],
    "from the root": ["/tmp/outside"],
    "a drive": ["C:/outside"],
    "another computer's way up": ["..\\outside"],
    "nothing": [""],
    "a dot": ["./outside"],
    "two slashes": ["a//b"],
    "an end": ["a/"],
    "a sign that ends": ["a\0b"],
    "a line": ["a\nb"],
    "half a letter": ["a\ud800"],
    "too long": ["a" * 256],
    "twice": ["a", "a"],
    "a file and a folder": ["a", "a/b"],
}


@pytest.mark.parametrize("names", HARMFUL.values(), ids=HARMFUL)
def test_a_name_that_leads_elsewhere_is_refused_before_anything_is_written(tmp_path, names):
    listed = [entry(name, b"harm") for name in names]
    archive = forge(tmp_path / "x.zip", [("clinic.toml", b"")], files=[entry("clinic.toml", b""), *listed])
    error = refused(archive, tmp_path / "to", only_whole=True)
    assert not (tmp_path / "outside").exists() and not Path("/tmp/outside").exists()
    assert repr(names[-1]) in str(error) or "twice" in str(error) or repr(names[0]) in str(error)


def test_a_folder_that_leads_elsewhere_is_refused(tmp_path):
    refused(forge(tmp_path / "x.zip", [("a", b"")], folders={"../b": 0o700}), tmp_path / "to", "leads out")
    refused(
        forge(tmp_path / "x.zip", [("a", b"")], folders={"a": 0o700}), tmp_path / "to", "a file and a folder"
    )


def test_a_link_is_never_made(tmp_path):
    archive = forge(tmp_path / "x.zip", [("a", b"/etc/passwd")])
    with zipfile.ZipFile(archive, "a") as made:
        link = zipfile.ZipInfo("clinic/b")
        link.external_attr = 0o120777 << 16
        made.writestr(link, b"/etc/passwd")
    listed = [entry("a", b"/etc/passwd"), entry("b", b"/etc/passwd")]
    text = forge(tmp_path / "list.zip", [("a", b"")], files=listed)
    with zipfile.ZipFile(text) as other, zipfile.ZipFile(archive, "a") as made:
        made.writestr("consentpack-backup-again.json", other.read("consentpack-backup.json"))
    done = refused(archive, tmp_path / "to")
    assert "clinic/b: it is in the archive and not in its list" in str(done)


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_link_or_a_second_file_of_one_name_is_damage(tmp_path):
    for second, said in ((0o120777, "it is a link"), (0o100600, "in the archive twice")):
        archive = forge(
            tmp_path / "x.zip", [("b", b"/etc")], files=[entry("a", b"/etc"), entry("b", b"/etc")]
        )
        with zipfile.ZipFile(archive, "a") as made:
            link = zipfile.ZipInfo("clinic/a" if second == 0o120777 else "clinic/b")
            link.external_attr = second << 16
            made.writestr(link, b"/etc")
        refused(archive, tmp_path / "to", said)


def test_a_bomb_is_refused_before_it_goes_off(tmp_path, monkeypatch):
    big = bytes(30_000_000)
    small = forge(tmp_path / "x.zip", [("a", big)])
    assert small.stat().st_size < 100_000
    lying = forge(tmp_path / "y.zip", [("a", big)], files=[entry("a", b"1")])
    refused(lying, tmp_path / "to", "it has not the size that the list says")
    huge = forge(tmp_path / "z.zip", [("a", b"1")], files=[entry("a", b"1", size=10**12)])
    refused(huge, tmp_path / "to", "a backup holds at most 100,000,000,000")
    monkeypatch.setattr("consentpack.pipeline.archive_list.MOST_SAVED_FILES", 10)
    many = forge(tmp_path / "m.zip", [], files=[entry(str(n), b"") for n in range(11)])
    refused(many, tmp_path / "to", "there are 11 files; a backup holds at most 10")
    monkeypatch.setattr("consentpack.pipeline.archive.MOST_LISTED", 100)
    refused(small, tmp_path / "to", "the list|it has more than")


def test_a_file_that_is_longer_than_its_directory_says_fills_no_disk(tmp_path):
    """The directory says four bytes; packed are thirty million."""
    archive = forge(tmp_path / "x.zip", [("a", bytes(30_000_000))])
    data = archive.read_bytes().replace((30_000_000).to_bytes(4, "little"), (4).to_bytes(4, "little"))
    archive.write_bytes(data)
    lying = forge(tmp_path / "y.zip", [("a", b"\0\0\0\0")])
    with zipfile.ZipFile(lying) as said:
        text = said.read("consentpack-backup.json")
    with zipfile.ZipFile(archive, "a") as made:
        made.writestr("consentpack-backup-again.json", text)
    refused(archive, tmp_path / "to")
    done = bring_back(archive, tmp_path / "to", only_whole=True)
    assert sum(path.stat().st_size for path in done.folder.iterdir()) < 100


def test_where_there_is_no_room_nothing_is_begun(small, tmp_path, monkeypatch):
    monkeypatch.setattr(shutil, "disk_usage", lambda _: shutil._ntuple_diskusage(10, 9, 1))
    with pytest.raises(OutputError, match="there is room for 1"):
        bring_back(small, tmp_path / "to")
    assert list(tmp_path.iterdir()) == []


def test_names_that_are_one_on_this_disk_are_refused(tmp_path, monkeypatch):
    """On a disk that tells capitals apart both are restored: they are two packs."""
    archive = forge(tmp_path / "x.zip", [("packs/A/a", b"1"), ("packs/a/a", b"2")])
    bring_back(archive, tmp_path / "apart")
    assert len(files_of(tmp_path / "apart")) == 2
    real = Path.exists
    monkeypatch.setattr(Path, "exists", lambda path: path.name == "A" or real(path))
    refused(archive, tmp_path / "to", "packs/A/a and packs/a/a: these are one name on this disk")


@pytest.mark.parametrize(
    "change",
    [{"format": 2}, {"files": 1}, {"files": [{"name": "a"}]}, {"files": [entry("a", b"", size=-1)]},
     {"files": [entry("a", b"", size=True)]}, {"files": [entry("a", b"", sha256="x")]}, {"folders": []},
     {"register": {}}, {"register": 1}, {"files": [entry("a", b"", mode="7")]}, {"left_out": [1]}],
)  # fmt: skip
def test_a_list_that_is_not_as_we_write_it_is_told(tmp_path, change):
    refused(forge(tmp_path / "x.zip", [("a", b"")], **change), tmp_path / "to", "the list|newer consentpack")


def test_a_list_whose_digest_does_not_agree_is_not_followed(tmp_path):
    archive = forge(tmp_path / "x.zip", [("a", b"1")])
    with zipfile.ZipFile(archive) as made:
        text = made.read("consentpack-backup.json").decode()
    with zipfile.ZipFile(archive, "w") as made:
        made.writestr("consentpack-backup.json", text.replace('"name": "a"', '"name": "b"'))
        made.writestr("clinic/b", b"1")
        made.comment = b"consentpack-backup sha256=" + b"0" * 64
    reseal(archive)
    refused(archive, tmp_path / "to", "its digest does not agree")


# --- where it goes --------------------------------------------------------------------------------


def test_nothing_is_ever_restored_over_something(small, tmp_path):
    (tmp_path / "full").mkdir()
    (tmp_path / "full/letter").touch()
    (tmp_path / "file").touch()
    (tmp_path / "empty").mkdir()
    (tmp_path / "link").symlink_to(tmp_path / "empty")
    for name in ("full", "file", "link"):
        with pytest.raises(OutputError, match="there is something here already"):
            bring_back(small, tmp_path / name)
    bring_back(small, tmp_path / "empty")
    bring_back(small, tmp_path / "new/and/deep")
    assert (tmp_path / "new/and/deep").stat().st_mode & 0o777 == 0o700


def test_a_register_that_cannot_be_written_leaves_no_folder(small, tmp_path):
    with pytest.raises(RegisterError):
        bring_back(small, tmp_path / "to", register="nodatabase://x/y")
    assert list(tmp_path.iterdir()) == []


def test_the_command_restores_and_says_what_is_left_to_do(small, run, tmp_path):
    result = run(tmp_path, "restore", str(small), "back")
    assert result.exit_code == 0 and result.stdout.splitlines()[0] == str(tmp_path / "back")
    assert run(tmp_path / "back", "check").exit_code == 0
    data = flipped(small.read_bytes(), 2000, 1)
    (tmp_path / "flipped.zip").write_bytes(data)
    result = run(tmp_path, "restore", "flipped.zip", "two")
    assert result.exit_code == 24 and "--only-whole" in result.stderr and not (tmp_path / "two").exists()
    result = run(tmp_path, "restore", "flipped.zip", "two", "--only-whole")
    assert result.exit_code == 24 and "Not whole: " in result.stderr and (tmp_path / "two").is_dir()


@pytest.mark.parametrize("most", [1_000, 30_000, 150_000])
def test_a_full_disk_leaves_no_folder_and_is_told(small, tmp_path, most):
    done = start("import os\n" + _FULL, tmp_path, most, "restore", small, "to")
    _, said = done.communicate(timeout=60)
    assert done.returncode == OutputError.exit_code, said
    assert "Nothing was restored" in said and "Traceback" not in said
    assert list(tmp_path.iterdir()) == []


@pytest.mark.slow("each kill is a run of the program")
def test_a_restore_that_is_killed_leaves_no_half_folder(small, whole, tmp_path):
    begun = time.perf_counter()
    subprocess.run(command("restore", small, "to"), cwd=tmp_path, check=True, capture_output=True)
    lasts = time.perf_counter() - begun
    anew = partial(shutil.rmtree, tmp_path / "to", ignore_errors=True)
    for _ in killed_often(command("restore", small, "to"), tmp_path, lasts, first=anew):
        assert not (tmp_path / "to").exists() or files_of(tmp_path / "to") == whole
    shutil.rmtree(tmp_path / "to", ignore_errors=True)
    subprocess.run(command("restore", small, "to"), cwd=tmp_path, check=True, capture_output=True)
    assert os.listdir(tmp_path) == ["to"] and not saved.strays(tmp_path)
