"""Closing a period: what is in a seal, what is late, and that a line's place can be proven."""

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from hashlib import sha256
from typing import Any

import pytest
from django.db import DatabaseError, connection, transaction
from django.db.models import QuerySet
from django.test.utils import CaptureQueriesContext

from network.errors import DifferentBody, InvalidInput, NotAllowed, NotFound, WrongState
from network.ids import new_id
from network.lots import services
from network.lots.core.tree import leaf_hash, root_of
from network.lots.models import Movement, Seal, SealedRun
from network.lots.queries.lines import SealedLine, lines_between, sealed_lines
from network.lots.queries.seals import proof_holds, proof_of, seals_seen_by
from network.lots.queries.verifying import differences_of
from network.people.core.actor import Actor
from network.people.models import Role, User
from network.reports.queries import Report, Selection, diverted
from tests.factories import acting
from tests.services.lots_story import Story, make_story
from tests.services.reports_story import NOVEMBER, OCTOBER, bring
from tests.services.test_lots_two_at_once import at_once

SEPTEMBER_30, OCTOBER_31, NOVEMBER_30 = date(2025, 9, 30), date(2025, 10, 31), date(2025, 11, 30)


@pytest.fixture
def story() -> Story:
    return make_story()


@pytest.fixture
def organiser(story: Story) -> Actor:
    return acting(story.community, Role.ORGANISER)


def seal(organiser: Actor, last_day: date) -> Seal:
    return services.seal_period(organiser, seal_id=new_id(), last_day=last_day)


def report(story: Story, organiser: Actor, **selection: Any) -> Report:
    return diverted(organiser, community=story.community, selection=Selection(**selection))


@pytest.mark.django_db
def test_a_seal_states_the_periods_lines_their_sums_and_the_root_over_them(
    story: Story, organiser: Actor
) -> None:
    """A bag of 8,001 g is two lines; one of November is not in October's seal."""
    bring(story, story.container, OCTOBER, net_g=8_001)
    bring(story, story.container, NOVEMBER, net_g=500)
    closed = seal(organiser, OCTOBER_31)
    assert (closed.number, closed.first_day, closed.last_day) == (1, None, OCTOBER_31)
    assert (closed.lines, closed.late_lines) == (2, 0)
    assert closed.sums_g == {"container": -8_001, "collected": 8_001}
    assert closed.former == "0" * 64
    lines = Movement.objects.filter(at=OCTOBER).order_by("id")
    leaves = [sha256(b"\x00" + line.text.encode()).digest() for line in sealed_lines(lines)]
    assert closed.root == sha256(b"\x01" + leaves[0] + leaves[1]).hexdigest()


@pytest.mark.django_db
def test_each_seal_carries_the_hash_of_the_one_before(story: Story, organiser: Actor) -> None:
    first, second = seal(organiser, SEPTEMBER_30), seal(organiser, OCTOBER_31)
    assert (second.number, second.former) == (2, first.hash)
    assert (second.first_day, second.starts_at) == (date(2025, 10, 1), first.ends_at)
    assert second.hash != first.hash
    assert list(seals_seen_by(organiser).order_by("number")) == [first, second]


@pytest.mark.django_db
def test_a_month_in_which_nothing_happened_can_be_closed(story: Story, organiser: Actor) -> None:
    """The root over nothing is the hash of nothing (RFC 9162, 2.1.1)."""
    closed = seal(organiser, OCTOBER_31)
    assert (closed.lines, closed.sums_g, closed.root) == (0, {}, sha256(b"").hexdigest())


@pytest.mark.django_db
def test_a_late_line_counts_in_the_next_period_and_a_closed_month_never_changes(
    story: Story, organiser: Actor
) -> None:
    """The numbers of docs/rules/seals.md."""
    bring(story, story.container, OCTOBER, net_g=8_000)
    bring(story, story.container, NOVEMBER, net_g=5_000)
    october = {"last_day": OCTOBER_31}
    before = report(story, organiser, **october).total
    seal(organiser, OCTOBER_31)
    bring(story, story.container, OCTOBER, net_g=2_000)
    late = Movement.objects.filter(counts_at__gt=OCTOBER, at=OCTOBER)
    first_of_november = datetime(2025, 11, 1, tzinfo=UTC)
    assert {line.counts_at for line in late} == {first_of_november}
    assert report(story, organiser, **october).total == before
    months = {
        row.group["month"]: (row.masses.diverted_g, row.masses.late_g)
        for row in report(story, organiser, by=("month",)).rows
    }
    assert months == {"2025-10": (8_000, 0), "2025-11": (7_000, 2_000)}
    november = seal(organiser, NOVEMBER_30)
    assert (november.lines, november.late_lines) == (4, 2)
    assert november.sums_g == {"container": -7_000, "collected": 7_000}


