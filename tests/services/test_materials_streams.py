"""Streams and their rule versions, on the database."""

import threading
from datetime import timedelta

import pytest
from django.core.management import call_command
from django.db import IntegrityError, connection, transaction

from network.errors import Conflict, InvalidInput, NotAllowed, NotFound
from network.ids import new_id
from network.materials import catalogue
from network.materials.core.acceptance import Outcome, Stage
from network.materials.core.rules_data import rules_to_data
from network.materials.models import Figure, Item, Resin, RuleVersion, Stream
from network.materials.queries import (
    evaluate_for,
    latest_rules,
    rule_versions_seen_by,
    stream_seen_by,
    streams_seen_by,
)
from network.materials.services import (
    change_stream,
    create_stream,
    load_reference_data,
    publish_rules,
)
from network.people.core.actor import Actor
from network.people.models import Role
from tests.factories import (
    CAP_RULES,
    LONG_AGO,
    CommunityFactory,
    MakerFactory,
    OrganisationFactory,
    StreamFactory,
    UserFactory,
    acting,
)

RULES = rules_to_data(CAP_RULES)


def a_maker() -> Actor:
    maker = MakerFactory.create()
    return acting(maker.community, Role.MAKER, maker)


def a_stream(actor: Actor, **particulars: object) -> Stream:
    (maker_id,) = actor.held_for(Role.MAKER)
    given = {"name": "Caps", "summary": "Rinsed caps.", "reach_m": 9_000, "rules": RULES}
    whole = {"maker_id": maker_id, **given, **particulars}
    return create_stream(actor, **whole)  # type: ignore[arg-type]  # read by name


@pytest.mark.django_db
def test_reference_data_are_there_and_loading_them_again_changes_nothing() -> None:
    before = (
        list(Resin.objects.values()),
        list(Item.objects.values()),
        Figure.objects.count(),
        Item.usual_resins.through.objects.count(),
    )
    load_reference_data()
    after = (
        list(Resin.objects.values()),
        list(Item.objects.values()),
        Figure.objects.count(),
        Item.usual_resins.through.objects.count(),
    )
    assert before == after
    assert {resin.symbol for resin in Resin.objects.all()} == set(catalogue.resins())


@pytest.mark.django_db(transaction=True)
def test_reference_data_come_back_when_the_tables_were_emptied() -> None:
    before = Figure.objects.count()
    call_command("flush", interactive=False, verbosity=0)
    assert Figure.objects.count() == before
    assert Item.objects.get(slug="bottle-cap").usual_resins.exists()


@pytest.mark.django_db
def test_every_figure_keeps_its_source_and_range() -> None:
    for symbol, resin in catalogue.resins().items():
        for quantity, figure in resin.figures.items():
            row = Figure.objects.get(resin_id=symbol, quantity=quantity)
            assert (row.value, row.low, row.high) == (figure.value, figure.low, figure.high)
            assert (row.unit, row.source, row.verified) == (
                figure.unit,
                figure.source,
                figure.verified,
            )


@pytest.mark.django_db
def test_a_corrected_figure_replaces_the_old_one() -> None:
    Figure.objects.filter(resin_id="PP", quantity="density").update(value=2)
    load_reference_data()
    density = catalogue.resins()["PP"].density
    assert density is not None
    assert Figure.objects.get(resin_id="PP", quantity="density").value == density.value


@pytest.mark.django_db
def test_a_new_stream_has_the_first_version_of_its_rules() -> None:
    actor = a_maker()
    stream = a_stream(actor)
    version = latest_rules(stream)
    assert version.number == 1
    assert version.rules == RULES
    assert [s.id for s in streams_seen_by(actor)] == [stream.id]


@pytest.mark.django_db
def test_rules_that_let_in_a_dangerous_resin_are_refused_and_no_stream_is_made() -> None:
    with pytest.raises(InvalidInput) as refused:
        a_stream(a_maker(), rules={**RULES, "resins": ["PVC"]})
    assert refused.value.fields[0].field == "rules.resins[0]"
    assert not Stream.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("field", "value"),
    [("reach_m", 0), ("reach_m", -1), ("reach_m", 10**9), ("name", "  "), ("summary", "")],
)
def test_a_stream_that_cannot_be_offered_is_refused_by_its_field(field: str, value: object) -> None:
    with pytest.raises(InvalidInput) as refused:
        a_stream(a_maker(), **{field: value})
    assert refused.value.fields[0].field == field


@pytest.mark.django_db
def test_a_maker_has_one_stream_of_a_name() -> None:
    actor = a_maker()
    a_stream(actor)
    with pytest.raises(Conflict):
        a_stream(actor)


@pytest.mark.django_db
def test_a_stream_belongs_to_a_maker_of_the_same_community() -> None:
    actor = a_maker()
    with pytest.raises(InvalidInput) as refused:
        a_stream(actor, maker_id=MakerFactory.create().id)
    assert refused.value.fields[0].field == "maker_id"
    school = OrganisationFactory.create(community_id=actor.community_id)
    with pytest.raises(InvalidInput):
        a_stream(actor, maker_id=school.id)
    other = MakerFactory.create(community_id=actor.community_id)
    with pytest.raises(NotAllowed):
        a_stream(actor, maker_id=other.id)


