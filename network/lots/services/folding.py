"""The sums by month, put together from time to time: writers only ever add rows to them."""

from django.db import connection, transaction


@transaction.atomic
def fold_sums() -> None:
    """Put together what was added to the sums of each month; nothing anybody reads changes."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT lots_fold_sums()")
