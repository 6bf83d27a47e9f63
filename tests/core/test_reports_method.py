"""The uncertainty of a total, by hand and with the `uncertainties` package."""

from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from network.reports.core.method import SharedError, uncertainty_of

errors = st.lists(
    st.tuples(
        st.lists(st.integers(1, 50_000), min_size=1, max_size=6),
        st.lists(st.integers(1, 50_000), min_size=1, max_size=6),
    ),
    min_size=1,
    max_size=5,
)


def test_a_hundred_bags_on_one_scale() -> None:
    """100 bags of 18.26 g each: 0.183 kg were they independent, 1.83 kg if one bias."""
    biased = uncertainty_of([SharedError(cause="scale", shared_mg=1_825_700, own_mg2=0)])
    independent = uncertainty_of([SharedError(cause="scale", shared_mg=0, own_mg2=100 * 18_257**2)])
    assert biased.standard_g == 1_826
    assert independent.standard_g == 183
    assert (biased.k, biased.expanded_g) == (2, 3_652)


@given(errors)
def test_it_agrees_with_the_uncertainties_package(
    causes: list[tuple[list[int], list[int]]],
) -> None:
    rows = []
    total = ufloat(0, 1e-9)
    for index, (shared_mg, own_mg) in enumerate(causes):
        rows.append(
            SharedError(
                cause=str(index), shared_mg=sum(shared_mg), own_mg2=sum(u**2 for u in own_mg)
            )
        )
        bias = ufloat(0, 1)
        for shared, own in zip(shared_mg, own_mg, strict=False):
            total += shared * bias + ufloat(0, own)
        for shared in shared_mg[len(own_mg) :]:
            total += shared * bias
        for own in own_mg[len(shared_mg) :]:
            total += ufloat(0, own)
    found = uncertainty_of(rows)
    assert found.standard_g - 1 <= total.std_dev / 1000 <= found.standard_g + 1e-6


def test_nothing_reported_is_not_uncertain() -> None:
    assert uncertainty_of([]).expanded_g == 0