@pytest.mark.django_db
def test_each_publication_is_the_next_number_and_earlier_ones_stay() -> None:
    actor = a_maker()
    stream = a_stream(actor)
    looser = {**RULES, "contamination_extra_work_max": "0.2"}
    second = publish_rules(actor, stream_id=stream.id, rules=looser, note="Looser")
    assert second.number == 2
    assert latest_rules(stream_seen_by(actor, stream.id)) == second
    numbers = rule_versions_seen_by(actor, stream.id).values_list("number", flat=True)
    assert sorted(numbers) == [1, 2]


@pytest.mark.django_db
def test_only_its_maker_changes_a_stream_or_its_rules() -> None:
    stream = a_stream(a_maker())
    rival = MakerFactory.create(community=stream.community)
    for actor in (
        acting(stream.community, Role.MAKER, rival),
        acting(stream.community, Role.ORGANISER),
    ):
        with pytest.raises(NotAllowed):
            change_stream(actor, stream_id=stream.id, name="Mine")
        with pytest.raises(NotAllowed):
            publish_rules(actor, stream_id=stream.id, rules=RULES)
    with pytest.raises(NotFound):
        change_stream(a_maker(), stream_id=stream.id, name="Mine")


@pytest.mark.django_db
def test_what_is_not_given_stays_when_a_stream_is_changed() -> None:
    actor = a_maker()
    stream = change_stream(actor, stream_id=a_stream(actor).id, open_to_places=False)
    stream.refresh_from_db()
    assert (stream.name, stream.reach_m, stream.open_to_places) == ("Caps", 9_000, False)


@pytest.mark.django_db
def test_a_closed_stream_is_seen_by_members_only() -> None:
    actor = a_maker()
    stream = a_stream(actor, open_to_places=False)
    public = Actor(user_id=None, community_id=actor.community_id)
    with pytest.raises(NotFound):
        stream_seen_by(public, stream.id)
    assert stream_seen_by(actor, stream.id) == stream


@pytest.mark.django_db
def test_a_stream_is_not_seen_from_another_community() -> None:
    stream = StreamFactory.create()
    stranger = acting(CommunityFactory.create(), Role.ORGANISER)
    assert not streams_seen_by(stranger).exists()
    with pytest.raises(NotFound):
        rule_versions_seen_by(stranger, stream.id)


@pytest.mark.django_db
@pytest.mark.parametrize(
    "change",
    [
        {"rules": {}},
        {"number": 7},
        {"note": "changed"},
        {"created_at": LONG_AGO - timedelta(days=1)},
    ],
)
def test_a_rule_version_is_never_changed(change: dict[str, object]) -> None:
    version = latest_rules(a_stream(a_maker()))
    with pytest.raises(IntegrityError), transaction.atomic():
        RuleVersion.objects.filter(id=version.id).update(**change)
    with pytest.raises(IntegrityError), transaction.atomic():
        version.delete()
    assert RuleVersion.objects.filter(id=version.id, number=1, rules=RULES).exists()


@pytest.mark.django_db
def test_who_wrote_a_rule_version_can_be_forgotten_but_not_replaced() -> None:
    version = latest_rules(a_stream(a_maker()))
    with pytest.raises(IntegrityError), transaction.atomic():
        RuleVersion.objects.filter(id=version.id).update(created_by=UserFactory.create())
    assert version.created_by is not None
    version.created_by.delete()
    version.refresh_from_db()
    assert version.created_by is None


@pytest.mark.django_db
def test_the_verdict_is_that_of_the_named_version_else_of_the_latest() -> None:
    actor = a_maker()
    stream = a_stream(actor)
    first = latest_rules(stream)
    publish_rules(actor, stream_id=stream.id, rules={**RULES, "states": {}})
    unrinsed = {"resins": ["PE-HD"], "unmet": ["rinsed"]}
    public = Actor(user_id=None, community_id=actor.community_id)

    def outcome(version: RuleVersion | None) -> Outcome:
        return evaluate_for(
            public,
            stream_id=stream.id,
            observation=unrinsed,
            stage=Stage.DOORSTEP,
            rule_version_id=version.id if version else None,
        ).outcome

    assert outcome(first) is Outcome.TURNED_AWAY
    assert outcome(None) is Outcome.TAKEN


@pytest.mark.django_db
def test_an_observation_that_cannot_be_read_is_refused_by_its_part() -> None:
    stream = a_stream(a_maker())
    public = Actor(user_id=None, community_id=stream.community_id)
    with pytest.raises(InvalidInput) as refused:
        evaluate_for(public, stream_id=stream.id, observation={"mass_g": -1}, stage=Stage.DOORSTEP)
    assert refused.value.fields[0].field == "observation.mass_g"
    with pytest.raises(InvalidInput) as unknown:
        evaluate_for(
            public,
            stream_id=stream.id,
            observation={},
            stage=Stage.DOORSTEP,
            rule_version_id=new_id(),
        )
    assert unknown.value.fields[0].field == "rule_version_id"


@pytest.mark.django_db(transaction=True)
def test_two_publications_at_once_get_different_numbers() -> None:
    actor = a_maker()
    stream = a_stream(actor)
    gate = threading.Barrier(2)
    numbers: list[int] = []

    def publish() -> None:
        try:
            gate.wait(timeout=10)
            numbers.append(publish_rules(actor, stream_id=stream.id, rules=RULES).number)
        finally:
            connection.close()

    threads = [threading.Thread(target=publish) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(numbers) == [2, 3]