@pytest.mark.django_db
def test_only_an_organiser_closes_a_period(story: Story) -> None:
    for actor in (story.maker_actor, story.driver):
        with pytest.raises(NotAllowed):
            seal(actor, OCTOBER_31)
        with pytest.raises(NotAllowed):
            seals_seen_by(actor)


@pytest.mark.django_db
@pytest.mark.parametrize("last_day", [date.max, date(2026, 11, 24) + timedelta(9_999), date.min])
def test_a_day_that_is_not_over_or_long_before_the_trade_is_refused(
    organiser: Actor, last_day: date
) -> None:
    with pytest.raises(InvalidInput) as refusal:
        seal(organiser, last_day)
    assert refusal.value.fields[0].field == "last_day"
    assert not Seal.objects.exists()


@pytest.mark.django_db
def test_what_is_closed_is_not_closed_again(organiser: Actor) -> None:
    closed = seal(organiser, OCTOBER_31)
    for last_day in (OCTOBER_31, SEPTEMBER_30):
        with pytest.raises(WrongState):
            seal(organiser, last_day)
    with pytest.raises(DifferentBody):
        services.seal_period(organiser, seal_id=closed.id, last_day=NOVEMBER_30)


@pytest.mark.django_db(transaction=True)
def test_of_two_organisers_at_once_one_closes_the_month(story: Story, organiser: Actor) -> None:
    bring(story, story.container, OCTOBER)
    other = acting(story.community, Role.ORGANISER)
    refusals = at_once(lambda: seal(organiser, OCTOBER_31), lambda: seal(other, OCTOBER_31))
    assert [type(refusal) for refusal in refusals] == [WrongState]
    assert Seal.objects.count() == 1
    assert SealedRun.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_line_written_while_a_month_is_closed_is_in_it_or_late(
    story: Story, organiser: Actor
) -> None:
    for _ in range(3):
        acts = [lambda: bring(story, story.container, OCTOBER, net_g=100) for _ in range(2)]
        last_day = SEPTEMBER_30 + timedelta(days=20 + Seal.objects.count())
        assert at_once(*acts, lambda day=last_day: seal(organiser, day)) == []  # type: ignore[misc]  # a default binds the day
    seal(organiser, NOVEMBER_30)
    assert sum(Seal.objects.values_list("lines", flat=True)) == Movement.objects.count() == 12
    assert list(differences_of(story.community)) == []


@pytest.mark.django_db
def test_a_person_is_forgotten_and_the_seal_holds(story: Story, organiser: Actor) -> None:
    bring(story, story.container, OCTOBER)
    seal(organiser, OCTOBER_31)
    User.objects.filter(id__in=[story.driver.user_id, organiser.user_id]).delete()
    assert not Movement.objects.exclude(by=None).exists()
    assert Seal.objects.get().by is None
    assert list(differences_of(story.community)) == []


@pytest.mark.django_db
def test_a_lines_place_is_proven_and_checked_without_the_rest(
    story: Story, organiser: Actor
) -> None:
    for mass_g in range(1_001, 1_006):
        bring(story, story.container, OCTOBER, net_g=mass_g)
    closed = seal(organiser, OCTOBER_31)
    for line in Movement.objects.all():
        proof = proof_of(story.maker_actor, line.id)
        assert proof.seal == closed
        asked: dict[str, Any] = {
            "seal_number": 1,
            "index": proof.index,
            "line": proof.line,
            "path": proof.path,
        }
        with CaptureQueriesContext(connection) as queries:
            assert proof_holds(story.community, **asked)
        assert not any("lots_movement" in query["sql"] for query in queries)
        more = proof.line.replace(f'"mass_g":{line.mass_g}', f'"mass_g":{line.mass_g + 1}')
        assert more != proof.line
        assert not proof_holds(story.community, **{**asked, "line": more})
        assert not proof_holds(story.community, **{**asked, "index": 10})
        assert not proof_holds(story.community, **{**asked, "path": [*proof.path, "00" * 32]})


