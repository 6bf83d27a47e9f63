"""What a person is told, in plain words: a title that says it all, and a few short paragraphs."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from network.units import G_PER_KG


@dataclass(frozen=True, kw_only=True)
class Letter:
    """Words for one person; `link` is where in the app there is more."""

    title: str
    paragraphs: tuple[str, ...]
    link: str


@dataclass(frozen=True, kw_only=True)
class VisitFacts:
    """What is said of a visit; times are aware, and said by the community's clock."""

    place: str
    place_link: str
    maker: str
    zone: ZoneInfo
    arrives_at: datetime | None
    reason: str = ""

    @property
    def day(self) -> str:
        """The day of the visit: `Tuesday 3 November`."""
        if self.arrives_at is None:
            return "a day to be named"
        local = self.arrives_at.astimezone(self.zone)
        return f"{local:%A} {local.day} {local:%B}"

    @property
    def hour(self) -> str:
        """About when the van comes: `about 09:05`."""
        if self.arrives_at is None:
            return ""
        return f"about {self.arrives_at.astimezone(self.zone):%H:%M}"


def booked(visit: VisitFacts) -> Letter:
    """Say that a visit is booked."""
    return Letter(
        title=f"{visit.maker} comes to {visit.place} on {visit.day}",
        paragraphs=(
            f"The van is expected {visit.hour} on {visit.day}.",
            "Please have the containers where the driver can reach them.",
            "If that day does not suit you, tell the maker as soon as you can.",
        ),
        link=visit.place_link,
    )


def moved(visit: VisitFacts, *, earlier: VisitFacts) -> Letter:
    """Say that a visit has another day or time, and which it had."""
    return Letter(
        title=f"The visit to {visit.place} is now on {visit.day}",
        paragraphs=(
            f"It was to be on {earlier.day} {earlier.hour}.",
            f"Now {visit.maker} is expected {visit.hour} on {visit.day}.",
            "There is nothing else that you need to do.",
        ),
        link=visit.place_link,
    )


def retimed(visit: VisitFacts) -> Letter:
    """Say that a visit of that day has another hour."""
    return Letter(
        title=f"{visit.maker} comes to {visit.place} at another hour",
        paragraphs=(
            f"Now {visit.maker} is expected {visit.hour} on {visit.day}.",
            "There is nothing else that you need to do.",
        ),
        link=visit.place_link,
    )


def called_off(visit: VisitFacts) -> Letter:
    """Say that a visit is called off, and why."""
    return Letter(
        title=f"The visit to {visit.place} on {visit.day} is called off",
        paragraphs=(
            f"{visit.maker} writes: {visit.reason}",
            "Please take the containers in again. You will hear when there is a new day.",
        ),
        link=visit.place_link,
    )


def on_its_way(visit: VisitFacts) -> Letter:
    """Say that the van has set out."""
    return Letter(
        title=f"The van is on its way to {visit.place}",
        paragraphs=(f"{visit.maker} has set out and is expected {visit.hour}.",),
        link=visit.place_link,
    )


def missed(visit: VisitFacts) -> Letter:
    """Say that the driver left a visit out, and why."""
    return Letter(
        title=f"The visit to {visit.place} did not happen",
        paragraphs=(
            f"The driver writes: {visit.reason}",
            "You can ask for another visit in the app.",
        ),
        link=visit.place_link,
    )


@dataclass(frozen=True, kw_only=True)
class EmptiedContainer:
    """What came of one container at a visit; `mass_g` None where nothing was taken."""

    tag: str
    mass_g: int | None
    is_estimate: bool = False
    reason: str = ""

    @property
    def words(self) -> str:
        """One line about it."""
        if self.mass_g is not None:
            how = "an estimate" if self.is_estimate else "weighed"
            return f"{self.tag}: {kilograms(self.mass_g)}, {how}."
        return f"{self.tag}: not taken. {self.reason}".strip()


