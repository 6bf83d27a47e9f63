"""The method by which diverted mass is stated: named, numbered, and shown with every figure."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, sqrt

from network.lots.core.mass import COVERAGE_FACTOR, MG_PER_G, total_standard_mg


@dataclass(frozen=True, kw_only=True)
class Method:
    """A stated way of counting; a change of what is counted is a new version."""

    code: str
    version: int
    name: str
    calculation_point: str
    statement: str
    sources: tuple[str, ...]


DIVERTED = Method(
    code="accepted-at-workshop",
    version=2,
    name="Mass diverted, as accepted at the workshop",
    calculation_point="accepted at the workshop",
    statement=(
        "Diverted is what was unloaded at a workshop, by the last weighing or estimate made of"
        " it there or at the doorstep, less what an inspection turned away and less what it took"
        " out as residue. Each line of the mass ledger counts in the month in which it was done,"
        " and a correction in the month in which it was made, so that correcting does not change"
        " a month that was reported. What is written down after its period was closed counts at"
        " the beginning of the next, and is shown as late. Water and labels that nobody took out"
        " are still counted; losses in the workshop are not deducted. Nothing is counted twice"
        " when lots are divided or put together. This is not a recycling rate, and not the"
        " recycled mass of"
        " Decision (EU) 2019/1004: that is counted later, where separated plastic enters the"
        " operation that turns it into products, and is smaller."
    ),
    sources=(
        "Decision (EU) 2019/1004: the later, stricter calculation point, not claimed here.",
        "JCGM 100:2008 (GUM), 5.1.2, 5.2.2 and 6.2: the uncertainty of the total.",
        "OIML R 76-1, Table 6 and 3.5.2: the error that a class III scale may have in service.",
    ),
)


@dataclass(frozen=True, kw_only=True)
class SharedError:
    """What the weighings with one common cause are uncertain by, in mg.

    `shared_mg` is the sum of what they err alike by; `own_mg2` the sum of the squares of what is
    each one's own.
    """

    cause: str
    shared_mg: int
    own_mg2: int


@dataclass(frozen=True, kw_only=True)
class Uncertainty:
    """The uncertainty of a total, in g, rounded up: standard (k = 1) and expanded."""

    standard_g: int
    expanded_g: int
    k: int
    note: str


_NOTE = (
    "Errors with one cause (one scale, one bulk density, the eye) are added up as they stand, since"
    " they do not average out; the rest, and different causes, in quadrature. Expanded with k = 2"
    " (about 95 %). A lot turned away later still counts here, and grams taken out count as exact."
    " What was never weighed rests on the stated ranges of the figures."
)


def uncertainty_of(errors: Iterable[SharedError]) -> Uncertainty:
    """Return the uncertainty of a total over weighings and estimates; GUM 5.1.2 and 5.2.2."""
    rows = list(errors)
    standard_mg = total_standard_mg(
        [row.shared_mg for row in rows], [sqrt(row.own_mg2) for row in rows]
    )
    return Uncertainty(
        standard_g=ceil(standard_mg / MG_PER_G),
        expanded_g=ceil(COVERAGE_FACTOR * standard_mg / MG_PER_G),
        k=COVERAGE_FACTOR,
        note=_NOTE,
    )
