"""The hash tree, against published vectors and the definition of RFC 9162 written out."""

from hashlib import sha256

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.lots.core.tree import audit_path, leaf_hash, node_hash, root_by_path, root_of

# The eight leaves and the roots over the first one, two, ... eight of them: google/
# certificate-transparency, cpp/merkletree/merkle_tree_test.cc, and google/trillian, testonly/
# compact_merkle_tree.go (both Apache-2.0), which state the same.
LEAVES = [
    bytes.fromhex(text)
    for text in (
        *("", "00", "10", "2021", "3031", "40414243"),
        *("5051525354555657", "606162636465666768696a6b6c6d6e6f"),
    )
]
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
# Paths of the first and the sixth leaf in the tree of eight, from the same tests.
PATHS = {
    0: [
        "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
    ],
    5: [
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    ],
}
HASHES = [leaf_hash(leaf) for leaf in LEAVES]
lines = st.lists(st.binary(max_size=8), min_size=1, max_size=70)


def by_definition(leaves: list[bytes]) -> bytes:
    """MTH of RFC 9162, 2.1.1, as it stands there."""
    if not leaves:
        return sha256(b"").digest()
    if len(leaves) == 1:
        return sha256(b"\x00" + leaves[0]).digest()
    k = max(2**i for i in range(10) if 2**i < len(leaves))
    return sha256(b"\x01" + by_definition(leaves[:k]) + by_definition(leaves[k:])).digest()


def path_by_definition(m: int, leaves: list[bytes]) -> list[bytes]:
    """PATH of RFC 9162, 2.1.3.1, as it stands there."""
    if len(leaves) == 1:
        return []
    k = max(2**i for i in range(10) if 2**i < len(leaves))
    if m < k:
        return [*path_by_definition(m, leaves[:k]), by_definition(leaves[k:])]
    return [*path_by_definition(m - k, leaves[k:]), by_definition(leaves[:k])]


def test_roots_are_those_published() -> None:
    found = [root_of(HASHES[:size]).hex() for size in range(1, len(HASHES) + 1)]
    assert found == ROOTS


def test_paths_are_those_published() -> None:
    for index, path in PATHS.items():
        assert [step.hex() for step in audit_path(index, HASHES)] == path
        found = root_by_path(
            HASHES[index], index=index, size=8, path=[bytes.fromhex(step) for step in path]
        )
        assert found is not None
        assert found.hex() == ROOTS[-1]


@given(lines)
def test_any_tree_and_its_paths_are_as_defined(leaves: list[bytes]) -> None:
    hashes = [leaf_hash(leaf) for leaf in leaves]
    root = by_definition(leaves)
    assert root_of(hashes) == root
    for index, leaf in enumerate(hashes):
        path = audit_path(index, hashes)
        assert path == path_by_definition(index, leaves)
        assert root_by_path(leaf, index=index, size=len(leaves), path=path) == root


@given(lines, st.data())
def test_no_other_line_place_or_path_leads_to_the_root(
    leaves: list[bytes], data: st.DataObject
) -> None:
    hashes = [leaf_hash(leaf) for leaf in leaves]
    size, root = len(leaves), root_of(hashes)
    index = data.draw(st.integers(0, size - 1))
    path = audit_path(index, hashes)
    wrong_line = leaf_hash(leaves[index] + b"x")
    assert root_by_path(wrong_line, index=index, size=size, path=path) != root
    elsewhere = data.draw(st.integers(-1, size + 1))
    if elsewhere not in range(size) or leaves[elsewhere] != leaves[index]:
        assert root_by_path(hashes[index], index=elsewhere, size=size, path=path) != root
    assert root_by_path(hashes[index], index=index, size=size, path=[*path, root]) is None
    if path:
        assert root_by_path(hashes[index], index=index, size=size, path=path[:-1]) is None


@given(lines, st.sampled_from([1, 2, 4, 8]))
def test_a_tree_over_runs_is_the_tree_over_all_lines(leaves: list[bytes], length: int) -> None:
    """Runs of a power of two: their roots make the same root, their paths join."""
    hashes = [leaf_hash(leaf) for leaf in leaves]
    runs = [hashes[at : at + length] for at in range(0, len(hashes), length)]
    roots = [root_of(run) for run in runs]
    assert root_of(roots) == root_of(hashes)
    for index in range(len(hashes)):
        run, here = divmod(index, length)
        joined = audit_path(here, runs[run]) + audit_path(run, roots)
        assert joined == audit_path(index, hashes)


def test_a_node_is_never_a_leaf() -> None:
    left, right = HASHES[:2]
    assert node_hash(left, right) != leaf_hash(left + right)


@pytest.mark.parametrize("index", [-1, 8])
def test_there_is_no_path_for_a_leaf_that_is_not_there(index: int) -> None:
    with pytest.raises(ValueError, match="no such leaf"):
        audit_path(index, HASHES)
