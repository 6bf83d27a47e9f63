"""Tags of containers: short, easy to read aloud, and far from each other."""

# Letters that neither sound alike when spoken in English nor look like a digit (common practice
# in spelling out codes, no published source); only the first sign is a letter.
LETTERS = "CHKMQRWY"
NUMBERS = 999
TAGS = len(LETTERS) * 10 * NUMBERS
# Coprime to TAGS, and close to its golden section: containers tagged one after the other get tags
# that share no part, so that one misheard digit hardly ever names another bag of the same place.
_STEP = 49_391


def tag_of(serial: int) -> str:
    """Return the tag of the container with this serial number, from 0: `K7-042`.

    No two serial numbers share a tag; from the 79,920th on a tag has four digits at its end.
    Raises ValueError for a negative number.
    """
    if serial < 0:
        raise ValueError("serial: must be 0 or more")
    rounds, place = divmod(serial, TAGS)
    prefix, number = divmod(place * _STEP % TAGS, NUMBERS)
    letter, digit = divmod(prefix, 10)
    return f"{LETTERS[letter]}{digit}-{rounds * 1000 + number + 1:03d}"
