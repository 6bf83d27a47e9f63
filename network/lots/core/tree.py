"""A hash tree (RFC 9162, 2.1; RFC 6962, 2.1), so that one line is proven without the rest.

A leaf is SHA-256(0x00 || line), a node SHA-256(0x01 || left || right), and a tree of n leaves is
divided at the largest power of two below n.
"""

from collections.abc import Iterable, Sequence
from hashlib import sha256

HASH_BYTES = 32
# More than a tree can be deep whose size is a 64-bit integer.
PATH_MAX = 64


def leaf_hash(line: bytes) -> bytes:
    """Return the hash of one line."""
    return sha256(b"\x00" + line).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """Return the hash of two that stand beside each other."""
    return sha256(b"\x01" + left + right).digest()


def root_of(hashes: Iterable[bytes]) -> bytes:
    """Return the root over hashes in their order, in memory that grows with their logarithm.

    Where the hashes are roots of whole runs of 2^k leaves (the last run may be shorter), this is
    the root over all leaves: the same powers of two divide both.
    """
    # Roots of whole subtrees from left to right, with their sizes: as the ones of a binary number.
    waiting: list[tuple[int, bytes]] = []
    for one in hashes:
        size, whole = 1, one
        while waiting and waiting[-1][0] == size:
            whole = node_hash(waiting.pop()[1], whole)
            size *= 2
        waiting.append((size, whole))
    if not waiting:
        return sha256(b"").digest()
    root = waiting.pop()[1]
    while waiting:
        root = node_hash(waiting.pop()[1], root)
    return root


def audit_path(index: int, hashes: Sequence[bytes]) -> list[bytes]:
    """Return what the hash at an index is joined with on its way to the root, from below.

    RFC 9162, 2.1.3.1. Raises ValueError for an index that is not there.
    """
    if not 0 <= index < len(hashes):
        raise ValueError("there is no such leaf")
    path: list[bytes] = []
    first, end = 0, len(hashes)
    while end - first > 1:
        middle = first + (1 << (end - first - 1).bit_length() - 1)
        if index < middle:
            path.append(root_of(hashes[middle:end]))
            end = middle
        else:
            path.append(root_of(hashes[first:middle]))
            first = middle
    return path[::-1]


def root_by_path(leaf: bytes, *, index: int, size: int, path: Sequence[bytes]) -> bytes | None:
    """Return the root that a leaf's hash leads to, or None where the path has no such length.

    RFC 9162, 2.1.3.2.
    """
    if not 0 <= index < size:
        return None
    here, last, root = index, size - 1, leaf
    for other in path:
        if last == 0:
            return None
        if here & 1 or here == last:
            root = node_hash(other, root)
            while not here & 1 and here:
                here >>= 1
                last >>= 1
        else:
            root = node_hash(root, other)
        here >>= 1
        last >>= 1
    return root if last == 0 else None
