"""What the workshop refuses, each with a code of its own."""

from network.errors import InvalidInput, NotEnough


class TooHot(InvalidInput):
    """This temperature is above what is allowed here."""

    code = "too_hot"


class IncompatibleResin(InvalidInput):
    """These resins do not go together, or must not be melted."""

    code = "incompatible_resin"


class BeyondPress(InvalidInput):
    """This is more force than the press is rated for."""

    code = "beyond_press"


class NothingPerDay(InvalidInput):
    """Without a day's wage or a day's pieces there is no price."""

    code = "nothing_per_day"


class CannotServe(NotEnough):
    """The stock cannot serve this recipe."""

    code = "cannot_serve"
