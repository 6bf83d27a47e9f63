"""The verdict: one reason for each rule broken, and danger is turned away whatever is written."""

import dataclasses
from decimal import Decimal
from enum import StrEnum
from string import Formatter
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.materials import catalogue
from network.materials.core.acceptance import (
    Found,
    Observation,
    Outcome,
    Stage,
    Verdict,
    contamination_share,
    evaluate,
    verdict_to_data,
)
from network.materials.core.identification import FloatTest
from network.materials.core.rules import AcceptanceRules
from network.materials.core.terms import Colour, ContainerKind, Finding, Forming, State, Unmarked
from network.materials.core.words import FINDINGS, TEXTS, Code

RESINS = catalogue.resins()
WATER = catalogue.float_media()["water"].density.value
SEVERITY = [Outcome.TAKEN, Outcome.TAKEN_WITH_EXTRA_WORK, Outcome.TURNED_AWAY]

CAPS = AcceptanceRules(
    resins=("PE-HD", "PP"),
    items=("bottle-cap", "milk-bottle-cap"),
    forming=(Forming.INJECTION,),
    colours=(Colour.BLUE, Colour.WHITE),
    must=frozenset({State.RINSED}),
    wanted=frozenset({State.DRY, State.LABEL_OFF}),
    never=frozenset({Finding.METAL, Finding.MEDICAL}),
    contamination_clean_max=Decimal("0.02"),
    contamination_extra_work_max=Decimal("0.10"),
    smallest_g=2000,
    containers=(ContainerKind.CRATE,),
)
GOOD = Observation(
    stage=Stage.INSPECTION,
    resins=("PE-HD",),
    items=("bottle-cap",),
    colours=(Colour.BLUE,),
    forming=(Forming.INJECTION,),
    met=frozenset({State.RINSED, State.DRY, State.LABEL_OFF}),
    sample_g=1000,
    mass_g=9000,
    container=ContainerKind.CRATE,
)


def judged(rules: AcceptanceRules = CAPS, **changes: Any) -> Verdict:
    return evaluate(rules, dataclasses.replace(GOOD, **changes), RESINS)


def codes(verdict: Verdict) -> list[Code]:
    return [reason.code for reason in verdict.reasons]


def test_what_keeps_every_rule_is_taken_without_a_reason() -> None:
    assert judged() == Verdict(outcome=Outcome.TAKEN, reasons=(), unknown=())


def test_a_wet_bag_is_taken_with_extra_work() -> None:
    verdict = judged(met=frozenset({State.RINSED, State.LABEL_OFF}), unmet=frozenset({State.DRY}))
    assert verdict.outcome is Outcome.TAKEN_WITH_EXTRA_WORK
    (reason,) = verdict.reasons
    assert reason.words == "It was wet. We take it, but it gives us extra work."
    assert "dry" in reason.next_time


def test_caps_that_must_be_rinsed_and_were_not_are_turned_away() -> None:
    verdict = judged(met=frozenset(), unmet=frozenset({State.RINSED}))
    assert verdict.outcome is Outcome.TURNED_AWAY
    assert verdict.reasons[0].params == {"state": "rinsed"}


@pytest.mark.parametrize("symbol", ["PVC", "PTFE", "POM", "ABS-FR", "PVC-U", "ABS+PVC"])
def test_a_material_dangerous_to_melt_is_turned_away(symbol: str) -> None:
    verdict = judged(resins=("PE-HD", symbol))
    assert verdict.outcome is Outcome.TURNED_AWAY
    assert codes(verdict) == [Code.DANGEROUS_RESIN]


def test_a_resin_dangerous_by_the_data_is_turned_away_even_where_the_rules_accept_it() -> None:
    poisoned = {**RESINS, "PP": dataclasses.replace(RESINS["PP"], danger="x", danger_source="y")}
    verdict = evaluate(CAPS, dataclasses.replace(GOOD, resins=("PP",)), poisoned)
    assert codes(verdict) == [Code.DANGEROUS_RESIN]


def test_a_gram_of_dangerous_plastic_in_a_sample_turns_it_away() -> None:
    verdict = judged(found=(Found(what=Finding.DANGEROUS_RESIN, mass_g=1),))
    assert codes(verdict) == [Code.DANGEROUS_FOUND]


def test_what_must_never_be_in_it_turns_it_away_in_any_amount() -> None:
    verdict = judged(found=(Found(what=Finding.METAL, mass_g=1),))
    assert codes(verdict) == [Code.NEVER_IN_IT]
    assert "metal" in verdict.reasons[0].words


def test_something_seen_but_not_weighed_is_extra_work() -> None:
    verdict = judged(stage=Stage.DOORSTEP, sample_g=None, found=(Found(what=Finding.PAPER),))
    assert verdict.outcome is Outcome.TAKEN_WITH_EXTRA_WORK
    assert codes(verdict) == [Code.FOUND]