def done(visit: VisitFacts, containers: Sequence[EmptiedContainer]) -> Letter:
    """Say what was taken at a visit; nothing here is certified."""
    taken_g = sum(container.mass_g or 0 for container in containers)
    return Letter(
        title=f"{kilograms(taken_g)} collected at {visit.place}",
        paragraphs=(
            *(container.words for container in containers),
            "The workshop looks at it next, and tells you what it found. Thank you.",
        ),
        link=visit.place_link,
    )


def feedback(
    *, place: str, place_link: str, verdict: str, reasons: Sequence[str], next_time: Sequence[str]
) -> Letter:
    """Say what an inspection found, and what to do next time."""
    headings = {
        "taken": "It was all as agreed. Thank you.",
        "taken_with_extra_work": "It was taken, with some extra work.",
        "turned_away": "It could not be taken this time.",
    }
    return Letter(
        title=f"What was found in the material from {place}",
        paragraphs=(headings[verdict], *reasons, *(f"Next time: {words}" for words in next_time)),
        link=place_link,
    )


def rules_changed(
    *, place: str, link: str, maker: str, stream: str, added: Sequence[str], dropped: Sequence[str]
) -> Letter:
    """Say what a new version of the rules changes for a place that has still to agree to it."""
    return Letter(
        title=f"{maker} changes what {place} should do for {stream}",
        paragraphs=(
            *(f"New: {words}" for words in added),
            *(f"No longer: {words}" for words in dropped),
            "Until you agree to the new rules in the app, the ones you agreed to hold.",
        ),
        link=link,
    )


def admitted(*, place: str, link: str, community: str) -> Letter:
    """Say that a place may begin."""
    return Letter(
        title=f"{place} is admitted to {community}",
        paragraphs=("You can begin to set material aside, and ask for a visit in the app.",),
        link=link,
    )


def refused(*, place: str, link: str, community: str, reason: str) -> Letter:
    """Say that a place is not admitted, and why."""
    return Letter(
        title=f"{place} is not admitted to {community}",
        paragraphs=(f"The organiser writes: {reason}",),
        link=link,
    )


def asked(*, place: str, link: str, note: str) -> Letter:
    """Tell a maker that a place asks for a visit."""
    return Letter(
        title=f"{place} asks for a visit",
        paragraphs=(f"They write: {note}" if note else "They left no note.",),
        link=link,
    )


def webhook_disabled(*, name: str, link: str) -> Letter:
    """Tell the owner of a machine that it is told nothing any more."""
    return Letter(
        title=f"The webhook {name} was turned off",
        paragraphs=(
            "Nothing reached it for three days, or it said that it wants to hear no more.",
            "Mend what is behind the address, and make a new webhook.",
        ),
        link=link,
    )


@dataclass(frozen=True, kw_only=True)
class WeekFacts:
    """A week's numbers for an organiser; masses in g."""

    community: str
    first_day: str
    last_day: str
    collected_g: int
    diverted_g: int
    uncertainty_g: int
    visits_done: int
    visits_missed: int
    places_waiting: int


def week(facts: WeekFacts) -> Letter:
    """Tell an organiser the week's numbers; mass that was kept from disposal with its doubt."""
    accepted, doubt = kilograms(facts.diverted_g), kilograms(facts.uncertainty_g)
    return Letter(
        title=f"{facts.community}, {facts.first_day} to {facts.last_day}",
        paragraphs=(
            f"{kilograms(facts.collected_g)} were collected.",
            f"Visits done: {facts.visits_done}. Visits that did not happen: {facts.visits_missed}.",
            f"{accepted} were accepted at the workshop, give or take {doubt} (k = 2).",
            "The report in the app says by which method that is reckoned.",
            f"Places that wait to be admitted: {facts.places_waiting}.",
        ),
        link="/organising",
    )


def kilograms(mass_g: int) -> str:
    """Return a mass in kg to a tenth: `7.4 kg`."""
    return f"{mass_g / G_PER_KG:.1f} kg"
