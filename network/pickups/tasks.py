"""What is worked out in the background: begun by a service, done by whichever worker is free."""

from uuid import UUID

from procrastinate.contrib.django import app

from network.pickups import services


@app.task(name="network.pickups.tasks.solve_proposal", queue="plans")
def solve_proposal(proposal_id: str) -> None:
    """Work out a proposal's plan, which is shown at once, and then others to choose among.

    A second worker with the same proposal does nothing.
    """
    services.solve_proposal(proposal_id=UUID(proposal_id))
    services.find_alternatives(proposal_id=UUID(proposal_id))


@app.task(name="network.pickups.tasks.answer_question", queue="questions")
def answer_question(question_id: str) -> None:
    """Work out what would be if; not behind the plans, since somebody waits for the answer."""
    services.answer_question(question_id=UUID(question_id))
