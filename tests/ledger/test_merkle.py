"""The hash tree against published values and against a second way to write it."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from consentpack.ledger import merkle

LEAVES = ["", "00", "10", "2021", "3031", "40414243", "5051525354555657"]
LEAVES.append("606162636465666768696a6b6c6d6e6f")
ROOTS = [
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
"""The leaves and roots of the reference tests of RFC 6962's authors (from memory)."""


@pytest.mark.parametrize("size", range(1, 9))
def test_the_roots_are_the_published_ones(size):
    assert (
        merkle.root_of([merkle.leaf(bytes.fromhex(each)) for each in LEAVES[:size]]).hex() == ROOTS[size - 1]
    )


def test_the_root_of_nothing_is_that_of_rfc_6962():
    """RFC 6962, 2.1: the hash of an empty list is the hash of an empty string."""
    assert merkle.root_of([]) == hashlib.sha256().digest()


def written_out(entries: list[bytes]) -> bytes:
    """MTH of RFC 6962, 2.1, word for word."""
    if len(entries) == 1:
        return hashlib.sha256(b"\x00" + entries[0]).digest()
    middle = 1
    while middle * 2 < len(entries):
        middle *= 2
    both = written_out(entries[:middle]) + written_out(entries[middle:])
    return hashlib.sha256(b"\x01" + both).digest()


@given(st.lists(st.binary(max_size=4), min_size=1, max_size=70))
def test_any_root_is_that_of_the_definition(entries):
    assert merkle.root_of(list(map(merkle.leaf, entries))) == written_out(entries)


@given(st.integers(1, 70), st.data())
def test_a_path_leads_to_the_root_and_to_no_other(size, data):
    entries = [bytes([number]) for number in range(size)]
    leaves = list(map(merkle.leaf, entries))
    index = data.draw(st.integers(0, size - 1))
    path, root = merkle.path_of(index, leaves), merkle.root_of(leaves)
    assert merkle.leads_to(root, content=entries[index], index=index, size=size, path=path)
    assert not merkle.leads_to(root, content=b"other", index=index, size=size, path=path)
    assert not merkle.leads_to(merkle.leaf(b""), content=entries[index], index=index, size=size, path=path)
    assert not merkle.leads_to(root, content=entries[index], index=index, size=size, path=[*path, root])
    assert not merkle.leads_to(root, content=entries[index], index=size, size=size, path=path)
    if path:
        assert not merkle.leads_to(root, content=entries[index], index=index, size=size, path=path[:-1])
        wrong = data.draw(st.integers(0, len(path) - 1))
        bad = [*path[:wrong], bytes(32), *path[wrong + 1 :]]
        assert not merkle.leads_to(root, content=entries[index], index=index, size=size, path=bad)


def test_a_tree_that_grows_needs_no_more_than_its_full_parts():
    whole = [merkle.leaf(bytes([n])) for n in range(40)]
    for size in range(41):
        before = merkle.Growing()
        parts = {n + 1: before.add(leaf) for n, leaf in enumerate(whole[:size])}
        again = merkle.Growing([parts[end] for end in merkle.ends(size)], size)
        assert again.root == before.root == merkle.root_of(whole[:size])


def test_there_is_no_path_of_what_is_not_there():
    with pytest.raises(IndexError):
        merkle.path_of(1, [merkle.leaf(b"")])
