"""What is deleted each night."""

from datetime import UTC, datetime

from procrastinate.contrib.django import app


@app.periodic(cron="41 2 * * *")
@app.task(name="network.privacy.tasks.delete_outdated", queueing_lock="delete-outdated")
def delete_outdated(timestamp: int) -> None:
    """Delete what has had its time, and files that nothing refers to."""
    # Django imports this module while it loads, when tables are not known yet.
    from network.pickups.services import delete_unclaimed_files
    from network.privacy.services import delete_what_has_had_its_time

    at = datetime.fromtimestamp(timestamp, tz=UTC)
    delete_what_has_had_its_time(at=at)
    delete_unclaimed_files(at=at)
