"""One row among those that someone may see."""

from typing import TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet

from network.errors import NotFound

R = TypeVar("R", bound=Model)


def one_of(rows: QuerySet[R], row_id: UUID, refusal: str = "") -> R:
    """Return the row with this id; raises NotFound, with these words where they are given.

    What may not be seen is refused in the same words as what is not there.
    """
    row = rows.filter(pk=row_id).first()
    if row is None:
        raise NotFound(refusal)
    return row
