"""The sums by month, put together from time to time: writers only ever add rows to them."""

from django.db import connection, transaction

# So that other upkeep gets its turn; what is left is made the next time.
_MONTHS_AT_ONCE = 12


def fold_sums() -> None:
    """Put together what was added to the sums of each month; nothing anybody reads changes.

    Sums by place are made for months that are over and have none that stand.
    """
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT lots_fold_sums()")
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("SELECT lots_keep_place_months(%s)", [_MONTHS_AT_ONCE])
