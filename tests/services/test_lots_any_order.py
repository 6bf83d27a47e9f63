"""Any order of collecting, refusing, dividing, mixing, losing and correcting keeps every gram."""

from collections.abc import Callable
from contextlib import suppress
from typing import Any
from uuid import UUID

import pytest
from django.db import transaction
from django.db.models import Sum
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from network.errors import MillraceError
from network.ids import new_id
from network.lots import services
from network.lots.models import Account, Inspection, Lot, Movement, Weighing
from network.lots.queries.balances import balances_seen_by, ledger_faults
from network.lots.queries.sums import sum_faults
from network.people.models import Role
from network.reports.queries import Selection, diverted
from tests.factories import acting
from tests.services.lots_story import CLEAN, MORNING, UNRINSED, Story, make_story

pytestmark = pytest.mark.django_db

Call = Callable[[], object]
masses_g = st.integers(1, 9_000)
picks = st.integers(0, 1_000)


class _Undone(Exception):
    """Ends an example, so that all it did is taken back."""


class LedgerMachine(RuleBasedStateMachine):
    """Draws what people do, refused or not, and looks at the ledger after each."""

    @initialize()
    def begin(self) -> None:
        self.atomic = transaction.atomic()
        self.atomic.__enter__()
        self.story: Story = make_story()
        self.organiser = acting(self.story.community, Role.ORGANISER)
        self.district = self.story.agreement.place.district
        self.done: list[Call] = []

    def teardown(self) -> None:
        self.atomic.__exit__(_Undone, _Undone(), None)

    def attempt(self, call: Call) -> None:
        """Do it; a refusal is an answer too, and has changed nothing."""
        before = snapshot(self.story)
        try:
            call()
        except MillraceError:
            unchanged = snapshot(self.story) == before
        else:
            unchanged = True
            self.done.append(call)
        assert unchanged

    def lot(self, pick: int) -> UUID:
        lots = list(Lot.objects.filter(maker=self.story.maker).order_by("id"))
        return lots[pick % len(lots)].id if lots else new_id()

    @rule(mass_g=masses_g, home=st.booleans())
    def collect(self, mass_g: int, home: bool) -> None:
        lot_id = new_id()
        self.attempt(lambda: self.story.collect(mass_g, lot_id=lot_id))
        if home:
            self.bring_home(pick=-1)

    @rule(percent=st.integers(-5, 160))
    def collect_by_level(self, percent: int) -> None:
        lot_id, reading = new_id(), services.Reading(method="volume", percent=percent)
        self.attempt(lambda: self.story.collect(lot_id=lot_id, reading=reading))

    @rule()
    def turn_away_at_the_door(self) -> None:
        inspection_id = new_id()
        self.attempt(
            lambda: services.turn_away_at_door(
                self.story.driver,
                container=self.story.container,
                observation=UNRINSED,
                note="",
                at=MORNING,
                inspection_id=inspection_id,
            )
        )

    @rule(pick=picks)
    def bring_home(self, pick: int) -> None:
        lots = list(Lot.objects.filter(id=self.lot(pick)))
        for _ in range(2):
            again = services.bring_home(
                self.story.driver, lots=lots, vehicle_id=self.story.vehicle_id, at=MORNING
            )
        assert again == []

    @rule(pick=picks, gross_g=masses_g, tare_g=st.integers(0, 300))
    def weigh_again(self, pick: int, gross_g: int, tare_g: int) -> None:
        arguments: dict[str, Any] = {
            "weighing_id": new_id(),
            "lot_id": self.lot(pick),
            "gross_g": gross_g,
            "tare_g": tare_g,
            "scale_id": self.story.scale.id,
            "at": MORNING,
        }
        self.attempt(lambda: services.weigh_again(self.story.maker_actor, **arguments))

    @rule(
        pick=picks,
        observation=st.sampled_from([CLEAN, UNRINSED]),
        taken_out_g=st.integers(0, 500),
        to=st.sampled_from([None, "returned", "residue"]),
    )
    def inspect(
        self, pick: int, observation: dict[str, object], taken_out_g: int, to: str | None
    ) -> None:
        arguments: dict[str, Any] = {
            "inspection_id": new_id(),
            "lot_id": self.lot(pick),
            "observation": observation,
            "taken_out_g": taken_out_g,
            "turned_away_to": to,
            "at": MORNING,
        }
        self.attempt(lambda: services.inspect(self.story.maker_actor, **arguments))

    @rule(pick=picks, parts_g=st.lists(masses_g, min_size=0, max_size=3))
    def split(self, pick: int, parts_g: list[int]) -> None:
        arguments: dict[str, Any] = {
            "first_id": new_id(),
            "lot_id": self.lot(pick),
            "parts_g": parts_g,
            "at": MORNING,
        }
        self.attempt(lambda: services.split_lot(self.story.maker_actor, **arguments))

    @rule(chosen=st.lists(picks, min_size=1, max_size=3))
    def merge(self, chosen: list[int]) -> None:
        arguments: dict[str, Any] = {
            "lot_id": new_id(),
            "lot_ids": [self.lot(pick) for pick in chosen],
            "at": MORNING,
        }
        self.attempt(lambda: services.merge_lots(self.story.maker_actor, **arguments))

    @rule(pick=picks, mass_g=masses_g, out=st.sampled_from(["record_loss", "pass_on"]))
    def take_out(self, pick: int, mass_g: int, out: str) -> None:
        arguments: dict[str, Any] = {
            "movement_id": new_id(),
            "lot_id": self.lot(pick),
            "mass_g": mass_g,
            "note": "",
            "at": MORNING,
        }
        service = getattr(services, out)
        self.attempt(lambda: service(self.story.maker_actor, **arguments))

    @rule(pick=picks)
    def reverse(self, pick: int) -> None:
        lines = list(Movement.objects.filter(community=self.story.community).order_by("id"))
        arguments: dict[str, Any] = {
            "movement_id": new_id(),
            "reverses_id": lines[pick % len(lines)].id if lines else new_id(),
            "note": "A slip.",
            "at": MORNING,
        }
        self.attempt(lambda: services.reverse_movement(self.story.maker_actor, **arguments))

    @rule()
    def fold_the_sums(self) -> None:
        services.fold_sums()

    @rule(kind=st.sampled_from(["school", "cafe"]), has_district=st.booleans())
    def the_place_changes(self, kind: str, has_district: bool) -> None:
        place = self.story.agreement.place
        place.kind, place.district = kind, self.district if has_district else None
        place.save(update_fields=["kind", "district"])

    @rule(pick=picks)
    def send_again(self, pick: int) -> None:
        """A call that was done, sent again as it was, changes nothing, answered or refused."""
        if not self.done:
            return
        call, before = self.done[pick % len(self.done)], snapshot(self.story)
        with suppress(MillraceError):
            call()
        assert snapshot(self.story) == before

    @invariant()
    def every_gram_is_somewhere(self) -> None:
        actor = self.story.maker_actor
        assert sum(row.mass_g for row in balances_seen_by(actor)) == 0
        assert ledger_faults() == []
        assert list(sum_faults(self.story.community.id)) == []

    @invariant()
    def no_account_has_what_it_cannot_have(self) -> None:
        accounts = Account.objects.filter(community=self.story.community)
        assert not accounts.exclude(kind="container").filter(balance_g__lt=0).exists()
        assert not accounts.filter(kind="container", balance_g__gt=0).exists()

    @invariant()
    def the_report_is_what_the_balances_say(self) -> None:
        community = self.story.community
        report = diverted(self.organiser, community=community, selection=Selection())
        kinds = {
            row["kind"]: row["mass_g"]
            for row in Account.objects.filter(community=community)
            .values("kind")
            .annotate(mass_g=Sum("balance_g"))
            .order_by("kind")
        }
        assert report.total.collected_g == -kinds.get("container", 0)
        assert report.total.on_the_way_g == kinds.get("vehicle", 0)
        assert report.total.turned_away_g + report.total.residue_g == (
            kinds.get("returned", 0) + kinds.get("residue", 0)
        )


def snapshot(story: Story) -> list[Any]:
    """Return all that a call could have changed."""
    here = {"community": story.community}
    rows: list[Any] = [
        list(model.objects.filter(**here).order_by("id").values_list("id", flat=True))
        for model in (Lot, Movement, Weighing, Inspection)
    ]
    standing = Account.objects.filter(**here).exclude(balance_g=0).order_by("id")
    return [*rows, list(standing.values_list("id", "balance_g"))]


def test_any_order_of_what_people_do_keeps_every_gram() -> None:
    run_state_machine_as_test(
        LedgerMachine,
        settings=settings(
            max_examples=15,
            stateful_step_count=25,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
