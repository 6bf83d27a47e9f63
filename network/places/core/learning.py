"""Learning the habits of kinds of places from all that was seen of their containers."""

from dataclasses import replace

import numpy as np

from network.places.core.forecast import believe_record
from network.places.core.habits import JUMP_CHANCES, JUMP_PRIOR, KindHabits, habits_shown
from network.places.core.history import Record


def learn_habits(record: Record) -> dict[str, KindHabits]:
    """Return the habits of each kind of place in a record.

    How likely rates jump is the one of JUMP_CHANCES that makes all that was seen, emptyings and
    reports, the likeliest.
    """
    shown = habits_shown(record)
    kinds = np.array(record.kinds, dtype=object)
    evidence = {kind: np.log(JUMP_PRIOR) for kind in shown}
    for index, chance in enumerate(JUMP_CHANCES):
        tried = {kind: replace(habits, jump_chance=chance) for kind, habits in shown.items()}
        likelihoods = believe_record(record, tried).evidence
        for kind in shown:
            evidence[kind][index] += likelihoods[kinds == kind].sum()
    return {
        kind: replace(habits, jump_chance=JUMP_CHANCES[int(np.argmax(evidence[kind]))])
        for kind, habits in shown.items()
    }
