"""The ledger's upkeep in the background."""

from procrastinate.contrib.django import app

from network.lots import services


@app.periodic(cron="*/5 * * * *")
@app.task(name="network.lots.tasks.fold_sums", queueing_lock="fold-sums")
def fold_sums(timestamp: int) -> None:
    """Put the sums by month together, so that a report reads few rows."""
    del timestamp  # whenever it is done, what is there is folded
    services.fold_sums()
