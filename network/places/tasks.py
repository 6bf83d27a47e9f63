"""What is done for places in the background."""

from procrastinate.contrib.django import app


@app.periodic(cron="11 * * * *")
@app.task(name="network.places.tasks.close_lapsed", queueing_lock="close-lapsed")
def close_lapsed(timestamp: int) -> None:
    """Look each hour, since midnight comes at another one in each community."""
    # Django imports this module while it loads, when the services' sign-in links lack their key.
    from network.places.services import close_lapsed_agreements

    del timestamp  # the queue passes the hour it is for
    close_lapsed_agreements()


@app.periodic(cron="23 3 * * *")
@app.task(name="network.places.tasks.learn_habits", queueing_lock="learn-habits")
def learn_habits(timestamp: int) -> None:
    """Learn each night how places of each kind fill."""
    # As above: the services want a key that is not there yet while Django loads.
    from network.places.services import learn_fill_habits

    del timestamp  # the queue passes the hour it is for
    learn_fill_habits()
