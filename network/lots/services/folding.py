"""The sums by month, brought up and put together from time to time: writers only ever add."""

from django.db import connection, transaction

# Whoever must change what is summed waits while so many lines are summed: a fraction of a second.
_LINES_AT_ONCE = 2_000
# So that other upkeep gets its turn; what is left is made the next time.
_MONTHS_AT_ONCE = 12


def fold_sums() -> None:
    """Sum the lines that were written one by one, and put together what was added to each month.

    Nothing anybody reads changes. Sums by place are made for months that are over and have none
    that stand.
    """
    while _sum_noted(_LINES_AT_ONCE) == _LINES_AT_ONCE:
        pass
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT lots_fold_sums()")
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT lots_keep_place_months(%s)", [_MONTHS_AT_ONCE])


def _sum_noted(most: int) -> int:
    """Sum some of the lines that are not summed yet, the oldest first; return how many."""
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT lots_sum_noted(%s)", [most])
        return int(cursor.fetchone()[0])