@pytest.mark.django_db
def test_a_line_is_proven_across_runs(
    story: Story, organiser: Actor, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With runs of two lines, ten lines stand in five runs; the root is the same."""
    for module in ("network.lots.services.sealing", "network.lots.queries.seals"):
        monkeypatch.setattr(f"{module}.RUN_LINES", 2)
    for mass_g in range(1_001, 1_006):
        bring(story, story.container, OCTOBER, net_g=mass_g)
    closed = seal(organiser, OCTOBER_31)
    assert closed.runs.count() == 5
    lines = lines_between(story.community.id, starts_at=None, ends_at=closed.ends_at)
    texts = [line.text for line in sealed_lines(lines)]
    assert closed.root == root_of(leaf_hash(text.encode()) for text in texts).hex()
    for index, line in enumerate(lines):
        proof = proof_of(organiser, line.id)
        assert (proof.index, proof.line) == (index, texts[index])
        assert proof_holds(
            story.community, seal_number=1, index=index, line=proof.line, path=proof.path
        )


@pytest.mark.django_db
def test_what_is_not_closed_has_no_proof_and_anothers_line_is_not_there(
    story: Story, organiser: Actor
) -> None:
    bring(story, story.container, NOVEMBER)
    line = Movement.objects.latest("id")
    seal(organiser, OCTOBER_31)
    with pytest.raises(NotFound, match="not closed yet"):
        proof_of(organiser, line.id)
    seal(organiser, NOVEMBER_30)
    for stranger in (make_story().maker_actor, acting(make_story().community, Role.ORGANISER)):
        with pytest.raises(NotFound):
            proof_of(stranger, line.id)
    with pytest.raises(NotFound):
        proof_holds(story.community, seal_number=3, index=0, line="", path=[])


@pytest.mark.django_db
def test_nothing_of_a_line_names_who_wrote_it(story: Story, organiser: Actor) -> None:
    bring(story, story.container, OCTOBER)
    (first, *_) = sealed_lines(Movement.objects.all())
    for person in User.objects.all():
        assert str(person.id) not in first.text
        assert person.email not in first.text


@pytest.mark.django_db
def test_the_database_keeps_seals_and_their_order(story: Story, organiser: Actor) -> None:
    bring(story, story.container, OCTOBER)
    closed = seal(organiser, OCTOBER_31)
    for attempt in (
        lambda: Seal.objects.update(root="0" * 64),
        lambda: Seal.objects.all().delete(),
        lambda: SealedRun.objects.update(leaves=b""),
        lambda: SealedRun.objects.all().delete(),
        lambda: Movement.objects.update(counts_at=NOVEMBER),
        lambda: Seal.objects.create(**{**_fields(closed), "id": new_id(), "number": 3}),
        lambda: Seal.objects.create(**{**_fields(closed), "id": new_id(), "former": "1" * 64}),
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            attempt()
    assert list(differences_of(story.community)) == []


def _fields(closed: Seal) -> dict[str, Any]:
    follows = {
        "number": 2,
        "first_day": NOVEMBER_30,
        "last_day": NOVEMBER_30,
        "starts_at": closed.ends_at,
        "ends_at": closed.ends_at + timedelta(days=1),
        "former": closed.hash,
    }
    kept = {field.attname: getattr(closed, field.attname) for field in Seal._meta.fields}
    return {**kept, **follows}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("times", [1, 2])
def test_a_line_written_while_its_period_is_hashed_is_in_the_seal(
    story: Story, organiser: Actor, times: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    bring(story, story.container, OCTOBER)
    left = iter(range(times))

    def read_and_be_written_to(lines: QuerySet[Movement]) -> Iterator[SealedLine]:
        yield from list(sealed_lines(lines))
        if next(left, None) is not None:
            assert at_once(lambda: bring(story, story.container, OCTOBER)) == []

    monkeypatch.setattr("network.lots.services.sealing.sealed_lines", read_and_be_written_to)
    assert seal(organiser, OCTOBER_31).lines == 2 + 2 * times
    assert list(differences_of(story.community)) == []


@pytest.mark.django_db(transaction=True)
def test_a_period_closed_by_another_while_it_is_hashed_begins_after_that(
    story: Story, organiser: Actor, monkeypatch: pytest.MonkeyPatch
) -> None:
    bring(story, story.container, OCTOBER)
    bring(story, story.container, NOVEMBER)
    left = iter([OCTOBER_31])

    def read_and_be_closed(lines: QuerySet[Movement]) -> Iterator[SealedLine]:
        yield from list(sealed_lines(lines))
        if (day := next(left, None)) is not None:
            assert at_once(lambda: seal(organiser, day)) == []

    monkeypatch.setattr("network.lots.services.sealing.sealed_lines", read_and_be_closed)
    closed = seal(organiser, NOVEMBER_30)
    assert (closed.number, closed.lines, closed.first_day) == (2, 2, date(2025, 11, 1))
    assert list(differences_of(story.community)) == []
