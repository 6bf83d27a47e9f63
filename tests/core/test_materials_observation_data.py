"""Observations as plain data: read exactly or refused by the part that is wrong."""

import json
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from network.errors import InvalidInput
from network.materials.core.acceptance import Found, Observation, Stage
from network.materials.core.identification import FloatTest
from network.materials.core.observation_data import observation_from_data, observation_to_data
from network.materials.core.terms import Colour, ContainerKind, Finding, Forming, State

NAMES = st.text(alphabet="PE-HDabc", min_size=1, max_size=10)


def some(values: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | st.lists(values, max_size=4).map(tuple)


@st.composite
def observations(draw: st.DrawFn) -> Observation:
    states = draw(st.dictionaries(st.sampled_from(list(State)), st.booleans()))
    sample_g = draw(st.none() | st.integers(1000, 5000))
    weighed = st.none() if sample_g is None else st.none() | st.integers(0, 200)
    return Observation(
        stage=draw(st.sampled_from(list(Stage))),
        resins=draw(some(NAMES)),
        unmarked=draw(st.booleans()),
        float_tests=tuple(
            draw(
                st.lists(
                    st.builds(
                        FloatTest,
                        medium_g_cm3=st.decimals("0.8", "1.3", places=3),
                        floated=st.booleans(),
                    ),
                    max_size=3,
                )
            )
        ),
        items=draw(some(NAMES)),
        colours=draw(some(st.sampled_from(list(Colour)))),
        forming=draw(some(st.sampled_from(list(Forming)))),
        met=frozenset(state for state, is_met in states.items() if is_met),
        unmet=frozenset(state for state, is_met in states.items() if not is_met),
        found=tuple(
            draw(
                st.lists(
                    st.builds(Found, what=st.sampled_from(list(Finding)), mass_g=weighed),
                    max_size=4,
                )
            )
        ),
        sample_g=sample_g,
        mass_g=draw(st.none() | st.integers(0, 10**6)),
        container=draw(st.none() | st.sampled_from(list(ContainerKind))),
    )


@given(observations())
def test_an_observation_comes_back_from_data_as_it_was(observation: Observation) -> None:
    data = json.loads(json.dumps(observation_to_data(observation)))
    assert observation_from_data(data, stage=observation.stage) == observation


def test_what_is_absent_is_unknown() -> None:
    assert observation_from_data({}, stage=Stage.DOORSTEP) == Observation(stage=Stage.DOORSTEP)


def test_a_float_test_is_read_exactly() -> None:
    data = {"float_tests": [{"medium_g_cm3": "0.998", "floated": True}]}
    (test,) = observation_from_data(data, stage=Stage.DOORSTEP).float_tests
    assert test == FloatTest(medium_g_cm3=Decimal("0.998"), floated=True)


@pytest.mark.parametrize(
    ("data", "field"),
    [
        ([], ""),
        ({"smell": "bad"}, "smell"),
        ({"resins": "PP"}, "resins"),
        ({"resins": ["PP", 5]}, "resins[1]"),
        ({"colours": ["mauve"]}, "colours[0]"),
        ({"unmarked": "yes"}, "unmarked"),
        ({"found": [{"what": "metal"}, {"mass_g": 3}]}, "found[1].what"),
        ({"found": [{"what": "metal", "mass_g": -3}]}, "found[0].mass_g"),
        ({"found": ["metal"]}, "found[0]"),
        (
            {"float_tests": [{"medium_g_cm3": "NaN", "floated": True}]},
            "float_tests[0].medium_g_cm3",
        ),
        ({"float_tests": [{"medium_g_cm3": "1", "floated": 1}]}, "float_tests[0].floated"),
        ({"mass_g": 10**12}, "mass_g"),
        ({"mass_g": True}, "mass_g"),
        ({"container": "sack"}, "container"),
        ({"met": ["dry"], "unmet": ["dry"]}, ""),
        ({"found": [{"what": "metal", "mass_g": 3}]}, ""),
        ({"found": [{"what": "metal", "mass_g": 3}], "sample_g": 2}, ""),
    ],
)
def test_a_part_that_cannot_be_read_is_named_with_the_mend(data: object, field: str) -> None:
    with pytest.raises(InvalidInput) as caught:
        observation_from_data(data, stage=Stage.INSPECTION)
    (fault,) = caught.value.fields
    assert fault.field == field
    assert fault.detail
    assert fault.mend
