"""Days as people write them: ISO, day first, in words, or as a spreadsheet's serial number."""

import re
from datetime import date, timedelta

# Day 1 of the 1900 system is 1 January 1900, and it counts a 29 February 1900 that never was; from
# March 1900 on, serials therefore count from 30 December 1899 (ECMA-376 part 1, §18.17.4).
_SERIAL_ZERO = date(1899, 12, 30)
_MONTHS = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
FIRST_DAY = date(2000, 1, 1)
LAST_DAY = date(2100, 12, 31)

_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]\d{1,2}:\d{2}.*)?")
_DAY_FIRST = re.compile(r"(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4}|\d{2})")
_DAY_MONTH_WORD = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?[\s\-/.]+([a-z]{3,9})\.?[\s\-/.,]+(\d{4}|\d{2})"
)
_MONTH_WORD_DAY = re.compile(r"([a-z]{3,9})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})")
_SERIAL = re.compile(r"(\d{5})(?:\.\d+)?")
_WEEKDAY = re.compile(r"^(mon|tue|wed|thu|fri|sat|sun)[a-z]*[,.]?\s+")


class UnreadableDayError(ValueError):
    """What was written is not a day between 2000 and 2100."""


def parse_day(text: str) -> date:
    """Return the day that a text means; two numbers before a year are day, then month.

    Raises UnreadableDayError.
    """
    cleaned = _WEEKDAY.sub("", text.strip().lower())
    year, month, day = _parts(cleaned)
    try:
        found = date(year, month, day)
    except ValueError as wrong:
        raise UnreadableDayError(f"There is no such day as {text.strip()}.") from wrong
    if not FIRST_DAY <= found <= LAST_DAY:
        raise UnreadableDayError(f"{found.isoformat()} is not between 2000 and 2100.")
    return found


def _parts(text: str) -> tuple[int, int, int]:
    if match := _ISO.fullmatch(text):
        year, month, day = match.groups()
        return int(year), int(month), int(day)
    if match := _DAY_FIRST.fullmatch(text):
        day, month, year = match.groups()
        return _year(year), int(month), int(day)
    if match := _DAY_MONTH_WORD.fullmatch(text):
        day, word, year = match.groups()
        return _year(year), _month(word), int(day)
    if match := _MONTH_WORD_DAY.fullmatch(text):
        word, day, year = match.groups()
        return _year(year), _month(word), int(day)
    if match := _SERIAL.fullmatch(text):
        serial_day = _SERIAL_ZERO + timedelta(days=int(match[1]))
        return serial_day.year, serial_day.month, serial_day.day
    raise UnreadableDayError("This is not a day.")


def _year(digits: str) -> int:
    return int(digits) if len(digits) > 2 else 2000 + int(digits)  # noqa: PLR2004 - '26' is 2026


def _month(word: str) -> int:
    for number, name in enumerate(_MONTHS, start=1):
        if name.startswith(word):
            return number
    raise UnreadableDayError(f"{word} is not a month.")
