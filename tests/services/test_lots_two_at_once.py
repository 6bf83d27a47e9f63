"""Two people at once: one lot is not used twice."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from network.errors import MillraceError, NotEnough, WrongState
from network.ids import new_id
from network.lots import services
from network.lots.models import Lot, Movement
from network.lots.month_models import FlowTotal, VisitTotal
from network.lots.queries.balances import ledger_faults
from network.lots.queries.sums import sum_faults
from network.places.models import Place
from tests.services.lots_story import MORNING, Story, balances_g, make_story

pytestmark = pytest.mark.django_db(transaction=True)

Act = Callable[[], object]
WAIT_S = 20


@pytest.fixture
def story() -> Story:
    return make_story()


def at_once(*acts: Act) -> list[MillraceError]:
    """Do these at the same time, each on its own connection; return what was refused."""
    together = Barrier(len(acts))

    def run(act: Act) -> MillraceError | None:
        try:
            together.wait(WAIT_S)
            act()
        except MillraceError as refusal:
            return refusal
        finally:
            connection.close()
        return None

    with ThreadPoolExecutor(len(acts)) as pool:
        outcomes: Iterator[MillraceError | None] = pool.map(run, acts)
        return [refusal for refusal in outcomes if refusal]


def split_whole(story: Story, lot: Lot) -> Act:
    return lambda: services.split_lot(
        story.maker_actor, first_id=new_id(), lot_id=lot.id, parts_g=[8_000], at=MORNING
    )


def pass_on_whole(story: Story, lot: Lot) -> Act:
    return lambda: services.pass_on(
        story.maker_actor, movement_id=new_id(), lot_id=lot.id, mass_g=8_000, note="", at=MORNING
    )


@pytest.mark.parametrize("pair", [(split_whole, split_whole), (split_whole, pass_on_whole)])
def test_the_whole_of_a_lot_is_used_once(
    story: Story, pair: tuple[Callable[[Story, Lot], Act], ...]
) -> None:
    lot = story.at_home(8_000)
    refusals = at_once(*(make(story, lot) for make in pair))
    assert [type(refusal) for refusal in refusals] == [NotEnough]
    used = Movement.objects.filter(reason__in=["split", "passed_on"])
    assert [line.mass_g for line in used] == [8_000]
    assert "collected" not in balances_g(lot)
    assert ledger_faults() == []


def test_a_line_is_reversed_by_one_of_two(story: Story) -> None:
    lot = story.at_home(8_000)
    line = Movement.objects.get(reason="brought_home")

    def reverse() -> object:
        return services.reverse_movement(
            story.maker_actor,
            movement_id=new_id(),
            reverses_id=line.id,
            note="Another van.",
            at=MORNING,
        )

    refusals = at_once(reverse, reverse)
    assert [type(refusal) for refusal in refusals] == [WrongState]
    assert balances_g(lot) == {"container": -8_000, "vehicle": 8_000}


def test_two_vans_unloaded_by_two_people_are_unloaded_once(story: Story) -> None:
    lots = [story.collect(mass_g)[0] for mass_g in (8_000, 2_000)]

    def unload(order: list[Lot]) -> Act:
        return lambda: services.bring_home(
            story.driver, lots=order, vehicle_id=story.vehicle_id, at=MORNING
        )

    assert at_once(unload(lots), unload(lots[::-1])) == []
    assert balances_g(*lots) == {"container": -10_000, "collected": 10_000}
    assert Movement.objects.filter(reason="brought_home").count() == 2


def test_lots_named_in_two_orders_do_not_wait_for_each_other_for_ever(story: Story) -> None:
    lots = [story.at_home(mass_g) for mass_g in (8_000, 2_000, 500)]

    def merge(order: list[Lot]) -> Act:
        return lambda: services.merge_lots(
            story.maker_actor, lot_id=new_id(), lot_ids=[lot.id for lot in order], at=MORNING
        )

    refusals = at_once(merge(lots), merge(lots[::-1]))
    assert [type(refusal) for refusal in refusals] == [WrongState]
    assert Movement.objects.filter(reason="merged").count() == 3
    assert ledger_faults() == []


def test_many_who_write_into_one_month_add_up_while_it_is_folded(story: Story) -> None:
    collecting: list[Act] = [lambda: story.collect(1_000) for _ in range(8)]
    assert at_once(*collecting, services.fold_sums, services.fold_sums) == []
    assert list(sum_faults(story.community.id)) == []
    rows = FlowTotal.objects.filter(community=story.community, reason="collected")
    assert sum(rows.values_list("mass_g", flat=True)) == 8_000


@pytest.mark.parametrize("turn", range(4))
def test_lots_are_weighed_again_and_lines_reversed_while_lines_are_summed(
    story: Story, turn: int
) -> None:
    """What changes of a line that is just being summed is neither lost nor counted twice."""
    lots = [story.collect(1_000 + turn)[0] for _ in range(6)]
    lines = Movement.objects.filter(reason="collected", community=story.community)

    def weigh(lot: Lot) -> Act:
        return lambda: services.weigh_again(
            story.maker_actor,
            weighing_id=new_id(),
            lot_id=lot.id,
            gross_g=1_100,
            tare_g=50,
            scale_id=story.scale.id,
            at=MORNING,
        )

    def reverse(line: Movement) -> Act:
        return lambda: services.reverse_movement(
            story.maker_actor, movement_id=new_id(), reverses_id=line.id, note="No.", at=MORNING
        )

    acts = [*(weigh(lot) for lot in lots[:3])]
    acts += [reverse(lines.get(from_account__lot=lot)) for lot in lots[3:]]
    at_once(*acts[:turn], services.fold_sums, *acts[turn:], services.fold_sums)
    assert list(sum_faults(story.community.id)) == []
    services.fold_sums()
    assert list(sum_faults(story.community.id)) == []


def test_one_visit_counts_once_while_its_first_bag_is_summed(story: Story) -> None:
    story.collect(1_000)
    assert at_once(services.fold_sums, *[lambda: story.collect(1_000) for _ in range(4)]) == []
    assert list(sum_faults(story.community.id)) == []
    services.fold_sums()
    assert list(sum_faults(story.community.id)) == []


def test_what_several_take_from_one_place_on_one_day_is_one_visit(story: Story) -> None:
    assert at_once(*[lambda: story.collect(1_000) for _ in range(8)]) == []
    visits = VisitTotal.objects.filter(community=story.community, stream=story.agreement.stream)
    assert sum(visits.values_list("visits", flat=True)) == 1


def test_a_place_changes_its_kind_while_its_bags_are_collected(story: Story) -> None:
    place = Place.objects.filter(id=story.agreement.place_id)
    collecting: list[Act] = [lambda: story.collect(1_000) for _ in range(7)]
    assert at_once(*collecting, lambda: place.update(kind="cleaner")) == []
    assert list(sum_faults(story.community.id)) == []