@pytest.mark.parametrize(
    ("found_g", "outcome"),
    [
        (0, Outcome.TAKEN),
        (20, Outcome.TAKEN),
        (21, Outcome.TAKEN_WITH_EXTRA_WORK),
        (100, Outcome.TAKEN_WITH_EXTRA_WORK),
        (101, Outcome.TURNED_AWAY),
    ],
)
def test_a_share_equal_to_a_limit_still_keeps_it(found_g: int, outcome: Outcome) -> None:
    assert judged(found=(Found(what=Finding.LABEL, mass_g=found_g),)).outcome is outcome


def test_limits_are_compared_exactly_where_binary_fractions_would_slip() -> None:
    # 3/10 of the mass against a limit of 0.3: in binary floating point 0.1 + 0.2 > 0.3.
    limit = dataclasses.replace(
        CAPS,
        contamination_clean_max=Decimal("0.3"),
        contamination_extra_work_max=Decimal("0.3"),
    )
    found = (Found(what=Finding.LABEL, mass_g=1), Found(what=Finding.PAPER, mass_g=2))
    assert judged(limit, sample_g=10, found=found).outcome is Outcome.TAKEN


def test_contamination_is_told_in_grams_with_the_worst_finding() -> None:
    verdict = judged(
        found=(Found(what=Finding.LABEL, mass_g=10), Found(what=Finding.FOOD_RESIDUE, mass_g=100))
    )
    (reason,) = verdict.reasons
    assert reason.params == {
        "sample_g": "1000",
        "found_g": "110",
        "limit_g": "10",
        "most": "food_residue",
    }
    assert "110 g" in reason.words
    assert "Rinse" in reason.next_time


def test_each_broken_rule_gives_one_reason_the_gravest_first() -> None:
    verdict = judged(
        resins=("PS", "ABS"),
        colours=(Colour.RED,),
        met=frozenset(),
        unmet=frozenset({State.DRY}),
    )
    assert codes(verdict) == [
        Code.RESIN_NOT_ACCEPTED,
        Code.COLOUR_NOT_ACCEPTED,
        Code.STATE_WANTED,
    ]
    assert verdict.reasons[0].params["resins"] == "PS (6), ABS"


def test_blow_moulded_bottles_are_turned_away_where_only_injection_moulded_caps_are_taken() -> None:
    verdict = judged(items=("milk-bottle",), forming=(Forming.BLOW,))
    assert codes(verdict) == [Code.ITEM_NOT_ACCEPTED, Code.FORMING_NOT_ACCEPTED]
    assert verdict.reasons[0].next_time == "Keep only these: bottle cap, milk bottle cap."


def test_too_little_waits_at_home_but_is_not_held_against_what_has_arrived() -> None:
    assert codes(judged(stage=Stage.DECLARATION, mass_g=1999)) == [Code.TOO_LITTLE]
    assert judged(stage=Stage.DECLARATION, mass_g=2000).outcome is Outcome.TAKEN
    assert judged(stage=Stage.INSPECTION, mass_g=10).outcome is Outcome.TAKEN


def test_a_container_of_another_kind_is_extra_work() -> None:
    verdict = judged(container=ContainerKind.BAG)
    assert verdict.outcome is Outcome.TAKEN_WITH_EXTRA_WORK
    assert verdict.reasons[0].next_time == "Use one of these: crate."


def test_what_nobody_looked_at_breaks_no_rule_and_is_listed() -> None:
    verdict = evaluate(CAPS, Observation(stage=Stage.DECLARATION), RESINS)
    assert verdict.outcome is Outcome.TAKEN
    assert verdict.unknown == (
        "resins",
        "items",
        "colours",
        "forming",
        "states.rinsed",
        "states.dry",
        "states.label_off",
        "contamination",
        "smallest_g",
        "containers",
    )


def test_an_unmarked_cap_is_unknown_whatever_it_is_usually_made_of() -> None:
    verdict = judged(resins=None, unmarked=True)
    assert codes(verdict) == [Code.UNMARKED_EXTRA_WORK]


def floats(medium_g_cm3: Decimal, *, floated: bool) -> FloatTest:
    return FloatTest(medium_g_cm3=medium_g_cm3, floated=floated)


def test_an_unmarked_piece_that_sinks_in_water_is_not_polyethylene_or_polypropylene() -> None:
    verdict = judged(resins=None, unmarked=True, float_tests=(floats(WATER, floated=False),))
    assert codes(verdict) == [Code.UNMARKED_IS_OTHER]


def test_floating_settles_an_unmarked_piece_where_all_that_floats_is_accepted() -> None:
    floated = (floats(WATER, floated=True),)
    both_and_low = dataclasses.replace(CAPS, resins=("PE-HD", "PE-LD", "PP"))
    assert judged(both_and_low, unmarked=True, float_tests=floated).outcome is Outcome.TAKEN
    # PE-LD floats too, so here floating alone does not settle it.
    assert codes(judged(unmarked=True, float_tests=floated)) == [Code.UNMARKED_EXTRA_WORK]


