"""A maker's rules as data: what they refuse, and that nothing is lost between data and rules."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.errors import FieldError, InvalidInput
from network.materials import catalogue
from network.materials.core.resins import Resin
from network.materials.core.rules import AcceptanceRules
from network.materials.core.rules_data import rules_from_data, rules_to_data
from network.materials.core.terms import Colour, ContainerKind, Finding, Forming, State, Unmarked

RESINS = catalogue.resins()
ITEMS = catalogue.items()
SOME_TEXT = st.text(alphabet='aZ0 .é"\\\n{}[]', max_size=20)


def cap_data(**changes: object) -> dict[str, Any]:
    data: dict[str, Any] = {
        "schema_version": 1,
        "resins": ["PE-HD", "PP"],
        "items": ["bottle-cap", "milk-bottle-cap"],
        "colours": "any",
        "forming": ["injection"],
        "states": {"rinsed": "must", "dry": "wanted"},
        "never": ["metal", "glass"],
        "unmarked": "extra_work",
        "contamination_clean_max": "0.02",
        "contamination_extra_work_max": "0.10",
        "smallest_g": 2000,
        "containers": ["crate", "bag"],
        "notes": "Caps only, please.",
    }
    return data | changes


def faults_of(data: object) -> dict[str, str]:
    with pytest.raises(InvalidInput) as caught:
        rules_from_data(data, resins=RESINS, items=ITEMS)
    assert all(fault.detail and fault.mend for fault in caught.value.fields)
    return {fault.field: fault.mend for fault in caught.value.fields}


def a_choice(kind: Any) -> st.SearchStrategy[Any]:
    return st.none() | st.lists(st.sampled_from(list(kind)), min_size=1, unique=True).map(tuple)


@st.composite
def any_rules(draw: st.DrawFn) -> AcceptanceRules:
    shares = st.decimals(min_value=0, max_value=1, places=6)
    clean, extra = sorted([draw(shares), draw(shares)])
    needs = draw(st.dictionaries(st.sampled_from(list(State)), st.booleans()))
    harmless = sorted(symbol for symbol, resin in RESINS.items() if not resin.danger)
    return AcceptanceRules(
        resins=draw(a_choice(harmless).filter(lambda chosen: chosen is not None)),
        items=draw(a_choice(sorted(ITEMS))),
        colours=draw(a_choice(Colour)),
        forming=draw(a_choice(Forming)),
        must=frozenset(state for state, must in needs.items() if must),
        wanted=frozenset(state for state, must in needs.items() if not must),
        never=draw(st.frozensets(st.sampled_from(list(Finding)))),
        unmarked=draw(st.sampled_from(list(Unmarked))),
        contamination_clean_max=clean,
        contamination_extra_work_max=extra,
        smallest_g=draw(st.integers(0, 1_000_000)),
        containers=draw(a_choice(ContainerKind)),
        notes=draw(SOME_TEXT),
    )


@given(any_rules())
def test_rules_come_back_from_data_as_they_were(rules: AcceptanceRules) -> None:
    assert rules_from_data(rules_to_data(rules), resins=RESINS, items=ITEMS) == rules


def test_a_makers_data_becomes_the_rules_it_says() -> None:
    rules = rules_from_data(cap_data(), resins=RESINS, items=ITEMS)
    assert rules.must == {State.RINSED}
    assert rules.wanted == {State.DRY}
    assert rules.colours is None
    assert rules.contamination_clean_max == Decimal("0.02")
    assert rules.containers == (ContainerKind.CRATE, ContainerKind.BAG)


@pytest.mark.parametrize("symbol", ["PVC", "PTFE", "POM", "ABS-FR"])
def test_dangerous_resins_are_refused_in_rules_by_their_place_in_the_list(symbol: str) -> None:
    faults = faults_of(cap_data(resins=["PP", symbol]))
    assert faults == {"resins[1]": f"Take {symbol} out of the list."}


def test_a_dangerous_resin_is_refused_even_where_no_catalogue_is_given() -> None:
    with pytest.raises(InvalidInput, match="cannot be used"):
        rules_from_data(cap_data(resins=["PVC-U"]))


def test_a_resin_that_only_the_data_calls_dangerous_is_refused_too() -> None:
    odd = Resin(symbol="XQ", code=None, name="Odd", danger="It smokes.", danger_source="a test")
    with pytest.raises(InvalidInput) as caught:
        rules_from_data(cap_data(resins=["XQ"]), resins={"XQ": odd})
    assert [fault.field for fault in caught.value.fields] == ["resins[0]"]


@pytest.mark.parametrize(
    ("changes", "field", "mend"),
    [
        ({"resins": ["HDPE"]}, "resins[0]", 'Write "PE-HD".'),
        ({"resins": ["PP", "pp"]}, "resins[1]", 'Write "PP".'),
        ({"resins": []}, "resins", "Name at least one."),
        ({"resins": ["PP", "PP"]}, "resins[1]", "Keep one of the two."),
        ({"items": ["bottle-caps"]}, "items[0]", 'Write "bottle-cap".'),
        ({"items": []}, "items", 'Name at least one, or "any".'),
        ({"colours": ["gray"]}, "colours[0]", 'Write "grey".'),
        ({"states": {"rinsed": "maybe"}}, "states.rinsed", 'Write "must" or "wanted".'),
        ({"states": {"rinced": "must"}}, "states.rinced", 'Write "rinsed".'),
        ({"contamination_clean_max": 0.02}, "contamination_clean_max", 'as "0.02"'),
        ({"contamination_clean_max": "NaN"}, "contamination_clean_max", 'as "0.02"'),
        ({"contamination_clean_max": "2"}, "contamination_clean_max", 'as "0.02"'),
        ({"contamination_extra_work_max": "0.01"}, "contamination_extra_work_max", "as high"),
        ({"smallest_g": -1}, "smallest_g", "2000 for two kilograms"),
        ({"smallest_g": True}, "smallest_g", "2000 for two kilograms"),
        ({"smallest_g": 10**12}, "smallest_g", "2000 for two kilograms"),
        ({"containers": "crate"}, "containers", 'such as ["bag"]'),
        ({"never": "any"}, "never", "Send a list"),
        ({"unmarked": "perhaps"}, "unmarked", "Write one of"),
        ({"notes": "x" * 2001}, "notes", "Shorten"),
        ({"schema_version": 2}, "schema_version", "schema 1"),
        ({"colors": "any"}, "colors", 'Write "colours".'),
    ],
)
def test_a_fault_names_its_path_and_the_mend(
    changes: dict[str, object], field: str, mend: str
) -> None:
    faults = faults_of(cap_data(**changes))
    assert list(faults) == [field]
    assert mend in faults[field]


def test_all_faults_are_told_at_once() -> None:
    faults = faults_of(cap_data(resins=["PVC"], smallest_g="two", colours=["gray"]))
    assert set(faults) == {"resins[0]", "smallest_g", "colours[0]"}


def test_missing_parts_are_named() -> None:
    assert set(faults_of({})) == {
        "schema_version",
        "resins",
        "items",
        "contamination_clean_max",
        "contamination_extra_work_max",
    }


@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.floats() | SOME_TEXT,
        lambda inner: st.lists(inner) | st.dictionaries(SOME_TEXT, inner),
    ).flatmap(
        lambda odd: st.sampled_from(sorted(cap_data())).map(lambda key: cap_data(**{key: odd}))
    )
)
def test_any_data_is_read_or_refused_with_its_fields(data: dict[str, Any]) -> None:
    refused: tuple[FieldError, ...] = ()
    rules = None
    try:
        rules = rules_from_data(data, resins=RESINS, items=ITEMS)
    except InvalidInput as refusal:
        refused = refusal.fields
    assert (rules is None) == bool(refused)
    if rules is not None:
        assert rules_from_data(rules_to_data(rules), resins=RESINS, items=ITEMS) == rules


def test_a_state_is_not_both_a_must_and_wanted() -> None:
    with pytest.raises(InvalidInput) as caught:
        AcceptanceRules(
            resins=("PP",),
            items=None,
            must=frozenset({State.DRY}),
            wanted=frozenset({State.DRY}),
            contamination_clean_max=Decimal(0),
            contamination_extra_work_max=Decimal(0),
        )
    assert caught.value.fields[0].field == "states.dry"
