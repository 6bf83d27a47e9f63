"""Codes that people read off a lot's label."""

from uuid import UUID

# Crockford's base 32: no I, L, O or U, so that nothing is misread or spells a word.
_LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_LENGTH = 10


def lot_code(lot_id: UUID) -> str:
    """Return the code of a lot, such as `L-7Q3KX-0M9TB`: the last 50 bits of its id.

    These are random in a UUIDv7 (RFC 9562 §5.7): among a million lots two alike are a matter of
    one in two thousand, and the database refuses the second.
    """
    number = lot_id.int
    letters = []
    for _ in range(_LENGTH):
        number, index = divmod(number, len(_LETTERS))
        letters.append(_LETTERS[index])
    text = "".join(reversed(letters))
    return f"L-{text[:5]}-{text[5:]}"