def test_a_maker_may_take_what_floats_in_plain_water() -> None:
    lenient = dataclasses.replace(CAPS, unmarked=Unmarked.TAKEN_IF_IT_FLOATS)
    assert judged(lenient, unmarked=True).outcome is Outcome.TAKEN_WITH_EXTRA_WORK
    floated = (floats(WATER, floated=True),)
    assert judged(lenient, unmarked=True, float_tests=floated).outcome is Outcome.TAKEN


def test_floating_in_brine_settles_nothing() -> None:
    rules = dataclasses.replace(
        CAPS,
        resins=tuple(s for s, r in RESINS.items() if not r.danger),
        unmarked=Unmarked.TURNED_AWAY,
    )
    brine = (floats(Decimal("1.15"), floated=True),)
    assert codes(judged(rules, unmarked=True, float_tests=brine)) == [Code.UNMARKED_TURNED_AWAY]


findings = st.lists(
    st.builds(Found, what=st.sampled_from(list(Finding)), mass_g=st.integers(0, 300)), max_size=4
)


@given(found=findings, index=st.integers(0, 3), more_g=st.integers(1, 300))
def test_more_contamination_never_makes_a_verdict_kinder(
    found: list[Found], index: int, more_g: int
) -> None:
    sample_g = 2000
    before = judged(sample_g=sample_g, found=tuple(found))
    extra = found[index % len(found)].what if found else Finding.LABEL
    worse = (*found, Found(what=extra, mass_g=more_g))
    after = judged(sample_g=sample_g, found=worse)
    assert SEVERITY.index(after.outcome) >= SEVERITY.index(before.outcome)


@given(st.sets(st.sampled_from(list(State))), st.sets(st.sampled_from(list(State))))
def test_meeting_one_more_state_never_makes_a_verdict_harsher(
    unmet: set[State], mended: set[State]
) -> None:
    before = judged(met=frozenset(), unmet=frozenset(unmet))
    after = judged(met=frozenset(mended), unmet=frozenset(unmet - mended))
    assert SEVERITY.index(after.outcome) <= SEVERITY.index(before.outcome)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"found": (Found(what=Finding.LABEL, mass_g=5),), "sample_g": None}, "sample"),
        ({"found": (Found(what=Finding.LABEL, mass_g=11),), "sample_g": 10}, "more than"),
        ({"sample_g": 0}, "more than nothing"),
        ({"mass_g": -1}, "less than nothing"),
        ({"unmet": frozenset({State.DRY})}, "both met and unmet"),
    ],
)
def test_an_observation_that_cannot_be_is_refused(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        dataclasses.replace(GOOD, **changes)


def test_without_a_sample_there_is_no_contamination_share() -> None:
    assert contamination_share(Observation(stage=Stage.DOORSTEP)) is None


def test_every_reason_has_its_words_with_both_halves() -> None:
    about: dict[Code, type[StrEnum]] = {
        Code.STATE_MUST: State,
        Code.STATE_WANTED: State,
        Code.NEVER_IN_IT: Finding,
        Code.FOUND: Finding,
    }
    keys = {
        key
        for code in Code
        for key in ([f"{code}.{word}" for word in about[code]] if code in about else [code.value])
    }
    assert set(TEXTS) == keys
    assert set(FINDINGS) == set(Finding)
    assert all(text.reason and text.next_time for text in TEXTS.values())


def test_words_say_what_to_do_and_leave_no_blank_unfilled() -> None:
    verdict = judged(
        resins=("PVC", "PS"),
        items=("tub",),
        colours=(Colour.RED,),
        forming=(Forming.BLOW,),
        unmarked=True,
        met=frozenset(),
        unmet=frozenset(State),
        found=tuple(Found(what=what, mass_g=40) for what in Finding),
        container=ContainerKind.DRUM,
        stage=Stage.DOORSTEP,
        mass_g=1,
    )
    assert len(verdict.reasons) >= 12
    for reason in verdict.reasons:
        for sentence in (reason.words, reason.next_time):
            assert not [name for _, name, _, _ in Formatter().parse(sentence) if name is not None]
            assert sentence.endswith(".")


def test_a_verdict_becomes_plain_data() -> None:
    data = verdict_to_data(judged(container=ContainerKind.BAG))
    assert data["outcome"] == "taken_with_extra_work"
    assert data["reasons"] == [
        {
            "code": "container_not_allowed",
            "outcome": "taken_with_extra_work",
            "params": {"container": "bag", "accepted": "crate"},
            "words": "It is in a bag. We have to tip it over into another container.",
            "next_time": "Use one of these: crate.",
        }
    ]
